"""Opening the books: what is found shelved or fitted before day one, with an unknown history said to be unknown.

It is an open point and no breach. Shelf stock is on hold where it lies until it is inspected; a fitted set
stays on its position and, once removed, needs inspection and proof before it is issued again. What does not
belong where it is found is a finding: recorded, on hold, and blocking its airframe. Source: design 2, R3, R17.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, NotFound, Problem, Refusal
from kittrack.services import booking, desk, holding
from kittrack.services import position_desk as spots
from kittrack.services.booking import LineSpec
from kittrack.services.desk import Done
from kittrack.services.moving import IN_STORES
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import Company, Delivery, Place, RotorSet
from kittrack.store.stock import place_named

UNKNOWN_SUPPLIER = "unknown (before day one)"
"""The supplier of what nobody knows the supplier of."""

REFERENCE = "opening of the books"


@dataclass(frozen=True)
class ShelfSpec:
    """Stock found in a place: the line as its packs and papers tell it, and where it lies.

    `history_known` is True only where its papers tell everything since it was received.
    """

    line: LineSpec
    place: str
    history_known: bool = False


@desk.done_by("manager")
def open_shelf(
    store: Store, *, lines: Sequence[ShelfSpec], by: str, at: datetime, supplier: str = "", key: str = ""
) -> Done:
    """Take into the books what lies in bins, cages, benches and vans: on hold where it is, until inspected.

    Args:
        lines: what was found, each with its place.
        supplier: who supplied it; empty where nobody knows.

    Returns:
        The delivery's code and the receipt lines' codes in order; what each still needs.

    Raises:
        BadInput: every fault of every line at once.
    """
    with store.act("open the books: shelf", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, open_shelf))
        places, problems = _places(act, lines)
        parts, faults = booking.parts_of(act, [spec.line for spec in lines])
        booking.raise_any([*problems, *faults])
        delivery = opening_delivery(act, supplier)
        booked = [
            booking.book_line(
                act, delivery, spec.line, part, place_id=place.id, history_known=int(spec.history_known)
            )
            for spec, part, place in zip(lines, parts, places, strict=True)
        ]
        said = [f"{len(booked)} lines are in the books, on hold where they lie: inspect them."]
        said += [need for line in booked for need in booking.needs_of(act, line, at=act.moment)]
        said += holding.join_open_holds(act, lines=booked)
    return Done(act.event_id, (delivery.code, *(line.code for line in booked)), tuple(said))


@desk.done_by("manager")
def record_history(
    store: Store,
    *,
    rotor_set: str,
    used_minutes: int,
    used_flights: int,
    source: str,
    second: str,
    by: str,
    at: datetime,
    used_since_on: date | None = None,
    key: str = "",
) -> Done:
    """Record the service of a set whose record was found; until then an unknown service leaves no life.

    Args:
        rotor_set: the set's code, off any position.
        used_minutes: time in service.
        used_flights: flights.
        source: the record that was found.
        second: the person who read the record too.
        used_since_on: the day of its first fit.

    Raises:
        Refused: not a manager, no second person (R8), a service that is known already (R12), or the set is
            fitted, where its time still runs (R10).
    """
    desk.require_text(source=source)
    with store.act(
        "record a set's service", by=by, at=at, second=second or None, reason=source, key=key
    ) as act:
        found = desk.find_set(act, rotor_set)
        booking.raise_any(_history_problems(act, used_minutes, used_flights, used_since_on))
        require(
            desk.check_done_by(act, record_history),
            desk.check_second(first=act.by, second=act.second, what="Recording a set's service"),
            _check_unknown(act, found),
        )
        since = used_since_on.isoformat() if used_since_on else found.used_since_on
        act.update(found, used_minutes=used_minutes, used_flights=used_flights, used_since_on=since)
    hours = f"{used_minutes // 60}:{used_minutes % 60:02d} h"
    return Done(
        act.event_id, (found.code,), (f"{found.code} has {hours} and {used_flights} flights in service.",)
    )


# ---- reading -----------------------------------------------------------------------------------


def _places(act: Act, lines: Sequence[ShelfSpec]) -> tuple[list[Place], list[Problem]]:
    found, problems = [], []
    for row, spec in enumerate(lines, start=1):
        try:
            found.append(place_named(act, spec.place, kinds=IN_STORES))
        except (NotFound, BadInput) as error:
            problems.append(Problem(str(error), "place", spec.line.row or row))
    return found, problems


def _history_problems(act: Act, minutes: int, flights: int, since: date | None) -> list[Problem]:
    found = [
        Problem(f"The {name} is {value}; enter zero or more.", name)
        for name, value in (("time in service", minutes), ("number of flights", flights))
        if not 0 <= value <= booking.MOST_QUANTITY
    ]
    if since is not None and since > desk.today(act):
        found.append(Problem(f"{since} is still to come; look at the record.", "since"))
    return found


# ---- checks ------------------------------------------------------------------------------------


def _check_unknown(act: Act, rotor_set: RotorSet) -> list[Refusal]:
    if spots.position_holding(act, rotor_set) is not None:
        message = f"{rotor_set.code} is fitted and its time still runs; record its service once it is off."
        return [Refusal(Rule.REMOVED_PARTS, rotor_set.code, message)]
    if rotor_set.used_minutes is None or rotor_set.used_flights is None:
        return []
    message = f"The service of {rotor_set.code} is on record; correct the act that is wrong by its reversal."
    return [Refusal(Rule.NOTHING_ERASED, rotor_set.code, message)]


# ---- writing -----------------------------------------------------------------------------------


def opening_delivery(act: Act, supplier: str) -> Delivery:
    """Write the delivery under which stock from before day one is booked.

    Raises:
        BadInput: the supplier named is not known.
    """
    company = act.find(Company, name=supplier.strip() or UNKNOWN_SUPPLIER)
    if company is None and supplier.strip():
        raise BadInput(
            f"No supplier is known as {supplier.strip()!r}; add it to the catalogue first.", field="supplier"
        )
    company = company or act.insert(Company(name=UNKNOWN_SUPPLIER, is_supplier=1))
    return booking.book_delivery(act, company, REFERENCE, is_opening=1)
