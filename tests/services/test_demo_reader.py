"""The scenario's form: what can't be read or does not go as written is told with its file and row."""

from datetime import datetime
from importlib.resources.abc import Traversable
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from kittrack import data
from kittrack.errors import BadInput, NotFound, Problem
from kittrack.services import demo, demo_values
from kittrack.services.demo_reader import Entry, read_entries, read_history
from kittrack.services.demo_scene import Scene
from kittrack.store.database import Store
from tests.factories import (
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    MANAGER,
    SCREW,
    T0,
    TECHNICIAN,
    WASHER,
    after,
    put_bottle,
    put_in_stock,
    sets_on_shelf,
)

TEXT = """\
# a month
2024-10-07 09:10  Clerk One: receive a delivery as dn-1, cw-1
    supplier: Invented Rotors

    line: A; 1 piece
    line: B; 2 pieces

2025-07-07 10:00  Clerk One: take a walk
"""


def read(text: str) -> tuple[list[Entry], list[Problem]]:
    """The paragraphs of a text and what is wrong with it."""
    problems: list[Problem] = []
    return list(read_entries(text, source="x.txt", zone="Europe/Oslo", problems=problems)), problems


def paragraph(text: str) -> Entry:
    """The only paragraph of a text."""
    (entry,), problems = read(text)
    assert problems == []
    return entry


def test_paragraphs_have_a_time_a_person_an_act_names_and_details_in_order() -> None:
    (first, second), problems = read(TEXT)
    assert problems == []
    assert (first.by, first.act, first.names) == ("Clerk One", "receive a delivery", ("dn-1", "cw-1"))
    assert first.all("line") == ("A; 1 piece", "B; 2 pieces")
    assert (first.row, second.row, second.details) == (2, 8, ())


def test_times_are_local_times_of_the_stores_in_winter_and_summer() -> None:
    (winter, summer), _ = read(TEXT.replace("2024-10-07", "2024-12-07"))
    oslo = ZoneInfo("Europe/Oslo")
    assert winter.at == datetime(2024, 12, 7, 9, 10, tzinfo=oslo)
    # UTC+1 in winter and UTC+2 in summer: IANA time zone database, Europe/Oslo.
    assert [str(one.at.utcoffset()) for one in (winter, summer)] == ["1:00:00", "2:00:00"]


@pytest.mark.parametrize(
    ("line", "row"),
    [
        ("2024-13-07 09:10  Clerk One: walk", 1),
        ("no heading at all", 1),
        ("    supplier: stands before any heading", 1),
        ("2024-10-07 09:10  Clerk One: walk\n    no value", 2),
    ],
)
def test_a_line_that_cannot_be_read_is_told_with_its_row(line: str, row: int) -> None:
    _, problems = read(line)
    assert [(p.source, p.row) for p in problems] == [("x.txt", row)]


def test_every_fault_of_every_file_is_told_at_once(tmp_path: Path) -> None:
    (tmp_path / "b.txt").write_text("nonsense", encoding="utf-8")
    (tmp_path / "a.txt").write_text("nonsense", encoding="utf-8")
    (tmp_path / "notes.md").write_text("for people", encoding="utf-8")
    with pytest.raises(BadInput) as told:
        read_history(tmp_path, zone="Europe/Oslo")
    assert [p.source for p in told.value.problems] == ["a.txt", "b.txt"]


# ---- what may go wrong while it is played -----------------------------------------------------------


