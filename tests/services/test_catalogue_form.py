"""The form of a catalogue's files that is told to people is the one that the reader takes, field by field."""

import csv
from pathlib import Path
from typing import Any

import pytest

from kittrack.data import data_folder
from kittrack.errors import NotFound
from kittrack.queries.catalogue_form import ALWAYS, catalogue_form
from kittrack.services import catalogue_files, catalogue_nested
from kittrack.services.catalogue_kinds import Kind
from kittrack.services.catalogue_rows import Row


def told(file: str) -> set[str]:
    return {one.field for one in catalogue_form() if one.file == file}


def asked(kind: Kind[Any]) -> Row:
    """A row of which nothing is given, once it was read: what was asked of it is what it may hold."""
    row = Row({}, "a file", [])
    kind.read(row)
    return row


@pytest.mark.parametrize("file", [*catalogue_files._LISTS])
def test_every_column_of_a_list_is_told(file: str) -> None:
    assert told(file) == set(catalogue_files._LISTS[file][1])


def test_every_field_of_a_part_is_told() -> None:
    assert told("parts/*.toml [[part]], parts/*.csv") == asked(catalogue_nested.PART).seen
    assert {*catalogue_nested.PART_COLUMNS, "marks"} == asked(catalogue_nested.PART).seen


def test_every_field_of_a_type_is_told() -> None:
    assert told("types/*.toml") == {"type", "revision"}
    row = Row({}, "a file", [], is_typed=True)
    catalogue_nested.read_revision(row, "T")
    assert told("types/*.toml [[revision]]") == row.seen


@pytest.mark.parametrize("table", ["fixing", "position", "group", "extra"])
def test_every_field_of_a_table_in_a_revision_is_told(table: str) -> None:
    """An unknown field is answered with those that are known."""
    row = Row({table: [{"no such field": "x"}]}, "a file", [], is_typed=True)
    catalogue_nested.read_revision(row, "T")
    [sentence] = [p.message for p in row.problems if "There is no such field" in p.message]
    known = sentence.partition("the fields are: ")[2].rstrip(".").split(", ")
    assert told(f"types/*.toml [[revision.{table}]]") == set(known)


def test_what_is_always_needed_stands_in_every_row_of_the_demo() -> None:
    folder = Path(str(data_folder("demo_db"))) / "catalogue"
    for file in catalogue_files._LISTS:
        with (folder / file).open(encoding="utf-8", newline="") as text:
            rows = list(csv.DictReader(text))
        needed = [one.field for one in catalogue_form(file=file) if one.needed == ALWAYS]
        assert needed
        assert all(row[field] for row in rows for field in needed)


def test_one_file_can_be_asked_for_and_another_is_not_found() -> None:
    assert {one.file for one in catalogue_form(file="places")} == {"places.csv"}
    with pytest.raises(NotFound, match=r"ask for sites\.csv, places\.csv"):
        catalogue_form(file="colours")
