"""Reading tables of others: what is taken, what is left out, and why."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kittrack.domain.screw_tables import HeadRow, read_head_table, read_length_table
from kittrack.errors import BadInput

HEADING = "Screw_Type,Unit,Nominal_Sizes\n"


def lengths_of(cells: str, *, unit: str = "mm") -> tuple[tuple[int, ...], list[str]]:
    table = read_length_table(f'{HEADING}std,{unit},"{cells}"\n')
    assert all((problem.field, problem.row) == ("std", 2) for problem in table.problems)
    return table.lengths_um["std"], [problem.message for problem in table.problems]


def test_a_good_row_is_read_to_the_micrometre() -> None:
    assert lengths_of("2,2.5,3,4") == ((2000, 2500, 3000, 4000), [])
    assert lengths_of("0.75,0.88,1.00", unit="in") == ((19_050, 22_352, 25_400), [])


@pytest.mark.parametrize(
    ("cells", "kept", "hint"),
    [
        ("4,5,68,10", (4, 5, 10), "6 and 8 run together"),
        ("5,68", (5,), "6 and 8 run together"),
        ("8,1012,16", (8, 16), "10 and 12 run together"),
        ("2,2.53,4", (2, 2.53, 4), ""),  # no reader can tell this one from a length
        ("5,86,10", (5, 10), "jumps too far;"),
        ("5,93.5,10", (5, 10), "jumps too far;"),
        ("5,6,6,8", (5, 6, 8), "repeats"),
        ("5,8,6,10", (5, 8, 10), "goes back"),
        ("5,,6", (5, 6), "no length"),
        ("5,-6,6", (5, 6), "no length"),
        ("5,nan,6", (5, 6), "no length"),
        ("5,1e9,6", (5, 6), "no length"),
        ("0,5", (5,), "no length"),
        ("5,\x1b[2J,6", (5, 6), "no length"),
        ("99999999999,5", (5,), "no length"),
    ],
)
def test_a_value_that_cannot_be_right_is_left_out_and_named(
    cells: str, kept: tuple[float, ...], hint: str
) -> None:
    found, messages = lengths_of(cells)
    assert found == tuple(round(mm * 1000) for mm in kept)
    assert len(messages) == bool(hint)
    assert all(hint in message and "\x1b" not in message for message in messages)


@given(
    st.lists(st.integers(1, 300), min_size=3, max_size=30, unique=True).map(sorted),
    st.integers(0, 10_000),
)
def test_no_fused_pair_becomes_a_length(values: list[int], where: int) -> None:
    steps = [values[0]]
    for value in values[1:]:
        if value <= 2 * steps[-1]:
            steps.append(value)
    if len(steps) < 3:
        return
    place = 1 + where % (len(steps) - 2)
    fused = f"{steps[place]}{steps[place + 1]}"
    cells = [*map(str, steps[:place]), fused, *map(str, steps[place + 2 :])]
    found, messages = lengths_of(",".join(cells))
    assert int(fused) * 1000 not in found
    assert messages


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("std,mm\n", "2 columns"),
        ("std,mm,5,6\n", "4 columns"),
        ("std,furlong,5\n", "unknown unit"),
        (",mm,5\n", "no name"),
    ],
)
def test_a_row_that_cannot_be_read_is_named(row: str, fault: str) -> None:
    table = read_length_table(f"{HEADING}good,mm,5\n{row}")
    assert table.lengths_um == {"good": (5000,)}
    (problem,) = table.problems
    assert problem.row == 3
    assert fault in problem.message


def test_a_standard_stands_in_the_table_once() -> None:
    table = read_length_table(f'{HEADING}std,mm,"5,6"\nstd,mm,"7,8"\n')
    assert table.lengths_um == {"std": (5000, 6000)}
    assert [problem.row for problem in table.problems] == [3]


def test_a_table_may_begin_with_a_byte_order_mark_and_hold_empty_lines() -> None:
    table = read_length_table(f"\ufeff{HEADING}\r\n\nstd,mm,5\r\n")
    assert table.lengths_um == {"std": (5000,)}


@pytest.mark.parametrize("text", ["", "a,b,c\n", "Screw_Type,Unit\n", "x" * 1_000_001, HEADING + '"open'])
def test_what_is_no_table_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        read_length_table(text)


@given(st.text(max_size=60))
def test_any_rest_of_a_table_is_read_or_refused(text: str) -> None:
    try:
        table = read_length_table(HEADING + text)
    except BadInput:
        return
    for lengths in table.lengths_um.values():
        assert list(lengths) == sorted(set(lengths))


HEADS = "Size,std:dk ,std:k,std:s,std:short,std:long,other:s\n"


def test_heads_are_read_by_thread() -> None:
    table = read_head_table(
        HEADS + "M3-0.5,5.68,3,2.5,5,30,\n#2-56,,,,,,5/64\nM4-0.7,,,,,,2\n", standard="std"
    )
    assert table.rows == {"M3": HeadRow(500, 5680, 2500, 5000, 30_000)}
    assert table.problems == ()


def test_a_head_row_with_a_gap_is_named() -> None:
    table = read_head_table(
        HEADS + "M3-0.5,5.68,3,2.5,5,30,\nM3-0.5,5.68,3,2.5,5,30,\nM4-0.7,7.22,4,,6\n", standard="std"
    )
    assert list(table.rows) == ["M3"]
    assert [problem.row for problem in table.problems] == [3, 4]


@pytest.mark.parametrize("text", ["", "Size\n", "Size,other:s\nM3-0.5,2\n"])
def test_a_table_of_another_standard_is_refused(text: str) -> None:
    with pytest.raises(BadInput, match="no table of heads"):
        read_head_table(text, standard="std")
