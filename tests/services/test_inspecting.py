"""Inspection of blades piece by piece: what becomes serviceable, what stays on hold, what is refused."""

from collections.abc import Iterator
from dataclasses import replace

import pytest

from kittrack.domain.dates import Expiry
from kittrack.errors import BadInput, Refused
from kittrack.services import holding, inspecting, matching, receiving
from kittrack.services.desk import Done
from kittrack.services.inspecting import PieceFinding, PieceSpec
from kittrack.services.receiving import LineSpec, PaperSpec
from kittrack.store.database import Store
from kittrack.store.records import Inspection, Part, PartMark, Piece
from kittrack.store.stock import slot_of_piece
from tests.factories import (
    AUDITOR,
    BENCH,
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    MANAGER,
    SCREW,
    TECHNICIAN,
    after,
    assert_conserved,
    sets_on_shelf,
)

MAKER = "Invented Rotors"
CERTIFICATE = PaperSpec("certificate of conformity", "C-77", MAKER)
BLADES = LineSpec(CW_BLADE, 8, "0042", expiry=Expiry.unlimited(), papers=(CERTIFICATE,))
GOOD = PieceSpec(serial=None, mark="R")


@pytest.fixture(autouse=True)
def _conserved(store: Store) -> Iterator[None]:
    yield
    assert_conserved(store)


def take_in(store: Store, line: LineSpec = BLADES, *, minute: int = 1, supplier: str = MAKER) -> str:
    done = receiving.receive(
        store, supplier=supplier, reference="DN-1", lines=(line,), by=CLERK, at=after(minute)
    )
    return done.codes[1]


def inspect(
    store: Store, line: str, *pieces: PieceSpec, by: str = CLERK, minute: int = 5, place: str = ""
) -> Done:
    return inspecting.inspect_pieces(store, line=line, pieces=pieces, by=by, at=after(minute), place=place)


def conditions(store: Store) -> list[str]:
    with store.reading() as read:
        return [slot_of_piece(read, p.id).condition for p in read.select(Piece)]


def rules_against(store: Store, line: str, *pieces: PieceSpec, by: str = CLERK) -> frozenset[str]:
    with pytest.raises(Refused) as refused:
        inspect(store, line, *pieces, by=by)
    return refused.value.rules


def test_a_good_blade_becomes_a_serviceable_piece(store: Store) -> None:
    line = take_in(store)
    done = inspect(store, line, replace(GOOD, serial="00123"), GOOD)
    with store.reading() as read:
        first, second = read.select(Piece)
        left = read.value("SELECT quantity FROM holding WHERE piece_id IS NULL AND quantity > 0")
        looked = read.select(Inspection)
    assert done.codes == (first.code, second.code)
    assert (first.serial, first.sense, first.mark, second.serial) == ("00123", "CW", "R", None)
    assert conditions(store) == ["serviceable", "serviceable"]
    assert left == 6
    assert [(i.piece_id, i.result, i.sense) for i in looked] == [(1, "accepted", "CW"), (2, "accepted", "CW")]


@pytest.mark.parametrize(
    ("mark", "sense"),
    [("", None), ("X", None), ("r", None), ("RH", None), ("CCW", None), ("L", "CCW")],
    ids=["missing", "unknown", "other case", "a thread hand", "not in this table", "the other sense"],
)
def test_a_mark_that_does_not_mean_the_sense_of_the_part_stops_the_blade(
    store: Store, mark: str, sense: str | None
) -> None:
    with store.act("a table that knows the other sense too", by=MANAGER, at=after(1)) as act:
        act.insert(PartMark(part_id=1, revision=1, mark="L", sense="CCW"))
    done = inspect(store, take_in(store, minute=2), replace(GOOD, mark=mark), GOOD)
    assert conditions(store) == ["on hold", "serviceable"]
    with store.reading() as read:
        found = read.get(Inspection, 1)
        assert read.get(Piece, 1).sense == sense
    assert (found.result, found.sense) == ("held", sense)
    assert found.note
    assert any(done.codes[0] in sentence and "nobody guesses" in sentence for sentence in done.said)


def test_a_held_blade_says_what_was_seen_and_its_partner_that_it_is_the_pair(store: Store) -> None:
    pair = replace(GOOD, pair_code="7")
    done = inspect(
        store, take_in(store, minute=2), pair, replace(pair, result="held", note="nick at the tip")
    )
    first, second = done.codes
    said = [sentence for sentence in done.said if sentence.startswith((first, second))]
    assert said == [
        f"{first} stays on hold: pair 7 has a bad member; lay it aside until it is inspected again.",
        f"{second} stays on hold: nick at the tip; lay it aside until it is inspected again.",
    ]


