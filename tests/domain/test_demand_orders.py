"""Re-order points, cover, orders in ship sets and waste."""

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from kittrack.domain.demand import (
    OrderLine,
    OrderProposal,
    cover_days,
    expected_failures,
    normal_quantile,
    propose_order,
    reorder_point,
    safety_stock,
    safety_stock_varying,
    service_reached,
    waste_forecast,
)
from kittrack.domain.lots import Offer, first_out
from kittrack.errors import BadInput

# A published cumulative Poisson table (scribd 96601458, four decimals), and the spares for 95 %
TABLE = {
    0.5: ((0.6065, 0.9098, 0.9856, 0.9982, 0.9998, 1.0000), 2),
    1: ((0.3679, 0.7358, 0.9197, 0.9810, 0.9963, 0.9994), 3),
    2: ((0.1353, 0.4060, 0.6767, 0.8571, 0.9473, 0.9834), 5),
    3: ((0.0498, 0.1991, 0.4232, 0.6472, 0.8153, 0.9161), 6),
    5: ((0.0067, 0.0404, 0.1247, 0.2650, 0.4405, 0.6160), 9),
}


@pytest.mark.parametrize("expected", TABLE)
def test_a_published_poisson_table_is_reproduced(expected: float) -> None:
    chances, spares = TABLE[expected]
    for stock, chance in enumerate(chances):
        assert service_reached(stock, expected=expected) == pytest.approx(chance, abs=5.1e-5)
        assert service_reached(stock, expected=expected) == pytest.approx(stats.poisson.cdf(stock, expected))
    assert reorder_point(expected, service=0.95) == spares == stats.poisson.ppf(0.95, expected)


def test_one_spare_less_is_not_enough() -> None:
    assert service_reached(4, expected=2) < 0.95 < service_reached(5, expected=2)
    # 2.4 expected, 95 %: 5 suffice with 96.4 %
    assert reorder_point(2.4, service=0.95) == 5
    assert service_reached(5, expected=2.4) == pytest.approx(0.964, abs=5e-4)


@given(expected=st.floats(0, 500), service=st.floats(0.5, 0.9999))
def test_the_reorder_point_is_the_least_that_suffices(expected: float, service: float) -> None:
    found = reorder_point(expected, service=service)
    assert service_reached(found, expected=expected) >= service - 1e-9
    assert found == 0 or service_reached(found - 1, expected=expected) < service + 1e-9


def test_expected_failures_are_units_times_hours_over_mtbf() -> None:
    assert expected_failures(4, hours=500, mtbf_hours=1000) == 2  # lambda = n T / MTBF


@pytest.mark.parametrize(("z", "printed"), [(1.65, 198), (4.13, 495.6), (0.83, 99.6)])
def test_published_safety_stocks_are_reproduced(z: float, printed: float) -> None:
    # mfgcalcs.com: sigma 40, lead time 9
    assert safety_stock(z, sd_daily=40, lead_days=9) == pytest.approx(printed)


def test_the_exact_quantile_lies_a_little_below_the_rounded_one() -> None:
    assert safety_stock(normal_quantile(0.95), sd_daily=40, lead_days=9) == pytest.approx(197.382, abs=5e-4)


@pytest.mark.parametrize(
    ("service", "z"),
    [
        (0.90, 1.281552),
        (0.95, 1.644854),
        (0.975, 1.959964),
        (0.98, 2.053749),
        (0.99, 2.326348),
        (0.999, 3.090232),
    ],
)
def test_quantiles_agree_with_scipy(service: float, z: float) -> None:
    assert normal_quantile(service) == pytest.approx(z, abs=1e-6)
    assert normal_quantile(service) == pytest.approx(stats.norm.ppf(service))


