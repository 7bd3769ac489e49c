"""What questions print: tables that cut nothing, JSON that parses, CSV that runs nowhere, hostile text made harmless."""

import csv
import dataclasses
import io
import json
from datetime import date
from enum import StrEnum
from fractions import Fraction

import pytest

from kittrack.__main__ import main
from kittrack.cli.tables import Table, csv_text, json_text, listing, table_lines
from kittrack.queries.shelf import ShelfLine
from kittrack.store.database import Store
from kittrack.store.records import Person, Place
from tests import factories as world
from tests.cli.line import CommandLine

ESCAPE = "\x1b[2J\x1b]0;pwned\x07"
HOSTILE = f"=cmd|' /C calc'!A0 {ESCAPE}\u202egnp.exe\x9b31m"
"""A formula, a terminal's clear-screen and title sequences, a reversed reading direction, an 8-bit control."""


@pytest.fixture
def line(world_url: str, capsys: pytest.CaptureFixture[str]) -> CommandLine:
    return CommandLine(world_url, capsys)


@pytest.fixture
def hostile(line: CommandLine, store: Store) -> CommandLine:
    """A store in which hostile text stands, as another program or an old version might have left it."""
    world.put_in_stock(store, world.SCREW, 8, at=world.after(1), lot_code=HOSTILE)
    with store.act("rename a bin", by=world.MANAGER, at=world.after(2), reason=HOSTILE) as act:
        place = act.find(Place, kind="bin", name=world.BIN)
        person = act.find(Person, name=world.BUILDER)
        assert place is not None
        assert person is not None
        act.update(place, name=HOSTILE)
        act.update(person, name=HOSTILE)
    return line


def test_an_instant_is_shown_to_the_minute_and_kept_whole_in_csv() -> None:
    found = [Person(code="P000001-H", name="2026-03-02T10:30:59.000000Z", event_id=1)]
    assert table_lines(listing(found, "code", "name"))[1] == "P000001-H  2026-03-02 10:30 UTC"


def _is_harmless(text: str) -> bool:
    return all(char.isprintable() or char == "\n" for char in text)


QUESTIONS = (
    ["shelf"], ["log"], ["expiring"], ["kit", "list"], ["sets"], ["buildable"],
    ["recall", "--lot", HOSTILE], ["person", "show", HOSTILE], ["shelf", "--place", HOSTILE],
)  # fmt: skip


def test_hostile_text_from_the_store_is_shown_harmless(hostile: CommandLine) -> None:
    for question in QUESTIONS:
        for form in ([], ["--json"]):
            ran = hostile.do(*question, *form)
            assert _is_harmless(ran.out), question
            assert _is_harmless(ran.err), question


def test_hostile_text_is_shown_and_not_swallowed(hostile: CommandLine) -> None:
    out = hostile.do("shelf").out
    assert "<ESC>[2J" in out
    assert "<RLO>" in out
    assert hostile.do("shelf", "--json").json[0]["lot_code"] == HOSTILE


def test_hostile_text_that_is_typed_is_not_sent_back_raw(line: CommandLine) -> None:
    typed = (
        ["person", "show", ESCAPE], ["trace", ESCAPE], ["shelf", "--place", ESCAPE], ["kit", "put", ESCAPE, "x"],
        ["expiring", "--within-days", ESCAPE], ["person", "add", "A B", ESCAPE], ["key", ESCAPE],
    )  # fmt: skip
    for words in typed:
        ran = line.run(*words)
        assert ran.code in (2, 3), words
        assert _is_harmless(ran.err), words


@pytest.mark.parametrize(
    "typed", [[ESCAPE], ["kit", ESCAPE], [f"--{ESCAPE}"], ["shelf", f"--{ESCAPE}"], ["shelf", ESCAPE]]
)
def test_words_that_are_no_verb_are_not_sent_back_raw(
    typed: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(typed) == 2
    assert _is_harmless(capsys.readouterr().err)


def test_csv_from_the_store_runs_in_no_spreadsheet(hostile: CommandLine) -> None:
    rows = list(csv.DictReader(io.StringIO(hostile.do("shelf", "--csv").out)))
    assert list(rows[0]) == [f.name for f in dataclasses.fields(ShelfLine)]
    assert rows[0]["lot_code"] == f"'{HOSTILE}"
    assert rows[0]["quantity"] == "8"


@dataclasses.dataclass(frozen=True)
class _Row:
    text: str
    number: int | None
    day: date | None = None
    flag: bool = False
    many: tuple[str, ...] = ()


# The starts of formulas that OWASP, "CSV Injection", names.
@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "＝1"])
def test_every_start_of_a_formula_is_marked_as_text(text: str) -> None:
    cells = list(csv.reader(io.StringIO(csv_text([_Row(text, -5)]))))
    assert cells[1][0] == f"'{text}"
    assert cells[1][1] == "-5"