def test_only_the_current_mark_table_counts(store: Store) -> None:
    with store.act("a new table of marks", by=MANAGER, at=after(1)) as act:
        act.update(act.get(Part, 1), mark_revision=2)
        act.insert(PartMark(part_id=1, revision=2, mark="R2", sense="CW"))
    inspect(store, take_in(store, minute=2), GOOD, replace(GOOD, mark="R2"))
    assert conditions(store) == ["on hold", "serviceable"]


def test_a_bad_mark_does_not_lift_a_rejected_blade_to_held(store: Store) -> None:
    inspect(store, take_in(store), PieceSpec(serial=None, mark="?", result="rejected", note="cracked"))
    assert conditions(store) == ["unserviceable"]


def test_a_held_or_rejected_blade_takes_a_note_and_a_known_result(store: Store) -> None:
    line = take_in(store)
    inspect(
        store,
        line,
        PieceSpec(serial=None, mark="R", result="held", note="nick at the tip"),
        PieceSpec(serial=None, mark="R", result="rejected", note="delaminated"),
    )
    assert conditions(store) == ["on hold", "unserviceable"]
    with pytest.raises(BadInput) as refused:
        inspect(store, line, replace(GOOD, result="held"), replace(GOOD, result="fine"), minute=6)
    assert [(p.row, p.field) for p in refused.value.problems] == [(1, "note"), (2, "result")]


# ---- what stands against acceptance ------------------------------------------------------------


def test_without_a_sufficient_paper_nothing_becomes_serviceable(store: Store) -> None:
    line = take_in(store, replace(BLADES, papers=()))
    assert rules_against(store, line, GOOD) == {"R14"}
    inspect(store, line, replace(GOOD, result="held", note="no paper"))
    receiving.attach_paper(store, line=line, paper=CERTIFICATE, by=CLERK, at=after(6))
    inspect(store, line, GOOD, minute=7)
    assert conditions(store) == ["on hold", "serviceable"]


@pytest.mark.parametrize("needed", [0, 1])
def test_with_an_unknown_expiry_nothing_becomes_serviceable(store: Store, needed: int) -> None:
    with store.act("expiry needed", by=MANAGER, at=after(1)) as act:
        act.update(act.get(Part, 1), expiry_needed=needed)
    line = take_in(store, replace(BLADES, expiry=Expiry.unknown()), minute=2)
    assert rules_against(store, line, GOOD) == {"R13"}


def test_what_is_on_hold_is_not_accepted_until_the_hold_is_released(store: Store) -> None:
    line = take_in(store)
    hold = holding.place_hold(
        store, scope=holding.Scope(code=line), reason="doubt", reference="", by=CLERK, at=after(2)
    )
    assert rules_against(store, line, GOOD) == {"R6"}
    holding.release_hold(
        store, hold=hold.codes[0], reference="L-1", reason="cleared", by=MANAGER, at=after(6)
    )
    inspect(store, line, GOOD, minute=7)
    assert conditions(store) == ["serviceable"]


def test_a_delivery_joins_an_open_hold_on_its_maker_lot(store: Store) -> None:
    take_in(store)
    holding.place_hold(
        store, scope=holding.Scope(lot_code="0042"), reason="recall", reference="SB-1", by=CLERK, at=after(2), is_recall=True
    )  # fmt: skip
    later = take_in(store, supplier="Invented Supplies", minute=3)
    other = take_in(store, replace(BLADES, lot_code="0043"), minute=4)
    assert rules_against(store, later, GOOD) == {"R6"}
    inspect(store, other, GOOD)


def test_a_part_superseded_for_safety_is_not_accepted(store: Store) -> None:
    line = take_in(store)
    with store.act("supersede", by=MANAGER, at=after(2)) as act:
        act.update(act.get(Part, 1), superseded_how="safety")
    assert rules_against(store, line, GOOD) == {"R6"}


def test_a_blade_of_an_unknown_lot_is_accepted_only_by_serial_or_note(store: Store) -> None:
    line = take_in(store, replace(BLADES, lot_code=None))
    assert rules_against(store, line, GOOD) == {"R16"}
    assert rules_against(store, line, replace(GOOD, serial="A1"), GOOD) == {"R16"}  # each of them
    inspect(store, line, replace(GOOD, serial="A1"), replace(GOOD, note="label of the carton, box 3"))
    assert conditions(store) == ["serviceable", "serviceable"]


