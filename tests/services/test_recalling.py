"""Recalls followed to their end: every scope has an account, everybody is told, nothing closes while a class is open."""

from datetime import datetime
from itertools import count
from typing import Any

import pytest

from kittrack.domain import codes
from kittrack.domain.ledger import AccountClass, settled_by_movement
from kittrack.errors import BadInput, NotFound, Refused
from kittrack.queries.explaining import explain_code
from kittrack.queries.recall import RecallAccount, recall_account
from kittrack.queries.recalls import Drill, drill, notices, recall_standing, recalls
from kittrack.services import disposing, drilling, holding, recalling
from kittrack.services.desk import Done
from kittrack.services.holding import Scope
from kittrack.services.moving import MoveSpec
from kittrack.store.act import Slot
from kittrack.store.database import Store
from kittrack.store.fold import differences
from kittrack.store.records import (
    Airframe,
    Hold,
    HoldItem,
    MatchReading,
    MatchRecord,
    Piece,
    Place,
    RecallDisposition,
    RecallNotice,
    RotorSet,
)
from tests.aircraft_scene import Scene
from tests.factories import (
    BIN,
    BUILDER,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    LOCKER,
    MANAGER,
    SCREW,
    TAIL,
    TECHNICIAN,
    VAN,
    after,
    blades_on_shelf,
    put_bottle,
    put_in_stock,
    sealed_kit,
    sets_on_shelf,
    stock_up,
)
from tests.machine.attack import attacking

_minutes = count(1000)


def now() -> datetime:
    return after(next(_minutes))


def recall(store: Store, **scope: Any) -> str:
    """A recall of a scope; answers with its code."""
    done = holding.place_hold(
        store, scope=Scope(**scope), reason="heads may shear", reference="SB-7", is_recall=True, by=CLERK, at=now(),
    )  # fmt: skip
    return done.codes[0]


def answer_all(store: Store, hold: str) -> None:
    """Write, send and answer every notice."""
    for code in recalling.write_notices(store, hold=hold, by=CLERK, at=now()).codes:
        recalling.mark_notice_sent(store, notice=code, how="handed over", by=CLERK, at=now())
        recalling.record_notice_answer(store, notice=code, answer="found and bagged", by=CLERK, at=now())


def close(store: Store, hold: str, **more: Any) -> Done:
    given: dict[str, Any] = {
        "by": MANAGER,
        "second": INSPECTOR,
        "reference": "report 1",
        "reason": "all settled",
        **more,
    }
    return recalling.close_recall(store, hold=hold, at=now(), **given)


def in_class(account: RecallAccount, kind: AccountClass) -> int:
    return dict(account.classes)[kind]


# ---- the account of every scope ------------------------------------------------------------------


def test_every_scope_has_an_account_that_adds_up(store: Store) -> None:
    line = put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    put_in_stock(
        store, SCREW, 8, lot_code="A1", supplier="Invented Supplies", place=VAN, kind="van", at=after(2)
    )
    blades = blades_on_shelf(store, CW_BLADE, 4, at=after(3))
    with store.reading() as read:
        lot, delivery = (
            str(read.value(f"SELECT code FROM {t} ORDER BY id LIMIT 1")) for t in ("lot", "delivery")
        )
    scopes: list[tuple[dict[str, Any], int]] = [
        ({"lot_code": "A1"}, 24), ({"code": line}, 16), ({"code": lot}, 16), ({"code": delivery}, 16), ({"code": blades[0]}, 1),
        ({"supplier": "Invented Supplies"}, 8), ({"supplier": "Invented Rotors"}, 20), ({"maker": "Invented Rotors"}, 28),
    ]  # fmt: skip
    for scope, received in scopes:
        account = recall_account(store, **scope)
        assert (account.received, account.missing) == (received, 0), scope
        assert account.accounted == received
    assert recall_account(store, lot_code="A1").vans == (VAN,)


