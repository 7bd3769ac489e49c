"""Sampling of fasteners by their supplier's history: plans, switching, and what a failed sample stops.

The plans and the switching rules themselves are checked against published tables in tests/domain; here the
store has to make the right history of what was inspected.
"""

from dataclasses import replace

import pytest
from scipy.stats import poisson

from kittrack.domain import codes
from kittrack.domain.dates import Expiry
from kittrack.errors import BadInput, NotFound, Refused
from kittrack.queries.explaining import explain_code
from kittrack.queries.sampling import SamplingPlan, sampling_plan, sampling_records
from kittrack.services import receiving, reversing
from kittrack.services.inspecting_stock import inspect_stock
from kittrack.services.line_standing import line_view
from kittrack.services.receiving import LineSpec, PaperSpec
from kittrack.services.sampling import decide_sampling
from kittrack.store.database import Store
from kittrack.store.records import LotSample
from tests.factories import CLERK, CW_BLADE, INSPECTOR, LOCKER, MANAGER, SCREW, after, put_in_stock

MAKER = "Invented Rotors"
CERTIFICATE = PaperSpec("certificate of conformity", "C-77", MAKER)
SCREWS = LineSpec(SCREW, 500, "S-0", expiry=Expiry.unlimited(), papers=(CERTIFICATE,))
# A lot of 500 at level II has letter H; at AQL 2.5 it is normal 50 with Ac 3, tightened 50 with Ac 2
# (MIL-STD-105E tables I, II-A and II-B, as printed in public copies).
LOT, NORMAL, TIGHTENED = 500, (50, 3), (50, 2)


def take_in(store: Store, number: int, line: LineSpec = SCREWS) -> str:
    spec = replace(line, lot_code=f"S-{number}")
    at = after(10 * number)
    done = receiving.receive(store, supplier=MAKER, reference=f"DN-{number}", lines=(spec,), by=CLERK, at=at)
    return done.codes[1]


def take_in_and_look(store: Store, number: int, *, faulty: int) -> SamplingPlan:
    """Take a lot in, look at its sample, and accept or reject the lot as its plan says."""
    line = take_in(store, number)
    plan = sampling_plan(store, line=line)
    passes = faulty <= plan.passes_with
    inspect_stock(
        store, line=line, faulty=faulty, accepted=LOT * passes, rejected=LOT * (not passes), note="sample looked at",
        by=CLERK, at=after(10 * number + 5),
    )  # fmt: skip
    return plan


def numbers(plan: SamplingPlan) -> tuple[int, int]:
    return plan.look_at, plan.passes_with


def test_the_first_lot_of_a_supplier_has_normal_inspection(store: Store) -> None:
    plan = sampling_plan(store, line=take_in(store, 1))
    assert (plan.severity, plan.code_letter, numbers(plan)) == ("normal", "H", NORMAL)
    assert plan.passed is None


def test_two_of_five_lots_refused_make_inspection_tightened_and_five_passed_normal_again(
    store: Store,
) -> None:
    assert numbers(take_in_and_look(store, 1, faulty=4)) == NORMAL
    assert numbers(take_in_and_look(store, 2, faulty=0)) == NORMAL
    assert numbers(take_in_and_look(store, 3, faulty=5)) == NORMAL
    for number in range(4, 9):
        assert numbers(take_in_and_look(store, number, faulty=0)) == TIGHTENED
    assert sampling_plan(store, line=take_in(store, 9)).severity == "normal"
    (record,) = sampling_records(store)
    assert (record.lots, record.refused, record.stopped) == (8, 2, False)


def test_five_lots_refused_on_tightened_inspection_stop_sampling_until_a_manager_resumes_it(
    store: Store,
) -> None:
    for number in range(1, 8):
        take_in_and_look(store, number, faulty=10)
    line = take_in(store, 8)
    assert sampling_plan(store, line=line).stopped
    with pytest.raises(Refused) as refused:
        inspect_stock(store, line=line, accepted=LOT, by=CLERK, at=after(90))
    assert refused.value.rules == {"R6"}
    with pytest.raises(Refused) as by_clerk:
        decide_sampling(
            store, part=SCREW, supplier=MAKER, decision="resume", reason="x", by=CLERK, at=after(91)
        )
    assert by_clerk.value.rules == {"role"}
    decide_sampling(
        store, part=SCREW, supplier=MAKER, decision="resume", reason="new wire, report 7", by=MANAGER, at=after(92)
    )  # fmt: skip
    assert sampling_plan(store, line=line).severity == "tightened"
    inspect_stock(store, line=line, accepted=LOT, by=CLERK, at=after(93))


