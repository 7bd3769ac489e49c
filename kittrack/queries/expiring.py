"""What expires: stock in the stores and vans by its last day, and what has none on record."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from kittrack.domain import dates
from kittrack.domain.ledger import AccountClass
from kittrack.queries.shelf import ShelfLine, on_the_shelf
from kittrack.store.database import Store
from kittrack.store.records import Kit, Site

BUCKETS = (30, 60, 90)
"""Days ahead by which expiring stock is told apart (common practice, no source)."""


@dataclass(frozen=True)
class Expiring:
    """One line of stock, or a sealed kit, with the days that are left (negative: expired).

    `within` is the bucket that a walk along the shelves asks for: unknown, expired, or the least of 30, 60 and
    90 days that holds it; "later" beyond.
    """

    days_left: int | None
    expires_on: date | None
    what: str
    part: str
    quantity: int
    unit: str
    place: str
    state: str

    @property
    def within(self) -> str:
        """The bucket, in words."""
        if self.days_left is None:
            return "expiry UNKNOWN"
        if self.days_left < 0:
            return "EXPIRED"
        return next((f"within {limit} days" for limit in BUCKETS if self.days_left <= limit), "later")


def expiring(store: Store, *, at: datetime, within_days: int = 90) -> tuple[Expiring, ...]:
    """Stock that is expired, expires within some days, or whose expiry nobody knows; soonest first.

    Unknown expiry comes first, since it can't be issued at all. Source: design R13, C12.
    """
    with store.reading() as read:
        zone = read.select(Site, limit=1)[0].time_zone
        kits = read.select(Kit, "state = 'sealed' AND expires_on IS NOT NULL")
        lies_in = dict(read.rows(_LIES_IN))
    today = dates.local_day(at, zone=zone)
    lines = [_of_stock(s, today) for s in on_the_shelf(store, at=at) if s.expires_on or not s.expiry_known]
    lines += [
        Expiring(
            (date.fromisoformat(k.expires_on) - today).days,
            date.fromisoformat(k.expires_on),
            f"kit {k.code}",
            "",
            1,
            "kit",
            lies_in.get(k.code, ""),
            k.state,
        )
        for k in kits
        if k.expires_on
    ]
    chosen = [e for e in lines if e.days_left is None or e.days_left <= within_days]
    return tuple(sorted(chosen, key=lambda e: (e.days_left is not None, e.days_left or 0, e.what, e.place)))


_LIES_IN: Final = (
    "SELECT k.code, p.name FROM kit k JOIN containment n ON n.container_id = k.place_id JOIN place p ON p.id = n.inside_id "
    "WHERE k.state = 'sealed'"
)


def _of_stock(line: ShelfLine, today: date) -> Expiring:
    left = (line.expires_on - today).days if line.expires_on else None
    state = (
        line.state.value
        if line.state is not AccountClass.SHELF or not line.expired
        else "expired, and not on hold"
    )
    return Expiring(
        left, line.expires_on, line.receipt_line, line.part, line.quantity, line.unit, line.place, state
    )