def test_parts_of_several_units_and_senses_are_never_summed_together(store: Store) -> None:
    """Millilitres are no pieces and a CW blade is no CCW blade, though one supplier sent them all."""
    put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    put_in_stock(store, LOCKER, 10_000, lot_code="T1", at=after(2))
    blades_on_shelf(store, CW_BLADE, 4, at=after(3))
    account = recall_account(store, supplier="Invented Rotors")
    assert [(p.part, p.sense, p.unit, p.received, p.missing) for p in account.parts] == [
        (CW_BLADE, "CW", "pieces", 4, 0), (SCREW, "", "pieces", 16, 0), (LOCKER, "", "volume_ul", 10_000, 0),
    ]  # fmt: skip
    assert (account.unit, account.received, account.missing) == ("pieces", 20, 0)


def test_the_account_of_a_bottle_follows_what_was_poured_from_it(store: Store) -> None:
    scene = Scene(store)
    scene.whole("FL", scene.sets[0], "R")
    account = recall_account(store, code=scene.bottle)
    assert (account.unit, account.received, account.missing) == ("volume_ul", 10_000, 0)
    assert in_class(account, AccountClass.CONSUMED) == 4 * 50  # four screws of one hub, 50 uL each
    assert account.bonded == (f"{TAIL} FL",)
    assert account.airframes == (TAIL,)


def test_a_scale_that_turns_out_bad_has_an_account_of_every_set_proved_with_it(store: Store) -> None:
    code = sets_on_shelf(store, CW_BLADE, 2, at=after(1))[0]
    with store.act("prove with the scale", by=MANAGER, at=after(5)) as act:
        scale = act.row("SELECT id, code FROM tool WHERE kind = 'scale'")
        assert scale is not None
        one = act.find(RotorSet, code=code)
        assert one is not None
        own = act.rows("SELECT piece_id FROM holding WHERE place_id = ? ORDER BY 1", one.place_id)
        proof = act.insert(
            MatchRecord(
                rotor_set_id=one.id,
                method="measured",
                source="scale",
                tool_id=scale[0],
                event_id=act.event_id,
            )
        )
        for slot, (piece,) in enumerate(own):
            act.insert(MatchReading(match_record_id=proof.id, piece_id=piece, slot=slot, moment_g_um=1))
        act.update(one, match_record_id=proof.id)
    account = recall_account(store, code=str(scale[1]))
    assert (account.received, account.missing, len(account.items)) == (2, 0, 2)
    hold = recall(store, code=str(scale[1]))
    assert in_class(recall_account(store, code=hold), AccountClass.HOLD) == 2


def test_what_was_never_received_and_what_is_no_scope_is_told(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(2))
    with pytest.raises(NotFound, match="lots in it"):
        recall_account(store, code=kit)
    with pytest.raises(NotFound):
        recall_account(store, supplier="nobody")
    with pytest.raises(BadInput, match="not by kit"):
        recall(store, code=kit)


# ---- who is told ---------------------------------------------------------------------------------


def test_each_airframe_van_and_person_gets_one_notice_and_threadlocker_counts_as_aboard(store: Store) -> None:
    scene = Scene(store)
    scene.whole("FL", scene.sets[0], "R")
    put_in_stock(store, LOCKER, 5_000, lot_code="TL-1", place=VAN, kind="van", at=now())
    hold = recall(store, lot_code="TL-1")
    told = recalling.write_notices(store, hold=hold, by=CLERK, at=now())
    assert {(n.kind, n.recipient, n.state) for n in notices(store)} == {
        ("airframe", TAIL, "to send"),
        ("van", VAN, "to send"),
    }
    assert len(told.codes) == 2
    with pytest.raises(BadInput, match="has a notice"):
        recalling.write_notices(store, hold=hold, by=CLERK, at=now())


def test_a_notice_goes_from_written_over_sent_to_answered_and_not_back(store: Store) -> None:
    put_in_stock(store, SCREW, 16, lot_code="A1", place=VAN, kind="van", at=after(1))
    hold = recall(store, lot_code="A1")
    code = recalling.write_notices(store, hold=hold, by=CLERK, at=now()).codes[0]
    with pytest.raises(Refused, match="not sent yet"):
        recalling.record_notice_answer(store, notice=code, answer="all here", by=CLERK, at=now())
    recalling.mark_notice_sent(store, notice=code, how="called", by=CLERK, at=now())
    with pytest.raises(Refused, match="is sent"):
        recalling.mark_notice_sent(store, notice=code, how="called", by=CLERK, at=now())
    recalling.record_notice_answer(store, notice=code, answer="all 16 here", by=CLERK, at=now())
    with pytest.raises(Refused, match="is answered"):
        recalling.record_notice_answer(store, notice=code, answer="again", by=CLERK, at=now())
    (one,) = notices(store)
    assert (one.state, one.sent_how, one.answer) == ("answered", "called", "all 16 here")
    assert notices(store, only_open=True) == ()


