"""Ship sets from real stock: lot purity, dates, holds and the limiting line (the arithmetic is tested in the domain)."""

from kittrack.domain.spin import Sense
from kittrack.queries.buildable import Buildable, buildable
from kittrack.services import holding
from kittrack.services.holding import Scope
from kittrack.store.database import Store
from tests.factories import CLERK, LOCKER, SCREW, VAN, WASHER, after, put_in_stock


def only(store: Store, minute: int, place: str = "") -> Buildable:
    (answer,) = buildable(store, at=after(minute), place=place)
    return answer


def line(answer: Buildable, word: str) -> tuple[int, int]:
    return next((have, need) for name, have, need in answer.stock if word in name)


def test_an_empty_store_builds_nothing_and_says_what_limits(store: Store) -> None:
    answer = only(store, 1)
    assert answer.ship_sets.count == 0
    assert any("CW rotor sets" in name for name in answer.ship_sets.limiting)
    assert answer.sets_by_sense == ((Sense.CW, 0, 2), (Sense.CCW, 0, 2))


def test_screws_count_by_whole_hubs_of_one_lot(store: Store) -> None:
    """10 + 7 + 15 screws, 4 a hub: 2 + 1 + 3 hubs (worked example computed by hand)."""
    for minute, (lot, quantity) in enumerate({"A": 10, "B": 7, "C": 15}.items()):
        put_in_stock(store, SCREW, quantity, lot_code=lot, at=after(minute))
    answer = only(store, 5)
    assert line(answer, SCREW) == (32, 16)
    assert dict(answer.ship_sets.by_line)[next(n for n, _, _ in answer.stock if SCREW in n)] == 1


def test_held_and_expired_stock_is_not_counted(store: Store) -> None:
    held = put_in_stock(store, WASHER, 16, at=after(1))
    put_in_stock(store, LOCKER, 10_000, expires_on="2026-03-01", at=after(2))
    put_in_stock(store, LOCKER, 5_000, lot_code="NEW", expires_on="2026-03-02", at=after(3))
    assert line(only(store, 4), WASHER) == (16, 16)
    assert line(only(store, 4), LOCKER) == (5_000, 800)
    holding.place_hold(store, scope=Scope(code=held), reason="doubt", reference="", by=CLERK, at=after(5))
    assert line(only(store, 6), WASHER)[0] == 0


def test_a_van_is_counted_by_itself(store: Store) -> None:
    put_in_stock(store, SCREW, 16, place=VAN, kind="van", at=after(1))
    assert line(only(store, 2), SCREW)[0] == 0
    assert line(only(store, 2, place=VAN), SCREW)[0] == 16
