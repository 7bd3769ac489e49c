"""What a person may type and what not: angles, numbers, records of named values, files; and progress on a terminal."""

import io
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from kittrack.cli import reading
from kittrack.cli.progress import progress_line
from kittrack.cli.reading import Key, record
from kittrack.cli.verbs_counter import VERBS as COUNTER
from kittrack.cli.verbs_goods_in import READ_LINE
from kittrack.cli.verbs_opening import VERBS as OPENING
from kittrack.domain.dates import Expiry
from kittrack.errors import BadInput
from kittrack.services.booking import LineSpec, PaperSpec
from kittrack.services.returning import Leftover


@pytest.mark.parametrize(
    ("text", "angle_mdeg"),
    [("45", 45_000), ("-157.5", -157_500), ("22.5 deg", 22_500), ("0.001°", 1), ("+90", 90_000)],
)
def test_angles_are_thousandths_of_a_degree(text: str, angle_mdeg: int) -> None:
    assert reading.angle(text) == angle_mdeg


@pytest.mark.parametrize("text", ["", "45,5", "1e2", "4.1234", "1000", "north", "--5", "½", "4.x"])
def test_what_is_no_angle_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        reading.angle(text)


@pytest.mark.parametrize("text", ["", "-1", "1.0", "1e3", "٣", "9" * 30, "1 000"])
def test_what_is_no_whole_number_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        reading.whole(text)


def test_a_count_may_be_none_and_an_amount_may_not() -> None:
    assert reading.counted("0") == 0
    assert reading.counted("2.5 mL") == 2500
    with pytest.raises(BadInput):
        reading.amount_only("0")


def test_amounts_are_shown_as_people_read_them() -> None:
    assert reading.amount_text(2500, "volume_ul") == "2.5 mL"
    assert reading.amount_text(4, "pieces") == "4"
    assert reading.amount_text(1, "kit") == "1 kit"
    assert reading.time_text(None) == "unknown"
    assert reading.time_text(750) == "12:30"
    assert reading.moment_text(None) == ""
    assert reading.torque_text(800) == "0.8 N m"


@pytest.mark.parametrize(("text", "found"), [("yes", True), ("No", False)])
def test_yes_and_no_are_the_only_two(text: str, *, found: bool) -> None:
    assert reading.yes_no(text) is found
    with pytest.raises(BadInput):
        reading.yes_no("maybe")


def test_an_expiry_is_a_day_or_none_or_unknown() -> None:
    assert reading.expiry("None") == Expiry.unlimited()
    assert reading.expiry("unknown") == Expiry.unknown()
    assert reading.expiry("31 Mar 2027").day is not None
    with pytest.raises(BadInput):
        reading.expiry("03/04/2027")


# ---- records ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Thing:
    name: str
    mass_ug: int
    note: str = ""


_READ = record(_Thing, name=Key("name"), dry_mass=Key("mass_ug", reading.mass), note=Key("note"))


def test_a_record_has_named_values_in_any_order() -> None:
    assert _READ(" dry mass = 1.5 g ; name = A=B ") == _Thing("A=B", 1_500_000)


def test_every_fault_of_a_record_is_told_at_once() -> None:
    with pytest.raises(BadInput) as refused:
        _READ("dry mass=1.5; colour=red; name")
    assert [p.field for p in refused.value.problems] == ["dry mass", "colour", "name"]


def test_a_record_names_what_is_missing() -> None:
    with pytest.raises(BadInput, match=r"name, dry mass is missing"):
        _READ("note=x")


def test_a_delivery_line_takes_a_paper_only_where_one_is_named() -> None:
    line = READ_LINE("part=P; quantity=10 mL; lot=unknown; expires=none")
    assert line == LineSpec("P", 10_000, None, Expiry.unlimited(), unit="volume_ul")
    with_paper = READ_LINE("part=P; quantity=4; lot=L; expires=none; paper kind=form; paper number=7")
    assert with_paper.papers == (PaperSpec("form", "7", ""),)


def _reader(verbs: tuple[Any, ...], words: str, argument: str) -> Callable[[str], Any]:
    verb = next(v for v in verbs if v.words == words)
    read: Callable[[str], Any] = next(a.read for a in verb.arguments if a.name == argument)
    return read


def test_leftovers_say_how_much_and_whether_their_bag_is_closed() -> None:
    read = _reader(COUNTER, "return leftovers", "items")
    assert read("R000012-3") == Leftover("R000012-3")
    assert read("Y000004-T=4:closed") == Leftover("Y000004-T", 4, bag_closed=True)
    with pytest.raises(BadInput):
        read("Y000004-T=4:open")


def test_blades_without_a_serial_are_a_dash() -> None:
    found = _reader(OPENING, "books fitted", "fitted")("position=X1; part=P; mark=; serials=0417,-")
    assert found.serials == ("0417", None)
    assert found.mark == ""


# ---- files and progress ----------------------------------------------------------------------------


def test_a_file_is_read_as_bytes_with_its_name(tmp_path: Path) -> None:
    (tmp_path / "d.csv").write_bytes(b"\xff\x00")
    assert reading.file_bytes(str(tmp_path / "d.csv")) == (b"\xff\x00", "d.csv")


@pytest.mark.parametrize("name", ["none.csv", ".", "a\0b"])
def test_a_file_that_cannot_be_read_is_named(tmp_path: Path, name: str) -> None:
    with pytest.raises(BadInput):
        reading.file_bytes(f"{tmp_path}/{name}")


def test_a_file_too_large_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "_MOST_BYTES", 3)
    (tmp_path / "d.csv").write_bytes(b"1234")
    with pytest.raises(BadInput, match="size"):
        reading.file_bytes(str(tmp_path / "d.csv"))


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_progress_is_one_line_on_a_terminal_and_wiped_however_it_ends(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    terminal = _Terminal()
    monkeypatch.setattr("sys.stderr", terminal)
    with pytest.raises(BadInput), progress_line("events") as show:
        assert show is not None
        show(10, 20)
        show(11, 20)
        raise BadInput("stopped")
    first, second, *rest = terminal.getvalue().split("\r")[1:]
    assert (first, second) == ("10 of 20 events", "11 of 20 events")
    assert rest == [" " * len(first), ""]


def test_progress_is_silent_in_a_pipe(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stderr", io.StringIO())
    with progress_line("events") as show:
        assert show is None
