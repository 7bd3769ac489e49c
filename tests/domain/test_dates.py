"""Shelf life to the end of the local day, dates that can be read in one way only, and service life."""

import calendar
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kittrack.domain.dates import (
    Clock,
    Expiry,
    LifeLimit,
    LifeUsed,
    ShelfLife,
    check_service_life,
    check_shelf_life,
    days_left,
    earliest,
    is_expired,
    local_day,
    opened_until,
    read_date,
    read_instant,
    remaining,
    shown_at,
)
from kittrack.domain.gs1_values import read_day
from kittrack.errors import BadInput

LAST = date(2027, 3, 31)
DAYS = st.dates(date(1950, 1, 1), date(2199, 12, 31))
EXPIRIES = st.one_of(st.builds(Expiry.limited, DAYS), st.just(Expiry.unlimited()), st.just(Expiry.unknown()))


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def test_a_shelf_life_still_holds_in_the_evening_of_its_last_day() -> None:
    # The public report cs3org/reva #3298: an expiry of 2022-09-30 is still good at 18:00 that day.
    expiry = Expiry.limited(date(2022, 9, 30))
    assert not is_expired(expiry, at=utc("2022-09-30T18:00:00"), zone="UTC")
    assert is_expired(expiry, at=utc("2022-10-01T00:00:00"), zone="UTC")


@pytest.mark.parametrize(
    ("zone", "last_good", "first_bad"),
    [
        ("Europe/Berlin", "2027-03-31T21:59:59", "2027-03-31T22:00:00"),  # UTC+2 in summer
        ("America/Los_Angeles", "2027-04-01T06:59:59", "2027-04-01T07:00:00"),  # UTC-7
        ("Pacific/Auckland", "2027-03-31T10:59:59", "2027-03-31T11:00:00"),  # UTC+13 until April
        ("Asia/Kathmandu", "2027-03-31T18:14:59", "2027-03-31T18:15:00"),  # UTC+5:45
    ],
)
def test_a_shelf_life_ends_at_local_midnight(zone: str, last_good: str, first_bad: str) -> None:
    # Offsets from the IANA time zone database.
    expiry = Expiry.limited(LAST)
    assert not is_expired(expiry, at=utc(last_good), zone=zone)
    assert is_expired(expiry, at=utc(first_bad), zone=zone)
    assert days_left(expiry, at=utc(last_good), zone=zone) == 0
    assert days_left(expiry, at=utc(first_bad), zone=zone) == -1


@pytest.mark.parametrize(
    ("printed", "last_good"), [("260200", date(2026, 2, 28)), ("280200", date(2028, 2, 29))]
)
def test_a_label_without_a_day_is_good_to_the_end_of_its_month(printed: str, last_good: date) -> None:
    # GS1 General Specifications 3.4: day 00 is the last day of the month; good through it, computed.
    day = read_day(printed, today=date(2026, 1, 1))
    assert day == last_good
    expiry = Expiry.limited(last_good)
    assert not is_expired(expiry, at=utc(f"{last_good}T23:59:59"), zone="UTC")
    assert is_expired(expiry, at=utc(f"{last_good + timedelta(days=1)}T00:00:00"), zone="UTC")


def test_both_half_hours_of_the_night_that_repeats_are_one_day() -> None:
    # Berlin, 2026-10-25: 02:30 comes twice (00:30Z and 01:30Z).
    for at in ("2026-10-25T00:30:00", "2026-10-25T01:30:00"):
        assert local_day(utc(at), zone="Europe/Berlin") == date(2026, 10, 25)


@given(DAYS, st.datetimes(datetime(1960, 1, 1), datetime(2190, 1, 1)), st.integers(-14 * 60, 14 * 60))  # noqa: DTZ001 - hypothesis wants naive bounds
def test_the_same_instant_judges_the_same_in_any_offset(day: date, naive: datetime, offset: int) -> None:
    at = naive.replace(tzinfo=UTC)
    shifted = at.astimezone(timezone(timedelta(minutes=offset)))
    expiry = Expiry.limited(day)
    assert is_expired(expiry, at=at, zone="UTC") == is_expired(expiry, at=shifted, zone="UTC")
    assert is_expired(expiry, at=at, zone="UTC") == (at.date() > day)


