"""What kittrack is made of and ships as: licences told, versions locked, a wheel that works where nothing else is."""

import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement

from tests import licences

ROOT = Path(__file__).resolve().parents[1]
LOCK = (ROOT / ".ci" / "requirements.lock").read_text(encoding="utf-8")
PINS = dict(re.findall(r"^([A-Za-z0-9._-]+)==([^ \\\n]+)", LOCK, re.MULTILINE))


def test_the_licences_in_the_developers_notes_are_those_of_the_packages() -> None:
    told = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert licences.table() in told, "print the table anew: python tests/licences.py"
    assert "not said" not in licences.table()


def test_every_package_of_the_project_is_locked_within_what_it_allows() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    wanted = [
        Requirement(t) for t in [*project["dependencies"], *extras["pg"], *extras["test"], *extras["dev"]]
    ]
    loose = [r.name for r in wanted if not r.specifier.contains(PINS.get(licences._plain(r.name), "0"))]
    assert not loose, "lock anew: the command stands at the top of .ci/requirements.lock"


def test_every_locked_package_has_a_hash() -> None:
    blocks = re.split(r"^(?=[A-Za-z0-9._-]+==)", LOCK, flags=re.MULTILINE)[1:]
    assert len(blocks) == len(PINS) > 40
    assert all("--hash=sha256:" in block for block in blocks)


def test_an_installed_wheel_needs_no_checkout(tmp_path: Path) -> None:
    """Built, installed with all it needs into an empty environment, and used from another folder."""
    wheel = _built(tmp_path)
    _run(tmp_path, sys.executable, "-m", "venv", "empty")
    bin_folder = tmp_path / "empty" / ("Scripts" if os.name == "nt" else "bin")
    _run(tmp_path, bin_folder / "python", "-m", "pip", "install", "-q", "--no-compile", str(wheel))
    kittrack = bin_folder / "kittrack"
    assert _run(tmp_path, kittrack, "--version").startswith("kittrack ")
    store = ["--store", f"sqlite:///{tmp_path / 'own.kittrack'}"]
    by = ["--by", "Manager One"]
    _run(
        tmp_path,
        kittrack,
        "found",
        "--site",
        "Home",
        "--time-zone",
        "Europe/Oslo",
        "--manager",
        "Manager One",
        *store,
    )
    place = _run(tmp_path, kittrack, "place", "add", "bin", "A-01", "--site", "Home", *by, *store).split()[0]
    _run(tmp_path, kittrack, "label", "print", place, "--into", "label.pdf", *by, *store)
    assert (tmp_path / "label.pdf").read_bytes().startswith(b"%PDF")
    demo = f"sqlite:///{tmp_path / 'demo.kittrack'}"
    _run(tmp_path, kittrack, "demo", "--into", demo)
    assert "R0000" in _run(tmp_path, kittrack, "sets", "--store", demo)


def _built(folder: Path) -> Path:
    """The wheel of a copy of the checkout, so that nothing is written into it."""
    copy = folder / "copy"
    shutil.copytree(
        ROOT, copy, ignore=shutil.ignore_patterns(".git", "tests", "__pycache__", ".venv", ".*_cache")
    )
    line = ["-m", "pip", "wheel", "-q", "--no-deps", "--no-build-isolation", "-w", str(folder), str(copy)]
    _run(folder, sys.executable, *line)
    [wheel] = folder.glob("kittrack-*.whl")
    shutil.rmtree(copy)
    return wheel


def _run(folder: Path, *line: str | Path) -> str:
    clean = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "KITTRACK"))}
    done = subprocess.run(
        list(map(str, line)), cwd=folder, env=clean, capture_output=True, text=True, check=False
    )
    if done.returncode and "pip" in line and "NewConnectionError" in done.stderr:
        pytest.skip("no package index can be reached")
    assert done.returncode == 0, done.stderr[-600:]
    return done.stdout