def test_no_notice_is_written_for_a_hold_that_is_no_recall(store: Store) -> None:
    line = put_in_stock(store, SCREW, 16, lot_code="A1", place=VAN, kind="van", at=after(1))
    hold = holding.place_hold(
        store, scope=Scope(code=line), reason="look", reference="", by=CLERK, at=after(2)
    ).codes[0]
    with pytest.raises(Refused) as refused:
        recalling.write_notices(store, hold=hold, by=CLERK, at=after(3))
    assert refused.value.rules == {"R15"}
    with pytest.raises(NotFound, match="no recall"):
        recall_standing(store, hold=hold)


# ---- to its end ----------------------------------------------------------------------------------


def test_a_recall_closes_only_when_every_class_is_settled_and_every_notice_answered(store: Store) -> None:
    shelf = put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    put_in_stock(store, SCREW, 8, lot_code="A1", place=VAN, kind="van", at=after(2))
    hold = recall(store, lot_code="A1")
    with pytest.raises(Refused) as refused:
        close(store, hold)
    assert {(r.rule, r.subject) for r in refused.value.refusals} == {
        ("R15", "on hold"), ("R15", "in vans"), ("R15", VAN),
    }  # fmt: skip
    disposing.scrap(store, things=[MoveSpec(shelf)], reason="recalled", second=INSPECTOR, by=CLERK, at=now())
    recalling.write_notices(store, hold=hold, by=CLERK, at=now())
    with pytest.raises(Refused) as refused:
        close(store, hold)
    assert [r.subject for r in refused.value.refusals if r.subject == "on hold"] == []
    assert any("no answer" in r.message for r in refused.value.refusals)
    with store.reading() as read:
        code = read.select(RecallNotice)[0].code
    recalling.mark_notice_sent(store, notice=code, how="called", by=CLERK, at=now())
    recalling.record_notice_answer(store, notice=code, answer="8 here", by=CLERK, at=now())
    recalling.record_disposition(
        store, hold=hold, things=["in vans"], decision="scrapped in the van before a witness", reference="SB-7 4.2",
        by=INSPECTOR, at=now(),
    )  # fmt: skip
    assert recall_standing(store, hold=hold).against == ()
    close(store, hold)
    standing = recall_standing(store, hold=hold)
    assert (standing.state, standing.ended_under) == ("closed", "report 1")
    with pytest.raises(Refused) as refused:
        close(store, hold)
    assert refused.value.rules == {"R12"}
    assert [(r.hold, r.state, r.open_entries) for r in recalls(store)] == [(hold, "closed", 0)]
    with store.reading() as read:
        assert list(differences(read)) == []


def test_a_recall_whose_account_does_not_add_up_is_not_closed(store: Store, world_url: str) -> None:
    line = put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    hold = recall(store, lot_code="A1")
    with attacking(world_url) as attack:
        attack.run("UPDATE holding SET quantity = 15 WHERE quantity = 16")
    account = recall_account(store, code=hold)
    assert (account.received, account.accounted, account.missing) == (16, 15, 1)
    with pytest.raises(Refused) as refused:
        close(store, hold)
    assert refused.value.rules == {"R15"}
    assert f"The account of {hold} does not add up by 1; check the store first: kittrack verify" in str(
        refused.value
    )
    assert explain_code(store, code=line).explanations[0].verdict == "It does NOT add up, by 1: run verify."