@given(z=st.floats(0, 5), daily=st.floats(0, 1e4), sd=st.floats(0, 1e4), lead=st.floats(0, 400))
def test_a_varying_lead_time_only_adds(z: float, daily: float, sd: float, lead: float) -> None:
    steady = safety_stock(z, sd_daily=sd, lead_days=lead)
    varying = safety_stock_varying(z, daily=daily, sd_daily=sd, lead_days=lead, sd_lead_days=2)
    assert varying >= steady * (1 - 1e-12)
    # from memory: z sqrt(L sigma_d^2 + d^2 sigma_L^2)
    assert varying == pytest.approx(z * (lead * sd**2 + (daily * 2) ** 2) ** 0.5)


def test_cover_is_stock_over_pace() -> None:
    assert cover_days(12, issued=6, in_days=90) == 180
    assert cover_days(0, issued=6, in_days=90) == 0
    assert cover_days(12, issued=0, in_days=90) is None


def ship_set(**have: int) -> list[OrderLine]:
    """A ship set of two CW and two CCW rotor sets and 16 screws in packs of 50."""
    return [
        OrderLine("rotor CW", 2, have["cw"], 1),
        OrderLine("rotor CCW", 2, have["ccw"], 4),
        OrderLine("screw M3 x 8", 16, have["screws"], 50),
    ]


def test_an_order_brings_every_part_to_the_same_number_of_ship_sets() -> None:
    order = propose_order(ship_set(cw=3, ccw=9, screws=100), expected=1, service=0.95, further=4)
    assert (order.reorder_at, order.ship_sets, order.target, order.is_due) == (3, 1, 7, True)
    assert order.lines == (
        OrderProposal("rotor CW", packs=11, quantity=11, left_over=0),
        OrderProposal("rotor CCW", packs=2, quantity=8, left_over=3),
        OrderProposal("screw M3 x 8", packs=1, quantity=50, left_over=38),
    )


def test_no_order_is_due_above_the_reorder_point() -> None:
    order = propose_order(ship_set(cw=8, ccw=8, screws=64), expected=1, service=0.95, further=4)
    assert (order.is_due, order.lines) == (False, ())
    order = propose_order(ship_set(cw=7, ccw=8, screws=64), expected=1, service=0.95, further=4)
    assert order.is_due


@given(
    stock=st.lists(
        st.tuples(st.integers(1, 20), st.integers(0, 500), st.integers(1, 60)), min_size=1, max_size=6
    ),
    expected=st.floats(0, 10),
    further=st.integers(1, 20),
)
def test_an_order_suffices_and_wastes_less_than_a_pack(
    stock: list[tuple[int, int, int]], expected: float, further: int
) -> None:
    lines = [OrderLine(str(number), *fields) for number, fields in enumerate(stock)]
    order = propose_order(lines, expected=expected, service=0.9, further=further)
    ordered = {line.part: line for line in order.lines}
    if not order.is_due:
        assert not ordered
        return
    for line in lines:
        proposal = ordered.get(line.part, OrderProposal(line.part, 0, 0, 0))
        after = line.have + proposal.quantity
        assert after >= order.target * line.per_ship_set
        assert proposal.quantity == proposal.packs * line.pack_quantity
        assert proposal.left_over < line.pack_quantity
        if proposal.packs:
            assert after - line.pack_quantity < order.target * line.per_ship_set


def test_a_ship_set_names_each_part_once() -> None:
    twice = [OrderLine("rotor CW", 2, 0), OrderLine("rotor CW", 2, 0)]
    for lines in ([], twice):
        with pytest.raises(BadInput, match="each named once"):
            propose_order(lines, expected=1, service=0.95, further=1)


TODAY = date(2026, 11, 25)


def offer(key: int, quantity: int, *, in_days: int | None) -> Offer:
    expires_on = None if in_days is None else TODAY + timedelta(days=in_days)
    return Offer(key, f"L{key}", quantity, received=key, expires_on=expires_on)


def test_what_expires_before_it_is_asked_for_is_waste() -> None:
    offers = [offer(1, 10, in_days=4), offer(2, 10, in_days=9), offer(3, 10, in_days=None)]
    # one a day: five are used of the first lot through its last day, five of the second through its own
    assert [(waste.offer.key, waste.quantity) for waste in waste_forecast(offers, daily=1, today=TODAY)] == [
        (1, 5),
        (2, 5),
    ]
    assert waste_forecast(offers, daily=2, today=TODAY) == ()
    assert [waste.quantity for waste in waste_forecast(offers, daily=0, today=TODAY)] == [10, 10]


