"""Counts are blind; a difference is counted twice, settled by two, and moves to or from *unaccounted*."""

from typing import Any

import pytest

from kittrack.domain import codes
from kittrack.domain.ledger import AccountClass
from kittrack.errors import BadInput, Conflict, NotFound, Refused
from kittrack.queries.kits import kit_view
from kittrack.queries.recall import recall_account
from kittrack.services import (
    counting,
    counting_anew,
    findings,
    issuing,
    jobs,
    returning,
    sealing,
    set_breaking,
)
from kittrack.services.counting import Counted
from kittrack.store.act import Slot
from kittrack.store.database import Store
from kittrack.store.fold import differences
from kittrack.store.records import CountLine, Piece, Place, RotorSet
from kittrack.store.stock import chain, slot_of_piece
from tests.aircraft_scene import Scene
from tests.factories import (
    BIN,
    BIN2,
    BUILDER,
    CLERK,
    CW_BLADE,
    LOCKER,
    MANAGER,
    SCREW,
    TAIL,
    TECHNICIAN,
    VAN,
    WASHER,
    after,
    assert_conserved,
    blades_on_shelf,
    put_bottle,
    put_in_stock,
    sealed_kit,
    sets_on_shelf,
    stock_up,
)


def opened(store: Store) -> tuple[str, str, str]:
    screws = put_in_stock(store, SCREW, 20, lot_code="A1", at=after(1))
    washers = put_in_stock(store, WASHER, 30, lot_code="W1", at=after(2))
    return counting.open_count(store, place=BIN, by=CLERK, at=after(3)).codes[0], screws, washers


def count(store: Store, sheet: str, by: str, minute: int, *entries: Counted) -> tuple[str, ...]:
    return counting.enter_count(store, count=sheet, entries=entries, by=by, at=after(minute)).said


def test_a_count_that_agrees_settles_without_a_movement(store: Store) -> None:
    sheet, screws, washers = opened(store)
    said = count(store, sheet, CLERK, 4, Counted(screws, 20), Counted(washers, 30))
    assert "agrees" in said[0]
    done = counting.settle_count(store, count=sheet, reason="weekly", second=BUILDER, by=CLERK, at=after(5))
    with store.reading() as read:
        assert read.value("SELECT count(*) FROM movement WHERE event_id = ?", done.event) == 0


def test_a_difference_is_counted_again_by_another_person(store: Store) -> None:
    sheet, screws, washers = opened(store)
    said = count(store, sheet, CLERK, 4, Counted(screws, 18), Counted(washers, 30))
    assert screws in said[0]
    with pytest.raises(Refused) as refused:
        count(store, sheet, CLERK, 5, Counted(screws, 18))
    assert refused.value.rules == {"R8"}
    with pytest.raises(Refused) as refused:
        counting.settle_count(store, count=sheet, reason="weekly", second=BUILDER, by=CLERK, at=after(6))
    assert refused.value.rules == {"R8"}


def test_who_counts_again_counts_what_differed_and_the_rest_stands(store: Store) -> None:
    sheet, screws, washers = opened(store)
    count(store, sheet, CLERK, 4, Counted(screws, 18), Counted(washers, 30))
    said = count(store, sheet, BUILDER, 5, Counted(screws, 18))
    assert screws in said[0]
    assert washers not in said[0]
    counting.settle_count(store, count=sheet, reason="weekly", second=BUILDER, by=CLERK, at=after(6))
    unaccounted = {
        line: dict(recall_account(store, code=line).classes)[AccountClass.UNACCOUNTED]
        for line in (screws, washers)
    }
    assert unaccounted == {screws: 2, washers: 0}


def test_what_agreed_and_is_found_missing_by_who_counts_again_differs(store: Store) -> None:
    sheet, screws, washers = opened(store)
    count(store, sheet, CLERK, 4, Counted(screws, 18), Counted(washers, 30))
    said = count(store, sheet, BUILDER, 5, Counted(screws, 20), Counted(washers, 0))
    assert washers in said[0]
    assert screws not in said[0]


