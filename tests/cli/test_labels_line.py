"""Labels by the command line: every kind of thing that carries one, copies that say so, files of three kinds."""

from pathlib import Path

import pytest

from kittrack.cli.exits import Exit
from kittrack.domain import codes
from kittrack.errors import NotFound
from kittrack.printing.contents import Label
from kittrack.services import labelling
from kittrack.services.label_contents import label_of
from kittrack.store.database import Store
from kittrack.store.records import Airframe, Kit, LabelPrint, Place, SenseMap, TypeRevision
from tests import factories as world
from tests.cli.line import CommandLine


@pytest.fixture
def line(world_url: str, capsys: pytest.CaptureFixture[str]) -> CommandLine:
    return CommandLine(world_url, capsys)


def _words(store: Store, code: str) -> str:
    with store.reading() as read:
        label: Label = label_of(read, code)
    face = label.face()
    return " | ".join([face.heading, face.banner, *face.lines])


def _code(store: Store, table: str, where: str = "1 = 1") -> str:
    with store.reading() as read:
        code: str = read.value(f"SELECT code FROM {table} WHERE {where} ORDER BY id LIMIT 1")
    return code


def test_a_label_is_drawn_kept_and_its_second_copy_says_so(
    line: CommandLine, store: Store, tmp_path: Path
) -> None:
    place = _code(store, "place", "kind = 'bin'")
    into = tmp_path / "bin.pdf"
    line.do("label", "print", place, "--into", str(into), "--check")
    assert into.read_bytes().startswith(b"%PDF")
    again = line.run("label", "print", place, "--into", str(into))
    assert again.code == Exit.USAGE
    assert "--force" in again.err
    ran = line.do("label", "print", place.lower(), "--into", str(into), "--force")
    assert ran.codes == [place]
    assert f"{place} is copy 2." in ran.err
    with store.reading() as read:
        kept = read.select(LabelPrint)
    assert [(p.subject, p.copy_number, p.stock.split("@")[0]) for p in kept] == [
        (place, 1, "roll-100x50"),
        (place, 2, "roll-100x50"),
    ]


def test_the_history_of_a_label_tells_the_moment_as_every_table_does(
    line: CommandLine, store: Store, tmp_path: Path
) -> None:
    place = _code(store, "place", "kind = 'bin'")
    line.do("label", "print", place, "--into", str(tmp_path / "bin.pdf"))
    assert world.after(61).strftime("%Y-%m-%d %H:%M UTC") in line.do("label", "history", place).out


def test_a_copy_carries_its_number_on_the_label_itself(store: Store) -> None:
    with store.reading() as read:
        label = label_of(read, _code(store, "place", "kind = 'bin'"))
    face = labelling.Copy(label, 2).face()
    assert face.lines[-1] == "copy 2"
    assert face.heading == label.face().heading


@pytest.mark.parametrize(("ending", "start"), [("pdf", b"%PDF"), ("svg", b"<"), ("png", b"\x89PNG")])
def test_the_ending_of_the_file_says_its_kind(
    line: CommandLine, store: Store, tmp_path: Path, ending: str, start: bytes
) -> None:
    into = tmp_path / f"label.{ending}"
    line.do("label", "print", _code(store, "person"), "--into", str(into))
    assert into.read_bytes().startswith(start)


def test_svg_and_png_hold_one_label_and_other_kinds_are_named(
    line: CommandLine, store: Store, tmp_path: Path
) -> None:
    two = [_code(store, "person"), _code(store, "tool")]
    assert line.run("label", "print", *two, "--into", str(tmp_path / "two.svg")).code == Exit.USAGE
    assert line.run("label", "print", *two, "--into", str(tmp_path / "two.docx")).code == Exit.USAGE
    line.do("label", "print", *two, "--into", str(tmp_path / "two.pdf"))
    assert line.run("label", "print", two[0], two[0], "--into", str(tmp_path / "x.pdf")).code == Exit.USAGE


def test_nothing_is_kept_of_a_label_that_cannot_be_drawn(
    line: CommandLine, store: Store, tmp_path: Path
) -> None:
    places = [_code(store, "place", "kind = 'bin'"), _code(store, "airframe")]
    into = str(tmp_path / "x.pdf")
    ran = line.run("label", "print", *places, "--into", into, "--stock", "sheet-a4-3x8", "--start", "99")
    assert ran.code == Exit.PRINTING
    assert line.run("label", "print", *places, "--into", into, "--stock", "papyrus").code == Exit.NOT_FOUND
    with store.reading() as read:
        assert read.select(LabelPrint) == []
    assert not Path(into).exists()


