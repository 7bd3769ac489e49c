"""What is kept of open forms is found by the next run, and a file that kittrack did not write is set aside in a sentence."""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from kittrack.store import terminal_memory
from kittrack.store.act import instant_text
from kittrack.store.database import Store, open_store
from kittrack.store.form_memory import (
    KEPT_DAYS,
    MOST_BYTES,
    FormContent,
    FormsHere,
    forms_here,
)
from tests.factories import after
from tests.machine.attack import attacking

NOW = after(600)
CONTENT = FormContent(
    "P000002-F", "kit seal", "Close a kit", instant_text(NOW), {"kit": "K000001-2"}, {"rows": ({"a": "b"},)}, ("K000001-2",)
)  # fmt: skip


@pytest.fixture
def sqlite_store(sqlite_template: Path, tmp_path: Path) -> Iterator[Store]:
    """The factories' world on SQLite."""
    shutil.copyfile(sqlite_template, tmp_path / "world.kittrack")
    store = open_store(f"sqlite:///{tmp_path / 'world.kittrack'}")
    yield store
    store.close()


def here(store: Store) -> FormsHere:
    """The forms of a run of the stations on this computer."""
    with store.reading() as read:
        found = forms_here(read)
    assert found is not None
    return found


def test_what_is_kept_is_found_by_the_next_run_and_not_by_its_own(sqlite_store: Store) -> None:
    run = here(sqlite_store)
    file = run.new_file()
    assert file.keep(CONTENT)
    assert run.left() == ((), ())
    [left], problems = here(sqlite_store).left()
    assert left.content == CONTENT
    assert not problems
    file.forget()
    assert not file.keep(CONTENT)  # a write that comes late writes nothing
    assert here(sqlite_store).left() == ((), ())


def test_a_form_of_a_run_that_still_goes_on_is_not_unfinished(sqlite_store: Store) -> None:
    with sqlite_store.reading() as read:
        name = terminal_memory.name_of(read)
    file = terminal_memory.folder() / f"{name}.form-1-{'a' * 12}-1.json"
    run = here(sqlite_store)
    assert run.new_file().keep(CONTENT)
    [own] = terminal_memory.folder().glob("*.form-*")
    own.rename(file)
    mark = terminal_memory.folder() / f"{name}.open-1.json"
    mark.write_text("{}")
    locks = "import fcntl, sys, time; f = open(sys.argv[1]); fcntl.flock(f, fcntl.LOCK_EX); print(1, flush=True); time.sleep(60)"
    with subprocess.Popen([sys.executable, "-c", locks, str(mark)], stdout=subprocess.PIPE) as other:
        assert other.stdout is not None
        other.stdout.readline()
        assert here(sqlite_store).left() == ((), ())
        other.kill()
    [left], _ = here(sqlite_store).left()
    assert left.path == file


def test_forms_of_a_demo_store_are_not_kept(sqlite_template: Path, tmp_path: Path) -> None:
    path = tmp_path / "demo.kittrack"
    shutil.copyfile(sqlite_template, path)
    with attacking(f"sqlite:///{path}") as attack:
        attack.change("UPDATE store_stamp SET is_demo = 1")
    store = open_store(f"sqlite:///{path}")
    with store.reading() as read:
        assert forms_here(read) is None
    store.close()


@pytest.mark.parametrize("days", [-KEPT_DAYS - 1, KEPT_DAYS + 1])
def test_an_old_form_is_forgotten(sqlite_store: Store, days: int) -> None:
    assert here(sqlite_store).new_file().keep(CONTENT)
    here(sqlite_store).tidy(at=NOW)
    assert len(here(sqlite_store).left()[0]) == 1
    here(sqlite_store).tidy(at=NOW + timedelta(days=days))
    assert here(sqlite_store).left() == ((), ())


def _changed(**change: Any) -> Callable[[dict[str, Any]], bytes]:
    return lambda kept: json.dumps(kept | change).encode()