def test_what_is_missing_becomes_unaccounted_and_a_surplus_goes_on_hold(store: Store) -> None:
    sheet, screws, washers = opened(store)
    entries = (Counted(screws, 18), Counted(washers, 33))
    count(store, sheet, CLERK, 4, *entries)
    count(store, sheet, BUILDER, 5, *entries)
    told = counting.settle_count(
        store, count=sheet, reason="weekly", second=MANAGER, by=CLERK, at=after(6)
    ).said
    assert f"{screws}: 2 of {SCREW} not there, now unaccounted." in " ".join(told)
    short, over = recall_account(store, code=screws), recall_account(store, code=washers)
    assert (dict(short.classes)[AccountClass.UNACCOUNTED], short.missing) == (2, 0)
    assert dict(over.classes)[AccountClass.HOLD] == 3
    assert (dict(over.classes)[AccountClass.UNACCOUNTED], over.missing) == (-3, 0)
    with store.reading() as read:
        assert list(differences(read)) == []


def test_stock_that_moved_meanwhile_stops_the_settlement(store: Store) -> None:
    sheet, screws, washers = opened(store)
    count(store, sheet, CLERK, 4, Counted(screws, 20), Counted(washers, 30))
    put_in_stock(store, SCREW, 5, lot_code="A2", at=after(5))
    with pytest.raises(Conflict, match="moved"):
        counting.settle_count(store, count=sheet, reason="weekly", second=BUILDER, by=CLERK, at=after(6))


def test_a_second_sheet_of_a_place_and_a_role_that_does_not_count_are_refused(store: Store) -> None:
    opened(store)
    with pytest.raises(Refused) as refused:
        counting.open_count(store, place=BIN, by=TECHNICIAN, at=after(5))
    assert refused.value.rules == {"role", "R12"}


def test_bad_entries_are_all_told_and_nothing_is_kept(store: Store) -> None:
    sheet, screws, _ = opened(store)
    with pytest.raises(BadInput) as bad:
        count(
            store,
            sheet,
            CLERK,
            4,
            Counted(screws, -1),
            Counted("Y999999-X", 2),
            Counted(screws, 1, condition="fine"),
        )
    assert [p.row for p in bad.value.problems] == [1, 2, 3]
    with store.reading() as read:
        assert {line.counted for line in read.select(CountLine)} == {None}


def test_a_thing_with_a_number_of_its_own_is_counted_once(store: Store) -> None:
    code = sets_on_shelf(store, CW_BLADE, 1, at=after(1))[0]
    bottle = put_bottle(store, volume_ul=10_000, at=after(2), expires_on="2027-01-01")
    sheet = counting.open_count(store, place=BIN, by=CLERK, at=after(3)).codes[0]
    with pytest.raises(BadInput) as bad:
        count(store, sheet, CLERK, 4, Counted(code, 2), Counted(bottle, 1), Counted(bottle, 1))
    assert [(p.row, p.message) for p in bad.value.problems] == [
        (1, f"{code} has a number of its own and lies there once; enter it once"),
        (3, f"{bottle} has a number of its own and lies there once; enter it once"),
    ]
    assert "agrees" in count(store, sheet, CLERK, 5, Counted(code, 1), Counted(bottle, 1))[0]


def differ_twice(store: Store, place: str, *entries: Counted) -> tuple[str, ...]:
    """Count a place, count it again by another person, and settle it; answers with what was said."""
    sheet = counting.open_count(store, place=place, by=CLERK, at=after(10)).codes[0]
    count(store, sheet, CLERK, 11, *entries)
    count(store, sheet, BUILDER, 12, *entries)
    done = counting.settle_count(store, count=sheet, reason="weekly", second=MANAGER, by=CLERK, at=after(13))
    with store.reading() as read:
        assert list(differences(read)) == []
    return done.said


def where(store: Store, code: str) -> tuple[str, str]:
    """The place around a set or piece, and its condition."""
    with store.reading() as read:
        one = read.find(RotorSet, code=code)
        if one is not None:
            return chain(read, one.place_id)[1].name, one.condition
        piece = read.find(Piece, code=code)
        assert piece is not None
        stock = slot_of_piece(read, piece.id)
        return read.get(Place, stock.place_id).name, stock.condition


def test_a_set_and_a_bottle_that_are_not_there_are_unaccounted_whole(store: Store) -> None:
    code = sets_on_shelf(store, CW_BLADE, 1, at=after(1))[0]
    bottle = put_bottle(store, volume_ul=10_000, at=after(2), expires_on="2027-01-01")
    said = differ_twice(store, BIN)
    assert f"{code} is not there and is now unaccounted, whole." in said
    assert f"{bottle}: 10 mL of {LOCKER} not there, now unaccounted." in said
    assert [where(store, thing)[0] for thing in (code, bottle)] == ["unaccounted", "unaccounted"]