def test_nothing_resumes_that_is_not_stopped(store: Store) -> None:
    with pytest.raises(Refused) as refused:
        decide_sampling(
            store, part=SCREW, supplier=MAKER, decision="resume", reason="x", by=MANAGER, at=after(1)
        )
    assert refused.value.rules == {"R6"}


def test_reduced_inspection_takes_a_good_record_and_a_managers_word(store: Store) -> None:
    decide_sampling(
        store, part=SCREW, supplier=MAKER, decision="allow reduced", reason="steady", by=MANAGER, at=after(1)
    )  # fmt: skip
    for number in range(1, 11):  # 3 points a lot, 30 are needed
        assert take_in_and_look(store, number, faulty=0).severity == "normal"
    line = take_in(store, 11)
    assert sampling_plan(store, line=line).severity == "reduced"
    assert numbers(sampling_plan(store, line=line)) == (20, 3)  # II-C, letter H at 2.5: n 20, Ac 1, Re 4
    decide_sampling(
        store, part=SCREW, supplier=MAKER, decision="no reduced", reason="new plant", by=MANAGER, at=after(118)
    )  # fmt: skip
    assert sampling_plan(store, line=line).severity == "normal"


def test_a_lot_whose_sample_failed_is_accepted_only_after_a_look_at_every_piece(store: Store) -> None:
    line = take_in(store, 1)
    with pytest.raises(Refused) as refused:
        inspect_stock(store, line=line, accepted=LOT, faulty=4, by=CLERK, at=after(15))
    assert refused.value.rules == {"R6"}
    inspect_stock(store, line=line, held=LOT, faulty=4, note="sample failed", by=CLERK, at=after(16))
    assert sampling_plan(store, line=line).passed is False
    with pytest.raises(Refused):
        inspect_stock(store, line=line, accepted=LOT, by=CLERK, at=after(17))
    with pytest.raises(BadInput, match="second one"):
        inspect_stock(store, line=line, accepted=LOT, faulty=0, by=CLERK, at=after(18))
    inspect_stock(
        store, line=line, accepted=LOT - 9, rejected=9, every_one=True, note="each looked at", by=CLERK, at=after(19)
    )  # fmt: skip
    with store.reading() as read:
        assert len(read.select(LotSample)) == 1


def test_a_lot_that_is_held_for_a_question_has_no_sample_yet(store: Store) -> None:
    line = take_in(store, 1)
    inspect_stock(store, line=line, held=LOT, note="paper is asked for", by=CLERK, at=after(15))
    assert sampling_plan(store, line=line).passed is None


def test_a_lot_refused_uncounted_counts_as_refused(store: Store) -> None:
    for number in (1, 2):
        line = take_in(store, number)
        inspect_stock(store, line=line, rejected=LOT, note="wrong heads", by=CLERK, at=after(10 * number + 5))
    assert sampling_plan(store, line=take_in(store, 3)).severity == "tightened"


def test_more_faulty_pieces_than_the_sample_has_are_a_slip(store: Store) -> None:
    line = take_in(store, 1)
    with pytest.raises(BadInput, match="sample of 50"):
        inspect_stock(store, line=line, rejected=LOT, faulty=51, note="x", by=CLERK, at=after(15))


def test_a_line_that_the_store_does_not_hold_has_no_plan(store: Store) -> None:
    unknown = codes.make_code(codes.Kind.RECEIPT_LINE, codes.next_number(codes.Kind.RECEIPT_LINE, after=900))
    with pytest.raises(NotFound, match=unknown):
        sampling_plan(store, line=unknown)


def test_blades_are_never_sampled(store: Store) -> None:
    line = take_in(store, 1, replace(SCREWS, part=CW_BLADE, quantity=8))
    with pytest.raises(BadInput, match="every piece"):
        sampling_plan(store, line=line)
    with pytest.raises(BadInput, match="only fasteners"):
        decide_sampling(
            store, part=CW_BLADE, supplier=MAKER, decision="resume", reason="x", by=MANAGER, at=after(15)
        )


