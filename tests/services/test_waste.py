"""What will expire unused, and what expires month by month. Figures by hand."""

from datetime import date

from kittrack.queries.expiring import expiring
from kittrack.queries.waste import ExpiryMonth, Wasted, expiry_by_month, waste
from kittrack.services import holding
from kittrack.services.holding import Scope
from kittrack.store.database import Store
from kittrack.store.records import ReceiptLine
from tests.aircraft_scene import Scene
from tests.factories import CLERK, LOCKER, SCREW, VAN, after, put_in_stock, sealed_kit, stock_up

DAY = 24 * 60


def by_line(store: Store, minute: int) -> dict[str, Wasted]:
    return {w.receipt_line: w for w in waste(store, at=after(minute))}


def test_what_never_expires_is_never_wasted(store: Store) -> None:
    put_in_stock(store, SCREW, 100, at=after(1))
    assert waste(store, at=after(2)) == ()


def test_what_nobody_asks_for_is_wasted_whole(store: Store) -> None:
    line = put_in_stock(store, LOCKER, 10_000, at=after(1), expires_on="2026-12-31")
    (one,) = waste(store, at=after(2))
    assert (one.receipt_line, one.wasted, one.quantity, one.days_left) == (line, 10_000, 10_000, 304)
    assert one.basis == "never asked for in 1 month"


def test_first_expiry_goes_out_first_at_the_pace_of_the_past(store: Store) -> None:
    """0.8 mL in the one month that is known: 0.8 mL / 30.4375 d a day.

    Asked on 2026-04-06. The line of 2026-05-05 has 30 days, 788.5 uL are asked for by then, 0.2 mL is used of
    it and none wasted; that of 2026-06-04 has 60 days, 1577 uL in all, less 200: 1377 of 5000 used, 3623 wasted.
    """
    scene = Scene(store)
    scene.all_four()
    later = put_in_stock(store, LOCKER, 5_000, at=after(100), expires_on="2026-06-04", place=VAN, kind="van")
    sooner = put_in_stock(store, LOCKER, 200, at=after(101), expires_on="2026-05-05")
    found = by_line(store, 35 * DAY)
    assert sooner not in found
    assert found[later].wasted == 5_000 - 1_377
    assert "0.8 mL in 1 months" in found[later].basis


def test_expired_stock_is_wasted_whole_and_stands_first(store: Store) -> None:
    put_in_stock(store, LOCKER, 300, at=after(1), expires_on="2026-12-31", lot_code="B")
    old = put_in_stock(store, LOCKER, 500, at=after(2), expires_on="2026-03-01", lot_code="A")
    first = waste(store, at=after(3))[0]
    assert (first.receipt_line, first.wasted, first.days_left) == (old, 500, -1)


def test_stock_whose_expiry_nobody_knows_is_not_forecast(store: Store) -> None:
    line = put_in_stock(store, LOCKER, 500, at=after(1))
    with store.act("forget", by=CLERK, at=after(2)) as act:
        found = act.find(ReceiptLine, code=line)
        assert found is not None
        act.update(found, expiry_kind="unknown")
    assert waste(store, at=after(3)) == ()
    assert [e.within for e in expiring(store, at=after(3))] == ["expiry UNKNOWN"]


def test_expiring_stock_is_told_by_30_60_and_90_days(store: Store) -> None:
    days = {"2026-03-01": "EXPIRED", "2026-03-02": "within 30 days", "2026-04-01": "within 30 days",
            "2026-04-02": "within 60 days", "2026-05-01": "within 60 days", "2026-05-31": "within 90 days"}  # fmt: skip
    for minute, day in enumerate(days, start=1):
        put_in_stock(store, LOCKER, 100, at=after(minute), expires_on=day, lot_code=day)
    put_in_stock(store, LOCKER, 100, at=after(20), expires_on="2026-06-01", lot_code="x")
    found = {str(e.expires_on): e.within for e in expiring(store, at=after(30))}
    assert found == days, "2026-05-31 is 90 days away, 2026-06-01 is 91"
    assert expiring(store, at=after(30), within_days=400)[-1].within == "later"


def test_months_ahead_count_lines_and_kits(store: Store) -> None:
    stock_up(store, at=after(1))
    sealed_kit(store, at=after(2))
    line = put_in_stock(store, LOCKER, 500, at=after(3), expires_on="2026-04-30")
    put_in_stock(store, LOCKER, 100, at=after(4), expires_on="2026-03-02", lot_code="B")
    holding.place_hold(store, scope=Scope(code=line), reason="doubt", reference="", by=CLERK, at=after(5))
    found = expiry_by_month(store, at=after(6), months=11)
    assert [m.month for m in found][:3] == ["2026-03", "2026-04", "2026-05"]
    assert found[0] == ExpiryMonth("2026-03", 1, 0, 1)
    assert found[1] == ExpiryMonth("2026-04", 1, 0, 1)
    december = next(m for m in found if m.month == "2026-12")
    assert (december.lines, december.kits) == (1, 1), "the bottle in the kit, and the kit"
    assert date(2026, 12, 31).isoformat().startswith(december.month)