def test_a_set_and_a_piece_that_were_booked_elsewhere_are_found_and_held(store: Store) -> None:
    code = sets_on_shelf(store, CW_BLADE, 1, at=after(1), place=BIN2)[0]
    (blade,) = blades_on_shelf(store, CW_BLADE, 1, at=after(2))
    said = differ_twice(store, BIN, Counted(code, 1), Counted(blade, 1))
    assert said == tuple(
        f"{thing} was found here and not where it was booked; it is on hold until somebody explains it."
        for thing in (code, blade)
    )
    assert [where(store, thing) for thing in (code, blade)] == [(BIN, "on hold"), (BIN, "on hold")]


def test_a_bottle_that_was_used_up_is_found_and_the_count_is_settled(store: Store) -> None:
    bottle = put_bottle(store, volume_ul=10_000, at=after(1), expires_on="2027-01-01")
    with store.act("pour", by=TECHNICIAN, at=after(2)) as act:
        piece, used = act.find(Piece, code=bottle), act.find(Place, kind="consumed")
        assert piece is not None
        assert used is not None
        here = slot_of_piece(act, piece.id).slot
        act.move_stock(piece.receipt_line_id, 10_000, from_slot=here, to_slot=Slot(used.id, "unsalvageable"))
    with store.reading() as read, pytest.raises(NotFound, match=f"{bottle} was used up and lies nowhere"):
        slot_of_piece(read, piece.id)
    sheet = counting.open_count(store, place=BIN, by=CLERK, at=after(3)).codes[0]
    for minute, by in ((4, CLERK), (5, BUILDER)):
        count(store, sheet, by, minute, Counted(bottle, 1))
    done = counting.settle_count(store, count=sheet, reason="weekly", second=MANAGER, by=CLERK, at=after(6))
    assert any(f"{bottle} was found here and is on record as used up" in words for words in done.said)
    with store.reading() as read:
        assert read.value("SELECT count(*) FROM movement WHERE event_id = ?", done.event) == 0
        assert list(differences(read)) == []


def test_a_kit_that_is_found_keeps_its_state(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))  # it lies in the second bin
    sealing.put_away_kit(store, kit=kit, to_place=VAN, by=CLERK, at=after(6))
    assert differ_twice(store, BIN2, Counted(kit, 1))[0].startswith(f"{kit} was found here")
    assert kit_view(store, kit=kit, at=after(14)).where == BIN2


def test_a_surplus_of_one_condition_is_no_lack_of_another(store: Store) -> None:
    line = put_in_stock(store, SCREW, 20, lot_code="A1", at=after(1))
    said = differ_twice(store, BIN, Counted(line, 18), Counted(line, 2, condition="on hold"))
    assert said == (
        f"{line}: 2 of {SCREW} not there, now unaccounted.",
        f"{line}: 2 of {SCREW} more there than booked, on hold until somebody explains that.",
    )
    account = recall_account(store, code=line)
    assert dict(account.classes)[AccountClass.HOLD] == 2


def test_a_count_is_entered_then_settled_and_neither_after_that(store: Store) -> None:
    sheet, screws, washers = opened(store)
    form: dict[str, Any] = {"count": sheet, "reason": "weekly", "second": BUILDER, "by": CLERK}
    with pytest.raises(Refused, match="has no count yet") as refused:
        counting.settle_count(store, at=after(4), **form)
    assert refused.value.rules == {"R8"}
    count(store, sheet, CLERK, 5, Counted(screws, 20), Counted(washers, 30))
    with pytest.raises(BadInput, match="reason"):
        counting.settle_count(store, at=after(6), **{**form, "reason": " "})
    counting.settle_count(store, at=after(7), **form)
    for again in (
        lambda: counting.settle_count(store, at=after(8), **form),
        lambda: count(store, sheet, BUILDER, 8, Counted(screws, 20)),
    ):
        with pytest.raises(Refused, match="is settled") as refused:
            again()
        assert refused.value.rules == {"R12"}
    counting.open_count(store, place=BIN, by=CLERK, at=after(9))  # and the next sheet is made


