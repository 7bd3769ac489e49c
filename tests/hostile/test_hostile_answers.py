"""Every question, in every form, of a store in which every free text is hostile: nothing steers, runs or is lost."""

import csv
import io
import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from kittrack.__main__ import main
from kittrack.cli.exits import Exit
from kittrack.cli.verb import Verb
from kittrack.domain.text import clean_label
from kittrack.store.database import open_store
from tests.cli.test_demo_line import QUESTIONS, _line
from tests.hostile.texts import (
    EVERYTHING,
    FORMULAS,
    OPEN,
    SHUT,
    ZERO,
    Poison,
    free_texts,
    pieces_cut,
    poison,
    quoted,
    seen_wrong,
)
from tests.machine.attack import attacking

POISONS = {
    **{f"formula {number}": Poison(text, EVERYTHING) for number, text in enumerate(FORMULAS)},
    "zero byte": Poison("", ZERO),
}


@pytest.fixture(scope="module", params=sorted(POISONS))
def poisoned(
    request: pytest.FixtureRequest, demo_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[str, Poison]]:
    """The address of a poisoned store, and what it was poisoned with."""
    path = tmp_path_factory.mktemp("poisoned") / "store.kittrack"
    shutil.copy(demo_file, path)
    what = POISONS[request.param]
    with attacking(f"sqlite:///{path}") as attack:
        cells = poison(attack, what)
    assert cells > len(free_texts()) // 2
    yield f"sqlite:///{path}", what
    path.unlink()


def test_free_texts_are_found_in_most_tables() -> None:
    found = free_texts()
    assert {("person", "name"), ("lot", "lot_code"), ("event", "reason"), ("piece", "serial")} <= set(found)
    assert len(found) > 60


ALLOWED = {Exit.DONE, Exit.REFUSED, Exit.USAGE, Exit.NOT_FOUND, Exit.STORE, Exit.CONFLICT}


@pytest.mark.parametrize("verb", QUESTIONS, ids=lambda v: v.words)
def test_every_question_is_safe_in_every_form(
    verb: Verb, poisoned: tuple[str, Poison], capsys: pytest.CaptureFixture[str]
) -> None:
    url, what = poisoned
    line = _asked(verb, url)
    for form in ("", "--json", "--csv") if verb.rows is not None else ("", "--json"):
        capsys.readouterr()
        code = main([*line, *([form] if form else [])])
        shown = capsys.readouterr()
        assert code in ALLOWED, shown.err[-400:]
        assert code == Exit.DONE or shown.err.strip() or shown.out.strip()
        assert not seen_wrong(shown.err)
        assert not pieces_cut(shown.err, clean_label(what.behind), quoted(what.behind))
        _CHECKS[form](shown.out, what)


def _asked(verb: Verb, url: str) -> list[str]:
    store = open_store(url)
    try:
        return _line(verb, store, url)
    finally:
        store.close()


def _is_safe_text(shown: str, what: Poison) -> None:
    assert not seen_wrong(shown)
    assert not pieces_cut(shown, clean_label(what.behind))


def _is_whole_json(shown: str, what: Poison) -> None:
    assert shown.isascii()
    for text in _texts_of(json.loads(shown)) if shown else ():
        assert not pieces_cut(text, what.behind, clean_label(what.behind))  # a sentence names it made visible


def _texts_of(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield str(key)
            yield from _texts_of(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _texts_of(inner)


def _is_csv_of_texts(shown: str, what: Poison) -> None:
    before = csv.field_size_limit(20_000_000)
    try:
        rows = list(csv.reader(io.StringIO(shown, newline="")))
    finally:
        csv.field_size_limit(before)  # it holds for the whole process, and others are tested by it
    assert len({len(row) for row in rows}) <= 1
    for cell in (cell for row in rows for cell in row):
        for text in _texts_of(json.loads(cell)) if cell.startswith(("{", "[{")) else (cell,):
            assert not pieces_cut(text, what.behind, clean_label(what.behind))
        is_number = cell.lstrip("-").isdigit()
        assert is_number or not cell.lstrip(" \t\r\n").startswith(("=", "+", "-", "@", "\uff1d")), cell[:60]


_CHECKS = {"": _is_safe_text, "--json": _is_whole_json, "--csv": _is_csv_of_texts}


def test_a_cut_or_changed_text_would_show() -> None:
    whole = Poison("", EVERYTHING).whole
    assert pieces_cut(whole, EVERYTHING) == []
    assert pieces_cut(whole.replace("DROP", "drop"), EVERYTHING)
    assert pieces_cut(whole[:-1], EVERYTHING)
    assert pieces_cut(f"{OPEN}{EVERYTHING[:20]}...", EVERYTHING) == []
    assert seen_wrong(f"{SHUT}\x1b[2J") == ["U+001B"]
