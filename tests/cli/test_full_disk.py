"""A disk that is really full: a small file system of its own, where the machine lets one be mounted.

Root may, and elsewhere often everybody in a name space of users. Where neither goes, as in a locked container, SQLite's
own limit of pages stands in for the disk, and only the store is tried.
"""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from kittrack.cli.exits import Exit

ROOT = Path(__file__).resolve().parents[2]
SCRIPT = Path(__file__).with_name("on_a_full_disk.py")
ALONE = (["unshare", "--mount"], ["unshare", "--mount", "--map-root-user"])
"""Ways to mount something for one process: as root, or as root of a name space of one's own."""


def may_mount(alone: list[str], folder: Path) -> bool:
    try:
        tried = subprocess.run(
            [*alone, "mount", "-t", "tmpfs", "tmpfs", folder], capture_output=True, check=False
        )
    except FileNotFoundError:
        return False
    return tried.returncode == 0


@pytest.fixture(scope="module")
def told(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What the script told of its work."""
    folder = tmp_path_factory.mktemp("disk")
    alone = next((way for way in ALONE if may_mount(way, folder)), None)
    command = [*(alone or ()), sys.executable, str(SCRIPT), str(folder), str(sqlite_template)]
    command += [] if alone else ["--pages"]
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "KITTRACK_STATE": str(folder.with_name("state"))}
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    loaded: dict[str, Any] = json.loads(done.stdout)
    return loaded


def test_what_was_confirmed_is_there_and_what_was_not_is_absent(told: dict[str, Any]) -> None:
    assert told["head"] == told["confirmed"]
    assert told["faults"] == []
    assert "the disk is full; make room and try again, nothing of this act was recorded" in told["said"]


def test_work_goes_on_once_there_is_room(told: dict[str, Any]) -> None:
    assert told["goes_on"]


def test_every_verb_says_that_there_is_no_room_and_leaves_no_part_of_a_file(told: dict[str, Any]) -> None:
    """Also where SQLite can't even open the store and calls that a fault of the disk, which it is not."""
    for moment in ("begun", "closed"):
        for name, line in told.get(moment, {}).items():
            assert line["left"] == [], name
            assert "Make room now" in line["said"] or "the disk is full; make room" in line["said"], name
            assert "backup restore" not in line["said"], name
            if name != "question":
                assert line["code"] in {Exit.STORE, Exit.PRINTING}, name