def test_a_blade_of_an_unknown_lot_takes_the_same_at_another_look(store: Store) -> None:
    held = replace(GOOD, result="held", note="?")
    line = take_in(store, replace(BLADES, lot_code=None))
    first, second = inspect(store, line, held, replace(held, serial="A1")).codes
    with pytest.raises(Refused) as refused:
        again(store, PieceFinding(first, mark="R"))
    assert refused.value.rules == {"R16"}
    again(
        store,
        PieceFinding(first, mark="R", note="label of the carton, box 3"),
        PieceFinding(second, mark="R"),
    )
    assert conditions(store) == ["serviceable", "serviceable"]


@pytest.mark.parametrize(
    ("mark", "why"),
    [
        ("", "no mark was read on it"),
        ("X", "its mark 'X' is not in the mark table of RB-18-CW"),
        ("L", "its mark 'L' means CCW, and RB-18-CW turns CW"),
    ],
)
def test_a_blade_held_for_its_mark_says_what_its_mark_says(store: Store, mark: str, why: str) -> None:
    with store.act("a table that knows both", by=MANAGER, at=after(1)) as act:
        act.insert(PartMark(part_id=1, revision=1, mark="L", sense="CCW"))
    done = inspect(store, take_in(store, minute=2), replace(GOOD, mark=mark))
    assert why in " ".join(done.said)
    with store.reading() as read:
        assert read.select(Inspection)[0].note == why


@pytest.mark.parametrize(("by", "rules"), [(AUDITOR, {"role"}), (MANAGER, {"role"}), (TECHNICIAN, {"role"})])
def test_who_is_no_clerk_or_inspector_inspects_nothing(store: Store, by: str, rules: set[str]) -> None:
    assert rules_against(store, take_in(store), GOOD, by=by) == rules


def test_counted_parts_are_not_numbered_and_more_than_came_is_not_inspected(store: Store) -> None:
    screws = take_in(store, LineSpec(SCREW, 8, "S", expiry=Expiry.unlimited(), papers=(CERTIFICATE,)))
    blades = take_in(store, minute=2)
    for line, pieces in ((screws, (GOOD,)), (blades, (GOOD,) * 9), (blades, ())):
        with pytest.raises(BadInput):
            inspect(store, line, *pieces)


# ---- serials -----------------------------------------------------------------------------------


def test_a_serial_is_unique_by_maker_and_part(store: Store) -> None:
    line = take_in(store)
    inspect(store, line, replace(GOOD, serial="17"))
    assert rules_against(store, line, replace(GOOD, serial="17")) == {"R16"}
    assert rules_against(store, line, replace(GOOD, serial="18"), replace(GOOD, serial="18")) == {"R16"}
    other = take_in(store, replace(BLADES, part=CCW_BLADE), minute=6)
    inspect(store, other, PieceSpec(serial="17", mark="L"), minute=7)
    assert conditions(store) == ["serviceable", "serviceable"]


@pytest.mark.parametrize("serial", ["00123", "123", "1E5", "a-1", "A-1", "O0I1"])
def test_a_serial_survives_character_by_character(store: Store, serial: str) -> None:
    inspect(store, take_in(store), replace(GOOD, serial=serial))
    with store.reading() as read:
        assert read.get(Piece, 1).serial == serial


@pytest.mark.parametrize(
    ("known", "near"), [("A00123", "A00132"), ("00123", "123"), ("1E5", "100000"), ("AO1", "A01")]
)
def test_a_serial_near_to_a_known_one_is_pointed_out_and_kept(store: Store, known: str, near: str) -> None:
    line = take_in(store)
    inspect(store, line, replace(GOOD, serial=known))
    done = inspect(store, line, replace(GOOD, serial=near), minute=6)
    assert any(near in sentence and known in sentence for sentence in done.said)
    assert conditions(store) == ["serviceable", "serviceable"]


def test_neighbouring_serials_are_not_pointed_out(store: Store) -> None:
    line = take_in(store)
    inspect(store, line, replace(GOOD, serial="A00123"))
    done = inspect(store, line, replace(GOOD, serial="A00124"), minute=6)
    assert not any("A00123" in sentence for sentence in done.said)


