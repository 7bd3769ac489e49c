"""Dates of the stores: shelf life until a part is fitted, service life from then on.

A shelf life ends with the end of its day, local time of the store. No expiry and unknown expiry are two
different things, and an unknown service life is never zero: there is no life left until a record is found.

Source: design R13; unknown hours of a life-limited part make it unsalvageable, AMC1 145.A.42(a)(iii)(d).
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from enum import StrEnum
from typing import Final
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from kittrack.domain import bounds
from kittrack.domain.rules import Rule
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput, Refusal

_MONTHS: Final = ("JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC")
_ISO_DATE: Final = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})")
_LETTER_DATE: Final = re.compile(r"([0-9]{1,2})([ -])([A-Za-z]{3})\2([0-9]{4})")
_INSTANT: Final = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?(?: ?(Z|[+-][0-9]{2}:[0-9]{2}))?"
)
_NUMBERS_ONLY: Final = re.compile(r"[0-9]{1,2}([./ -])[0-9]{1,2}\1[0-9]{2,4}")
_NO_DAY: Final = re.compile(r"[0-9]{1,2}[./ -][0-9]{4}|[0-9]{4}[./ -][0-9]{1,2}|[A-Za-z]{3,9}[ -][0-9]{2,4}")
_SHORT_YEAR: Final = re.compile(r"[0-9]{1,2}[ -][A-Za-z]{3}[ -][0-9]{2}")
_FIRST_YEAR, _LAST_YEAR = 1950, 2199  # before the trade and beyond any record; also keeps offsets in range
_HOW: Final = "type it as 2027-03-31 or 31 Mar 2027"
_SHOWN: Final = 40


class ShelfLife(StrEnum):
    """What is known about the end of a shelf life."""

    LIMITED = "limited"
    UNLIMITED = "unlimited"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class Expiry:
    """The last day on which something may be fitted, or that there is none, or that nobody knows.

    Make it with `Expiry.limited(day)`, `Expiry.unlimited()` or `Expiry.unknown()`.
    """

    kind: ShelfLife
    day: date | None = None

    def __post_init__(self) -> None:
        if (self.kind is ShelfLife.LIMITED) != (self.day is not None):
            raise BadInput(
                "A limited shelf life needs its last day, and no other has one; give both together."
            )

    @classmethod
    def limited(cls, day: date) -> "Expiry":
        """Good until the end of this day."""
        return cls(ShelfLife.LIMITED, day)

    @classmethod
    def unlimited(cls) -> "Expiry":
        """The maker sets no limit."""
        return cls(ShelfLife.UNLIMITED)

    @classmethod
    def unknown(cls) -> "Expiry":
        """There may be a limit; no paper says so."""
        return cls(ShelfLife.UNKNOWN)

    def __str__(self) -> str:
        """As a screen shows it."""
        return f"until {self.day.isoformat()}" if self.day else _EXPIRY_WORDS[self.kind]


_EXPIRY_WORDS: Final = {ShelfLife.UNLIMITED: "no expiry", ShelfLife.UNKNOWN: "expiry unknown"}


def local_day(at: datetime, *, zone: str) -> date:
    """The calendar day at a place.

    Args:
        at: an instant with its offset.
        zone: the site's time zone by its IANA name, such as "Europe/Oslo".

    Raises:
        BadInput: the zone is not known.
        ValueError: the instant has no offset, which is a fault of the caller.
    """
    if at.tzinfo is None:
        raise ValueError("an instant needs its offset")
    try:
        return at.astimezone(ZoneInfo(zone)).date()
    except (
        ZoneInfoNotFoundError,
        ValueError,
        OSError,
    ):  # a folder's name raises OSError, an absolute path ValueError
        shown = clean_label(zone, max_length=_SHOWN)
        raise BadInput(f"{shown} is not a known time zone; take a name such as Europe/Oslo.") from None


def is_expired(expiry: Expiry, *, at: datetime, zone: str) -> bool:
    """Whether the last day of a limited shelf life is over at a place.

    An unknown expiry is not expired; it is refused for its own reason by `check_shelf_life`, which
    every act asks instead of this.

    Args:
        expiry: what is known.
        at: an instant with its offset.
        zone: the store's time zone by its IANA name.

    Source: design R13.
    """
    return expiry.day is not None and local_day(at, zone=zone) > expiry.day


def days_left(expiry: Expiry, *, at: datetime, zone: str) -> int | None:
    """Whole days until the last good one: 0 on that day, negative once expired.

    Returns:
        The days, or None where there is no limit or nobody knows it.
    """
    return None if expiry.day is None else (expiry.day - local_day(at, zone=zone)).days


def shown_at(at: datetime, *, zone: tzinfo | None = None) -> str:
    """An instant as a person reads it: to the minute in a zone, with its offset; by default in this computer's own zone."""
    local = at.astimezone(zone)
    offset = local.strftime("%z")
    return f"{local:%Y-%m-%d %H:%M} {offset[:3]}:{offset[3:]}"