def test_no_expiry_and_unknown_expiry_are_two_things() -> None:
    at = utc("2100-01-01T00:00:00")
    assert check_shelf_life(Expiry.unlimited(), subject="screws", at=at, zone="UTC") == ()
    (refusal,) = check_shelf_life(Expiry.unknown(), subject="screws", at=at, zone="UTC")
    assert refusal.rule == "R13"
    assert "not known" in refusal.message
    assert not is_expired(Expiry.unknown(), at=at, zone="UTC")
    assert days_left(Expiry.unknown(), at=at, zone="UTC") is None
    assert days_left(Expiry.unlimited(), at=at, zone="UTC") is None
    assert {str(Expiry.unlimited()), str(Expiry.unknown())} == {"no expiry", "expiry unknown"}


def test_an_expired_lot_is_refused_and_a_good_one_is_not() -> None:
    expiry = Expiry.limited(LAST)
    assert str(expiry) == "until 2027-03-31"
    assert check_shelf_life(expiry, subject="glue", at=utc("2027-03-31T23:00:00"), zone="UTC") == ()
    (refusal,) = check_shelf_life(expiry, subject="glue", at=utc("2027-04-01T00:00:00"), zone="UTC")
    assert (refusal.rule, refusal.subject) == ("R13", "glue")


@pytest.mark.parametrize(
    ("kind", "day"), [(ShelfLife.LIMITED, None), (ShelfLife.UNKNOWN, LAST), (ShelfLife.UNLIMITED, LAST)]
)
def test_a_half_stated_expiry_is_refused(kind: ShelfLife, day: date | None) -> None:
    with pytest.raises(BadInput):
        Expiry(kind, day)


@pytest.mark.parametrize(
    "zone", ["", "Nowhere/Atall", "../../etc/passwd", "/etc/localtime", "Europe", "UTC\x00", "\x1b[2J"]
)
def test_a_zone_that_is_not_known_is_refused(zone: str) -> None:
    with pytest.raises(BadInput, match="time zone") as caught:
        local_day(utc("2027-01-01T00:00:00"), zone=zone)
    assert str(caught.value).isprintable()


def test_an_instant_without_offset_is_a_fault_of_the_caller() -> None:
    with pytest.raises(ValueError, match="offset"):
        is_expired(Expiry.limited(LAST), at=datetime(2027, 1, 1), zone="UTC")  # noqa: DTZ001 - the fault itself


@given(st.lists(EXPIRIES, max_size=8))
def test_a_kit_expires_with_its_earliest_content(contents: list[Expiry]) -> None:
    whole = earliest(contents)
    if Expiry.unknown() in contents:
        assert whole == Expiry.unknown()
    elif whole.day is None:
        assert all(e == Expiry.unlimited() for e in contents)
    else:
        assert whole in contents
        assert all(e.day is None or e.day >= whole.day for e in contents)
    assert earliest(reversed(contents)) == whole


def test_an_opened_bottle_ends_with_the_shorter_of_both_lives() -> None:
    opened = opened_until(date(2026, 5, 1), life_days=365)
    assert opened == Expiry.limited(date(2027, 5, 1))
    assert earliest([opened, Expiry.limited(LAST)]) == Expiry.limited(LAST)
    assert earliest([opened, Expiry.limited(date(2028, 1, 1))]) == opened
    for life_days in (0, -5, 10**9):
        with pytest.raises(BadInput):
            opened_until(date(2026, 5, 1), life_days=life_days)


def test_an_opened_life_of_one_day_is_one() -> None:
    assert opened_until(date(2026, 5, 1), life_days=1) == Expiry.limited(date(2026, 5, 2))


@pytest.mark.parametrize("text", ["2027-03-31", "31 Mar 2027", "31-MAR-2027", "31 mar 2027", " 2027-03-31\n"])
def test_a_plain_date_is_read(text: str) -> None:
    assert read_date(text) == LAST


