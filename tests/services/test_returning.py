"""What comes back: unopened, opened complete, opened short, and leftovers (R5, R9, R11)."""

from collections.abc import Callable

import pytest

from kittrack.errors import BadInput, Conflict, NotFound, Refused
from kittrack.queries.kits import job_view, kit_view
from kittrack.queries.oversight import kits_not_fitted
from kittrack.services import findings, holding, issuing, jobs, returning, sealing
from kittrack.services.desk import Done
from kittrack.services.holding import Scope
from kittrack.services.returning import Leftover, Missing
from kittrack.store.database import Store
from kittrack.store.records import (
    Company,
    KitListLine,
    Part,
    Place,
    Reservation,
    RotorSet,
    TypeRevision,
    Voucher,
)
from tests.factories import (
    BIN,
    CLERK,
    LOCKER,
    MANAGER,
    SCREW,
    TAIL,
    TECHNICIAN,
    VAN,
    WASHER,
    after,
    assert_conserved,
    put_in_stock,
    sealed_kit,
    stock_up,
)


def issued(store: Store) -> tuple[str, str]:
    stock_up(store, at=after(1))
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    kit = sealed_kit(store, at=after(5))
    issuing.issue_kit(store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(6))
    return job, kit


def lies(store: Store, number: str) -> dict[tuple[str, str], int]:
    """Where a part's stock lies: quantity by (kind of place, condition), the supplier's end left out."""
    with store.reading() as read:
        rows = read.rows(
            "SELECT p.kind, h.condition, sum(h.quantity) FROM holding h JOIN place p ON p.id = h.place_id "
            "JOIN receipt_line r ON r.id = h.receipt_line_id JOIN part t ON t.id = r.part_id "
            "WHERE t.number = ? AND p.kind <> 'supplier' GROUP BY p.kind, h.condition",
            number,
        )
    return {(kind, condition): int(quantity) for kind, condition, quantity in rows}


def set_at(store: Store, code: str) -> tuple[str, str]:
    with store.reading() as read:
        one = read.find(RotorSet, code=code)
        assert one is not None
        kind = read.value(
            "SELECT p.kind FROM containment c JOIN place p ON p.id = c.inside_id WHERE c.container_id = ?",
            one.place_id,
        )
    return str(kind), one.condition


def vouchers(store: Store) -> list[str]:
    with store.reading() as read:
        return [v.state for v in read.select(Voucher)]


# ---- unopened ------------------------------------------------------------------------------------


def test_an_unopened_kit_goes_back_on_the_shelf_under_its_number_and_out_again(store: Store) -> None:
    job, kit = issued(store)
    returning.return_unopened(store, kit=kit, seal="0001", to_place=BIN, by=CLERK, at=after(7))
    seen = kit_view(store, kit=kit, at=after(8))
    assert (seen.state, seen.where, seen.seal, seen.against) == ("sealed", BIN, "0001", ())
    assert vouchers(store) == ["returned"]
    issuing.issue_kit(store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(9))
    assert vouchers(store) == ["returned", "open"]
    assert_conserved(store)


def test_a_broken_seal_a_hold_and_a_kit_that_was_not_out_are_refused(store: Store) -> None:
    _, kit = issued(store)
    with pytest.raises(Refused) as refused:
        returning.return_unopened(store, kit=kit, seal="", to_place=BIN, by=CLERK, at=after(7))
    assert refused.value.rules == {"R5"}
    holding.place_hold(store, scope=Scope(code=kit), reason="x", reference="", by=CLERK, at=after(8))
    with pytest.raises(Refused) as refused:
        returning.return_unopened(store, kit=kit, seal="0001", to_place=BIN, by=CLERK, at=after(9))
    assert refused.value.rules == {"R6"}
    returning.return_unopened(store, kit=kit, seal="0001", to_place="hold cage Home", by=CLERK, at=after(10))
    with pytest.raises(Refused) as refused:
        returning.return_unopened(
            store, kit=kit, seal="0001", to_place="hold cage Home", by=TECHNICIAN, at=after(11)
        )
    assert refused.value.rules == {"R5", "role"}


# ---- opened --------------------------------------------------------------------------------------


