"""The unserviceable tag list: all that lies in the stores and may not fly, with its tag and what is known of it.

Source: design R10; 145.A.42(a) separates unserviceable from serviceable parts and tags them.
"""

from dataclasses import dataclass
from datetime import datetime

from kittrack.domain.ledger import PlaceKind
from kittrack.printing.documents import Caution, Document, Table
from kittrack.queries.paper import GENERAL, Stores, amount, hours
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import Airframe, Part, Piece, Position, ReceiptLine, Removal, RotorSet
from kittrack.store.stock import Located, located, within

TITLE = "Unserviceable tag list"
_STORES = (
    PlaceKind.BIN, PlaceKind.GOODS_IN, PlaceKind.HOLD_CAGE, PlaceKind.BENCH, PlaceKind.VAN, PlaceKind.REMOVED_CAGE,
)  # fmt: skip


@dataclass(frozen=True)
class UnserviceableItem:
    """A removed set or other stock that may not fly: its tag where it has one, and where it came from.

    `used` is the time in service as hours, "unknown" where nobody knows; `holds` what keeps it, evidence among them.
    """

    tag: str
    thing: str
    sense: str
    part: str
    quantity: int
    unit: str
    serials: tuple[str, ...]
    condition: str
    where: str
    airframe: str
    position: str
    removed_at: str
    used: str
    sense_found: str
    reason: str
    holds: tuple[str, ...]
    is_evidence: bool


def unserviceable(store: Store, *, at: datetime) -> tuple[UnserviceableItem, ...]:
    """All that lies in the stores and vans and is removed, unserviceable or unsalvageable; by tag, then by part."""
    with store.reading() as read:
        return _items(read, Stores(read, at=at))


def unserviceable_document(store: Store, *, at: datetime) -> Document:
    """The list as a document to walk along the cage with."""
    with store.reading() as read:
        stores = Stores(read, at=at)
        items = _items(read, stores)
        return Document(
            TITLE,
            stores.mark,
            facts=(("Entries", str(len(items))), ("Evidence among them", str(sum(i.is_evidence for i in items)))),
            tables=(
                Table(
                    "Removed and unserviceable", ("Tag", "Thing", "Sense", "Part", "Quantity", "Condition", "Where", "From", "In service"),
                    tuple(
                        (i.tag, i.thing, i.sense, i.part, amount(i.quantity, i.unit), i.condition, i.where,
                         f"{i.airframe} {i.position} {i.removed_at[:10]}".strip(), i.used)
                        for i in items
                    ),
                    right=frozenset({"Quantity"}),
                ),
                Table(
                    "Why, and what keeps it", ("Tag", "Thing", "Serials", "Sense found", "Why", "Holds"),
                    tuple(
                        (i.tag, i.thing, ", ".join(i.serials), i.sense_found, i.reason, ", ".join(i.holds) + (" EVIDENCE" if i.is_evidence else ""))
                        for i in items
                    ),
                ),
            ),
            cautions=(
                (Caution.CAUTION, "Nothing on this list is made serviceable by moving it: only an inspection on record does that."),
                GENERAL,
            ),
            signatures=("Walked by",),
            footer=stores.foot,
        )  # fmt: skip


def _items(read: Reading, stores: Stores) -> tuple[UnserviceableItem, ...]:
    cage = f"h.place_id IN (SELECT id FROM place WHERE kind = '{PlaceKind.REMOVED_CAGE.value}')"
    found = located(
        read,
        f"{within(*_STORES)} AND (h.condition IN ('unserviceable', 'unsalvageable') OR {cage} "
        "OR h.place_id IN (SELECT s.place_id FROM rotor_set s JOIN containment c ON c.container_id = s.place_id "
        "JOIN place p ON p.id = c.inside_id WHERE p.kind = 'removed-parts cage' OR s.condition IN ('unserviceable', 'unsalvageable')))",
    )
    by_set: dict[int, list[Located]] = {}
    loose = []
    for one in found:
        own = one.innermost(PlaceKind.ROTOR_SET)
        if own is None:
            loose.append(one)
        else:
            by_set.setdefault(own.id, []).append(one)
    items = [_of_set(read, stores, place, stock) for place, stock in by_set.items()]
    items += [_of_stock(read, one) for one in loose]
    return tuple(sorted(items, key=lambda i: (i.tag == "", i.tag, i.part, i.thing)))


def _of_set(read: Reading, stores: Stores, place_id: int, stock: list[Located]) -> UnserviceableItem:
    one = read.select(RotorSet, "place_id = ?", place_id)[0]
    last = read.select(Removal, "rotor_set_id = ?", one.id, order="id DESC", limit=1)
    tag = last[0] if last else None
    pieces = [read.get(Piece, s.stock.piece_id) for s in stock if s.stock.piece_id]
    return UnserviceableItem(
        tag=tag.code if tag else "", thing=one.code, sense=one.sense, part=read.get(Part, one.part_id).number, quantity=1,
        unit="pieces", serials=tuple(p.serial or p.code for p in pieces), condition=one.condition, where=stock[0].chain[-1].name,
        airframe=read.get(Airframe, tag.airframe_id).tail if tag else "",
        position=read.get(Position, tag.position_id).name if tag else "", removed_at=stores.when(tag.event_id) if tag else "",
        used=hours(tag.used_minutes if tag else one.used_minutes), sense_found=tag.sense_found if tag else "",
        reason=tag.reason if tag else "", holds=tuple(sorted({h.hold_code for s in stock for h in s.holds})),
        is_evidence=bool(tag and tag.is_evidence),
    )  # fmt: skip


def _of_stock(read: Reading, one: Located) -> UnserviceableItem:
    line = read.get(ReceiptLine, one.stock.receipt_line_id)
    piece = read.get(Piece, one.stock.piece_id) if one.stock.piece_id else None
    part = read.get(Part, line.part_id)
    return UnserviceableItem(
        tag="", thing=piece.code if piece else line.code, sense=part.sense or "", part=part.number,
        quantity=one.stock.quantity, unit=line.unit, serials=(piece.serial,) if piece and piece.serial else (),
        condition=one.stock.condition, where=one.chain[-1].name, airframe="", position="", removed_at="", used="",
        sense_found="", reason=piece.note if piece else "", holds=tuple(h.hold_code for h in one.holds), is_evidence=False,
    )  # fmt: skip