def test_csv_on_a_terminal_steers_nothing_either() -> None:
    assert "\x1b" in csv_text([_Row(ESCAPE, 1)])
    assert _is_harmless(csv_text([_Row(ESCAPE, 1)], for_terminal=True))


def test_csv_of_nothing_is_nothing() -> None:
    assert csv_text([]) == ""
    assert csv_text([], kind=_Row).count("\n") == 1
    assert csv_text([], kind=_Row) == csv_text([_Row("a", 1)]).splitlines(keepends=True)[0]


# ---- JSON --------------------------------------------------------------------------------------------


class _Word(StrEnum):
    YES = "yes indeed"


def test_json_has_the_fields_dates_as_iso_and_words_as_their_values() -> None:
    document = json.loads(
        json_text(
            {
                _Word.YES: [
                    _Row("ä\x1b", None, date(2026, 3, 2), flag=True, many=("a",)),
                    _Word.YES,
                    Fraction(1, 2),
                ]
            }
        )
    )
    assert document == {
        "yes indeed": [
            {"text": "ä\x1b", "number": None, "day": "2026-03-02", "flag": True, "many": ["a"]}, "yes indeed", "1/2",
        ]
    }  # fmt: skip


JSON_QUESTIONS = (
    ["shelf"], ["log"], ["expiring"], ["sets"], ["kit", "list"], ["buildable"], ["verify"], ["label", "stocks"],
    ["person", "show", "Clerk One"],
)  # fmt: skip


def test_every_json_answer_is_one_document_on_stdout(line: CommandLine) -> None:
    for question in JSON_QUESTIONS:
        ran = line.do(*question, "--json")
        json.loads(ran.out)
        assert ran.err == "", question


def test_an_act_answers_in_json_too(line: CommandLine) -> None:
    ran = line.do("place", "add", "bin", "A-09", "--site", world.SITE, "--json")
    assert set(ran.json) == {"event", "codes", "said"}
    assert ran.err == ""


# ---- tables ------------------------------------------------------------------------------------------


def test_a_table_is_aligned_and_cuts_nothing() -> None:
    long = "x" * 300
    table = listing([_Row("short", 7), _Row(long, 1234)], "number", ("what", lambda r: r.text))
    heading, first, second = table_lines(table)
    assert heading.split() == ["number", "what"]
    assert first.index("short") == second.index(long) == heading.index("what")
    assert first.startswith("     7")
    assert long in second


def test_wide_letters_and_combining_marks_keep_the_columns() -> None:
    table = Table(("a", "b"), (("寸法", "|"), ("e\u0301", "|"), ("abcd", "|")))
    assert [line[-1] for line in table_lines(table)[1:]] == ["|", "|", "|"]
    assert table_lines(table)[1:] == ["寸法  |", "e\u0301     |", "abcd  |"]


def test_nothing_is_said_on_stderr_and_leaves_stdout_empty(line: CommandLine) -> None:
    ran = line.do("shelf")
    assert ran.out == ""
    assert ran.err == "nothing of this is in the stores\n"


def test_the_sense_stands_first(line: CommandLine, store: Store) -> None:
    world.put_in_stock(store, world.CCW_BLADE, 4, at=world.after(1))
    heading, row = line.do("shelf").out.splitlines()
    assert heading.startswith("sense")
    assert row.startswith("CCW")


def test_verify_says_that_a_changed_history_is_unsound(line: CommandLine) -> None:
    head = line.do("verify", "--json").json["head"]
    assert line.do("verify", "--expected-head", head).code == 0
    number = head.split(":")[0]
    ran = line.run("verify", "--expected-head", f"{number}:{'0' * 64}")
    assert ran.code == 4
    assert "rewritten" in ran.out