def test_opened_and_complete_sets_go_to_inspection_and_opened_fasteners_to_scrap(store: Store) -> None:
    _, kit = issued(store)
    lines = kit_view(store, kit=kit, at=after(6)).lines
    washers = lines[3].things[0]
    returning.return_opened(
        store, kit=kit, reason="bag torn in the van", closed_bags=[washers], by=CLERK, at=after(7)
    )
    assert set_at(store, lines[0].things[0]) == ("goods-in", "on hold")
    assert lies(store, SCREW) == {("bin", "serviceable"): 24, ("scrapped", "unsalvageable"): 16}
    assert lies(store, WASHER) == {("bin", "serviceable"): 24, ("goods-in", "on hold"): 16}
    assert lies(store, LOCKER) == {("goods-in", "on hold"): 10_000}
    assert (kit_view(store, kit=kit, at=after(8)).state, vouchers(store)) == ("opened", ["returned"])
    assert_conserved(store)


def test_opened_and_short_what_is_missing_is_lost(store: Store) -> None:
    _, kit = issued(store)
    lines = kit_view(store, kit=kit, at=after(6)).lines
    gone, screws, bottle = lines[1].things[0], lines[2].things[0], lines[4].things[0]
    missing = [Missing(gone), Missing(screws, 3), Missing(bottle)]
    done = returning.return_opened(
        store, kit=kit, reason="van broken into", missing=missing, by=CLERK, at=after(7)
    )
    assert [text for text in done.said if "lost" in text] == [
        f"{gone} is lost.", f"3 of {screws} is lost.", f"10 mL of {bottle} is lost.",
    ]  # fmt: skip
    assert set_at(store, gone)[0] == "lost"
    assert set_at(store, lines[1].things[1]) == ("goods-in", "on hold")
    assert lies(store, SCREW)["lost", "unsalvageable"] == 3
    assert lies(store, SCREW)["scrapped", "unsalvageable"] == 13
    assert lies(store, LOCKER) == {("lost", "unsalvageable"): 10_000}
    assert_conserved(store)


@pytest.mark.parametrize(
    ("quantity", "said"),
    [(17, "held less than is said to be missing: 1 of"), (0, "can't be missing; give at least 1")],
)
def test_what_can_not_be_missing_is_told_and_nothing_happens(store: Store, quantity: int, said: str) -> None:
    _, kit = issued(store)
    screws = kit_view(store, kit=kit, at=after(6)).lines[2].things[0]
    missing = [Missing(screws, quantity)]
    with pytest.raises(BadInput, match=said):
        returning.return_opened(store, kit=kit, reason="x", missing=missing, by=CLERK, at=after(7))
    assert kit_view(store, kit=kit, at=after(8)).state == "issued"


def test_everything_of_a_line_may_be_missing(store: Store) -> None:
    _, kit = issued(store)
    screws = kit_view(store, kit=kit, at=after(6)).lines[2].things[0]
    returning.return_opened(
        store, kit=kit, reason="x", missing=[Missing(screws, 10), Missing(screws, 6)], by=CLERK, at=after(7)
    )
    assert lies(store, SCREW) == {("bin", "serviceable"): 24, ("lost", "unsalvageable"): 16}


def test_what_the_kit_does_not_hold_is_neither_missing_nor_still_closed(store: Store) -> None:
    job, kit = issued(store)
    for more in ({"missing": [Missing(job)]}, {"closed_bags": [job]}):
        with pytest.raises(BadInput, match=f"{kit} does not hold {job}; scan what belongs to it"):
            returning.return_opened(store, kit=kit, reason="x", by=CLERK, at=after(7), **more)
    assert kit_view(store, kit=kit, at=after(8)).state == "issued"


def test_opening_a_kit_elsewhere_takes_a_reason(store: Store) -> None:
    _, kit = issued(store)
    with pytest.raises(BadInput, match="reason"):
        returning.return_opened(store, kit=kit, reason=" ", by=CLERK, at=after(7))
    with pytest.raises(BadInput, match="reason"):
        returning.open_kit(store, kit=kit, reason=" ", by=CLERK, at=after(7))