def test_a_place_whose_count_waits_for_the_second_one_gets_no_other_sheet(store: Store) -> None:
    sheet, screws, _ = opened(store)
    count(store, sheet, CLERK, 4, Counted(screws, 1))
    with pytest.raises(Refused, match=f"{BIN} is being counted already"):
        counting.open_count(store, place=BIN, by=CLERK, at=after(5))


def test_what_moved_in_as_a_whole_stops_the_settlement_too(store: Store) -> None:
    sheet, screws, washers = opened(store)
    count(store, sheet, CLERK, 4, Counted(screws, 20), Counted(washers, 30))
    sets_on_shelf(store, CW_BLADE, 1, at=after(5))
    with pytest.raises(Conflict, match="moved"):
        counting.settle_count(store, count=sheet, reason="weekly", second=BUILDER, by=CLERK, at=after(6))


def test_a_set_that_lacks_a_blade_is_broken_and_the_blade_unaccounted(store: Store) -> None:
    code = sets_on_shelf(store, CW_BLADE, 1, at=after(1))[0]
    sheet = counting.open_count(store, place=BIN, by=CLERK, at=after(2)).codes[0]
    count(store, sheet, CLERK, 3, Counted(code, 1))
    with store.reading() as read:
        piece = read.value("SELECT code FROM piece ORDER BY id LIMIT 1")
    short = (Counted(code, 1, missing=(str(piece),)),)
    counting.settle_count(
        store, count=sheet, reason="weekly", second=BUILDER, by=CLERK, at=after(4), short_sets=short
    )
    with store.reading() as read:
        rotor = read.find(RotorSet, code=code)
        assert rotor is not None
        assert rotor.state == "broken"
        assert list(differences(read)) == []
    account = recall_account(store, code=str(piece))
    assert dict(account.classes)[AccountClass.UNACCOUNTED] == 1


def test_a_short_set_names_pieces_of_its_own(store: Store) -> None:
    code = sets_on_shelf(store, CW_BLADE, 1, at=after(1))[0]
    sheet = counting.open_count(store, place=BIN, by=CLERK, at=after(2)).codes[0]
    count(store, sheet, CLERK, 3, Counted(code, 1))
    with pytest.raises(BadInput, match="missing"):
        counting.settle_count(
            store,
            count=sheet,
            reason="weekly",
            second=BUILDER,
            by=CLERK,
            at=after(4),
            short_sets=(Counted(code, 1),),
        )


def test_what_was_counted_twice_is_counted_no_third_time(store: Store) -> None:
    """Its figures are told from then on, so a third count would be none that is blind."""
    sheet, screws, washers = opened(store)
    count(store, sheet, CLERK, 4, Counted(screws, 18), Counted(washers, 30))
    count(store, sheet, BUILDER, 5, Counted(screws, 19))
    for by in (BUILDER, MANAGER):
        with pytest.raises(Refused, match="was counted twice"):
            count(store, sheet, by, 6, Counted(screws, 20))


def test_a_count_into_which_stock_moved_begins_anew_and_is_settled(store: Store) -> None:
    sheet, screws, washers = opened(store)
    count(store, sheet, CLERK, 4, Counted(screws, 18), Counted(washers, 30))
    more = put_in_stock(store, SCREW, 5, lot_code="A2", at=after(5))
    count(store, sheet, BUILDER, 6, Counted(screws, 18))
    with pytest.raises(Conflict, match="count anew"):
        counting.settle_count(store, count=sheet, reason="weekly", second=BUILDER, by=CLERK, at=after(7))
    with pytest.raises(Refused) as refused:
        counting_anew.begin_anew(store, count=sheet, reason="a box came", second=CLERK, by=CLERK, at=after(8))
    assert refused.value.rules == {"R8"}
    counting_anew.begin_anew(store, count=sheet, reason="a box came", second=BUILDER, by=CLERK, at=after(9))
    said = count(store, sheet, BUILDER, 10, Counted(screws, 20), Counted(washers, 30), Counted(more, 5))
    assert "agrees" in said[0], "who counted first before may do so again, and the box is on the sheet"
    counting.settle_count(store, count=sheet, reason="weekly", second=BUILDER, by=CLERK, at=after(11))
    with pytest.raises(Refused, match="is settled"):
        counting_anew.begin_anew(store, count=sheet, reason="again", second=BUILDER, by=CLERK, at=after(12))
    with store.reading() as read:
        assert list(differences(read)) == []


