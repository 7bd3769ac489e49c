"""The papers of counting: the blind sheet of a place, and what is due to be counted.

A blind sheet names what is looked for and tells no quantity; things with a number of their own are written down as they
are found. Source: design 2 (counts); a count sheet without booked quantities is common practice.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from kittrack.domain import codes
from kittrack.printing.documents import Caution, Document, Table
from kittrack.queries.counts import (
    BLIND,
    COUNTED_STOCK,
    CountedThing,
    CountResult,
    count_result,
    counts_due,
    whole_result,
)
from kittrack.queries.paper import GENERAL, Stores
from kittrack.store.database import Store

_ROWS: Final = 16  # blank rows by the page-filling handful, so that their number tells nothing
_LINE: Final = "____________"


def count_sheet_document(store: Store, *, count: str, at: datetime) -> Document:
    """The blind sheet of a count.

    Raises:
        NotFound: the store holds no such count.
    """
    with store.reading() as read:
        found, stores = whole_result(read, count), Stores(read, at=at)
    return Document(
        "Count sheet",
        found.count,
        facts=(
            ("Place", found.place), ("Opened", f"{stores.local(found.opened_at)} by {found.opened_by}"),
            ("Count", "the first" if found.state == "open" else f"again, by another person than {found.counted_by}"),
        ),
        tables=(_counted_stock(found.things), _numbered(found.things)),
        cautions=(
            (Caution.CAUTION, "Count everything in the place without looking at the record. What is there and not listed is written down too."),
            (Caution.NOTE, "Look into packs that were opened. Never add CW and CCW together."),
            GENERAL,
        ),
        signatures=("Counted by",),
        footer=stores.foot,
    )  # fmt: skip


def counts_due_document(store: Store, *, at: datetime) -> Document:
    """The places that are due to be counted, with room to tick them off."""
    due = counts_due(store, at=at)
    with store.reading() as read:
        stores = Stores(read, at=at)
    return Document(
        "Counts that are due",
        stores.mark,
        facts=(("Places", str(len(due))), ("Every", "A 20, B 60, C 120 working days")),
        tables=(
            Table(
                "Places", ("Class", "Place", "Kind", "Why", "Last counted", "Due", "Days over", "Count", "Done"),
                tuple(
                    (
                        p.count_class.value, p.place, p.kind, p.why, p.last_counted.isoformat() if p.last_counted else "never",
                        p.due_on.isoformat() if p.due_on else "now", "" if p.days_over is None else str(p.days_over), p.open_count, "____",
                    )
                    for p in due
                ),
                right=frozenset({"Days over"}), empty="nothing is due",
            ),
        ),
        cautions=(GENERAL,),
        signatures=("Planned by",),
        footer=stores.foot,
    )  # fmt: skip


def count_result_document(store: Store, *, count: str, at: datetime) -> Document:
    """What a count found, with the people who counted, settled and confirmed it.

    Raises:
        NotFound: the store holds no such count.
    """
    found = count_result(store, count=count)
    with store.reading() as read:
        stores = Stores(read, at=at)
    return Document(
        "Count result",
        found.count,
        facts=(
            ("Place", found.place), ("State", found.state), ("Opened", f"{stores.local(found.opened_at)} by {found.opened_by}"),
            ("Counted by", found.counted_by), ("Settled", f"{stores.local(found.settled_at)} {found.settled_by}".strip()),
            ("Second person", found.second), ("Reason", found.reason),
        ),
        tables=_result_tables(found),
        cautions=(GENERAL,),
        signatures=("Settled by", "Second person"),
        footer=stores.foot,
    )  # fmt: skip


def _result_tables(found: CountResult) -> tuple[Table, ...]:
    if found.is_blind:
        return (Table("Things", ("Thing",), (), empty=BLIND),)
    return (
        Table(
            "Differences by sense, never netted", ("Sense", "Part", "Missing", "Too many", "Together"),
            tuple((d.sense, d.part, str(d.missing), str(d.surplus), str(d.absolute)) for d in found.differences),
            right=frozenset({"Missing", "Too many", "Together"}),
        ),
        Table(
            "Things", ("Thing", "Sense", "Part", "Lot", "Condition", "On record", "Counted", "Again", "Difference"),
            tuple(
                (t.thing, t.sense, t.part, t.lot, t.condition, _figure(t.booked), _figure(t.counted), _figure(t.counted_again), _figure(t.difference))
                for t in found.things
            ),
            right=frozenset({"On record", "Counted", "Again", "Difference"}),
        ),
    )  # fmt: skip


def _figure(number: int | None) -> str:
    return "" if number is None else str(number)


def _counted_stock(things: Sequence[CountedThing]) -> Table:
    rows = sorted({(t.thing, t.sense, t.part, t.lot, t.condition) for t in things if t.kind == COUNTED_STOCK})
    return Table(
        "Stock that is counted", ("Line", "Sense", "Part", "Lot", "Condition", "Counted"),
        _spaced([(*row, _LINE) for row in rows]), empty="nothing of it is looked for here; write down what is there all the same",
    )  # fmt: skip


def _numbered(things: Sequence[CountedThing]) -> Table:
    """Rows to write numbers into, a handful more than are looked for, however many these are."""
    looked_for = sum(1 for t in things if t.kind != COUNTED_STOCK)
    rows = (looked_for // _ROWS + 1) * _ROWS
    kinds = ", ".join(kind.in_words for kind in (codes.Kind.ROTOR_SET, codes.Kind.KIT, codes.Kind.PIECE))
    return Table(
        f"Things with a number of their own ({kinds}): write down or scan each number that is there",
        ("Number", "Sense", "Remark", "Number, too", "Sense, too", "Remark, too"),
        _spaced([(_LINE, "____", "________________") * 2] * (rows // 2)),
    )  # fmt: skip


def _spaced(rows: Sequence[tuple[str, ...]]) -> tuple[tuple[str, ...], ...]:
    """Rows with room above each, since a hand writes larger than print."""
    return tuple(each for row in rows for each in (("",) * len(row), row))