@pytest.mark.parametrize(
    ("act", "said"),
    [
        ("fly to the moon", "nobody knows how to"),
        ("open a bottle\n    colour: blue", "has no detail 'colour'"),
        ("acknowledge the cautions as one, two", "gave 0 codes and 2 names"),
        ("acknowledge the cautions\n    refused: R3", "should have been refused"),
        ("let a person go\n    person: Nobody\n    refused: R3", "should be refused (R3"),
        (
            "let a person go\n    person: Nobody\n    refused: not found\n    because: of the moon",
            "of the moon",
        ),
        ("let a person go\n    person: Nobody", "was refused"),
        ("open a bottle\n    line: CW in A-01", "there is no"),
        ("move\n    thing: X in nowhere at all\n    to: A-01", "no place is called"),
        ("inspect pieces\n    line: x\n    piece: W-1; painted blue", "says nothing about a piece"),
        ("weigh blades\n    radius: 90 mm\n    masses: W-1 to W-3; 1.0 2.0", "count them"),
        ("record a motor test\n    seen: FR CW", "has no ' = '"),
        ("attach a paper\n    paper: nothing", "is no paper"),
        ("settle all findings\n    airframe: QA-01", "has no open finding"),
        ("fit positions\n    airframe: QA-01\n    only: group front", "name the positions"),
    ],
)
def test_a_paragraph_that_does_not_go_as_written_names_its_place(store: Store, act: str, said: str) -> None:
    entry = paragraph(f"2026-03-03 09:00  {MANAGER}: {act}\n")
    with pytest.raises(BadInput) as told:
        demo.play(Scene(store), entry)
    assert [(p.source, p.row) for p in told.value.problems] == [("x.txt", 1)]
    assert said in str(told.value)


def test_a_refusal_that_is_written_down_is_part_of_the_scenario(store: Store) -> None:
    scene = Scene(store)
    for act in (
        "let a person go\n    person: Nobody\n    refused: not found",
        f"let a person go\n    person: {MANAGER}\n    refused: role\n    because: last manager",
        "open a bottle\n    line: 1234\n    refused: bad input",
    ):
        demo.play(scene, paragraph(f"2026-03-03 09:00  {MANAGER}: {act}\n"))
    with store.reading() as read_store:
        assert read_store.value("SELECT count(*) FROM person WHERE active = 0") == 0


JOB = """\
2026-03-03 08:00  Clerk Two: prepare a kit as kit
    revision: QA A
    bench: Bench 1
    checker: Clerk One
    seal: 0001

2026-03-03 09:00  Technician One: open a job as job
    airframe: QA-01
    purpose: new rotors

2026-03-03 09:10  Technician One: start a change
    airframe: QA-01
    job: job
    kit: kit
    seal: 0001
    giver: Clerk One

2026-03-03 09:20  Technician One: fit a set
    job: job
    position: QA-01 FR
    set: CCW in job
    mark: L

2026-03-03 09:30  Technician One: fasten
    job: job
    position: QA-01 FR
    part: SC-M3x8 in job x 4
    part: WA-M3 in job x 4
    part: TL-10 in job
    torque: 0.8 N m
    tool: Torque driver 1

2026-03-03 09:40  Inspector One: inspect a position
    job: job
    position: QA-01 FR
    mark: L

2026-03-03 09:50  Technician One: fit positions
    airframe: QA-01
    only: FL, RL, RR
    job: job
    inspector: Inspector One
    tool: Torque driver 1

2026-03-03 10:50  Clerk One: return leftovers
    job: job
    item: TL-10 in job; bag closed

2026-03-03 11:00  Inspector One: walk
    seen: QA-01 FR = L
    seen: QA-01 RL = L
    seen: QA-01 FL = R
    seen: QA-01 RR = R
    job: job

2026-03-03 11:10  Inspector One: close a job
    job: job

2026-03-03 11:20  Technician One: open a job as empty-handed
    airframe: QA-02
    purpose: nothing was issued
"""


