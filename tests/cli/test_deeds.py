"""Every verb is something that a station can do: its form asks for the same, and reads what is typed alike."""

import shlex
import time
from typing import Any

import pytest

from kittrack.cli.areas import all_verbs
from kittrack.cli.deeds_of_verbs import ALSO_AT, LEFT_OUT, all_deeds
from kittrack.cli.own_deeds import OWN
from kittrack.cli.papers import PAPERS
from kittrack.cli.parser import make_parser, read_values
from kittrack.cli.reading import RecordReader
from kittrack.cli.table_drawing import tables_drawn
from kittrack.cli.tables import Table, facts
from kittrack.cli.verb import Station, Verb
from kittrack.errors import BadInput
from kittrack.queries.shift import HandOverSummary
from kittrack.tui.deeds import NOWHERE, Deed
from kittrack.tui.form_rows import FormRows

VERBS = {verb.words: verb for verb in all_verbs()}
DEEDS = {deed.key: deed for mode, deeds in all_deeds().items() for deed in deeds if mode != NOWHERE}
_AT_THE_TERMINAL = ("scanner test",)  # its line reads the scan itself
_CONVERTED = [w for w in VERBS if w in DEEDS and w not in OWN and w not in _AT_THE_TERMINAL]


def test_every_verb_is_a_deed_or_says_why_not() -> None:
    assert set(VERBS) - set(DEEDS) == set(LEFT_OUT)
    assert all(LEFT_OUT.values())
    assert set(OWN) <= set(DEEDS)


def test_deeds_stand_at_the_station_of_their_verb() -> None:
    for mode, deeds in all_deeds().items():
        for deed in deeds if mode != NOWHERE else ():
            station = VERBS[deed.key].station
            where = "office" if station is Station.STORE else station.value.lower().replace("-", "_")
            assert where == mode or mode in ALSO_AT.get(deed.key, ())


@pytest.mark.parametrize(("question", "paper"), PAPERS.items())
def test_the_paper_of_an_answer_asks_for_nothing_that_the_question_did_not(question: str, paper: str) -> None:
    assert DEEDS[question].paper == paper
    assert DEEDS[question].prints is None
    asked = {ask.name for ask in DEEDS[question].asks}
    assert {ask.name for ask in DEEDS[paper].asks if ask.needed} <= {*asked, "into"}
    assert {ask.name for ask in DEEDS[question].asks if ask.needed} <= {ask.name for ask in DEEDS[paper].asks}


def test_every_page_of_an_answer_can_be_printed() -> None:
    silent = {d.key for d in DEEDS.values() if d.shows and not (d.paper or d.prints or d.writes)}
    assert silent - {key for key in silent if not VERBS[key].opens_store} == {"sign-on"}, "it shows no stock"


@pytest.mark.parametrize("deed", DEEDS.values(), ids=lambda deed: deed.key)
def test_the_fields_of_a_deed_have_names_of_their_own(deed: Deed) -> None:
    names = [ask.name for ask in deed.asks]
    assert len(names) == len(set(names))
    assert all(ask.words for ask in deed.asks)
    assert {ask.rows for ask in deed.asks} <= {"", *(rows.name for rows in deed.rows)}


def _texts(verb: Verb, deed: Deed) -> tuple[FormRows, dict[str, str]]:
    """The form of a deed, filled with the values of its verb's example."""
    typed = vars(make_parser(verb).parse_args(shlex.split(verb.example)))
    kept, now = FormRows(deed), {ask.name: ask.value for ask in deed.asks}
    for argument in verb.arguments:
        given = typed.get(argument.name)
        if isinstance(argument.read, RecordReader):
            for text in given or ():
                row = {ask.name: "" for ask in deed.of_rows(argument.name)}
                for part in text.split(";"):
                    name, _, value = (p.strip() for p in part.partition("="))
                    [ask] = [a for a in deed.of_rows(argument.name) if a.words == name]
                    row[ask.name] = value
                [rows] = [rows for rows in deed.rows if rows.name == argument.name]
                kept.add(rows, row)
        elif argument.is_switch:
            now[argument.name] = "yes" if given else "no"
        elif given is not None:
            parted = "\n" if argument.is_raw else f"{argument.parted} "
            now[argument.name] = parted.join(given) if argument.many else given
    return kept, now | {name: str(typed[name]) for name in ("second", "reason") if typed.get(name)}


@pytest.mark.parametrize("words", _CONVERTED)
@pytest.mark.usefixtures("files")
def test_a_form_reads_what_the_line_reads(words: str) -> None:
    verb, deed = VERBS[words], DEEDS[words]
    typed = make_parser(verb).parse_args(shlex.split(verb.example))
    wanted = read_values(verb, typed)
    wanted = verb.build(wanted) if verb.build else wanted
    kept, now = _texts(verb, deed)
    got = kept.values(now)
    common = {name: now[name] for name in ("second", "reason") if now.get(name) and name in verb.common}
    switches = {a.name for a in verb.arguments if a.is_switch}
    assert _told(got) == _told(wanted | common | {n: False for n in switches - set(wanted) if n in got})


def _told(values: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in values.items() if value not in ((), "")}


def test_a_fault_in_a_row_names_the_row_and_what_was_typed_stays() -> None:
    deed = DEEDS["weigh"]
    kept = FormRows(deed)
    [rows] = deed.rows
    row = {"piece": "U000001-K", "mass_ug": "31.2 g", "radius_um": "96 mm"}
    kept.add(rows, row)
    with pytest.raises(BadInput, match="mass"):
        kept.add(rows, row | {"mass_ug": "heavy"})
    with pytest.raises(BadInput) as caught:
        kept.values(row | {"mass_ug": "heavy", "scale": ""})
    assert [(p.row, p.message.split(":")[0]) for p in caught.value.problems] == [
        (None, "scale is empty."),
        (2, "mass"),
    ]
    assert kept.take_back("weighings") == row
    assert kept.take_back("weighings") is None


def test_a_wide_table_becomes_blocks_and_loses_no_word() -> None:
    heads = tuple(f"heading{n}" for n in range(12))
    row = tuple(f"value-number-{n}-of-twelve" for n in range(12))
    lines = tables_drawn([Table(heads, (row, row), "the title")], width=80)
    assert max(map(len, lines)) <= 80
    whole = " ".join(lines)
    assert all(whole.count(text) == 2 for text in row)
    assert all(f"{head}: " in whole for head in heads[1:])
    assert lines[0] == "the title"


def test_a_narrow_table_stays_a_table() -> None:
    lines = tables_drawn(
        [facts(("kit", "K000001-A"), ("state", "sealed")), Table(("a", "b"), ((1, 2),))], width=80
    )
    assert lines == [" kit    K000001-A", " state  sealed", "", " a  b", " 1  2"]


def test_what_is_empty_says_so() -> None:
    assert tables_drawn([Table(("a",), (), nothing="nothing is held")], width=80) == ["nothing is held"]


def test_instants_stand_in_tables_as_people_read_them(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "Europe/Oslo")
    time.tzset()
    try:
        shows = DEEDS["shift list"].shows
        assert shows is not None
        since = "since 2026-09-30T06:00:00.000000Z"
        one = HandOverSummary("G000001-M", "2026-09-30T14:30:00.000000Z", "Clerk One", "Clerk Two", 3, since)
        told = " ".join(" ".join(line.split()) for line in shows((one,))(100))
    finally:
        monkeypatch.undo()
        time.tzset()
    assert "2026-09-30 16:30 +02:00" in told
    assert "since 2026-09-30 08:00 +02:00" in told
    assert "000000Z" not in told
