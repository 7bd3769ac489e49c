"""The README is true: its blocks run as they stand, each refusal it promises is one, each verb it names exists."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder as the README's reader has it: the catalogue, and `kittrack` on the path."""
    folder = tmp_path_factory.mktemp("readme")
    (folder / "demo_db").symlink_to(ROOT / "demo_db")
    command = folder / "bin" / "kittrack"
    command.parent.mkdir()
    command.write_text(f'#!/bin/sh\nexec {shlex.quote(sys.executable)} -m kittrack "$@"\n')
    command.chmod(0o755)
    return folder


def run(folder: Path, script: str) -> subprocess.CompletedProcess[str]:
    environment = {
        **os.environ,
        "PATH": f"{folder / 'bin'}:{os.environ['PATH']}",
        "PYTHONPATH": str(ROOT),
        "KITTRACK_STORE": "sqlite:///practice.kittrack",
        "KITTRACK_LOG": str(folder / "log"),
        "KITTRACK_TERMINALS": str(folder / "terminals.toml"),
    }
    return subprocess.run(
        ["sh", "-e", "-c", script], cwd=folder, env=environment, capture_output=True, text=True, check=False
    )


def blocks() -> list[str]:
    return re.findall(r"```sh\n(.*?)```", README, flags=re.DOTALL)


def refusals() -> list[tuple[str, str]]:
    return re.findall(r"^\| (R\d+) \| `(kittrack .*?)` \|", README, flags=re.MULTILINE)


def test_the_readme_runs_as_it_stands_and_refuses_what_it_says(workshop: Path) -> None:
    exported = ""
    for block in blocks():
        done = run(workshop, exported + block)
        exported += "".join(f"{line}\n" for line in block.splitlines() if line.startswith("export "))
        assert done.returncode == 0, f"{block}\n{done.stdout}{done.stderr}"
    assert (workshop / "kit.pdf").stat().st_size > 1000
    assert [rule for rule, _ in refusals()] == [f"R{n}" for n in range(1, 10)]
    for rule, command in refusals():
        done = run(workshop, f'export KITTRACK_BY="Clerk Amaryllis"\n{command}')
        assert done.returncode == 1, f"{command}\n{done.stdout}{done.stderr}"
        assert f"{rule}: " in done.stderr, f"{command}\n{done.stderr}"
    sound = run(workshop, "kittrack verify")
    assert sound.returncode == 0, sound.stdout


def test_the_readme_opens_with_the_job() -> None:
    first = README.split("\n\n")[1]
    assert "matched sets" in first
    assert "counter-clockwise" in first


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_every_file_that_the_documents_name_is_there(name: str) -> None:
    text = (ROOT / name).read_text(encoding="utf-8")
    named = set(
        re.findall(
            r"`((?:kittrack|tests|demo_db|labels|domain|services|queries|store|printing|cli|tui)/[\w/]*(?:\.py|\.txt|/))`",
            text,
        )
    )
    places = (ROOT, ROOT / "kittrack")
    missing = sorted(n for n in named if not any((place / n.rstrip(".")).exists() for place in places))
    assert missing == []


def test_the_readme_shows_the_pictures_that_its_script_draws() -> None:
    shown = set(re.findall(r"\]\((demo_db/pictures/[\w-]+\.svg)\)", README))
    drawn = {str(path.relative_to(ROOT)) for path in (ROOT / "demo_db" / "pictures").glob("*.svg")}
    assert shown == drawn


# ---- the notes for those who keep it -------------------------------------------------------------


def test_every_test_and_bench_that_the_notes_name_is_there() -> None:
    named = set(re.findall(r"\btests/[\w/.-]*\w/?", (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")))
    assert len(named) > 30
    assert [path for path in sorted(named) if not (ROOT / path).exists()] == []