@given(DAYS)
def test_every_day_reads_back(day: date) -> None:
    assert read_date(day.isoformat()) == day
    month = calendar.month_abbr[day.month]
    assert read_date(f"{day.day} {month} {day.year}") == day


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("03/04/26", "another order"),  # dateutil #1011, dateparser #539
        ("03.04.2026", "another order"),
        ("31.12.2027", "another order"),  # refused like the others, and not as one that has two readings
        ("10.2026", "no day"),  # dateutil #713
        ("2026-10", "no day"),
        ("Mar 2027", "no day"),
        ("31 Mar 27", "two digits"),
        ("2027-02-29", "no day 2027-02-29"),
        ("2026-13-01", "no day 2026-13-01"),
        ("2027-03-00", "no day 2027-03-00"),
        ("31 Apr 2027", "no day"),
        ("0000-01-01", "no day"),
        ("1026-03-31", "year 1026"),
        ("31 Mai 2027", "not a date"),
        ("31-Mar 2027", "not a date"),
        ("20270331", "not a date"),
        ("2027-3-31", "not a date"),
        ("2027-W13-3", "not a date"),
        ("2027-03-31T00:00", "not a date"),
        ("٢٠٢٧-٠٣-٣١", "not a date"),
        ("\x1b[2J", "not a date"),
        ("", "empty"),
        ("2" * 5000, "not a date"),
    ],
)
def test_a_date_that_could_be_another_is_refused_with_the_reason(text: str, reason: str) -> None:
    with pytest.raises(BadInput, match=reason) as caught:
        read_date(text)
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize(
    ("text", "instant"),
    [
        ("2027-03-31T14:05:00+02:00", "2027-03-31T12:05:00"),
        ("2027-03-31 12:05Z", "2027-03-31T12:05:00"),
        ("2027-03-31 14:05 +02:00", "2027-03-31T12:05:00"),  # as the screens write it
        (
            "2026-10-25T02:30:00+02:00",
            "2026-10-25T00:30:00",
        ),  # the night that repeats: the offset tells which
        ("2026-10-25T02:30:00+01:00", "2026-10-25T01:30:00"),
        ("2027-01-01T00:00:00.25-05:45", "2027-01-01T05:45:00.250000"),
    ],
)
def test_an_instant_is_read_in_utc(text: str, instant: str) -> None:
    read = read_instant(text)
    assert read == utc(instant)
    assert read.utcoffset() == timedelta(0)


@given(st.datetimes(datetime(1951, 1, 1), datetime(2198, 12, 31), timezones=st.just(UTC)))  # noqa: DTZ001 - as above
def test_every_instant_reads_back(at: datetime) -> None:
    assert read_instant(at.isoformat()) == at


@pytest.mark.parametrize(
    "text",
    [
        "",
        "now",
        "2027-03-31",
        "2027-03-31T14:05:00",
        "2027-02-29T14:05Z",
        "2027-03-31T25:05Z",
        "0001-01-01T00:00+14:00",
        "2027-03-31T14:05+99:00",
        "20270331T140500Z",
    ],
)
def test_an_instant_that_could_be_another_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        read_instant(text)


def test_a_moment_lies_in_the_years_that_a_record_can_have() -> None:
    assert read_instant("1950-01-01T00:00Z") == utc("1950-01-01T00:00:00")
    assert read_instant("2199-12-31T23:59Z") == utc("2199-12-31T23:59:00")
    for year in ("1949", "2200"):
        with pytest.raises(BadInput, match=f"The year {year} can't be right"):
            read_instant(f"{year}-06-01T00:00Z")


@pytest.mark.parametrize(
    ("text", "shown"), [(" ", "Nothing is not a moment"), ("now", "now is not a moment")]
)
def test_what_is_no_moment_is_shown_in_the_refusal(text: str, shown: str) -> None:
    with pytest.raises(BadInput, match=f"^{shown}"):
        read_instant(text)


LIMIT = LifeLimit(minutes=6000, flights=400, days=730)
TODAY = date(2027, 1, 1)