def a_set_to_count(store: Store) -> tuple[str, str, tuple[str, ...]]:
    """A set in a bin, a sheet of that bin, and the set's pieces."""
    code = sets_on_shelf(store, CW_BLADE, 1, at=after(1))[0]
    sheet = counting.open_count(store, place=BIN, by=CLERK, at=after(2)).codes[0]
    with store.reading() as read:
        return code, sheet, tuple(piece.code for piece in read.select(Piece))


def test_a_set_that_was_found_short_is_settled_as_short_and_not_as_whole(store: Store) -> None:
    code, sheet, pieces = a_set_to_count(store)
    said = count(store, sheet, CLERK, 3, Counted(code, 1, missing=pieces[1:]))
    assert f"{code} lacks {pieces[1]}: name it as short when you settle {sheet}, which breaks it." in said
    form: dict[str, Any] = {"count": sheet, "reason": "weekly", "second": BUILDER, "by": CLERK}
    with pytest.raises(Refused, match=f"{code} was found short of {pieces[1]} at {sheet}") as refused:
        counting.settle_count(store, at=after(4), **form)
    assert refused.value.rules == {"R1"}
    counting.settle_count(store, at=after(5), short_sets=[Counted(code, 1, missing=pieces[1:])], **form)
    with store.reading() as read:
        rotor = read.find(RotorSet, code=code)
        assert rotor is not None
        assert rotor.state == "broken"
    assert [where(store, piece)[0] for piece in pieces] == ["hold cage Home", "unaccounted"]


