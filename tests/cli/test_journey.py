"""A whole rotor change by the command line alone: from the delivery to the closed job, on both engines."""

from pathlib import Path

import pytest

from kittrack.cli.exits import Exit
from kittrack.services.label_contents import label_of
from kittrack.store.database import Store
from kittrack.store.records import Airframe, Position
from tests import factories as world
from tests.cli.line import CommandLine

PAPER = "paper kind=certificate of conformity; paper number=C-1; paper issuer=Invented Rotors"
FIXINGS = ((world.SCREW, "40", "none"), (world.WASHER, "40", "none"), (world.LOCKER, "20 mL", "2027-03-31"))
MARKS = {"CW": "R", "CCW": "L"}


@pytest.fixture
def line(world_url: str, capsys: pytest.CaptureFixture[str]) -> CommandLine:
    return CommandLine(world_url, capsys)


def _receive(line: CommandLine) -> dict[str, str]:
    """Take in blades and fixings; answers with the receipt line of each part."""
    parts = ((world.CW_BLADE, "4", "none"), (world.CCW_BLADE, "4", "none"), *FIXINGS)
    lines = [f"part={p}; quantity={q}; lot=LOT-{p}; expires={e}; {PAPER}" for p, q, e in parts]
    delivery, *codes = line.do(
        "delivery", "receive", *lines, "--supplier", "Invented Rotors", "--reference", "DN-7"
    ).codes
    assert delivery.startswith("D")
    return dict(zip([p for p, _, _ in parts], codes, strict=True))


def _make_sets(line: CommandLine, received: str, mark: str) -> list[str]:
    """Inspect the four blades of a receipt line that came in pairs, and make their two sets."""
    pieces = [f"serial={received}-{n}; mark={mark}; pair={received}-P{n // 2}" for n in range(4)]
    codes = line.do("inspect", "pieces", received, *pieces, by=world.INSPECTOR).codes
    return [line.do("set", "pair", codes[n], codes[n + 1]).first for n in (0, 2)]


def _stock(line: CommandLine) -> dict[str, str]:
    received = _receive(line)
    sets = _make_sets(line, received[world.CW_BLADE], "R") + _make_sets(line, received[world.CCW_BLADE], "L")
    for part, amount, _ in FIXINGS:
        line.do("inspect", "stock", received[part], "--accepted", amount, by=world.INSPECTOR)
    line.do("move", *sets, *(received[part] for part, _, _ in FIXINGS), "--to", world.BIN)
    bottle = line.do("bottle", "open", received[world.LOCKER]).first
    return received | {"bottle": bottle}


def _kit(line: CommandLine) -> str:
    kit = line.do("kit", "build", "--bench", world.BENCH, "--revision", "QA A").first
    line.do("kit", "check", kit, by=world.BUILDER)
    line.do("kit", "seal", kit, "004417", by=world.BUILDER)
    line.do("kit", "put", kit, world.BIN2)
    return kit


def _fit_all(line: CommandLine, store: Store, job: str, kit: str, received: dict[str, str]) -> None:
    """Fit, fasten and inspect every position with a set of its own sense, then walk them all."""
    lines = line.do("kit", "show", kit, "--json").json["lines"]
    sets = {one["sense"]: list(one["things"]) for one in lines if one["kind"] == "rotor set"}
    bottle = next(one["things"][0] for one in lines if one["kind"] == "threadlocker")
    walk = []
    for position in line.do("airframe", "show", world.TAIL, "--json").json["positions"]:
        code, mark = position["code"], MARKS[position["sense"]]
        fitted = sets[position["sense"]].pop()
        line.do("fit", job, code, fitted, "--mark", mark, by=world.TECHNICIAN)
        fixings = [f"{received[world.SCREW]}=4", f"{received[world.WASHER]}=4", bottle]
        torque = ["--torque", "0.8 N m", "--tool", "Torque driver 1"]
        line.do("fasten", job, code, *fixings, *torque, by=world.TECHNICIAN)
        line.do("inspect", "position", job, code, "--mark", mark, by=world.INSPECTOR)
        walk.append(f"position={code}; mark={mark}")
    line.do("walk", job, *walk, by=world.INSPECTOR)
    line.do("return", "leftovers", job, bottle)


