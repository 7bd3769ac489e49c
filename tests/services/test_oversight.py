"""What the Office sees without asking around: let pass, stopped, typed, hanging, printed again; and shifts handed over."""

from datetime import timedelta

import pytest

from kittrack.errors import BadInput, NotFound, Refused
from kittrack.printing.documents import Caution
from kittrack.queries import oversight, shift
from kittrack.queries.oversight_paper import oversight_document
from kittrack.services import (
    document_printing,
    fitting,
    founding,
    handing_over,
    holding,
    issuing,
    jobs,
    kitting,
    ordering,
    sealing,
)
from kittrack.services.holding import Scope
from kittrack.services.issuing import Waiver
from kittrack.services.ordering import OrderSpec
from kittrack.store.database import Store, open_store
from kittrack.store.fold import differences
from kittrack.store.records import Entry, FitRecord
from kittrack.store.shift_facts import ShiftLine
from tests.aircraft_scene import Scene
from tests.factories import (
    AUDITOR,
    BENCH,
    BUILDER,
    CLERK,
    INSPECTOR,
    MANAGER,
    SCREW,
    TAIL,
    TAIL2,
    TECHNICIAN,
    VAN,
    after,
    finished_kit,
    put_in_stock,
    sealed_kit,
    stock_up,
)


def issued(store: Store, *, minute: int = 1) -> tuple[str, str]:
    """A kit issued for a job at minute + 3."""
    stock_up(store, at=after(minute))
    kit = sealed_kit(store, at=after(minute + 1), seal="77")
    job = jobs.open_job(store, airframe=TAIL, purpose="rotors worn", by=CLERK, at=after(minute + 2)).codes[0]
    issuing.issue_kit(store, kit=kit, job=job, seal="77", receiver=TECHNICIAN, by=CLERK, at=after(minute + 3))
    return kit, job


# ---- one question each -----------------------------------------------------------------------------