def check_shelf_life(expiry: Expiry, *, subject: str, at: datetime, zone: str) -> tuple[Refusal, ...]:
    """Why something may not be sealed, issued or fitted for its shelf life.

    Args:
        expiry: what is known of it.
        subject: the thing as a person names it, such as "lot L000012-5".
        at: an instant with its offset.
        zone: the store's time zone by its IANA name.

    Returns:
        Nothing, or the one refusal.

    Source: design R13.
    """
    if expiry.kind is ShelfLife.UNKNOWN:
        message = f"The shelf life of {subject} is not known; find its paper, or have its maker confirm it."
        return (Refusal(Rule.DATES, subject, message),)
    if is_expired(expiry, at=at, zone=zone):
        message = f"{subject} expired at the end of {expiry.day}; take another and put this one on hold."
        return (Refusal(Rule.DATES, subject, message),)
    return ()


def earliest(expiries: Iterable[Expiry]) -> Expiry:
    """The expiry of a whole by those of its contents.

    Returns:
        Unknown if any is unknown, else the earliest limited one, else unlimited (nothing in it expires).

    Source: design R13.
    """
    known = tuple(expiries)
    if any(expiry.kind is ShelfLife.UNKNOWN for expiry in known):
        return Expiry.unknown()
    days = [expiry.day for expiry in known if expiry.day is not None]
    return Expiry.limited(min(days)) if days else Expiry.unlimited()


def opened_until(opened_on: date, *, life_days: int) -> Expiry:
    """The last day of an opened bottle by its maker's opened life; its shelf life still counts (`earliest`).

    Args:
        opened_on: the local day on which it was opened.
        life_days: whole days that the maker gives it from then on.

    Raises:
        BadInput: the life is not at least a day, or ends beyond the calendar.
    """
    far = bounds.MOST_QUANTITY
    bounds.whole(life_days, name="opened life in days", low=-far, high=far)
    if life_days < 1:
        raise BadInput(f"An opened life of {life_days} days is none; take the maker's figure in whole days.")
    try:
        return Expiry.limited(opened_on + timedelta(days=life_days))
    except OverflowError:
        raise BadInput(
            f"An opened life of {life_days} days is too long; record it as having no limit."
        ) from None


def read_date(text: str) -> date:
    """Read a date that can be read in one way only.

    Args:
        text: 2027-03-31, 31 Mar 2027 or 31-MAR-2027, with or without blanks around it.

    Raises:
        BadInput: any other form, with the reason, or a day that does not exist.
    """
    trimmed = text.strip(" \t\r\n")
    if iso := _ISO_DATE.fullmatch(trimmed):
        year, month, day = int(iso[1]), int(iso[2]), int(iso[3])
    elif (lettered := _LETTER_DATE.fullmatch(trimmed)) and lettered[3].upper() in _MONTHS:
        year, month, day = int(lettered[4]), _MONTHS.index(lettered[3].upper()) + 1, int(lettered[1])
    else:
        raise BadInput(f"{_why_no_date(trimmed)}; {_HOW}.")
    try:
        read = date(year, month, day)
    except ValueError:
        raise BadInput(f"There is no day {trimmed}; look at the paper again and {_HOW}.") from None
    if not _FIRST_YEAR <= year <= _LAST_YEAR:
        raise BadInput(f"The year {year} can't be right; look at the paper again and {_HOW}.")
    return read


def _why_no_date(trimmed: str) -> str:
    shown = clean_label(trimmed, max_length=_SHOWN)
    if not trimmed:
        return "The date is empty"
    if _NUMBERS_ONLY.fullmatch(trimmed):
        return f"{shown} is in numbers alone, of which each country puts day, month and year in another order"
    if _NO_DAY.fullmatch(trimmed):
        return f"{shown} has no day"
    if _SHORT_YEAR.fullmatch(trimmed):
        return f"{shown} has a year of two digits"
    return f"{shown} is not a date"


def read_instant(text: str) -> datetime:
    """Read a moment that is the same everywhere.

    Args:
        text: ISO 8601 with an offset, such as 2027-03-31T14:05:00+02:00 or 2027-03-31 12:05Z; also with a
            blank before the offset, as the screens and papers write it.

    Returns:
        The instant in UTC.

    Raises:
        BadInput: another form, no offset, or a moment that does not exist.
    """
    trimmed = text.strip(" \t\r\n")
    shown = clean_label(trimmed, max_length=_SHOWN)
    form = _INSTANT.fullmatch(trimmed)
    if form is None:
        raise BadInput(f"{shown or 'Nothing'} is not a moment; type it as 2027-03-31T14:05+02:00.")
    if form[3] is None:
        raise BadInput(f"{shown} could be a moment anywhere; add its offset, such as +02:00, or Z for UTC.")
    try:
        read = datetime.fromisoformat(as_iso(trimmed))
    except ValueError:
        raise BadInput(f"There is no moment {shown}; type it as 2027-03-31T14:05+02:00.") from None
    if not _FIRST_YEAR <= read.year <= _LAST_YEAR:
        raise BadInput(f"The year {read.year} can't be right; type the moment as 2027-03-31T14:05+02:00.")
    return read.astimezone(UTC)