def test_a_decision_lapses_when_its_stock_moves_on(store: Store) -> None:
    line = put_in_stock(store, SCREW, 8, lot_code="A1", place=VAN, kind="van", at=after(1))
    hold = recall(store, lot_code="A1")
    answer_all(store, hold)
    recalling.record_disposition(
        store,
        hold=hold,
        things=[line],
        decision="stays aboard, sealed",
        reference="SB-7",
        by=MANAGER,
        at=now(),
    )
    assert recall_standing(store, hold=hold).against == ()
    with store.act("bring back", by=CLERK, at=now()) as act:
        van, shelf = act.find(Place, name=VAN), act.find(Place, name=BIN)
        assert van is not None
        assert shelf is not None
        act.move_stock(1, 8, from_slot=Slot(van.id, "serviceable"), to_slot=Slot(shelf.id, "serviceable"))
    standing = recall_standing(store, hold=hold)
    assert [(s.account_class, s.settled) for s in standing.stock] == [(AccountClass.HOLD, "")]
    assert {r.subject for r in standing.against} == {"on hold"}


def test_a_fitted_rotor_and_its_threadlocker_stay_open_until_decided_or_off(store: Store) -> None:
    scene = Scene(store)
    scene.all_four()
    hold = recall(store, lot_code="S-1")  # the screws and washers of the scene
    answer_all(store, hold)
    with pytest.raises(Refused) as refused:
        close(store, hold)
    assert {r.subject for r in refused.value.refusals} == {"fitted"}
    scene.remove("FL", at=now())  # its screws are scrapped (R9)
    left = [s for s in recall_standing(store, hold=hold).stock if not s.settled]
    assert [s.where.split(" in ")[0] for s in left if s.account_class is AccountClass.FITTED] != []
    assert (
        sum(s.quantity for s in left) == 2 * 12
    )  # screws and washers of three hubs: both came under one lot code
    recalling.record_disposition(
        store,
        hold=hold,
        things=[TAIL],
        decision="may fly 10 h, then off",
        reference="SB-7 para 3",
        by=INSPECTOR,
        at=now(),
    )
    assert recall_standing(store, hold=hold).against == ()
    locker = recall(store, lot_code="TL-1")
    answer_all(store, locker)
    with pytest.raises(Refused) as refused:
        close(store, locker)
    assert {r.subject for r in refused.value.refusals} == {"consumed", "issued, not fitted"}


def decide(store: Store, hold: str, *things: str, **more: Any) -> Done:
    given: dict[str, Any] = {"decision": "kept as evidence", "reference": "SB-7", "by": INSPECTOR, **more}
    return recalling.record_disposition(store, hold=hold, things=things, at=now(), **given)


def open_entries(store: Store, hold: str) -> int:
    return sum(not one.settled for one in recall_standing(store, hold=hold).stock)


def test_nobody_answers_for_an_airframe_that_was_written_off(store: Store) -> None:
    scene = Scene(store)
    scene.whole("FL", scene.sets[0], "R")
    hold = recall(store, lot_code="TL-1")
    account = recall_account(store, code=hold)
    assert (account.bonded, account.airframes, account.missing) == ((f"{TAIL} FL",), (TAIL,), 0)
    with store.act("write it off", by=MANAGER, at=now()) as act:
        frame = act.find(Airframe, tail=TAIL)
        assert frame is not None
        act.update(frame, state="written off")
    account = recall_account(store, code=hold)
    assert (account.bonded, account.airframes, account.missing) == ((), (), 0)
    with pytest.raises(BadInput, match="has a notice"):
        recalling.write_notices(store, hold=hold, by=CLERK, at=now())


def test_a_decision_is_about_what_it_names_and_nothing_else(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), place=VAN, kind="van")
    shelf = put_in_stock(store, SCREW, 8, lot_code="LOT-1", at=after(2))
    put_in_stock(store, SCREW, 8, lot_code="LOT-1", place=VAN, kind="van", at=after(3))
    hold = recall(store, lot_code="LOT-1")
    assert open_entries(store, hold) == 4
    for thing, left in ((blades[0], 3), (shelf, 2), ("IN VANS", 0)):
        done = decide(store, hold, thing)
        assert done.said[0].endswith(f"under SB-7; {left} are still open.")
        assert open_entries(store, hold) == left
    with store.reading() as read:
        rows = [(d.receipt_line_id, d.piece_id, d.quantity) for d in read.select(RecallDisposition)]
    assert rows == [(1, 1, 1), (2, None, 8), (1, 2, 1), (3, None, 8)]  # nothing is decided about twice
    with pytest.raises(BadInput, match="nothing of"):
        decide(store, hold, shelf)


