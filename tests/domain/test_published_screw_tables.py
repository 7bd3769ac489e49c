"""Our screw tables against those that others published in the PyPI package bd-warehouse (Apache-2.0).

Its CSV files are read where they lie; the package itself needs a CAD kernel and is never imported.
Install them with `pip install --no-deps bd-warehouse`.
"""

import importlib.util
from pathlib import Path

import pytest

from kittrack.domain.fasteners import Head, Screw, check_length, key_um, standard_lengths_um
from kittrack.domain.screw_tables import LengthTable, read_head_table, read_length_table
from kittrack.domain.threads import COARSE, property_class


@pytest.fixture(scope="module")
def tables() -> Path:
    spec = importlib.util.find_spec("bd_warehouse")
    if spec is None or not spec.submodule_search_locations:
        pytest.skip("bd-warehouse is not installed: pip install --no-deps bd-warehouse")
    return Path(spec.submodule_search_locations[0]) / "data"


@pytest.fixture(scope="module")
def lengths(tables: Path) -> LengthTable:
    return read_length_table((tables / "nominal_screw_lengths.csv").read_text(encoding="utf-8"))


def test_the_fused_lengths_of_iso_1580_are_caught_and_named(tables: Path, lengths: LengthTable) -> None:
    text = (tables / "nominal_screw_lengths.csv").read_text(encoding="utf-8")
    row = next(n for n, line in enumerate(text.splitlines(), start=1) if line.startswith("iso1580,"))
    assert ",5,68,10," in text.splitlines()[row - 1]  # the slip stands in version 0.4.0
    (problem,) = (each for each in lengths.problems if each.field == "iso1580")
    assert problem.row == row == 9
    assert "68 in the lengths of iso1580" in problem.message
    assert "6 and 8 run together" in problem.message
    found = lengths.lengths_um["iso1580"]
    assert not {68_000, 6000, 8000} & set(found)  # nothing is orderable that was not printed as it is
    assert found[:6] == (2000, 2500, 3000, 4000, 5000, 10_000)
    assert found[-1] == 80_000


def test_no_other_metric_row_is_doubted(lengths: LengthTable) -> None:
    # the two inch lists print 6.25 twice
    assert {each.field for each in lengths.problems} == {"iso1580", "asme_b_18.6.3", "asme_b18.3"}
    assert all("6.25" in each.message for each in lengths.problems if each.field != "iso1580")
    assert len(lengths.lengths_um) == 30


PUBLISHED = {Head.SOCKET: "iso4762", Head.BUTTON: "iso7380_1", Head.COUNTERSUNK: "iso10642"}
FILES = {
    Head.SOCKET: "socket_head_cap_parameters.csv",
    Head.BUTTON: "button_head_parameters.csv",
    Head.COUNTERSUNK: "countersunk_head_parameters.csv",
}


@pytest.mark.parametrize("head", list(Head))
def test_keys_pitches_and_length_ranges_are_the_published_ones(head: Head, tables: Path) -> None:
    text = (tables / FILES[head]).read_text(encoding="utf-8")
    table = read_head_table(text, standard=PUBLISHED[head])
    assert table.problems == ()
    ours = [name for name in COARSE if standard_lengths_um(head, thread=COARSE[name])]
    assert ours == [name for name in COARSE if name in table.rows]
    for name in ours:
        row, thread = table.rows[name], COARSE[name]
        assert row.pitch_um == thread.pitch_um
        # socket heads print the key, the others the greatest width of their socket
        assert 0 <= row.key_um - key_um(head, thread=thread) <= 150
        assert (head is not Head.SOCKET) or row.key_um == key_um(head, thread=thread)
        made = standard_lengths_um(head, thread=thread)
        assert (made[0], made[-1]) == (row.shortest_um, row.longest_um)


@pytest.mark.parametrize("head", list(Head))
def test_standard_lengths_are_the_published_ones(head: Head, lengths: LengthTable) -> None:
    published = set(lengths.lengths_um[PUBLISHED[head]])
    for thread in COARSE.values():
        made = standard_lengths_um(head, thread=thread)
        between = {um for um in published if made and made[0] <= um <= made[-1]}
        assert set(made) == between


def test_socket_heads_are_as_wide_as_the_supplier_tables_say(tables: Path) -> None:
    # uis.no and creativefasteners.co.in print the plain head; this table the knurled one, a little wider
    plain_mm = {"M1.6": 3.0, "M2": 3.8, "M2.5": 4.5, "M3": 5.5, "M4": 7, "M5": 8.5, "M6": 10, "M8": 13}
    table = read_head_table((tables / FILES[Head.SOCKET]).read_text(encoding="utf-8"), standard="iso4762")
    for name, width_mm in plain_mm.items():
        assert 0 < table.rows[name].head_um - width_mm * 1000 <= 280


@pytest.mark.parametrize("name", ["M3", "M4", "M5"])
def test_a_screw_of_the_fused_length_is_questioned(name: str) -> None:
    for standard in ("ISO 4762", "ISO 7380-1", "ISO 10642"):
        assert check_length(Screw(COARSE[name], 68_000, standard, property_class("8.8")))