HOSTILE: dict[str, Callable[[dict[str, Any]], bytes]] = {
    "empty": lambda _: b"",
    "cut off": lambda kept: json.dumps(kept).encode()[:-20],
    "no text": lambda _: b"\xff\xfe\x00\x01",
    "another version": _changed(version=2),
    "no version": lambda kept: json.dumps({k: v for k, v in kept.items() if k != "version"}).encode(),
    "version as a text": _changed(version="1"),
    "a list": lambda kept: json.dumps([kept]).encode(),
    "an unknown word": _changed(command="rm -rf"),
    "a word missing": lambda kept: json.dumps({k: v for k, v in kept.items() if k != "fields"}).encode(),
    "fields a list": _changed(fields=["a"]),
    "a field no text": _changed(fields={"kit": 7}),
    "a field nothing": _changed(fields={"kit": None}),
    "rows a text": _changed(rows="weighings"),
    "rows of texts": _changed(rows={"weighings": "abc"}),
    "a row no table": _changed(rows={"weighings": [["a"]]}),
    "scanned a number": _changed(scanned=5),
    "scanned numbers": _changed(scanned=[5]),
    "sent a text": _changed(is_sent="yes"),
    "who nothing": _changed(who=None),
    "title a list": _changed(title=["x"]),
    "no instant": _changed(at="yesterday"),
    "an impossible instant": _changed(at="9999-99-99T00:00:00.000000Z"),
    "deep": lambda _: b"[" * 100_000,
    "infinite": lambda kept: json.dumps(kept | {"version": float("inf")}).encode(),
    "many digits": lambda _: b'{"version": ' + b"9" * 5_000 + b"}",
    "one megabyte": _changed(fields={"kit": "m" * 1_000_000}),
}


@pytest.mark.parametrize("how", HOSTILE)
def test_a_file_that_is_none_of_ours_is_set_aside_with_one_sentence(sqlite_store: Store, how: str) -> None:
    assert here(sqlite_store).new_file().keep(CONTENT)
    [path] = terminal_memory.folder().glob("*.form-*")
    path.write_bytes(HOSTILE[how](json.loads(path.read_bytes())))
    found, told = here(sqlite_store).left()
    assert found == ()
    assert "The next sign-on sets it aside." in told[0].message
    assert path.exists()
    [problem] = here(sqlite_store).tidy(at=NOW)
    assert problem.message.startswith("What was kept of an unfinished form can't be used: ")
    assert not path.exists()
    aside = Path(problem.source)
    assert aside.exists()
    assert here(sqlite_store).tidy(at=NOW) == ()  # told once
    old = (NOW - timedelta(days=KEPT_DAYS + 1)).timestamp()
    os.utime(aside, (old, old))
    here(sqlite_store).tidy(at=NOW)
    assert not aside.exists()


def test_a_name_that_is_no_file_harms_nothing(sqlite_store: Store) -> None:
    assert here(sqlite_store).new_file().keep(CONTENT)
    [path] = terminal_memory.folder().glob("*.form-*")
    path.unlink()
    os.mkfifo(path)
    [problem] = here(sqlite_store).tidy(at=NOW)
    assert "it is no file" in problem.message


def test_what_can_t_be_written_stops_nobody(sqlite_store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    run = here(sqlite_store)
    big = FormContent("P", "d", "t", instant_text(NOW), {"a": "m" * MOST_BYTES}, {})
    assert not run.new_file().keep(big)
    terminal_memory.folder().parent.mkdir(parents=True, exist_ok=True)
    terminal_memory.folder().write_text("a file where the folder should be")
    assert not run.new_file().keep(CONTENT)
    assert run.left() == ((), ())
    monkeypatch.setenv("KITTRACK_STATE", "/proc/none")
    assert not here(sqlite_store).new_file().keep(CONTENT)


def test_any_text_survives(sqlite_store: Store) -> None:
    text = "=x \x1b[31m\x00 \udcff \u202e [bold]a[/] 'DROP"
    kept = FormContent("P", text, text, instant_text(NOW), {text: text}, {text: ({text: text},)}, (text,), is_sent=True)  # fmt: skip
    assert here(sqlite_store).new_file().keep(kept)
    [left], _ = here(sqlite_store).left()
    assert left.content == kept
