"""Papers of the Office: the re-order proposal, what expires and falls due, ship sets. Contents come from the questions."""

from collections.abc import Sequence
from datetime import datetime

from kittrack.domain.text import counted
from kittrack.printing.documents import Bar, Caution, Chart, Document, Table
from kittrack.queries.buildable import BuildableAt, buildable, buildable_by_place, joint_plan, worth_telling
from kittrack.queries.due import retorques
from kittrack.queries.expiring import Expiring, expiring
from kittrack.queries.lives import UNKNOWN, RotorLife, rotor_lives
from kittrack.queries.paper import GENERAL, SENSES, Stores, amount, hours
from kittrack.queries.reorder import COVER_DAYS, PROTECTION, REVIEW_DAYS, Proposal, reorder_proposal
from kittrack.queries.tools_due import tools_due
from kittrack.queries.waste import expiry_by_month, waste
from kittrack.store.database import Store

_ORDER = (
    Caution.NOTE,
    "A proposal is no order. Look at each line, at the maker's own terms and at superseded parts before it is placed.",
)


def reorder_document(
    store: Store,
    *,
    at: datetime,
    protection: int = PROTECTION,
    cover_days: int = COVER_DAYS,
    review_days: int = REVIEW_DAYS,
    everything: bool = False,
) -> Document:
    """The re-order proposal to sign: what to order by supplier, how each group stands, and why.

    Args:
        store: the store.
        at: the instant of asking.
        protection: the chance in percent, from 50 to 99, that the stock lasts until an order arrives.
        cover_days: for how many days beyond the re-order point an order is made.
        review_days: how often somebody asks this.
        everything: also the groups of which nothing is due.

    Raises:
        BadInput: a figure that can't be one.
    """
    found = reorder_proposal(
        store, at=at, protection=protection, cover_days=cover_days, review_days=review_days, everything=everything
    )  # fmt: skip
    with store.reading() as read:
        stores = Stores(read, at=at)
    return Document(
        "Re-order proposal",
        stores.mark,
        facts=(
            ("Protection", f"{protection} % until an order arrives"),
            ("Order for", f"{cover_days} days beyond the re-order point"),
            ("Looked at", f"every {review_days} days"),
        ),
        charts=(
            Chart(
                "Ship sets that count, beside the re-order point",
                tuple(Bar(p.group, p.ship_sets, f"{p.ship_sets}, order at {p.reorder_at}") for p in found),
                empty="nothing is due",
            ),
        ),
        tables=(_order_table(found), _standing_table(found), _why_table(found)),
        cautions=(_ORDER, SENSES, GENERAL),
        signatures=("Approved by", "Ordered by"),
        footer=stores.foot,
    )


def _order_table(found: Sequence[Proposal]) -> Table:
    rows = sorted(
        (
            line.supplier or "NOBODY KNOWN", line.sense, line.part, amount(line.quantity, line.unit),
            f"{line.packs} of {amount(line.pack_quantity, line.unit)}", line.name,
            line.expected_on.isoformat() if line.expected_on else "",
        )
        for p in found
        for line in p.lines
        if line.packs
    )  # fmt: skip
    columns = ("Supplier", "Sense", "Part", "Order", "Packs", "Name", "Expected")
    return Table("To order", columns, tuple(rows), right=frozenset({"Order"}), empty="nothing is due")


def _standing_table(found: Sequence[Proposal]) -> Table:
    columns = (
        "Sense",
        "Part",
        "Ship sets",
        "A ship set",
        "Issuable",
        "In kits",
        "Waiting",
        "On order",
        "Too short",
    )
    return Table(
        "How the parts stand", columns,
        tuple(
            (
                line.sense, line.part, str(line.ship_sets), amount(line.per_ship_set, line.unit),
                *(amount(q, line.unit) if q else "" for q in (line.issuable, line.in_kits, line.waiting, line.on_order, line.too_short)),
            )
            for p in found
            for line in p.lines
        ),
        right=frozenset(columns[2:]), empty="nothing is due",
    )  # fmt: skip


def _why_table(found: Sequence[Proposal]) -> Table:
    rows = tuple((p.group if at == 0 else "", reason) for p in found for at, reason in enumerate(p.reasons))
    return Table("Why", ("Group", "Reason"), rows, empty="nothing is due")


# ---- dates -----------------------------------------------------------------------------------------