def as_iso(text: str) -> str:
    """A moment without blanks around it and before its offset."""
    trimmed = text.strip()
    return f"{trimmed[:10]}T{trimmed[11:].replace(' ', '')}"


class Clock(StrEnum):
    """What a service life is counted in."""

    TIME = "time in service"
    FLIGHTS = "flights"
    DAYS = "calendar days"


@dataclass(frozen=True)
class LifeLimit:
    """The service life that a part's maker allows; None where that clock has no limit."""

    minutes: int | None = None
    flights: int | None = None
    days: int | None = None

    def __post_init__(self) -> None:
        for limit in (self.minutes, self.flights, self.days):
            if limit is not None:
                bounds.quantity(limit, of="a life limit (leave it empty where the maker sets none)", low=1)


@dataclass(frozen=True)
class LifeUsed:
    """What the records say of a part's service so far; None where no record is found, which is not zero.

    `since` is the day from which its maker counts calendar life (new, overhaul or fit, as he says).
    """

    minutes: int | None = None
    flights: int | None = None
    since: date | None = None

    def __post_init__(self) -> None:
        for used in (self.minutes, self.flights):
            if used is not None:
                bounds.quantity(used, of="minutes or flights in service")


@dataclass(frozen=True)
class LifeLeft:
    """What is left on each limited clock; the first that runs out ends the life.

    A clock without a limit, or without a record, is None; `unknown` names those without a record, and
    `nearest` the one with the least share of its limit left.
    """

    minutes: int | None
    flights: int | None
    days: int | None
    unknown: tuple[Clock, ...]
    nearest: Clock | None

    @property
    def is_over(self) -> bool:
        """Whether the part may not be fitted: a clock has run out, or a record is missing."""
        return bool(self.unknown) or any(
            left is not None and left <= 0 for left in (self.minutes, self.flights, self.days)
        )

    def __str__(self) -> str:
        """As a screen shows it."""
        if self.unknown:
            return f"no life left until a record is found ({', '.join(self.unknown)})"
        shown = [] if self.minutes is None else [f"{_hours(self.minutes)} h"]
        shown += [
            f"{left} {word}"
            for left, word in ((self.flights, "flights"), (self.days, "days"))
            if left is not None
        ]
        return f"{', '.join(shown)} left" if shown else "no limit"


def _hours(minutes: int) -> str:
    """Minutes as h:mm; a life that is overrun carries its sign."""
    return f"{'-' if minutes < 0 else ''}{abs(minutes) // 60}:{abs(minutes) % 60:02d}"


def remaining(limit: LifeLimit, *, used: LifeUsed, on: date) -> LifeLeft:
    """What is left of a service life, whichever clock comes first.

    Args:
        limit: the maker's limits.
        used: what the records say.
        on: the day for which the calendar is counted.

    Returns:
        What is left; negative where a limit is overrun.
    """
    days_used = None if used.since is None else max(0, (on - used.since).days)
    clocks = {
        Clock.TIME: (limit.minutes, used.minutes),
        Clock.FLIGHTS: (limit.flights, used.flights),
        Clock.DAYS: (limit.days, days_used),
    }
    counted = {
        c: (allowed, spent)
        for c, (allowed, spent) in clocks.items()
        if allowed is not None and spent is not None
    }
    left = {c: allowed - spent for c, (allowed, spent) in counted.items()}
    unknown = tuple(c for c, (allowed, spent) in clocks.items() if allowed is not None and spent is None)
    nearest = min(left, key=lambda c: left[c] / counted[c][0], default=None)
    return LifeLeft(left.get(Clock.TIME), left.get(Clock.FLIGHTS), left.get(Clock.DAYS), unknown, nearest)


def check_service_life(limit: LifeLimit, *, used: LifeUsed, subject: str, on: date) -> tuple[Refusal, ...]:
    """Why a part may not be fitted for its service life: every clock that ran out or has no record.

    Args:
        limit: the maker's limits.
        used: what the records say.
        subject: the part as a person names it.
        on: the local day of fitting.
    """
    left = remaining(limit, used=used, on=on)
    spent = {Clock.TIME: left.minutes, Clock.FLIGHTS: left.flights, Clock.DAYS: left.days}
    found = [
        f"{subject} has no record of its {clock}, so no life is left until a record is found; put it on hold."
        for clock in left.unknown
    ]
    found += [
        f"{subject} has reached its limit of {clock}; tag it for the removed-parts cage."
        for clock, value in spent.items()
        if value is not None and value <= 0
    ]
    return tuple(Refusal(Rule.DATES, subject, message) for message in found)
