"""What is where: places, chains of containers, contents and holds, read inside any transaction."""

from collections.abc import Sequence
from dataclasses import dataclass

from kittrack.domain import codes
from kittrack.domain.ledger import AccountClass, Condition, Link, PlaceKind, account_class
from kittrack.errors import NotFound
from kittrack.store.act import Reading, Slot
from kittrack.store.records import Hold, HoldItem, Place


@dataclass(frozen=True, order=True)
class Stock:
    """A quantity of a receipt line, or one piece of it, in one slot."""

    receipt_line_id: int
    piece_id: int | None
    place_id: int
    condition: str
    quantity: int

    @property
    def slot(self) -> Slot:
        """Where it is, as a movement takes it."""
        return Slot(self.place_id, self.condition, self.piece_id)


@dataclass(frozen=True, order=True)
class Held:
    """One open hold on one thing: the kind of thing ("receipt line"...), its id, and the hold."""

    thing: str
    thing_id: int
    hold_code: str
    reason: str
    is_recall: bool


def end_place(read: Reading, kind: PlaceKind) -> Place:
    """The one place of a kind that every store has exactly one of (an end of the road, goods-in, a cage).

    Raises:
        NotFound: the store was never founded.
    """
    found = read.find(Place, kind=kind.value)
    if found is None:
        raise NotFound(f"the store has no {kind.value}; found it first with: kittrack found")
    return found


def place_named(read: Reading, text: str, *, kinds: Sequence[PlaceKind] = ()) -> Place:
    """The place that a scanned code or an exact name means.

    Raises:
        NotFound: there is none, or it is of another kind than asked for.
        BadInput: a code of ours whose check character is wrong.
    """
    wanted = " or ".join(k.value for k in kinds)
    if codes.looks_like_code(text):
        found = read.find(Place, code=codes.read_code(text).text)
    else:
        named = read.select(Place, "name = ? AND active = 1", text.strip())
        fitting = [p for p in named if not kinds or p.kind in kinds]
        found = next(iter(fitting or named), None)
    if found is None:
        raise NotFound(f"no place is known as {text.strip()!r}; scan a {wanted or 'place'}")
    if kinds and found.kind not in kinds:
        raise NotFound(f"{found.name} is a {found.kind}; scan a {wanted}")
    return found


def inside_of(read: Reading, place_id: int) -> int | None:
    """The place that a container is in, or None for a place that is no container."""
    found: int | None = read.value("SELECT inside_id FROM containment WHERE container_id = ?", place_id)
    return found


def chain(read: Reading, place_id: int) -> tuple[Place, ...]:
    """The places from one outward, itself first."""
    found = read.rows(
        "WITH RECURSIVE outward(id, depth) AS (SELECT CAST(? AS BIGINT), 0 UNION ALL "
        "SELECT c.inside_id, o.depth + 1 FROM containment c JOIN outward o ON c.container_id = o.id WHERE o.depth < 12) "
        "SELECT p.id, p.code, p.kind, p.name, p.site_id, p.person_id, p.closed, p.active "
        "FROM outward o JOIN place p ON p.id = o.id ORDER BY o.depth",
        place_id,
    )
    names = ("id", "code", "kind", "name", "site_id", "person_id", "closed", "active")
    return tuple(Place(**dict(zip(names, row, strict=True))) for row in found)


def class_of(places: Sequence[Place], *, condition: str, held: bool) -> AccountClass:
    """The line of the recall account for stock whose chain of places is given. See `account_class`.

    A sealed container is a closed kit; a closed set says nothing about its kit.
    """
    links = [Link(PlaceKind(p.kind), sealed=p.kind == PlaceKind.KIT and bool(p.closed)) for p in places]
    return account_class(links, condition=Condition(condition), held=held)


_BELOW = (
    "WITH RECURSIVE below(id) AS (SELECT CAST(? AS BIGINT) UNION ALL "
    "SELECT c.container_id FROM containment c JOIN below b ON c.inside_id = b.id) "
)


def contents(read: Reading, place_id: int) -> list[Stock]:
    """All stock in a place and in the containers inside it, ordered by receipt line and piece."""
    rows = read.rows(
        _BELOW + "SELECT h.receipt_line_id, h.piece_id, h.place_id, h.condition, h.quantity "
        "FROM holding h WHERE h.place_id IN (SELECT id FROM below) "
        "ORDER BY h.receipt_line_id, coalesce(h.piece_id, 0), h.place_id, h.condition",
        place_id,
    )
    return [Stock(*row) for row in rows]


def directly_in(read: Reading, place_id: int) -> list[Stock]:
    """The stock that lies in a place itself, not in a container inside it."""
    rows = read.rows(
        "SELECT receipt_line_id, piece_id, place_id, condition, quantity FROM holding WHERE place_id = ? "
        "ORDER BY receipt_line_id, coalesce(piece_id, 0), condition",
        place_id,
    )
    return [Stock(*row) for row in rows]


def containers_in(read: Reading, place_id: int) -> list[int]:
    """The place ids of the containers directly inside a place, in order."""
    return [
        row[0]
        for row in read.rows("SELECT container_id FROM containment WHERE inside_id = ? ORDER BY 1", place_id)
    ]


def slot_of_piece(read: Reading, piece_id: int) -> Stock:
    """Where a piece is.

    Raises:
        NotFound: the piece is nowhere any more (a bottle that was used up).
    """
    row = read.row(
        "SELECT receipt_line_id, piece_id, place_id, condition, quantity FROM holding WHERE piece_id = ?",
        piece_id,
    )
    if row is None:
        raise NotFound(f"piece {piece_id} is nowhere in the stores: it was used up")
    return Stock(*row)


def open_holds(
    read: Reading,
    *,
    receipt_lines: Sequence[int] = (),
    pieces: Sequence[int] = (),
    rotor_sets: Sequence[int] = (),
    kits: Sequence[int] = (),
) -> list[Held]:
    """Every open hold on any of the things, in order."""
    found: list[Held] = []
    asked = (("receipt_line", receipt_lines), ("piece", pieces), ("rotor_set", rotor_sets), ("kit", kits))
    for thing, ids in asked:
        unique = sorted(set(ids))
        if not unique:
            continue
        rows = read.rows(
            f"SELECT i.{thing}_id, h.code, h.reason, h.is_recall FROM {HoldItem.shape.name} i "
            f"JOIN {Hold.shape.name} h ON h.id = i.hold_id "
            f"WHERE i.released_event_id IS NULL AND i.{thing}_id IN ({', '.join('?' * len(unique))})",
            *unique,
        )
        found += [Held(thing.replace("_", " "), i, code, why, bool(recall)) for i, code, why, recall in rows]
    return sorted(found)