def test_a_decision_names_an_airframe_a_container_or_a_class_whose_words_hold_a_comma(store: Store) -> None:
    scene = Scene(store)
    scene.whole("FL", scene.sets[0], "R")
    hold = recall(store, lot_code="S-1")  # 4 of 16 screws and washers are fitted, the others lie with the job
    before = open_entries(store, hold)
    assert before == 4
    with pytest.raises(BadInput, match="goes by 'QA-02'"):
        decide(store, hold, "QA-02")
    decide(store, hold, "issued", " not fitted")
    kinds = {s.account_class for s in recall_standing(store, hold=hold).stock if s.settled}
    assert kinds == {AccountClass.ISSUED}
    decide(store, hold, scene.spot("FL"))
    assert open_entries(store, hold) == 0
    other = recall(store, code=scene.bottle)
    decide(store, other, TAIL)
    assert open_entries(store, other) == 0


def test_a_recall_that_ended_is_not_decided_about_nor_told_of(store: Store) -> None:
    put_in_stock(store, SCREW, 8, lot_code="A1", place=VAN, kind="van", at=after(1))
    hold = recall(store, lot_code="A1")
    answer_all(store, hold)
    decide(store, hold, "in vans")
    close(store, hold)
    with pytest.raises(Refused, match="is closed already") as refused:
        decide(store, hold, "in vans")
    assert refused.value.rules == {"R12"}
    with pytest.raises(Refused) as refused:
        recalling.write_notices(store, hold=hold, by=CLERK, at=now())
    assert refused.value.rules == {"R12"}


def test_what_is_kept_of_a_recall_has_words_and_a_notice_that_is_there(store: Store) -> None:
    put_in_stock(store, SCREW, 8, lot_code="A1", place=VAN, kind="van", at=after(1))
    hold = recall(store, lot_code="A1")
    done = recalling.write_notices(store, hold=hold, by=CLERK, at=now())
    assert done.said[0] == f"{done.codes[0]} is for van {VAN}."
    for empty in ("decision", "reference"):
        with pytest.raises(BadInput, match=empty):
            decide(store, hold, "in vans", **{empty: " "})
    for empty in ("reference", "reason"):
        with pytest.raises(BadInput, match=empty):
            close(store, hold, **{empty: " "})
    with pytest.raises(BadInput, match="how"):
        recalling.mark_notice_sent(store, notice=done.codes[0], how=" ", by=CLERK, at=now())
    with pytest.raises(BadInput, match="answer"):
        recalling.record_notice_answer(store, notice=done.codes[0], answer=" ", by=CLERK, at=now())
    unknown = codes.make_code(codes.Kind.NOTICE, codes.next_number(codes.Kind.NOTICE, after=900))
    with pytest.raises(NotFound, match=unknown):
        recalling.mark_notice_sent(store, notice=unknown, how="called", by=CLERK, at=now())


def test_who_may_decide_and_close(store: Store) -> None:
    line = put_in_stock(store, SCREW, 8, lot_code="A1", at=after(1))
    hold = recall(store, lot_code="A1")
    with pytest.raises(Refused) as refused:
        recalling.record_disposition(
            store, hold=hold, things=[line], decision="kept", reference="SB-7", by=TECHNICIAN, at=now()
        )
    assert refused.value.rules == {"role"}
    recalling.record_disposition(
        store,
        hold=hold,
        things=["on hold"],
        decision="kept as evidence",
        reference="SB-7",
        by=INSPECTOR,
        at=now(),
    )
    for by, second, rule in ((CLERK, INSPECTOR, "role"), (MANAGER, MANAGER, "R8"), (MANAGER, "", "R8")):
        with pytest.raises(Refused) as refused:
            close(store, hold, by=by, second=second)
        assert refused.value.rules == {rule}
    with pytest.raises(BadInput, match="nothing of"):
        recalling.record_disposition(
            store, hold=hold, things=["lost"], decision="x", reference="y", by=INSPECTOR, at=now()
        )