def _said(store: Store, code: str) -> list[str]:
    with store.reading() as read:
        face = label_of(read, code).face()
    return [face.heading, face.banner, *face.lines]


def _print_labels(line: CommandLine, store: Store, folder: Path, *, kit: str, job: str) -> None:
    """The labels of a kit, of one of its sets, of a blade and of a job: drawn, read back, and with the right words."""
    into = folder / "kit.pdf"
    line.do("label", "kit", kit, "--into", str(into), "--check")
    assert into.read_bytes().startswith(b"%PDF")
    assert _said(store, kit) == [
        f"KIT {kit}", "ISSUE WHOLE", "QA rev A: all positions", f"CW 2 sets of {world.CW_BLADE}",
        f"CCW 2 sets of {world.CCW_BLADE}", "16 screw M3 x 8", "16 washer M3", "0.8 mL threadlocker, medium",
        "seal 004417, use by 2027-03-02", f"built {world.CLERK}, checked {world.BUILDER}, 2026-03-02",
    ]  # fmt: skip
    one = line.do("sets", "--json").json["sets"][0]
    line.do(
        "label", "print", one["code"], one["blades"][0], job, "--into", str(folder / "more.pdf"), "--check"
    )
    said = _said(store, one["code"])
    assert said[3].startswith(f"2 blades {one['part']}, lot L")
    assert said[4] == f"supplier pairing, {world.CLERK}, 2026-03-02"
    assert _said(store, one["blades"][0])[3].startswith("serial ")
    assert _said(store, job)[2:] == [f"{world.TAIL}, QA A", "first rotors", "opened 2026-03-02"]


def test_a_rotor_change_from_delivery_to_closed_job(line: CommandLine, store: Store, tmp_path: Path) -> None:
    received = _stock(line)
    kit = _kit(line)
    job = line.do("job", "open", world.TAIL, "first rotors", by=world.TECHNICIAN).first
    _print_labels(line, store, tmp_path, kit=kit, job=job)

    wrong = line.run("issuable", kit, job, "--seal", "004418")
    assert wrong.code == Exit.REFUSED
    assert "R5" in wrong.out
    assert line.run("issue", kit, job, "--seal", "004418", "--to", world.TECHNICIAN).code == Exit.REFUSED
    voucher = line.do("issue", kit, job, "--seal", "004417", "--to", world.TECHNICIAN).first
    assert voucher.startswith("V")
    assert line.run("issue", kit, job, "--seal", "004417", "--to", world.TECHNICIAN).code == Exit.CONFLICT

    line.do("open", kit, "--seal", "004417", by=world.TECHNICIAN)
    _fit_all(line, store, job, kit, received)
    line.do("job", "close", job, by=world.INSPECTOR)

    account = line.do("recall", received[world.CW_BLADE], "--json").json
    assert dict(account["classes"])["fitted"] == 4
    assert account["airframes"] == [world.TAIL]
    assert line.do("verify").code == Exit.DONE
    assert line.do("sets", "--json").json["sets"][0]["breaches"] == []


def test_a_removed_set_gets_a_tag_and_comes_back_only_by_inspection(
    line: CommandLine, store: Store, tmp_path: Path
) -> None:
    received = _stock(line)
    kit = _kit(line)
    job = line.do("job", "open", world.TAIL, "first rotors", by=world.TECHNICIAN).first
    line.do("issue", kit, job, "--seal", "004417", "--to", world.TECHNICIAN)
    line.do("open", kit, "--seal", "004417", by=world.TECHNICIAN)
    _fit_all(line, store, job, kit, received)
    line.do("job", "close", job, by=world.INSPECTOR)
    line.do("airframe", "hours", world.TAIL, "12:30", "40", "--source", "flight log", by=world.TECHNICIAN)

    second = line.do(
        "job", "open", world.TAIL, "look at one rotor", "--positions", "FR", by=world.TECHNICIAN
    ).first
    there = line.do("airframe", "fitted", world.TAIL, "--json").json[0]
    took = ["--mark", MARKS[there["sense"]], "--screws-out", "4", "--reason", "nick in the leading edge"]
    tag = line.do("remove", second, there["position"], *took, by=world.TECHNICIAN).first
    said = _said(store, tag)
    assert said[1] == "REMOVED"
    assert f"{there['sense']} as found, 12:30 h in service" in said
    line.do("label", "print", tag, "--into", str(tmp_path / "tag.png"), "--check")
    seen = ["--mark", MARKS[there["sense"]], "--note", "polished out"]
    line.do("inspect", "set", there["rotor_set"], *seen, "--to", world.BIN, by=world.INSPECTOR)
    assert f"bin {world.BIN}" in line.do("what", there["rotor_set"]).out
    assert line.do("verify").code == Exit.DONE