def test_the_first_clock_to_run_out_ends_the_life() -> None:
    left = remaining(LIMIT, used=LifeUsed(3000, 390, date(2026, 12, 2)), on=TODAY)
    assert (left.minutes, left.flights, left.days) == (3000, 10, 700)
    assert left.nearest is Clock.FLIGHTS
    assert not left.is_over
    assert str(left) == "50:00 h, 10 flights, 700 days left"
    over = remaining(LIMIT, used=LifeUsed(10, 400, date(2026, 12, 2)), on=TODAY)
    assert over.is_over
    (refusal,) = check_service_life(LIMIT, used=LifeUsed(10, 400, TODAY), subject="R000101-C", on=TODAY)
    assert "flights" in refusal.message


@pytest.mark.parametrize(
    "used",
    [LifeUsed(None, 0, TODAY), LifeUsed(0, None, TODAY), LifeUsed(0, 0, None), LifeUsed(None, None, None)],
)
def test_an_unknown_life_is_never_zero(used: LifeUsed) -> None:
    # AMC1 145.A.42(a)(iii)(d): a life-limited part without its records is unsalvageable.
    left = remaining(LIMIT, used=used, on=TODAY)
    assert left.is_over
    assert "no life left until a record is found" in str(left)
    refusals = check_service_life(LIMIT, used=used, subject="R000101-C", on=TODAY)
    assert len(refusals) == len(left.unknown) > 0


def test_a_clock_without_limit_needs_no_record() -> None:
    left = remaining(LifeLimit(flights=400), used=LifeUsed(None, 1, None), on=TODAY)
    assert not left.is_over
    assert (left.minutes, left.flights, left.days, left.nearest) == (None, 399, None, Clock.FLIGHTS)
    unlimited = remaining(LifeLimit(), used=LifeUsed(), on=TODAY)
    assert str(unlimited) == "no limit"
    assert unlimited.nearest is None
    assert check_service_life(LifeLimit(), used=LifeUsed(), subject="hub", on=TODAY) == ()


def test_an_overrun_carries_its_sign() -> None:
    left = remaining(LifeLimit(minutes=600), used=LifeUsed(minutes=690), on=TODAY)
    assert left.minutes == -90
    assert str(left) == "-1:30 h left"


def test_the_last_flight_of_a_life_is_flown_and_then_it_is_over() -> None:
    limit = LifeLimit(flights=400)
    last, over = LifeUsed(flights=399), LifeUsed(flights=400)
    assert not remaining(limit, used=last, on=TODAY).is_over
    assert check_service_life(limit, used=last, subject="R000101-C", on=TODAY) == ()
    assert remaining(limit, used=over, on=TODAY).is_over
    assert str(remaining(LifeLimit(minutes=60), used=LifeUsed(minutes=60), on=TODAY)) == "0:00 h left"


def test_the_nearest_clock_is_the_one_with_the_least_share_left_of_its_limit() -> None:
    # 3000 of 6000 minutes are a half, 300 of 400 flights three quarters: fewer flights are left, but more of them.
    assert remaining(LIMIT, used=LifeUsed(3000, 100, TODAY), on=TODAY).nearest is Clock.TIME


@pytest.mark.parametrize("limit", [{"minutes": 0}, {"flights": -1}, {"days": 0}])
def test_a_limit_of_nothing_is_refused(limit: dict[str, int]) -> None:
    with pytest.raises(BadInput):
        LifeLimit(**limit)


def test_a_negative_use_is_refused() -> None:
    with pytest.raises(BadInput):
        LifeUsed(minutes=-1)


def test_a_life_that_starts_tomorrow_in_another_zone_is_unused() -> None:
    assert remaining(LifeLimit(days=10), used=LifeUsed(since=date(2027, 1, 2)), on=TODAY).days == 10


def test_an_instant_is_shown_to_the_minute_in_a_zone_with_its_offset() -> None:
    at = datetime(2026, 9, 30, 14, 30, 59, tzinfo=UTC)
    assert shown_at(at, zone=timezone(timedelta(hours=2))) == "2026-09-30 16:30 +02:00"
    assert shown_at(at, zone=timezone(-timedelta(hours=3, minutes=30))) == "2026-09-30 11:00 -03:30"