def test_an_override_is_listed_with_who_let_what_pass_and_who_confirmed_it(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = kitting.build_kit(store, bench=BENCH, airframe=TAIL2, by=BUILDER, at=after(2)).codes[0]
    finished_kit(store, kit, at=after(3), seal="77")
    job = jobs.open_job(store, airframe=TAIL, purpose="rotors worn", by=CLERK, at=after(4)).codes[0]
    issuing.issue_kit(
        store,
        kit=kit,
        job=job,
        seal="77",
        receiver=TECHNICIAN,
        by=CLERK,
        at=after(5),
        waiver=Waiver("it flies tomorrow", MANAGER),
    )
    (one,) = oversight.overrides(store, at=after(6))
    assert (one.kind, one.subject, one.reason, one.by, one.second) == (
        "other airframe",
        kit,
        "it flies tomorrow",
        CLERK,
        MANAGER,
    )
    assert oversight.overrides(store, at=after(6 + 40 * 24 * 60)) == ()


def test_who_checked_alone_is_listed_with_the_declaration(store: Store) -> None:
    stock_up(store, at=after(1))
    founding.declare_alone(
        store,
        person=CLERK,
        from_on=after(1).date(),
        until_on=after(1).date(),
        reason="storm",
        by=MANAGER,
        at=after(2),
    )
    kit = kitting.build_kit(store, bench=BENCH, revision="QA A", by=CLERK, at=after(3)).codes[0]
    sealing.check_kit(store, kit=kit, by=CLERK, at=after(4))
    found = oversight.worked_alone(store, at=after(5))
    assert [(w.what, w.subject, w.by) for w in found] == [
        ("re-inspection: check of a kit", kit, CLERK), ("declared alone: storm", "2026-03-02 to 2026-03-02", CLERK),
    ]  # fmt: skip


def test_a_position_inspected_by_its_own_fitter_is_listed_as_worked_alone(store: Store) -> None:
    scene = Scene(store)
    scene.whole("FL", scene.sets[0], "R")
    scene.whole("RR", scene.sets[1], "R")
    assert oversight.worked_alone(store, at=scene.now) == ()
    scene.change(FitRecord, {"rotor_set_id": scene.one(1).id}, inspection="re-inspection")
    found = oversight.worked_alone(store, at=scene.now)
    assert [(w.what, w.subject, w.by) for w in found] == [
        ("re-inspection: position", f"{TAIL} RR", INSPECTOR)
    ]
    assert oversight.worked_alone(store, at=scene.now + timedelta(days=8), days=7) == ()


def test_a_stopped_scan_tells_what_was_needed_and_what_was_there(store: Store) -> None:
    scene = Scene(store)
    fitting.record_refused_scan(
        store,
        job=scene.job,
        position=scene.spot("FL"),
        scanned=scene.sets[2],
        mark="L",
        by=TECHNICIAN,
        at=scene.now,
    )
    (one,) = oversight.stopped_scans(store, at=scene.now)
    assert (one.airframe, one.position, one.needed, one.scanned, one.mark, one.by) == (
        TAIL,
        "FL",
        "CW",
        scene.sets[2],
        "L",
        TECHNICIAN,
    )


def test_a_kit_is_out_too_long_from_the_hour_that_a_shift_has(store: Store) -> None:
    kit, job = issued(store)
    assert oversight.kits_not_fitted(store, at=after(4 + 12 * 60 - 1)) == ()
    (one,) = oversight.kits_not_fitted(store, at=after(4 + 12 * 60))
    assert (one.kit, one.tail, one.job, one.receiver, one.hours_out, one.how) == (
        kit,
        TAIL,
        job,
        TECHNICIAN,
        12,
        "unopened",
    )
    assert len(oversight.kits_not_fitted(store, at=after(4 + 8 * 60), shift_hours=8)) == 1
    issuing.open_at_aircraft(store, kit=kit, seal="77", by=TECHNICIAN, at=after(4 + 12 * 60))
    (one,) = oversight.kits_not_fitted(store, at=after(5 + 12 * 60))
    assert one.how == "4 sets not fitted"


def test_a_job_across_shifts_names_the_positions_that_are_begun(store: Store) -> None:
    scene = Scene(store)
    scene.fit("FL", scene.sets[0], "R")
    assert oversight.jobs_across_shifts(store, at=scene.now) == ()
    (one,) = oversight.jobs_across_shifts(store, at=after(13 * 60))
    assert (one.job, one.tail, one.unfinished, one.to_do) == (scene.job, TAIL, ("FL: not finished",), 3)


def test_a_second_copy_is_a_reprint(store: Store) -> None:
    for minute in (1, 2, 3):
        document_printing.record_document_print(
            store, title="Issue voucher", code="V000001-0", paper="A4", by=CLERK, at=after(minute)
        )
    assert [(r.subject, r.copy) for r in oversight.reprints(store, at=after(4))] == [
        ("Issue voucher V000001-0", 3), ("Issue voucher V000001-0", 2),
    ]  # fmt: skip


# ---- typed instead of scanned --------------------------------------------------------------------------


def test_what_was_typed_is_kept_with_the_act_that_it_was_for_and_no_other(store: Store) -> None:
    put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    store.entered("Y000001-0", typed=True)
    store.entered("N000001-0", typed=False)
    with pytest.raises(Refused):
        holding.place_hold(
            store, scope=Scope(lot_code="A1"), reason="x", reference="", by=AUDITOR, at=after(2)
        )
    with store.reading() as read:
        assert read.select(Entry) == []
    first = holding.place_hold(
        store, scope=Scope(lot_code="A1"), reason="x", reference="", by=CLERK, at=after(3)
    )
    holding.place_hold(store, scope=Scope(lot_code="A1"), reason="y", reference="", by=CLERK, at=after(4))
    with store.reading() as read:
        (one,) = read.select(Entry)
        assert (one.scanned, one.typed, one.typed_texts, one.event_id) == (1, 1, "Y000001-0", first.event)
        assert list(differences(read)) == []
    (who,) = oversight.typed_entries(store, at=after(5))
    assert (who.person, who.typed, who.scanned, who.percent_typed, who.acts_typed) == (CLERK, 1, 1, 50.0, 1)
    store.entered("Y000001-0", typed=True)
    store.forget_entries()
    holding.place_hold(store, scope=Scope(lot_code="A1"), reason="z", reference="", by=CLERK, at=after(6))
    with store.reading() as read:
        assert len(read.select(Entry)) == 1


# ---- the page -----------------------------------------------------------------------------------------


def test_the_page_holds_every_answer_and_prints_it(store: Store) -> None:
    kit, _ = issued(store)
    at = after(4 + 24 * 60)
    page = oversight.oversight(store, at=at, days=7, shift_hours=10)
    assert (page.days, page.shift_hours, page.overrides, page.stopped) == (7, 10, (), ())
    assert page.kits_not_fitted == oversight.kits_not_fitted(store, at=at, shift_hours=10)
    assert page.jobs_across_shifts == oversight.jobs_across_shifts(store, at=at, shift_hours=10)
    paper = oversight_document(store, at=at, days=7, shift_hours=10)
    hanging = next(t for t in paper.tables if t.heading.startswith("Kits issued"))
    assert hanging.rows[0][0] == kit
    assert len(paper.tables) == 7


# ---- handing a shift over -------------------------------------------------------------------------------


def test_a_shift_is_handed_over_with_what_is_open_then_both_names_and_the_words(store: Store) -> None:
    kit, job = issued(store)
    put_in_stock(store, SCREW, 16, lot_code="A1", place=VAN, kind="van", at=after(6))
    before = shift.shift_report(store)
    done = handing_over.hand_over_shift(
        store, text="van is back at six", second=BUILDER, by=CLERK, at=after(10)
    )
    found = shift.handover(store, handover=done.codes[0])
    assert (found.by, found.taken_by, found.text, found.since) == (CLERK, BUILDER, "van is back at six", "")
    assert found.lines == before
    assert (
        ShiftLine("kits issued and not fitted", kit, f"unopened, with {TECHNICIAN} for {job}, {TAIL}")
        in found.lines
    )
    issuing.open_at_aircraft(store, kit=kit, seal="77", by=TECHNICIAN, at=after(11))
    assert shift.handover(store, handover=done.codes[0]) == found
    again = handing_over.hand_over_shift(store, text="nothing else", second=CLERK, by=BUILDER, at=after(12))
    later = shift.handover(store, handover=again.codes[0])
    assert later.since == found.at
    assert any(line.text.startswith("opened, 4 sets not fitted") for line in later.lines)
    assert [(h.by, h.taken_by) for h in shift.handovers(store)] == [(BUILDER, CLERK), (CLERK, BUILDER)]
    paper = shift.handover_document(store, handover=done.codes[0], at=after(13))
    assert paper.signatures == (f"Handed over by {CLERK}", f"Taken over by {BUILDER}")
    assert ("In words", "van is back at six") in paper.facts
    assert any(mark is Caution.CAUTION and "not finished" in text for mark, text in paper.cautions)
    with store.reading() as read:
        assert list(differences(read)) == []


def test_a_quiet_shift_is_handed_over_in_words_and_on_paper(store: Store) -> None:
    done = handing_over.hand_over_shift(store, text="all quiet", second=BUILDER, by=CLERK, at=after(1))
    assert shift.handover(store, handover=done.codes[0]).lines == ()
    [table] = shift.handover_document(store, handover=done.codes[0], at=after(2)).tables
    assert (table.rows, table.empty) == ((), "nothing is open")


def test_an_override_is_told_to_the_next_shift_once(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = kitting.build_kit(store, bench=BENCH, airframe=TAIL2, by=BUILDER, at=after(2)).codes[0]
    finished_kit(store, kit, at=after(3), seal="77")
    job = jobs.open_job(store, airframe=TAIL, purpose="rotors worn", by=CLERK, at=after(4)).codes[0]
    issuing.issue_kit(
        store,
        kit=kit,
        job=job,
        seal="77",
        receiver=TECHNICIAN,
        by=CLERK,
        at=after(5),
        waiver=Waiver("it flies tomorrow", MANAGER),
    )
    told = [
        handing_over.hand_over_shift(store, text="all told", second=INSPECTOR, by=CLERK, at=after(m))
        for m in (6, 7)
    ]
    sections = [{line.section for line in shift.handover(store, handover=d.codes[0]).lines} for d in told]
    assert ["overrides since the last hand-over" in s for s in sections] == [True, False]


def test_what_is_on_order_and_did_not_come_is_handed_over(store: Store) -> None:
    order = ordering.place_order(
        store,
        supplier="Invented Rotors",
        reference="PO-1",
        lines=[OrderSpec(SCREW, 16, "pieces", None)],
        by=CLERK,
        at=after(1),
    ).codes[0]
    (line,) = (x for x in shift.shift_report(store) if x.section == "deliveries expected")
    assert line.subject == order
    assert line.text.startswith(f"Invented Rotors, {SCREW}, expected on 2026-")


@pytest.mark.parametrize(
    ("how", "rules"),
    [({"second": CLERK}, {"R8"}), ({"second": ""}, {"R8"}), ({"by": AUDITOR, "second": CLERK}, {"role"})],
)
def test_nobody_hands_a_shift_over_to_nobody(store: Store, how: dict[str, str], rules: set[str]) -> None:
    with pytest.raises(Refused) as refused:
        handing_over.hand_over_shift(store, at=after(1), **{"text": "all quiet", "by": CLERK, **how})
    assert refused.value.rules == rules


def test_a_hand_over_without_words_or_with_a_novel_is_told(store: Store) -> None:
    for text in ("", "x" * 2001):
        with pytest.raises(BadInput):
            handing_over.hand_over_shift(store, text=text, second=BUILDER, by=CLERK, at=after(1))
    with pytest.raises(NotFound):
        shift.handover(store, handover="G000001-M")
    assert shift.shift_report(store) == ()


def test_a_store_that_was_never_founded_prints_nothing_and_says_so(store_url: str) -> None:
    opened = open_store(store_url, create=True)
    try:
        with pytest.raises(NotFound, match="never founded"):
            oversight_document(opened, at=after(1))
    finally:
        opened.close()