def test_a_file_that_cannot_be_written_is_a_fault_of_printing(
    line: CommandLine, store: Store, tmp_path: Path
) -> None:
    ran = line.run("label", "print", _code(store, "tool"), "--into", str(tmp_path / "no" / "x.pdf"))
    assert ran.code == Exit.PRINTING
    assert "print them again" in ran.err


def test_a_kit_carries_no_label_before_it_is_sealed(line: CommandLine, store: Store, tmp_path: Path) -> None:
    with store.act("begin a kit", by=world.CLERK, at=world.after(1)) as act:
        revision = act.select(TypeRevision)[0]
        code = act.new_code(Kit, codes.Kind.KIT)
        bench = act.find(Place, kind="bench")
        assert bench is not None
        place = act.insert(Place(code=code, kind="kit", name=code))
        act.move_container(place.id, from_place_id=None, to_place_id=bench.id)
        act.insert(
            Kit(
                code=code, place_id=place.id, type_revision_id=revision.id, settings_revision=1,
                built_by_id=act.by_id, event_id=act.event_id,
            )
        )  # fmt: skip
    ran = line.run("label", "kit", code, "--into", str(tmp_path / "kit.pdf"))
    assert ran.code == Exit.REFUSED
    assert ran.err.startswith("R5: ")


def test_label_kit_takes_kits_only(line: CommandLine, store: Store, tmp_path: Path) -> None:
    ran = line.run("label", "kit", _code(store, "tool"), "--into", str(tmp_path / "kit.pdf"))
    assert ran.code == Exit.USAGE
    assert "scan a kit" in ran.err


def test_things_without_a_label_are_named(store: Store, line: CommandLine, tmp_path: Path) -> None:
    world.put_in_stock(store, world.SCREW, 8, at=world.after(1))
    ran = line.run("label", "print", _code(store, "delivery"), "--into", str(tmp_path / "x.pdf"))
    assert ran.code == Exit.USAGE
    assert "carries no label" in ran.err


# ---- what the labels say ---------------------------------------------------------------------------


def test_stock_labels_say_what_how_much_and_until_when(store: Store) -> None:
    received = world.put_in_stock(
        store, world.LOCKER, 20_000, at=world.after(1), lot_code="T-1", expires_on="2027-03-31"
    )
    said = _words(store, received)
    assert "20 mL TL-10" in said
    assert "use by 2027-03-31" in said
    assert "received 2026-03-02" in said
    said = _words(store, _code(store, "lot"))
    assert "20 mL TL-10" in said
    assert "Invented Rotors, lot T-1" in said


def test_stock_that_waits_or_is_held_says_so_first(store: Store, line: CommandLine) -> None:
    waits = world.put_in_stock(store, world.SCREW, 8, at=world.after(1), condition="on hold")
    assert "ON HOLD | on hold: not inspected yet" in _words(store, waits)
    held = world.put_in_stock(store, world.WASHER, 8, at=world.after(2))
    assert "ON HOLD" not in _words(store, held)
    hold = line.do("hold", "place", held, "--reason", "rust").first
    assert "ON HOLD | on hold: rust" in _words(store, held)
    said = _words(store, hold)
    assert "DO NOT USE" in said
    assert f"receipt line {held} | rust | {world.CLERK}" in said


def test_airframes_and_positions_say_type_and_sense(store: Store) -> None:
    assert f"{world.TAIL} | QA rev A" in _words(store, _code(store, "airframe"))
    said = _words(store, _code(store, "position", "name = 'FR'"))
    assert f"{world.TAIL}, FR | counter-clockwise seen from above | map revision 1" in said
    with store.reading() as read:
        assert label_of(read, _code(store, "position", "name = 'FL'")).face().sense == "CW"


def test_a_position_without_a_sense_in_the_map_gets_no_label(store: Store) -> None:
    with store.act("an empty map", by=world.MANAGER, at=world.after(70)) as act:
        frame = act.find(Airframe, tail=world.TAIL)
        assert frame is not None
        empty = act.insert(SenseMap(airframe_id=frame.id, revision=2, source="none", event_id=act.event_id))
        act.update(frame, sense_map_id=empty.id)
    with pytest.raises(NotFound, match=f"the map of {world.TAIL} gives no sense for FR"):
        _words(store, _code(store, "position", "name = 'FR'"))


def test_people_places_and_tools_say_who_and_what_they_are(store: Store) -> None:
    assert "Inspector One | inspector, technician" in _words(
        store, _code(store, "person", "name = 'Inspector One'")
    )
    assert "BIN" in _words(store, _code(store, "place", "kind = 'bin'"))
    assert "0.5 N m to 5 N m | calibrated until 2027-01-31" in _words(
        store, _code(store, "tool", "kind = 'torque'")
    )
    assert "shows 0.001 g" in _words(store, _code(store, "tool", "kind = 'scale'"))