def test_what_lies_in_the_stores_or_may_turn_up_is_never_settled_by_itself() -> None:
    """Trade practice, no published source: only what nobody can meet again is done with."""
    done = {kind for kind in AccountClass if settled_by_movement(kind)}
    assert done == {AccountClass.CONSUMED, AccountClass.RETURNED, AccountClass.SCRAPPED}


# ---- narrowed and cancelled ----------------------------------------------------------------------


def test_a_recall_is_narrowed_to_serials_and_the_rest_is_free(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 4, at=after(1))
    with store.act("serials", by=CLERK, at=after(2)) as act:
        for number, code in enumerate(blades, start=1):
            one = act.find(Piece, code=code)
            assert one is not None
            act.update(one, serial=f"000{number}")
    hold = recall(store, lot_code="LOT-1")
    done = holding.narrow_hold(
        store, hold=hold, scope=Scope(part=CW_BLADE, serials=("0002", "0003")), reference="SB-7 rev 2", reason="one shift",
        by=MANAGER, at=now(),
    )  # fmt: skip
    assert "0002 to 0003" in done.said[0]
    account = recall_account(store, lot_code="LOT-1")
    assert (in_class(account, AccountClass.BENCH), account.missing) == (4, 0)
    held = {item.serial for item in account.items if item.holds}
    assert held == {"0002", "0003"}
    with store.reading() as read:
        found = read.find(Hold, code=hold)
        assert found is not None
        assert (found.scope, found.released_event_id) == ("serials", None)
        assert len(read.select(HoldItem, "released_event_id IS NULL")) == 2
    with pytest.raises(BadInput, match="reaches beyond"):
        holding.narrow_hold(
            store,
            hold=hold,
            scope=Scope(lot_code="LOT-1"),
            reference="SB-7 rev 3",
            reason="wider",
            by=MANAGER,
            at=now(),
        )


def test_a_cancelled_recall_has_nothing_left_to_do(store: Store) -> None:
    put_in_stock(store, SCREW, 8, lot_code="A1", at=after(1))
    hold = recall(store, lot_code="A1")
    holding.release_hold(
        store, hold=hold, reference="SB-7 withdrawn", reason="maker's error", by=MANAGER, at=now()
    )
    standing = recall_standing(store, hold=hold)
    assert (standing.state, standing.ended_under, standing.against) == ("cancelled", "SB-7 withdrawn", ())
    with pytest.raises(Refused) as refused:
        close(store, hold)
    assert refused.value.rules >= {"R12"}
    assert recalls(store, only_open=True) == ()