def test_a_lot_is_good_through_its_last_day() -> None:
    assert waste_forecast([offer(1, 1, in_days=0)], daily=1, today=TODAY) == ()
    assert [w.quantity for w in waste_forecast([offer(1, 1, in_days=-1)], daily=1, today=TODAY)] == [1]


def test_a_tenth_a_day_makes_one_in_ten_days() -> None:
    assert waste_forecast([offer(1, 1, in_days=9)], daily=0.1, today=TODAY) == ()
    assert [w.quantity for w in waste_forecast([offer(1, 1, in_days=8)], daily=0.1, today=TODAY)] == [1]


@given(
    lots=st.lists(st.tuples(st.integers(1, 30), st.one_of(st.none(), st.integers(-3, 25))), max_size=6),
    daily=st.integers(0, 6),
)
def test_the_forecast_equals_a_day_by_day_simulation(lots: list[tuple[int, int | None]], daily: int) -> None:
    offers = [offer(key, quantity, in_days=days) for key, (quantity, days) in enumerate(lots, start=1)]
    left = {each.key: each.quantity for each in offers}
    for day in range(30):
        wanted = daily
        for each in first_out(offers):
            if each.expires_on is None or each.expires_on >= TODAY + timedelta(days=day):
                taken = min(wanted, left[each.key])
                left[each.key] -= taken
                wanted -= taken
    wasted = {waste.offer.key: waste.quantity for waste in waste_forecast(offers, daily=daily, today=TODAY)}
    assert wasted == {each.key: left[each.key] for each in offers if each.expires_on and left[each.key]}


BAD = [-1, float("nan"), float("inf"), 1e300, 10**30, None, "3", True]


@pytest.mark.parametrize("figure", BAD)
def test_figures_that_cannot_be_are_refused(figure: Any) -> None:
    calls: tuple[Any, ...] = (
        lambda: reorder_point(figure, service=0.95),
        lambda: reorder_point(1, service=figure),
        lambda: service_reached(figure, expected=1),
        lambda: expected_failures(figure, hours=1, mtbf_hours=1),
        lambda: expected_failures(1, hours=figure, mtbf_hours=1),
        lambda: expected_failures(1, hours=1, mtbf_hours=figure),
        lambda: normal_quantile(figure),
        lambda: safety_stock(figure, sd_daily=1, lead_days=1),
        lambda: safety_stock(1, sd_daily=figure, lead_days=1),
        lambda: safety_stock(1, sd_daily=1, lead_days=figure),
        lambda: safety_stock_varying(1, daily=figure, sd_daily=1, lead_days=1, sd_lead_days=1),
        lambda: safety_stock_varying(1, daily=1, sd_daily=1, lead_days=1, sd_lead_days=figure),
        lambda: cover_days(figure, issued=1, in_days=1),
        lambda: cover_days(1, issued=figure, in_days=1),
        lambda: cover_days(1, issued=1, in_days=figure),
        lambda: OrderLine("rotor", figure, 0),
        lambda: OrderLine("rotor", 1, figure),
        lambda: OrderLine("rotor", 1, 0, figure),
        lambda: propose_order([OrderLine("rotor", 1, 0)], expected=1, service=0.9, further=figure),
        lambda: waste_forecast([], daily=figure, today=TODAY),
    )
    for call in calls:
        with pytest.raises(BadInput):
            call()


@pytest.mark.parametrize("service", [0, 0.4, 1, 1.5])
def test_a_service_level_is_at_least_a_half_and_below_one(service: float) -> None:
    with pytest.raises(BadInput):
        normal_quantile(service)


def test_nothing_fails_never() -> None:
    with pytest.raises(BadInput):
        expected_failures(1, hours=1, mtbf_hours=0)