def test_a_count_of_a_place_with_a_set_and_a_kit_begins_anew_with_each_once(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    code = sets_on_shelf(store, CW_BLADE, 1, at=after(6), place=BIN2)[0]
    sheet = counting.open_count(store, place=BIN2, by=CLERK, at=after(7)).codes[0]
    form: dict[str, Any] = {"count": sheet, "second": BUILDER, "by": CLERK}
    counting_anew.begin_anew(store, reason="disturbed", at=after(8), **form)
    assert "agrees" in count(store, sheet, CLERK, 9, Counted(kit, 1), Counted(code, 1))[0]
    counting.settle_count(store, reason="weekly", at=after(10), **form)
    assert where(store, code) == (BIN2, "serviceable")
    assert kit_view(store, kit=kit, at=after(11)).where == BIN2


def test_a_count_begun_anew_forgets_what_was_found_short_before(store: Store) -> None:
    code, sheet, pieces = a_set_to_count(store)
    count(store, sheet, CLERK, 3, Counted(code, 1, missing=pieces[:1]))
    form: dict[str, Any] = {"count": sheet, "second": BUILDER, "by": CLERK}
    counting_anew.begin_anew(store, reason="it was under the set", at=after(4), **form)
    count(store, sheet, CLERK, 5, Counted(code, 1))
    counting.settle_count(store, reason="weekly", at=after(6), **form)
    assert where(store, code) == (BIN, "serviceable")


def test_what_is_not_in_a_set_is_not_missing_from_it_and_what_the_store_does_not_know_is_told(
    store: Store,
) -> None:
    code, sheet, _ = a_set_to_count(store)
    (stranger,) = blades_on_shelf(store, CW_BLADE, 1, at=after(3))
    unknown = codes.make_code(codes.Kind.ROTOR_SET, codes.next_number(codes.Kind.ROTOR_SET, after=900))
    with pytest.raises(BadInput) as bad:
        count(store, sheet, CLERK, 4, Counted(code, 1, missing=(stranger,)), Counted(unknown, 1))
    first, second = bad.value.problems
    assert (first.row, first.message) == (1, f"name the pieces of {code} that are missing, and no others")
    assert (second.row, unknown in second.message) == (2, True)
    with store.reading() as read:
        assert {line.counted for line in read.select(CountLine)} == {None}
    no_count = codes.make_code(codes.Kind.COUNT, codes.next_number(codes.Kind.COUNT, after=900))
    with pytest.raises(NotFound, match=no_count):
        count(store, no_count, CLERK, 5, Counted(code, 1))


# ---- what is found elsewhere than inside something whole ---------------------------------------------


def found_in_van(store: Store, thing: str, minute: int) -> str:
    """Count one thing twice in a van that holds nothing on record; the count's code."""
    sheet = counting.open_count(store, place=VAN, by=CLERK, at=after(minute)).codes[0]
    count(store, sheet, CLERK, minute + 1, Counted(thing, 1))
    count(store, sheet, BUILDER, minute + 2, Counted(thing, 1))
    return sheet


def settle(store: Store, sheet: str, minute: int) -> tuple[str, ...]:
    return counting.settle_count(
        store, count=sheet, reason="found", second=BUILDER, by=MANAGER, at=after(minute)
    ).said


def refused_settling(store: Store, sheet: str, minute: int) -> list[tuple[str | None, str]]:
    with pytest.raises(Refused) as refused:
        settle(store, sheet, minute)
    return [(one.rule, one.message) for one in refused.value.refusals]


def lies_in(store: Store, code: str) -> tuple[str, str]:
    """The place around a set or a kit, and the set's condition."""
    with store.reading() as read:
        place = read.find(Place, code=code)
        assert place is not None
        own = read.find(RotorSet, code=code)
        return chain(read, place.id)[1].name, own.condition if own else ""


def test_a_set_of_a_closed_kit_is_found_once_the_kit_is_said_to_be_opened(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    one = kit_view(store, kit=kit, at=after(6)).lines[0].things[0]
    sheet = found_in_van(store, one, 7)
    assert refused_settling(store, sheet, 10) == [
        (
            "R5",
            f"{one} is on record in the closed kit {kit}; record that the kit was opened, then settle the count.",
        )
    ]
    returning.open_kit(store, kit=kit, reason="a set lay in the van", by=CLERK, at=after(11))
    assert settle(store, sheet, 12)[0].startswith(f"{one} was found here")
    assert lies_in(store, one) == (VAN, "on hold")
    assert_conserved(store)


def test_a_blade_of_a_set_is_found_once_the_set_is_broken(store: Store) -> None:
    stock_up(store, at=after(1))
    with store.reading() as read:
        blade, own = read.row(
            "SELECT p.code, l.code FROM piece p JOIN holding h ON h.piece_id = p.id JOIN place l ON l.id = h.place_id "
            "WHERE l.kind = 'rotor set' ORDER BY p.id"
        ) or ("", "")
    sheet = found_in_van(store, blade, 7)
    assert refused_settling(store, sheet, 10) == [
        ("R1", f"{blade} is on record in the rotor set {own}; break the set, then settle the count.")
    ]
    set_breaking.break_set(store, rotor_set=own, reason="a blade lay in the van", by=CLERK, at=after(11))
    assert settle(store, sheet, 12)[0].startswith(f"{blade} was found here")
    with store.reading() as read:
        piece = read.find(Piece, code=blade)
        assert piece is not None
        slot = slot_of_piece(read, piece.id)
        assert (chain(read, slot.place_id)[0].name, slot.condition) == (VAN, "on hold")


def test_a_set_that_is_fitted_on_record_takes_a_finding_at_its_position(store: Store) -> None:
    scene = Scene(store)
    scene.whole("FL", scene.sets[0], "R")
    sheet = counting.open_count(store, place=VAN, by=CLERK, at=scene.now).codes[0]
    for by in (CLERK, BUILDER):
        counting.enter_count(store, count=sheet, entries=[Counted(scene.sets[0], 1)], by=by, at=scene.now)
    people: dict[str, Any] = {"second": BUILDER, "by": MANAGER}
    with pytest.raises(Refused, match="is on record at QA-01 FL; record a finding there") as refused:
        counting.settle_count(store, count=sheet, reason="found", at=scene.now, **people)
    assert refused.value.rules == {"R10"}
    findings.record_finding(
        store, position=scene.spot("FL"), found="nothing", text="bare", by=TECHNICIAN, at=scene.now
    )
    counting.settle_count(store, count=sheet, reason="found", at=scene.now, **people)
    assert lies_in(store, scene.sets[0]) == (VAN, "on hold")


def test_a_kit_that_is_issued_is_taken_back_where_it_was_found(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(5)).codes[0]
    issuing.issue_kit(store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(6))
    sheet = found_in_van(store, kit, 7)
    [(rule, message)] = refused_settling(store, sheet, 10)
    assert rule == "R5"
    assert f"{kit} was issued by {CLERK} to {TECHNICIAN}" in message
    assert message.endswith("take it back there first.")
