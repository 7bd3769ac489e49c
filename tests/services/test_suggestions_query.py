"""What begins with what somebody types: each source by its index, both engines alike, hostile beginnings find nothing."""

import shutil
from pathlib import Path

import pytest

from kittrack.cli.deeds_of_verbs import all_deeds
from kittrack.domain.codes import Kind
from kittrack.queries import suggestions as asked
from kittrack.queries.suggestions import _SOURCES, KINDS, _sql, suggestions
from kittrack.store.database import Store, open_store
from kittrack.store.records import Part
from tests.factories import BIN, CLERK, CW_BLADE, TAIL, after
from tests.hostile.texts import TYPED

PERSON = Kind.PERSON.value


def values(store: Store, of: str, text: str, *, limit: int = 8) -> list[str]:
    return [one.value for one in suggestions(store, of=(of,), text=text, limit=limit)]


@pytest.mark.parametrize("kind", KINDS)
def test_every_source_answers(store: Store, kind: str) -> None:
    for text in ("", "A", "%", "_", "'", "\\"):
        assert all(one.words for one in suggestions(store, of=(kind,), text=text))


def test_every_field_asks_for_what_there_is() -> None:
    assert {kind.value for kind in Kind} <= set(KINDS)
    asked = {
        name
        for deeds in all_deeds().values()
        for deed in deeds
        for ask in deed.asks
        for name in ask.looked_up
    }
    assert asked <= set(KINDS)
    assert {"part", "supplier", "type", Kind.PERSON.value, Kind.LOT.value, Kind.TOOL.value} <= asked


def test_names_are_found_whatever_their_capitals_and_the_same_text_first(store: Store) -> None:
    assert values(store, "part", CW_BLADE[:3].lower())[0].startswith(CW_BLADE[:3])
    assert CW_BLADE in values(store, "part", CW_BLADE[:3].lower())
    assert values(store, "part", CW_BLADE)[0] == CW_BLADE
    assert CLERK in values(store, PERSON, CLERK[:3].lower())
    assert values(store, Kind.AIRFRAME.value, TAIL[:2]) == sorted(
        values(store, Kind.AIRFRAME.value, TAIL[:2])
    )
    assert BIN in values(store, Kind.SHELF_PLACE.value, BIN[:2])


def test_numbers_begin_with_the_newest_and_an_answer_is_never_longer_than_asked(store: Store) -> None:
    badges = values(store, PERSON, "p0000", limit=100)
    assert badges == sorted(badges, reverse=True)
    assert values(store, PERSON, "P0000", limit=2) == badges[:2]
    with store.reading() as read:
        first = read.value("SELECT code FROM person ORDER BY id LIMIT 1")
        name = read.value("SELECT name FROM person ORDER BY id LIMIT 1")
    [one] = suggestions(store, of=(PERSON,), text=first)
    assert (one.value, one.words) == (first, name)


def test_a_revision_is_found_by_its_type_and_all_that_was_typed(store: Store) -> None:
    assert values(store, "type revision", "qa")
    assert values(store, "type revision", "QA A") == ["QA A"]
    assert values(store, "type revision", "QA Z") == []


def test_a_part_is_found_by_words_of_its_name_after_those_whose_number_begins_so(store: Store) -> None:
    with store.act("name", by=CLERK, at=after(1)) as act:
        part = act.find(Part, number=CW_BLADE)
        assert part is not None
        act.update(part, name="rotor blade 100% carbon_fibre, Clockwise, für Öse")
    assert values(store, "part", "CLOCKwise blade") == [CW_BLADE]
    assert values(store, "part", "100% carbon_") == [CW_BLADE]
    assert values(store, "part", "10_% carbon") == []
    assert values(store, "part", "FÜR öse") == [CW_BLADE]
    assert values(store, "part", "blade counter") == []
    assert values(store, "part", CW_BLADE[:2])[0].startswith(CW_BLADE[:2])


def test_names_of_parts_are_looked_through_as_far_as_the_newest_of_them(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    with store.reading() as read:
        newest, before = read.select(Part, order="id DESC", limit=2)
    monkeypatch.setattr(asked, "_PARTS_LOOKED_AT", 1)
    assert newest.number in values(store, "part", newest.name.split()[-1][1:])
    word = max(before.name.split(), key=len)[1:]
    assert before.number not in values(store, "part", word)


def test_revisions_and_fixings_are_those_of_the_type_beside(store: Store) -> None:
    def of(kind: str, text: str = "", **beside: str) -> list[str]:
        return [one.value for one in suggestions(store, of=(kind,), text=text, beside=beside)]

    with store.reading() as read:
        revisions = sorted(
            name
            for (name,) in read.rows(
                "SELECT r.name FROM type_revision r JOIN airframe_type y ON y.id = r.airframe_type_id WHERE y.name = 'QA'"
            )
        )
        code = str(read.value("SELECT code FROM airframe WHERE tail = ?", TAIL))
    assert revisions
    assert of("its revision", airframe_type="QA") == revisions
    assert of("its revision", airframe=TAIL) == of("its revision", airframe=code) == revisions
    assert of("its revision", "a", airframe_type="QA") == ["A"]
    assert of("its revision") == of("its revision", airframe_type="QZ") == []
    fixings = of("fixing", airframe_type="QA", revision="A")
    assert fixings
    assert of("fixing", fixings[0][:2].upper(), airframe_type="QA", revision="A") == fixings[:1]
    assert of("fixing", airframe_type="QA", revision="Z") == []


@pytest.mark.parametrize("text", [*TYPED.values(), "\U0010ffff", "%", "x" * 101], ids=[*TYPED, "last", "percent", "long"])  # fmt: skip
def test_hostile_beginnings_find_nothing_and_harm_nothing(store: Store, text: str) -> None:
    if text.strip():
        assert suggestions(store, of=KINDS, text=text) == ()


@pytest.mark.parametrize("kind", _SOURCES)
def test_a_beginning_is_a_range_of_an_index(sqlite_template: Path, tmp_path: Path, kind: str) -> None:
    shutil.copyfile(sqlite_template, tmp_path / "world.kittrack")
    store = open_store(f"sqlite:///{tmp_path / 'world.kittrack'}")
    with store.reading() as read:
        for source in _SOURCES[kind]:
            plan = [str(row[3]) for row in read.rows(f"EXPLAIN QUERY PLAN {_sql(source)}", "Q", "Q~", 8)]
            assert any(step.startswith("SEARCH x USING ") for step in plan), plan
            assert "SCAN x" not in plan[0], plan
    store.close()
