"""The README is true: its blocks run as they stand, each refusal it promises is one, each verb it names exists."""

import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from tests import postgresql_server

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder as the README's reader has it: the catalogue, and `kittrack` on the path."""
    folder = tmp_path_factory.mktemp("readme")
    (folder / "bin").mkdir()
    for name in ("demo_db", "tests"):
        (folder / name).symlink_to(ROOT / name)
    for name, words in (("kittrack", "-m kittrack"), ("python3", "")):
        command = folder / "bin" / name
        command.write_text(f'#!/bin/sh\nexec {shlex.quote(sys.executable)} {words} "$@"\n')
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
        "KITTRACK_STATE": str(folder / "state"),
    }
    return subprocess.run(
        ["sh", "-e", "-c", script], cwd=folder, env=environment, capture_output=True, text=True, check=False
    )


def blocks(kind: str = "") -> list[str]:
    return re.findall(rf"```sh{kind}\n(.*?)```", README, flags=re.DOTALL)


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


# ---- several machines --------------------------------------------------------------------------------


@pytest.fixture
def server() -> Iterator[str]:
    """A throw-away server of its own, where roles may have the names that the README gives them."""
    if postgresql_server.binaries() is None or shutil.which("psql") is None:
        pytest.skip("no PostgreSQL is installed")
    folder = postgresql_server.temporary_folder()
    try:
        yield postgresql_server.start(folder)
    finally:
        postgresql_server.stop(folder)


@pytest.mark.postgresql
def test_three_commands_set_up_the_shared_store(workshop: Path, server: str) -> None:
    at = urlsplit(server)
    (block,) = blocks(" set-up")
    commands = block.strip().splitlines()
    assert [words.split()[0] for words in commands] == ["psql", "kittrack", "kittrack"]
    own = f"export PGHOST={at.hostname} PGPORT={at.port} PGUSER={at.username}\n"
    for command in commands:
        done = run(workshop, own + command.replace("HOST", f"{at.hostname}:{at.port}"))
        assert done.returncode == 0, f"{command}\n{done.stdout}{done.stderr}"
    terminal = f"postgresql://kittrack_terminal@{at.hostname}:{at.port}/kittrack"
    act = 'kittrack place add bin A-01 --site "Harbour Stores" --by "Manager Fennel"'
    done = run(workshop, f"{act} --store {terminal}")
    assert done.returncode == 0, done.stderr
    gone = run(workshop, f'psql {terminal} -c "DELETE FROM event"')
    assert "permission denied" in gone.stderr


@pytest.mark.postgresql
def test_the_shared_store_can_be_tried_out_without_a_container(workshop: Path) -> None:
    if postgresql_server.binaries() is None or shutil.which("psql") is None:
        pytest.skip("no PostgreSQL is installed")
    (block,) = blocks(" try-out")
    folder = postgresql_server.temporary_folder()
    try:
        done = run(workshop, block.replace("/tmp/kittrack-try", str(folder)))  # noqa: S108 - as the README says it
    finally:
        postgresql_server.stop(folder)
    assert done.returncode == 0, done.stderr
    assert "faults" in done.stdout
    assert {line for line in done.stdout.splitlines() if line.startswith("N0")} >= {"N000005-6", "N000006-4"}
    assert not folder.exists()


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