@pytest.mark.parametrize("serial", ["", " 1", "1\x1b[2J", "1\u200b2", "x" * 201])
def test_a_serial_that_is_no_text_is_told_with_its_row(store: Store, serial: str) -> None:
    line = take_in(store)
    with pytest.raises(BadInput) as refused:
        inspect(store, line, GOOD, replace(GOOD, serial=serial))
    assert {(p.row, p.field) for p in refused.value.problems} == {(2, "serial")}
    assert conditions(store) == []


def test_a_new_piece_joins_an_open_hold_on_its_serials(store: Store) -> None:
    line = take_in(store)
    inspect(store, line, replace(GOOD, serial="0010"))
    holding.place_hold(
        store, scope=holding.Scope(part=CW_BLADE, serials=("0001", "0020")), reason="bad cure", reference="SB-2",
        by=CLERK, at=after(6),
    )  # fmt: skip
    done = inspect(store, line, replace(GOOD, serial="0011"), replace(GOOD, serial="0030"), minute=7)
    assert [code for code in done.codes if any(code in s and "joins" in s for s in done.said)] == [
        done.codes[0]
    ]


# ---- weights -----------------------------------------------------------------------------------


def test_a_weight_takes_its_scale_in_date(store: Store) -> None:
    line = take_in(store)
    weighed = replace(GOOD, mass_ug=42_000_000, moment_g_um=4_200_000, scale="Scale 1")
    inspect(store, line, weighed)
    with store.reading() as read:
        piece = read.get(Piece, 1)
        assert (piece.mass_ug, piece.moment_g_um, piece.weighed_with_id) == (42_000_000, 4_200_000, 2)
    bad = (
        replace(weighed, scale=""),
        replace(weighed, mass_ug=None),
        replace(weighed, mass_ug=0),
        replace(weighed, moment_g_um=-1),
    )
    with pytest.raises(BadInput) as refused:
        inspect(store, line, *bad, minute=6)
    assert [(p.row, p.field) for p in refused.value.problems] == [
        (1, "scale"),
        (2, "scale"),
        (3, "mass"),
        (4, "mass"),
    ]
    with pytest.raises(BadInput) as refused:
        inspect(store, line, weighed, minute=60 * 24 * 400)
    assert [p.field for p in refused.value.problems] == ["scale"]


def test_a_blade_may_be_weighed_without_its_moment(store: Store) -> None:
    inspect(store, take_in(store), replace(GOOD, mass_ug=42_000_000, scale="Scale 1"))
    with store.reading() as read:
        piece = read.get(Piece, 1)
        assert (piece.mass_ug, piece.moment_g_um, piece.weighed_with_id) == (42_000_000, None, 2)


# ---- supplier's pairs --------------------------------------------------------------------------


def test_one_bad_blade_of_a_pair_holds_its_partner(store: Store) -> None:
    pair = replace(GOOD, pair_code="17")
    inspect(
        store,
        take_in(store),
        pair,
        replace(pair, result="rejected", note="chipped"),
        replace(pair, pair_code="18"),
    )
    assert conditions(store) == ["on hold", "unserviceable", "serviceable"]


def test_a_bad_blade_found_later_holds_its_partner_and_the_other_way_round(store: Store) -> None:
    line = take_in(store)
    pair = replace(GOOD, pair_code="17")
    first = inspect(store, line, pair).codes[0]
    assert conditions(store) == ["serviceable"]
    done = inspect(store, line, replace(pair, mark="?"), minute=6)
    assert conditions(store) == ["on hold", "on hold"]
    assert any(first in s and "bad member" in s for s in done.said)
    inspect(store, line, replace(GOOD, pair_code="20", result="held", note="?"), minute=7)
    inspect(store, line, replace(GOOD, pair_code="20"), minute=8)
    assert conditions(store)[2:] == ["on hold", "on hold"]


def test_the_same_pair_number_of_another_lot_is_another_pair(store: Store) -> None:
    pair = replace(GOOD, pair_code="17")
    inspect(store, take_in(store), pair)
    inspect(
        store, take_in(store, replace(BLADES, lot_code="0043"), minute=6), replace(pair, mark="?"), minute=7
    )
    assert conditions(store) == ["serviceable", "on hold"]


# ---- inspected again ---------------------------------------------------------------------------


def again(store: Store, *findings: PieceFinding, by: str = INSPECTOR, minute: int = 10) -> Done:
    return inspecting.reinspect_pieces(store, findings=findings, by=by, at=after(minute))


