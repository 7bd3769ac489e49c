"""Hostile text typed for every argument of every act: kept as it is, or refused with a sentence; never a fault.

The verb table drives it, so an act added later is covered by itself. The lines are the verbs' own examples, with
codes of a small store put in for the examples' codes.
"""

import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from kittrack.__main__ import main
from kittrack.cli.areas import all_verbs
from kittrack.cli.exits import Exit
from kittrack.cli.verb import Verb
from kittrack.queries.verify import verify
from kittrack.store.database import open_store
from kittrack.store.records import TABLES
from kittrack.store.tables import columns
from tests.factories import after
from tests.hostile.texts import TYPED, seen_wrong
from tests.tui.conftest import prepare

ACTS = [verb for verb in all_verbs() if verb.show is None and verb.opens_store and not verb.makes_store]
ANSWERS = {
    Exit.DONE, Exit.REFUSED, Exit.USAGE, Exit.NOT_FOUND, Exit.STORE, Exit.CONFLICT, Exit.PRINTING,
}  # fmt: skip


@pytest.fixture(scope="module")
def world_file(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, dict[str, str]]:
    """A store with a sealed kit and an open job, and its first code of each kind."""
    path = tmp_path_factory.mktemp("acts") / "world.kittrack"
    shutil.copyfile(sqlite_template, path)
    prepare(f"sqlite:///{path}")
    store = open_store(f"sqlite:///{path}")
    found: dict[str, str] = {}
    with store.reading() as read:
        for name, record in TABLES.items():
            if "code" in columns(record):
                for (code,) in read.rows(f'SELECT code FROM "{name}" ORDER BY id'):
                    found.setdefault(code[0], code)
    store.close()
    return path, found


@pytest.fixture
def world(
    world_file: tuple[Path, dict[str, str]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[tuple[str, dict[str, str]]]:
    """The address of a copy, and the codes; files are written to a folder of the test's own."""
    path, codes = world_file
    shutil.copyfile(path, tmp_path / "world.kittrack")
    (tmp_path / "files").mkdir()
    monkeypatch.chdir(tmp_path / "files")
    yield f"sqlite:///{tmp_path / 'world.kittrack'}", codes
    escaped = [p.name for p in tmp_path.iterdir() if p.name not in {"files"} | _store_files()]
    assert not escaped, "a text that names a path wrote a file outside its folder"


def _store_files() -> set[str]:
    return {f"world.kittrack{end}" for end in ("", "-wal", "-shm")}


def lines_of(verb: Verb, codes: dict[str, str]) -> list[list[str]]:
    """The verb's example with codes of the store, once for each word or value that a person types."""
    words = shlex.split(verb.example)
    words = [re.sub(r"\b([A-Z])\d{6}-[A-Z0-9]\b", lambda m: codes.get(m[1], m[0]), w) for w in words]
    places = [i for i, word in enumerate(words) if not word.startswith("--")]
    return [[*words[:i], "\0", *words[i + 1 :]] for i in places]


def typed_for(word: str, text: str) -> str:
    """A hostile text in place of a word, or of the last value inside a word such as "part=X; mark=R"."""
    return word.rpartition("=")[0] + "=" + text if "=" in word else text


@pytest.mark.parametrize("verb", ACTS, ids=lambda v: v.words)
def test_every_act_takes_hostile_text_as_text_or_says_why_not(
    verb: Verb, world: tuple[str, dict[str, str]], capsys: pytest.CaptureFixture[str]
) -> None:
    url, codes = world
    own = shlex.split(verb.example)
    minute = 60
    for number, line in enumerate(lines_of(verb, codes)):
        original = [w for w in own if not w.startswith("--")][number]
        for text in TYPED.values():
            minute += 1
            given = [typed_for(original, text) if w == "\0" else w for w in line]
            at = ["--at", after(minute).isoformat()] if "at" in verb.common else []
            code = main([*verb.words.split(), *given, "--store", url, *at])
            shown = capsys.readouterr()
            assert code in ANSWERS, (given[:3], shown.err[-300:])
            assert code == Exit.DONE or shown.err.strip()
            assert not seen_wrong(shown.out + shown.err)
            assert len(shown.err) < 50_000
    _assert_sound(url)


def _assert_sound(url: str) -> None:
    """The store is the fold of its history still, and no text in it lost its shape on the way in."""
    store = open_store(url)
    try:
        assert verify(store).faults == ()
        with store.reading() as read:
            assert read.value("SELECT count(*) FROM event") > 0
    finally:
        store.close()