def test_a_set_of_the_other_sense_is_stopped_at_the_position(line: CommandLine, store: Store) -> None:
    received = _stock(line)
    kit = _kit(line)
    job = line.do("job", "open", world.TAIL, "first rotors", by=world.TECHNICIAN).first
    line.do("issue", kit, job, "--seal", "004417", "--to", world.TECHNICIAN)
    line.do("open", kit, "--seal", "004417", by=world.TECHNICIAN)
    lines = line.do("kit", "show", kit, "--json").json["lines"]
    wrong = next(one["things"][0] for one in lines if one["sense"] == "CW")
    with store.reading() as read:
        frame = read.find(Airframe, tail=world.TAIL)
        assert frame is not None
        position = read.find(Position, airframe_id=frame.id, name="FR")
        assert position is not None
    ran = line.run("fit", job, position.code, wrong, "--mark", "R", by=world.TECHNICIAN)
    assert ran.code == Exit.REFUSED
    assert ran.err.startswith("R3: ")
    line.do("stopped", job, position.code, wrong, "--mark", "R", by=world.TECHNICIAN)
    assert received


def test_a_recall_goes_from_hold_to_release(line: CommandLine) -> None:
    received = _stock(line)
    lot = f"LOT-{world.CW_BLADE}"
    reason = ["--reason", "cracks at the root", "--reference", "SB-7"]
    hold = line.do("hold", "place", "--lot", lot, *reason, "--recall").first
    ran = line.run("kit", "build", "--bench", world.BENCH, "--revision", "QA A")
    assert "Short" in ran.err
    account = line.do("recall", "--lot", lot)
    assert f"on hold{' ' * 34}4"[:10] in account.out
    assert hold in account.out
    line.do("hold", "release", hold, "--reference", "SB-7 rev 2", "--reason", "other lot", by=world.MANAGER)
    assert received


def test_a_wrong_move_is_reversed_by_two_people(line: CommandLine) -> None:
    received = _stock(line)
    moved = line.do("move", f"{received[world.SCREW]}=8", "--to", world.BIN2, "--json").json
    who = ["--second", world.BUILDER, "--reason", "wrong bin"]
    line.do("reverse", str(moved["event"]), *who)
    lying = line.do("shelf", "--part", world.SCREW, "--json").json
    assert [(s["place"], s["quantity"]) for s in lying] == [(world.BIN, 40)]


def test_a_place_is_counted_blind_and_settled_by_two_people(line: CommandLine) -> None:
    received = _stock(line)
    count = line.do("count", "open", world.BIN).first
    sets = [s["code"] for s in line.do("sets", "--json").json["sets"]]
    seen = [f"{received[world.SCREW]}=39", f"{received[world.WASHER]}=40", f"{received[world.LOCKER]}=10 mL"]
    seen += [f"{code}=1" for code in (*sets, received["bottle"])]
    first = line.do("count", "enter", count, *seen)
    assert f"{count} differs at" in first.err
    assert first.err.count("of ") <= 2
    assert (
        line.run("count", "settle", count, "--reason", "year", "--second", world.BUILDER).code == Exit.REFUSED
    )
    line.do("count", "enter", count, *seen, by=world.BUILDER)
    line.do("count", "settle", count, "--reason", "year", "--second", world.BUILDER)
    account = line.do("recall", received[world.SCREW], "--json").json
    assert dict(account["classes"])["unaccounted"] == 1