def expiry_document(store: Store, *, at: datetime, within_days: int = 90) -> Document:
    """What expires, what will expire unused, which lives run out, which torques, tools and scales fall due.

    Args:
        store: the store.
        at: the instant of asking.
        within_days: how far ahead.
    """
    months = expiry_by_month(store, at=at)
    lines, wasted = expiring(store, at=at, within_days=within_days), waste(store, at=at)
    lives, tools = (
        rotor_lives(store, at=at, within_days=within_days),
        tools_due(store, at=at, within_days=within_days),
    )
    due = retorques(store)
    with store.reading() as read:
        stores = Stores(read, at=at)
    return Document(
        "What expires and falls due",
        stores.mark,
        facts=(("Looked ahead", f"{within_days} days"),),
        charts=(
            Chart(
                "Receipt lines and kits by the month of their last good day",
                tuple(
                    Bar(m.month, m.lines + m.kits, f"{counted(m.lines, 'line')}, {counted(m.kits, 'kit')}" if m.lines + m.kits else "0") for m in months
                ),
            ),
        ),
        tables=(
            _expiring_table(lines),
            Table(
                "Will expire unused, first expiry out first", ("Expires", "Part", "Wasted", "Of", "Line", "Lot code", "Asked for"),
                tuple(
                    (w.expires_on.isoformat(), w.part, amount(w.wasted, w.unit), amount(w.quantity, w.unit), w.receipt_line, w.lot_code, w.basis)
                    for w in wasted
                ),
                right=frozenset({"Wasted", "Of"}), empty="nothing",
            ),
            _lives_table(lives),
            Table(
                "Re-torques that are due", ("Position", "Set", "Every", "Since", "Over"),
                tuple((r.name, r.rotor_set, hours(r.interval_minutes), hours(r.since_minutes), hours(r.over_minutes)) for r in due),
                right=frozenset({"Every", "Since", "Over"}),
            ),
            Table(
                "Tools and scales", ("State", "Days left", "Calibrated until", "Kind", "Tool", "Name", "Used since"),
                tuple(
                    (
                        t.state, "" if t.days_left is None else str(t.days_left), t.calibrated_until.isoformat() if t.calibrated_until else "never",
                        t.kind, t.tool, t.name, str(t.used_since),
                    )
                    for t in tools
                ),
                right=frozenset({"Days left", "Used since"}),
            ),
        ),
        cautions=(
            (Caution.CAUTION, "What has no record of its hours, flights or expiry has no life left until a record is found. It is never counted as new."),
            GENERAL,
        ),
        signatures=("Walked by",),
        footer=stores.foot,
    )  # fmt: skip


def _expiring_table(lines: Sequence[Expiring]) -> Table:
    return Table(
        "Expired and expiring", ("Within", "Days left", "Expires", "What", "Part", "Quantity", "Place", "State", "Done"),
        tuple(
            (
                e.within, "" if e.days_left is None else str(e.days_left), e.expires_on.isoformat() if e.expires_on else "UNKNOWN",
                e.what, e.part, "" if e.unit == "kit" else amount(e.quantity, e.unit), e.place, e.state, "____",
            )
            for e in lines
        ),
        right=frozenset({"Days left", "Quantity"}), empty="nothing expires within these days",
    )  # fmt: skip


def _lives_table(lives: Sequence[RotorLife]) -> Table:
    return Table(
        "Rotor lives: unknown, over, or running out", ("State", "Days left", "First by", "Sense", "Position", "Set", "Used", "Flights", "Left, and from what"),
        tuple(
            (
                e.state, "" if e.days_left is None else str(e.days_left), e.clock, e.sense, f"{e.airframe} {e.position}", e.rotor_set,
                hours(e.used_minutes), "unknown" if e.used_flights is None else str(e.used_flights),
                e.basis if e.state == UNKNOWN else "; ".join(filter(None, (e.left, e.basis))),
            )
            for e in lives
        ),
        right=frozenset({"Days left", "Used", "Flights"}),
    )  # fmt: skip


# ---- ship sets -------------------------------------------------------------------------------------


def ship_sets_document(store: Store, *, at: datetime) -> Document:
    """What can be built, by place and together, what limits it, and what one more takes."""
    places, plan, alone = (
        worth_telling(buildable_by_place(store, at=at)),
        joint_plan(store, at=at),
        buildable(store, at=at),
    )
    with store.reading() as read:
        stores = Stores(read, at=at)
    return Document(
        "Ship sets",
        stores.mark,
        facts=(("Together", plan.method), ("In all", str(plan.total))),
        charts=(
            Chart(
                "Sealed kits and ship sets by place",
                tuple(
                    Bar(f"{p.place}, {p.type_name} {p.revision}", p.sealed_kits + p.ship_sets, f"{counted(p.sealed_kits, 'kit')}, {counted(p.ship_sets, 'ship set')}")
                    for p in places
                ),
            ),
        ),
        tables=(
            Table(
                "From the stores, types that share parts sharing them", ("Type", "Together", "Alone"),
                tuple((f"{s.type_name} {s.revision}", str(s.together), str(s.alone)) for s in plan.shares),
                right=frozenset({"Together", "Alone"}),
            ),
            _place_table(places),
            Table(
                "Lines from the stores", ("Type", "Line", "On the shelf", "A ship set", "Alone", "Limits"),
                tuple(
                    (
                        f"{b.type_name} {b.revision}", name, *(amount(q, "volume_ul" if name in b.volume_lines else "pieces") for q in (there, each)),
                        str(dict(b.ship_sets.by_line)[name]), "limits" if name in b.ship_sets.limiting else "",
                    )
                    for b in alone
                    for name, there, each in b.stock
                ),
                right=frozenset({"On the shelf", "A ship set", "Alone"}),
            ),
        ),
        cautions=(SENSES, GENERAL),
        footer=stores.foot,
    )  # fmt: skip


def _place_table(places: Sequence[BuildableAt]) -> Table:
    return Table(
        "By place", ("Place", "Type", "Kits", "Ship sets", "CW sets", "CCW sets", "Stranded", "One more takes"),
        tuple(
            (
                p.place, f"{p.type_name} {p.revision}", str(p.sealed_kits), str(p.ship_sets), str(p.cw_sets), str(p.ccw_sets),
                f"{p.stranded} {p.fuller}" if p.stranded and p.fuller else "", "; ".join(p.one_more_takes),
            )
            for p in places
        ),
        right=frozenset({"Kits", "Ship sets", "CW sets", "CCW sets"}),
    )  # fmt: skip