def test_a_range_of_serials_says_what_nobody_has_read_yet(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    put_in_stock(store, CW_BLADE, 6, lot_code="LOT-2", condition="on hold", at=after(2))
    with store.act("serials", by=CLERK, at=after(3)) as act:
        one = act.find(Piece, code=blades[0])
        assert one is not None
        act.update(one, serial="0001")
    done = holding.place_hold(
        store, scope=Scope(part=CW_BLADE, serials=("0001", "0009")), reason="cracks", reference="SB-8", is_recall=True,
        by=CLERK, at=now(),
    )  # fmt: skip
    assert any(said.startswith("6 of this part are not inspected") for said in done.said)


def test_a_range_of_serials_of_which_all_were_looked_at_says_nothing_of_an_inspection(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    with store.act("serials", by=CLERK, at=after(3)) as act:
        one = act.find(Piece, code=blades[0])
        assert one is not None
        act.update(one, serial="0001")
    done = holding.place_hold(
        store, scope=Scope(part=CW_BLADE, serials=("0001", "0009")), reason="cracks", reference="", by=CLERK, at=now()
    )  # fmt: skip
    assert not any("not inspected" in said for said in done.said)


# ---- drills --------------------------------------------------------------------------------------


def test_a_drill_holds_nothing_and_tells_how_long_it_took(store: Store) -> None:
    put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    put_in_stock(store, SCREW, 8, lot_code="A1", place=VAN, kind="van", at=after(2))
    code = drilling.start_drill(
        store, scope=Scope(lot_code="A1"), reason="quarterly", by=MANAGER, at=after(10)
    ).codes[0]
    assert in_class(recall_account(store, lot_code="A1"), AccountClass.SHELF) == 16
    shown = drill_of(store, code)
    assert [(e.entry, e.where, e.expected) for e in shown.entries] == [(1, BIN, None), (2, VAN, None)]
    drilling.report_drill(store, drill=code, line=1, found=16, by=CLERK, at=after(15))
    done = drilling.report_drill(store, drill=code, line=2, found=8, by=TECHNICIAN, at=after(52))
    assert "42 minutes" in done.said[0]
    shown = drill_of(store, code)
    assert (shown.minutes, shown.adds_up, shown.unseen) == (42, True, 0)
    with pytest.raises(Refused) as refused:
        drilling.report_drill(store, drill=code, line=2, found=8, by=CLERK, at=after(60))
    assert refused.value.rules == {"R12"}


def test_a_drill_that_does_not_add_up_says_so_and_a_stopped_one_counts_what_was_not_seen(
    store: Store,
) -> None:
    put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    put_in_stock(store, SCREW, 8, lot_code="A1", place=VAN, kind="van", at=after(2))
    first, second = (
        drilling.start_drill(store, scope=Scope(lot_code="A1"), reason="drill", by=CLERK, at=now()).codes[0]
        for _ in range(2)
    )
    drilling.report_drill(store, drill=first, line=1, found=15, by=CLERK, at=now())
    done = drilling.report_drill(store, drill=first, line=2, found=8, by=CLERK, at=now())
    assert "NOT add up" in done.said[0]
    assert "15 seen, 16 on record" in done.said[1]
    assert drill_of(store, first).adds_up is False
    drilling.stop_drill(store, drill=second, reason="called away", by=MANAGER, at=now())
    assert (drill_of(store, second).unseen, drill_of(store, second).adds_up) == (2, False)
    with pytest.raises(NotFound, match="no entry 9"):
        drilling.report_drill(store, drill=second, line=9, found=8, by=BUILDER, at=now())


def test_a_place_of_a_drill_is_reported_once_with_what_can_be_there(store: Store) -> None:
    put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    put_in_stock(store, SCREW, 8, lot_code="A1", place=VAN, kind="van", at=after(2))
    code = drilling.start_drill(
        store, scope=Scope(lot_code="A1"), reason="quarterly", by=MANAGER, at=now()
    ).codes[0]
    with pytest.raises(BadInput, match="-1 can't be there"):
        drilling.report_drill(store, drill=code, line=1, found=-1, by=CLERK, at=now())
    assert drill_of(store, code).unseen == 2
    drilling.report_drill(store, drill=code, line=1, found=15, by=CLERK, at=now())
    with pytest.raises(Refused, match=f"Entry 1 of {code} was reported already") as refused:
        drilling.report_drill(store, drill=code, line=1, found=16, by=TECHNICIAN, at=now())
    assert refused.value.rules == {"R12"}
    assert [entry.found for entry in drill_of(store, code).entries] == [15, None]
    unknown = codes.make_code(codes.Kind.DRILL, codes.next_number(codes.Kind.DRILL, after=900))
    with pytest.raises(NotFound, match=unknown):
        drilling.stop_drill(store, drill=unknown, reason="called away", by=MANAGER, at=now())


def test_a_drill_that_the_store_does_not_hold_is_not_found(store: Store) -> None:
    unknown = codes.make_code(codes.Kind.DRILL, codes.next_number(codes.Kind.DRILL, after=900))
    with pytest.raises(NotFound, match=unknown):
        drill(store, drill=unknown)


def test_a_drill_of_what_is_all_gone_is_refused(store: Store) -> None:
    line = put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    disposing.scrap(store, things=[MoveSpec(line)], reason="old", second=INSPECTOR, by=CLERK, at=now())
    with pytest.raises(BadInput, match="left to look at"):
        drilling.start_drill(store, scope=Scope(lot_code="A1"), reason="drill", by=CLERK, at=now())
    bottle = put_bottle(store, volume_ul=500, at=now(), expires_on="2027-01-01")
    assert recall_account(store, code=bottle).received == 500


def drill_of(store: Store, code: str) -> Drill:
    return drill(store, drill=code)
