"""Questions about demand and dates: usage, what to order, rotor lives, tools that fall due, what will expire unused."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from kittrack.cli import reading
from kittrack.cli.tables import Table, listing
from kittrack.cli.verb import Station, Verb, option, switch
from kittrack.queries import lives, reorder, tools_due, usage, waste
from kittrack.queries.lives import RotorLife
from kittrack.queries.reorder import Proposal
from kittrack.queries.tools_due import ToolDue
from kittrack.queries.usage import Usage
from kittrack.queries.waste import ExpiryMonth, Wasted


@dataclass(frozen=True)
class OrderRow:
    """A part of the re-order proposal, as a row of CSV."""

    group: str
    sense: str
    part: str
    name: str
    quantity: int
    unit: str
    packs: int
    pack_quantity: int
    supplier: str
    expected_on: date | None
    issuable: int
    in_kits: int
    waiting: int
    on_order: int
    ship_sets: int
    reorder_at: int
    target: int
    expected: str
    horizon_days: int
    reasons: str


def order_rows(found: tuple[Proposal, ...]) -> list[OrderRow]:
    """The proposal as rows, one a part."""
    return [
        OrderRow(
            p.group, one.sense, one.part, one.name, one.quantity, one.unit, one.packs, one.pack_quantity, one.supplier,
            one.expected_on, one.issuable, one.in_kits, one.waiting, one.on_order, one.ship_sets, p.reorder_at, p.target,
            f"{p.expected:.2f}", p.horizon_days, " ".join(p.reasons),
        )
        for p in found
        for one in p.lines
    ]  # fmt: skip


def _proposal(found: tuple[Proposal, ...]) -> list[Table]:
    rows = order_rows(found)
    return [
        listing(
            found, "group", ("due", lambda p: "ORDER" if p.is_due else "no"), ("ship sets", lambda p: p.ship_sets), "reorder_at",
            "target", ("expected", lambda p: f"{p.expected:.2f} in {p.horizon_days} days"), ("protection", lambda p: f"{p.protection:g} %"),
            nothing="nothing is due; see all groups with --all",
        ),
        *([listing(
            rows, "sense", "part", ("order", lambda r: reading.amount_text(r.quantity, r.unit) if r.packs else ""),
            ("packs", lambda r: f"{r.packs} of {reading.amount_text(r.pack_quantity, r.unit)}" if r.packs else ""), "supplier", "expected_on",
            ("issuable", lambda r: reading.amount_text(r.issuable, r.unit)), ("in kits", lambda r: reading.amount_text(r.in_kits, r.unit)),
            ("waiting", lambda r: reading.amount_text(r.waiting, r.unit)), ("on order", lambda r: reading.amount_text(r.on_order, r.unit)),
            title="parts",
        )] if rows else []),
        *(Table((), tuple((reason,) for reason in p.reasons), title=f"why: {p.group}") for p in found),
    ]  # fmt: skip


def _usage(found: tuple[Usage, ...]) -> list[Table]:
    return [
        listing(
            found, "month", "sense", "part", ("used", lambda u: reading.amount_text(u.quantity, u.unit)), "issues",
            ("for life", lambda u: reading.amount_text(u.for_life, u.unit) if u.for_life else ""),
            nothing="nothing was used in these months",
        )
    ]  # fmt: skip


def _lives(found: tuple[RotorLife, ...]) -> list[Table]:
    return [
        listing(
            found, "state", "days_left", ("runs out on", lambda e: e.runs_out_on or ""), ("first by", lambda e: e.clock), "sense",
            "airframe", "position", "rotor_set", "part", ("used", lambda e: reading.time_text(e.used_minutes)),
            ("flights", lambda e: "unknown" if e.used_flights is None else e.used_flights), "left", "basis",
            nothing="no life is unknown, over, or runs out within these days",
        )
    ]  # fmt: skip


def _tools(found: tuple[ToolDue, ...]) -> list[Table]:
    return [
        listing(
            found, "days_left", ("calibrated until", lambda t: t.calibrated_until or "no calibration on record"), "state", "kind",
            "tool", "name", ("used since", lambda t: t.used_since), nothing="no tool and no scale is due within these days",
        )
    ]  # fmt: skip


def _waste(found: tuple[Wasted, ...]) -> list[Table]:
    return [
        listing(
            found, "expires_on", "days_left", "sense", "part", ("wasted", lambda w: reading.amount_text(w.wasted, w.unit)),
            ("of", lambda w: reading.amount_text(w.quantity, w.unit)), "receipt_line", "lot_code", ("asked for", lambda w: w.basis),
            nothing="nothing will expire unused",
        )
    ]  # fmt: skip


def _expiry_months(found: tuple[ExpiryMonth, ...]) -> list[Table]:
    return [listing(found, "month", "lines", "kits", ("lines that waste some", lambda e: e.wasted_lines))]


_WITHIN: Final = option("within_days", "how many days ahead; default 90", read=reading.whole, flag="--days")
_ALL: Final = switch("everything", "also what is not due", flag="--all")

PROPOSAL_OPTIONS: Final = (
    option("protection", "the chance in percent that stock lasts until an order arrives; default 95", read=reading.whole),
    option("cover_days", "for how many days beyond the re-order point to order; default 90", read=reading.whole),
    option("review_days", "how often orders are looked at, added to the lead time; default 7", read=reading.whole),
    _ALL,
)  # fmt: skip

VERBS: Final = (
    Verb(
        "reorder proposal", Station.OFFICE, "What to order now and why: in whole packs, senses kept level in ship sets.",
        "--protection 98 --all",
        reorder.reorder_proposal,
        PROPOSAL_OPTIONS,
        show=_proposal,
        rows=order_rows,
    ),
    Verb(
        "usage", Station.OFFICE, "What was used month by month: sets and pieces by issues, threadlocker by what was consumed.",
        "--months 24 --part RB-18-CW",
        usage.usage_by_month,
        (
            option("months", "how many months back, the running one included; default 12", read=reading.whole),
            option("part", "only this part number"),
        ),
        show=_usage,
        rows=lambda found: found,
    ),
    Verb(
        "lives", Station.OFFICE, "Fitted sets whose life is over or runs out: hours, flights, calendar, whichever first.",
        "--days 365",
        lives.rotor_lives,
        (_WITHIN, switch("everything", "all fitted sets", flag="--all")),
        show=_lives,
        rows=lambda found: found,
    ),
    Verb(
        "waste", Station.OFFICE, "What will expire unused at the pace at which it is asked for, first expiry out first.", "",
        waste.waste,
        show=_waste,
        rows=lambda found: found,
    ),
    Verb(
        "expiry-months", Station.OFFICE, "How many receipt lines and kits expire in each of the coming months.", "--months 24",
        waste.expiry_by_month,
        (option("months", "how many months ahead, the running one included; default 12", read=reading.whole),),
        show=_expiry_months,
        rows=lambda found: found,
    ),
    Verb(
        "tools-due", Station.OFFICE, "Torque tools and scales whose calibration is over or falls due.", "--days 60",
        tools_due.tools_due,
        (_WITHIN, switch("everything", "all tools in use", flag="--all")),
        show=_tools,
        rows=lambda found: found,
    ),
)  # fmt: skip