def test_a_kit_that_was_opened_is_kept_for_no_job_any_more(store: Store) -> None:
    stock_up(store, at=after(1))
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    kit = sealed_kit(store, at=after(5))
    jobs.reserve(store, job=job, thing=kit, until=after(0).date(), by=CLERK, at=after(6))
    returning.open_kit(store, kit=kit, reason="customs", by=CLERK, at=after(7))
    with store.reading() as read:
        assert [r.state for r in read.select(Reservation)] == ["released"]


def test_a_sealed_kit_that_was_opened_in_a_van_is_dead(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    sealing.put_away_kit(store, kit=kit, to_place=VAN, by=CLERK, at=after(6))
    with pytest.raises(Refused) as refused:
        returning.return_opened(store, kit=kit, reason="x", by=CLERK, at=after(7))
    assert refused.value.rules == {"R5"}
    returning.open_kit(store, kit=kit, reason="customs", by=TECHNICIAN, at=after(8))
    assert kit_view(store, kit=kit, at=after(9)).state == "opened"
    with pytest.raises(Refused) as refused:
        sealing.put_away_kit(store, kit=kit, to_place=BIN, by=CLERK, at=after(10))
    assert refused.value.rules == {"R5"}
    assert_conserved(store)


def test_an_issued_kit_is_not_opened_behind_the_voucher_s_back(store: Store) -> None:
    _, kit = issued(store)
    with pytest.raises(Conflict):
        returning.open_kit(store, kit=kit, reason="x", by=CLERK, at=after(7))


@pytest.mark.parametrize(
    ("kind", "single_use", "where"),
    [("other", 0, ("goods-in", "on hold")), ("other", 1, ("scrapped", "unsalvageable")), ("fastener", 0, ("scrapped", "unsalvageable"))],
)  # fmt: skip
def test_of_an_opened_kit_only_what_may_be_used_twice_is_inspected_and_the_rest_scrapped(
    store: Store, kind: str, single_use: int, where: tuple[str, str]
) -> None:
    with store.act("a kit list", by=MANAGER, at=after(1)) as act:
        maker, revision = act.find(Company, name="Invented Rotors"), act.find(TypeRevision, name="A")
        assert maker is not None
        assert revision is not None
        part = act.insert(
            Part(number="CARD", maker_id=maker.id, name="card", kind=kind, paper_class="standard part", single_use=single_use)
        )  # fmt: skip
        act.insert(KitListLine(type_revision_id=revision.id, part_id=part.id, quantity=1))
    put_in_stock(store, "CARD", 1, at=after(1))
    _, kit = issued(store)
    done = returning.return_opened(store, kit=kit, reason="bag torn", by=CLERK, at=after(7))
    assert lies(store, "CARD") == {where: 1}
    how = (
        "goes to goods-in Home, on hold: inspect it."
        if where[0] == "goods-in"
        else "is scrapped; make it unusable."
    )
    assert [text for text in done.said if "(CARD)" in text and text.endswith(how)] != []
    with store.reading() as read:
        place = read.find(Place, code=kit)
        assert place is not None
        assert (place.active, place.closed) == (0, 0)


# ---- leftovers -----------------------------------------------------------------------------------


def test_leftovers_go_to_inspection_or_to_scrap(store: Store) -> None:
    job, kit = issued(store)
    lines = kit_view(store, kit=kit, at=after(6)).lines
    issuing.open_at_aircraft(store, kit=kit, seal="0001", by=TECHNICIAN, at=after(7))
    rotor, screws, washers, bottle = (lines[n].things[0] for n in (0, 2, 3, 4))
    items = [Leftover(rotor), Leftover(screws, 4), Leftover(washers, 4, bag_closed=True), Leftover(bottle)]
    returning.return_leftovers(store, job=job, items=items, by=CLERK, at=after(8))
    assert set_at(store, rotor) == ("goods-in", "on hold")
    assert lies(store, SCREW)["scrapped", "unsalvageable"] == 4
    assert lies(store, SCREW)["job", "serviceable"] == 12
    assert lies(store, WASHER)["goods-in", "on hold"] == 4
    assert lies(store, LOCKER) == {("goods-in", "on hold"): 10_000}
    assert_conserved(store)


def test_a_job_gives_back_only_what_it_holds(store: Store) -> None:
    job, kit = issued(store)
    lines = kit_view(store, kit=kit, at=after(6)).lines
    for items, error in (
        ([], BadInput),
        ([Leftover(lines[0].things[0])], BadInput),  # still in the kit
        ([Leftover(lines[2].things[0], 4)], NotFound),
        ([Leftover(lines[2].things[0], 0)], BadInput),
    ):
        with pytest.raises(error):
            returning.return_leftovers(store, job=job, items=items, by=CLERK, at=after(7))


# ---- what is left of a kit of which a set was found elsewhere --------------------------------------


def found_elsewhere(store: Store, kit: str) -> tuple[str, str]:
    """Find the first set of a closed kit on an aircraft; its code and that of another set that is still in the kit."""
    [fitted, left] = kit_view(store, kit=kit, at=after(6)).lines[0].things
    with store.reading() as read:
        spot = read.value("SELECT code FROM position WHERE name = 'FR'")
    said = findings.record_finding(
        store, position=spot, rotor_set=fitted, mark="L", text="seen at the walk", by=TECHNICIAN, at=after(7)
    ).said
    assert any("Take back what is left in it" in sentence for sentence in said)
    view = kit_view(store, kit=kit, at=after(7))
    assert (view.state, view.holds_rest) == ("opened", True)
    assert "return what is left in it" in view.next_step
    return fitted, left


def test_a_job_stays_open_until_the_rest_of_its_broken_kit_is_back(store: Store) -> None:
    job, kit = issued(store)
    _, left = found_elsewhere(store, kit)
    [out] = kits_not_fitted(store, at=after(8), shift_hours=0)
    assert (out.kit, out.how) == (kit, "3 sets not fitted")
    wanted = f"A set of {kit} was found elsewhere and its number is dead"
    assert any(wanted in r.message for r in job_view(store, job=job).against)
    with pytest.raises(Refused) as refused:
        jobs.close_job(store, job=job, reason="given up", by=TECHNICIAN, at=after(8))
    assert any(wanted in r.message for r in refused.value.refusals)
    returning.return_opened(store, kit=kit, reason="a set was taken out", by=CLERK, at=after(9))
    assert set_at(store, left) == ("goods-in", "on hold")
    assert lies(store, SCREW)["scrapped", "unsalvageable"] == 16
    assert vouchers(store) == ["returned"]
    assert not kit_view(store, kit=kit, at=after(9)).holds_rest
    assert not any(kit == r.subject for r in job_view(store, job=job).against)
    assert kits_not_fitted(store, at=after(10), shift_hours=0) == ()
    assert_conserved(store)
    with pytest.raises(Refused, match="its number is dead"):
        returning.return_opened(store, kit=kit, reason="again", by=CLERK, at=after(10))


def test_the_set_that_was_found_elsewhere_is_not_in_the_rest(store: Store) -> None:
    _, kit = issued(store)
    fitted, _ = found_elsewhere(store, kit)
    with pytest.raises(BadInput, match=f"does not hold {fitted}"):
        returning.return_opened(store, kit=kit, reason="x", missing=[Missing(fitted)], by=CLERK, at=after(9))


def test_the_rest_of_an_issued_kit_comes_back_by_the_counter_only(store: Store) -> None:
    _, kit = issued(store)
    found_elsewhere(store, kit)
    with pytest.raises(Conflict, match="was issued by"):
        returning.open_kit(store, kit=kit, reason="x", by=TECHNICIAN, at=after(9))


@pytest.mark.parametrize("act", [returning.open_kit, returning.return_opened])
def test_the_rest_of_a_kit_that_nobody_was_issued_is_taken_out(
    store: Store, act: Callable[..., Done]
) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    _, left = found_elsewhere(store, kit)
    act(store, kit=kit, reason="a set was taken out", by=CLERK, at=after(9))
    assert set_at(store, left) == ("goods-in", "on hold")
    assert not kit_view(store, kit=kit, at=after(9)).holds_rest
    assert_conserved(store)
