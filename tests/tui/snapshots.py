"""Screens compared with text files beside the tests; KITTRACK_WRITE_SNAPSHOTS=1 writes them anew."""

import os
from difflib import unified_diff
from pathlib import Path

_FOLDER = Path(__file__).parent / "snapshots"


def assert_screen(name: str, screen: str) -> None:
    """The screen is the one that was looked at and kept under a name."""
    path = _FOLDER / f"{name}.txt"
    if os.environ.get("KITTRACK_WRITE_SNAPSHOTS") == "1":
        path.write_text(screen + "\n", encoding="utf-8")
    kept = path.read_text(encoding="utf-8").rstrip("\n").split("\n")
    differs = unified_diff(kept, screen.rstrip("\n").split("\n"), "as it was kept", "as it is", lineterm="")
    told = "\n".join(differs)
    assert not told, f"{name}:\n{told}"