def test_a_held_blade_becomes_serviceable_by_another_look(store: Store) -> None:
    codes = inspect(store, take_in(store), replace(GOOD, mark=""), GOOD).codes
    again(
        store,
        PieceFinding(codes[0], mark="R"),
        PieceFinding(codes[1], mark="R", result="rejected", note="dropped"),
    )
    assert conditions(store) == ["serviceable", "unserviceable"]
    with store.reading() as read:
        assert (read.get(Piece, 1).mark, read.get(Piece, 1).sense) == ("R", "CW")


def test_each_look_is_kept_and_a_mark_that_was_not_read_again_stands(store: Store) -> None:
    (code,) = inspect(store, take_in(store), GOOD).codes
    again(store, PieceFinding(code, mark="", result="held", note="scratch at the root"))
    with store.reading() as read:
        piece = read.get(Piece, 1)
        looks = [(i.result, i.mark, i.note) for i in read.select(Inspection)]
    assert (piece.mark, piece.sense) == ("R", "CW")
    assert looks == [("accepted", "R", ""), ("held", "", "scratch at the root; no mark was read on it")]


def test_a_blade_in_a_set_is_not_inspected_by_itself(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    with store.reading() as read:
        blade = read.get(Piece, 1).code
    with pytest.raises(Refused) as refused:
        again(store, PieceFinding(blade, mark="R", result="rejected", note="nick"))
    assert refused.value.rules == {"R1"}
    assert code


def test_one_blade_that_was_in_a_set_takes_an_inspector_or_a_technician_for_all(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    orphans = matching.break_set(store, rotor_set=code, reason="x", by=CLERK, at=after(2)).codes
    (fresh,) = inspect(store, take_in(store, minute=3), replace(GOOD, mark="")).codes
    findings = (PieceFinding(fresh, mark="R"), PieceFinding(orphans[0], mark="R"))
    with pytest.raises(Refused) as refused:
        again(store, *findings, by=CLERK)
    assert refused.value.rules == {"role"}
    again(store, *findings, by=TECHNICIAN)


def test_a_bad_partner_stays_as_bad_as_it_is(store: Store) -> None:
    pair = replace(GOOD, pair_code="17")
    line = take_in(store)
    inspect(store, line, replace(pair, result="rejected", note="chipped"))
    inspect(store, line, replace(pair, mark="?"), minute=6)
    assert conditions(store) == ["unserviceable", "on hold"]


def test_a_partner_that_is_in_a_set_is_left_whole(store: Store) -> None:
    pair = replace(GOOD, pair_code="17")
    line = take_in(store)
    blades = inspect(store, line, pair, pair).codes
    matching.make_set_of_pair(store, blades=blades, at_place=BENCH, by=CLERK, at=after(6))
    done = inspect(store, line, replace(pair, result="rejected", note="chipped"), minute=7)
    assert conditions(store) == ["serviceable", "serviceable", "unserviceable"]
    assert not any("bad member" in said for said in done.said)


def test_another_look_does_not_pass_an_unknown_mark_either(store: Store) -> None:
    codes = inspect(store, take_in(store), replace(GOOD, mark="")).codes
    again(store, PieceFinding(codes[0], mark="X"))
    assert conditions(store) == ["on hold"]


def test_another_look_does_not_pass_what_is_under_a_hold_or_has_no_paper(store: Store) -> None:
    held = replace(GOOD, result="held", note="?")
    codes = inspect(store, take_in(store), held).codes
    codes += inspect(store, take_in(store, replace(BLADES, papers=()), minute=6), held, minute=7).codes
    holding.place_hold(
        store, scope=holding.Scope(code=codes[0]), reason="x", reference="", by=CLERK, at=after(8)
    )
    with pytest.raises(Refused) as refused:
        again(store, *(PieceFinding(code, mark="R") for code in codes))
    assert refused.value.rules == {"R6", "R14"}


def test_another_look_takes_each_piece_once_and_a_note_for_what_is_bad(store: Store) -> None:
    code = inspect(store, take_in(store), GOOD).codes[0]
    bad = ((), (PieceFinding(code, "R"), PieceFinding(code, "R")), (PieceFinding(code, "R", "held"),))
    for findings in bad:
        with pytest.raises(BadInput):
            again(store, *findings)


def test_a_blade_found_bad_on_the_shelf_holds_its_partner(store: Store) -> None:
    pair = replace(GOOD, pair_code="17")
    codes = inspect(store, take_in(store), pair, pair).codes
    again(store, PieceFinding(codes[0], mark="R", result="rejected", note="trodden on"), by=CLERK)
    assert conditions(store) == ["unserviceable", "on hold"]