def test_the_plan_of_a_line_is_explained(store: Store) -> None:
    line = take_in(store, 1)
    told = [one for one in explain_code(store, code=line).explanations if one.title.startswith("Sample")]
    assert told[0].result.value == 50
    assert "letter H" in told[0].verdict
    sure = explain_code(store, code=line).explanations[-1]
    # P(X <= 3) of Poisson means 1.25 and 5, as scipy.stats.poisson.cdf answers
    assert sure.result.value == pytest.approx(100 * poisson.cdf(3, 1.25), abs=1e-6)
    assert f"{100 * poisson.cdf(3, 5):.0f} of 100" in sure.verdict


def reverse(store: Store, event: int, minute: int) -> None:
    reversing.reverse_event(
        store, event=event, reason="looked at another bag", second=INSPECTOR, by=CLERK, at=after(minute)
    )


def test_the_sample_of_a_reversed_inspection_decides_about_nothing(store: Store) -> None:
    line = take_in(store, 1)
    looked = inspect_stock(
        store, line=line, faulty=9, rejected=LOT, note="wrong heads", by=CLERK, at=after(15)
    )
    assert [(r.lots, r.refused) for r in sampling_records(store)] == [(1, 1)]
    reverse(store, looked.event, 16)
    assert sampling_plan(store, line=line).passed is None
    assert [(r.lots, r.refused) for r in sampling_records(store)] == []
    inspect_stock(store, line=line, faulty=0, accepted=LOT, by=CLERK, at=after(17))
    assert sampling_plan(store, line=line).passed is True
    assert [(r.lots, r.refused) for r in sampling_records(store)] == [(1, 0)]


def test_a_line_whose_look_was_reversed_waits_to_be_inspected_again(store: Store) -> None:
    line = take_in(store, 1)
    before = line_view(store, line=line, at=after(14)).next_step
    looked = inspect_stock(store, line=line, held=LOT, note="which drawing?", by=CLERK, at=after(15))
    assert line_view(store, line=line, at=after(15)).next_step != before
    reverse(store, looked.event, 16)
    assert line_view(store, line=line, at=after(17)).next_step == before


def test_a_decision_is_one_of_those_there_are_about_a_company_that_is_known(store: Store) -> None:
    with pytest.raises(BadInput, match=r"'stop'.*choose one of: resume, allow reduced, no reduced"):
        decide_sampling(
            store, part=SCREW, supplier=MAKER, decision="stop", reason="x", by=MANAGER, at=after(1)
        )
    with pytest.raises(NotFound, match="'Nobody Ltd'"):
        decide_sampling(
            store,
            part=SCREW,
            supplier="Nobody Ltd",
            decision="resume",
            reason="x",
            by=MANAGER,
            at=after(1),
        )


def test_a_line_on_its_way_says_how_much_of_it_to_look_at(store: Store) -> None:
    """A lot as small as its sample is looked at whole; a supplier that is stopped has every piece looked at."""
    small = take_in(store, 1, replace(SCREWS, quantity=4))
    assert line_view(store, line=small, at=after(11)).sampling == "normal: look at all 4"
    whole = take_in(store, 2)
    assert (
        line_view(store, line=whole, at=after(21)).sampling
        == "normal: look at 50 of 500; accept with at most 3 bad"
    )
    for number in range(3, 12):
        take_in_and_look(store, number, faulty=9)
    said = line_view(store, line=take_in(store, 20), at=after(210)).sampling
    assert said == "tightened: STOPPED for this supplier, look at all 500"


def test_a_line_without_paper_gets_it_first_and_one_that_is_not_there_is_told(store: Store) -> None:
    bare = take_in(store, 1, replace(SCREWS, papers=()))
    assert line_view(store, line=bare, at=after(11)).next_step == "attach its paper"
    unknown = codes.make_code(codes.Kind.RECEIPT_LINE, codes.next_number(codes.Kind.RECEIPT_LINE, after=900))
    with pytest.raises(NotFound, match=unknown):
        line_view(store, line=unknown, at=after(12))


def test_faulty_pieces_of_what_is_not_sampled_are_a_slip(store: Store) -> None:
    line = put_in_stock(store, LOCKER, 20_000, condition="on hold", expires_on="2027-01-01", at=after(1))
    with pytest.raises(BadInput, match=f"{line} is not sampled; leave the faulty pieces out"):
        inspect_stock(store, line=line, accepted=20_000, faulty=0, by=CLERK, at=after(15))
    inspect_stock(store, line=line, accepted=20_000, by=CLERK, at=after(16))
