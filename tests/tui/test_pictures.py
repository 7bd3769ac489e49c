"""The README's pictures: the script draws them all, and they show what their captions promise."""

import html
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
KEPT = ROOT / "demo_db" / "pictures"
SHOWN = {
    "goods-in": "[Goods-in]",
    "matching": "[Matching]",
    "kitting": "[Kitting]",
    "counter": "READY: issue the whole kit to BR4-01",
    "aircraft": "NOT FINISHED",
    "office": "ship sets",
    "stop-without-colour": "STOP   STOP   STOP",
}


def words(picture: Path) -> str:
    texts = re.findall(r"<text[^>]*>(.*?)</text>", picture.read_text(encoding="utf-8"))
    return "\n".join(html.unescape(text).replace("\xa0", " ") for text in texts)


def test_the_script_draws_every_picture_and_each_shows_what_it_is_for(tmp_path: Path) -> None:
    script = KEPT / "make_pictures.py"
    subprocess.run(
        [sys.executable, script, "--into", tmp_path], check=True, cwd=tmp_path, stdout=subprocess.DEVNULL
    )
    assert (
        {path.stem for path in tmp_path.glob("*.svg")} == set(SHOWN) == {p.stem for p in KEPT.glob("*.svg")}
    )
    for name, text in SHOWN.items():
        for picture in (tmp_path / f"{name}.svg", KEPT / f"{name}.svg"):
            assert text in words(picture), picture
            assert "DEMO - DEMO - DEMO" in words(picture)


def test_the_picture_without_colour_has_none() -> None:
    text = (KEPT / "stop-without-colour.svg").read_text(encoding="utf-8")
    window = {"#ff5f57", "#febc2e", "#28c840"}  # the three buttons that the frame draws around every picture
    colours = set(re.findall(r"fill[:=]\s*\"?(#[0-9a-f]{6})", text)) - window
    assert colours
    for colour in colours:
        parts = [int(colour[i : i + 2], 16) for i in (1, 3, 5)]
        assert max(parts) - min(parts) <= 3, colour