def test_work_at_an_aircraft_can_be_written_act_by_act(store: Store) -> None:
    for blade in (CW_BLADE, CCW_BLADE):
        sets_on_shelf(store, blade, 2, at=T0)
    for number, quantity in ((SCREW, 10), (SCREW, 6), (WASHER, 16)):  # screws of one lot, of two deliveries
        put_in_stock(store, number, quantity, at=T0)
    put_bottle(store, volume_ul=10_000, at=T0, expires_on="2026-12-31")
    played, problems = read(JOB)
    assert problems == []
    scene = Scene(store)
    for entry in played:
        demo.play(scene, entry)
    bare = "fit positions\n    airframe: QA-02\n    only: RL\n    job: empty-handed\n"
    with pytest.raises(BadInput, match="nothing in hand fits QA-02 RL"):
        demo.play(scene, paragraph(f"2026-03-03 11:30  Technician One: {bare}"))
    with store.reading() as found:
        assert found.value("SELECT state FROM job ORDER BY id LIMIT 1") == "closed"
        assert (
            found.rows("SELECT screws, washers, locker_ul, state FROM fit_record")
            == [(4, 4, 200, "inspected")] * 4
        )


# ---- values -----------------------------------------------------------------------------------------


def test_ranges_of_serials_keep_their_leading_zeros() -> None:
    assert demo_values.serials("W-008 to W-011") == ["W-008", "W-009", "W-010", "W-011"]
    assert demo_values.serials("W-008") == ["W-008"]
    assert demo_values.serials("W-008 to V-011") == ["W-008 to V-011"]


def test_a_supplier_s_pairs_are_named_by_their_first_serial() -> None:
    found = list(demo_values.inspected("W-1 to W-4; mark CW; pairs of 2"))
    assert [(p.serial, p.pair_code) for p in found] == [
        ("W-1", "W-1"),
        ("W-2", "W-1"),
        ("W-3", "W-3"),
        ("W-4", "W-3"),
    ]
    (bad,) = demo_values.inspected("no serial; mark CW; rejected; note chipped")
    assert (bad.serial, bad.result, bad.note) == (None, "rejected", "chipped")


def test_receipt_lines_say_part_amount_lot_dates_and_papers() -> None:
    line = demo_values.receipt_line("TL; 10 mL; lot 0012; made 2026-01-02; scan ]d2x; paper c of c A-1 of B")
    assert (line.part, line.quantity, line.unit, line.lot_code) == ("TL", 10_000, "volume_ul", "0012")
    assert (str(line.made_on), line.raw_scan, line.papers[0].number) == ("2026-01-02", "]d2x", "A-1")
    assert demo_values.receipt_line("SC; 4 pieces; no lot").lot_code is None
    assert demo_values.receipt_line("TL; 10 mL; lot A; until 2027-03-31").expiry.day is not None
    assert demo_values.receipt_line("TL; 10 mL; lot A; unknown").expiry.day is None


def test_positions_are_all_an_arm_a_group_or_a_list() -> None:
    assert demo_values.coverage("all").how == "all"
    assert (demo_values.coverage("arm front right").how, demo_values.coverage("group uppers").names) == (
        "arm",
        ("uppers",),
    )
    assert demo_values.coverage("FR, RL").names == ("FR", "RL")


# ---- what the scenario stands on ------------------------------------------------------------------------


def test_data_lies_in_the_wheel_or_else_in_the_checkout(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    assert (Path(str(data.data_folder("demo_db"))) / "README.txt").is_file()
    packed = tmp_path / "_data" / "demo_db"
    packed.mkdir(parents=True)

    def files(_package: str) -> Traversable:
        return tmp_path

    monkeypatch.setattr(data, "files", files)
    assert data.data_folder("demo_db") == packed
    assert Path(str(data.data_folder("labels"))).is_dir()


def test_acts_that_stand_or_fall_together_see_each_other_and_leave_nothing_behind(store: Store) -> None:
    def events() -> int:
        with store.reading() as found:
            return int(found.value("SELECT count(*) FROM event"))

    before = events()
    with pytest.raises(NotFound), store.all_or_nothing():
        with store.act("one", by=CLERK, at=T0):
            pass
        assert events() == before + 1
        with store.act("two", by="Nobody", at=T0):
            pass
    assert events() == before
    with store.all_or_nothing():
        for minute, who in enumerate((CLERK, TECHNICIAN)):
            with store.act("again", by=who, at=after(minute)):
                pass
    assert events() == before + 2
