"""What is where: places, chains of containers, contents and holds, read inside any transaction."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from kittrack.domain import codes
from kittrack.domain.ledger import AccountClass, Condition, Link, PlaceKind, account_class
from kittrack.domain.text import either
from kittrack.errors import NotFound
from kittrack.store.act import Reading, Slot
from kittrack.store.numbers import not_held
from kittrack.store.records import Hold, HoldItem, Piece, Place


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
    wanted = either([k.value for k in kinds])
    if codes.looks_like_code(text):
        code = codes.read_code(text).text
        found = read.find(Place, code=code)
        if found is None:
            raise not_held(read, code)
    else:
        named = read.select(Place, "name = ? AND active = 1", text.strip())
        fitting = [p for p in named if not kinds or p.kind in kinds]
        found = next(iter(fitting or named), None)
    if found is None:
        raise NotFound(f"no place is known as {text.strip()!r}; scan a {wanted or 'place'}")
    if kinds and found.kind not in kinds:
        what = "person" if found.kind == PlaceKind.HANDS else found.kind
        raise NotFound(f"{found.name} is {'an' if what[0] in 'aeiou' else 'a'} {what}; scan a {wanted}")
    return found


def inside_of(read: Reading, place_id: int) -> int | None:
    """The place that a container is in, or None for a place that is no container."""
    found: int | None = read.value("SELECT inside_id FROM containment WHERE container_id = ?", place_id)
    return found


def chain(read: Reading, place_id: int) -> tuple[Place, ...]:
    """The places from one outward, itself first."""
    return chains(read, [place_id])[place_id]


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


def stock_of_piece(read: Reading, piece_id: int) -> Stock | None:
    """Where a piece is; None for a bottle that was used up, which is nowhere any more."""
    row = read.row(
        "SELECT receipt_line_id, piece_id, place_id, condition, quantity FROM holding WHERE piece_id = ?",
        piece_id,
    )
    return None if row is None else Stock(*row)


def slot_of_piece(read: Reading, piece_id: int) -> Stock:
    """Where a piece is.

    Raises:
        NotFound: the piece is nowhere any more (a bottle that was used up).
    """
    found = stock_of_piece(read, piece_id)
    if found is None:
        raise NotFound(f"{read.get(Piece, piece_id).code} was used up and lies nowhere; scan another one")
    return found


def open_holds(
    read: Reading,
    *,
    receipt_lines: Sequence[int] = (),
    pieces: Sequence[int] = (),
    rotor_sets: Sequence[int] = (),
    kits: Sequence[int] = (),
) -> list[Held]:
    """Every open hold on any of the things, in order."""
    asked = {"receipt_line": receipt_lines, "piece": pieces, "rotor_set": rotor_sets, "kit": kits}
    wanted = {thing: sorted(set(ids)) for thing, ids in asked.items() if ids}
    if not wanted:
        return []
    either = " OR ".join(f"i.{thing}_id IN ({', '.join('?' * len(ids))})" for thing, ids in wanted.items())
    rows = read.rows(
        f"SELECT {', '.join(f'i.{thing}_id' for thing in wanted)}, h.code, h.reason, h.is_recall "
        f"FROM {HoldItem.shape.name} i JOIN {Hold.shape.name} h ON h.id = i.hold_id "
        f"WHERE i.released_event_id IS NULL AND ({either})",
        *(row_id for ids in wanted.values() for row_id in ids),
    )
    return sorted(
        Held(thing.replace("_", " "), row_id, code, why, bool(recall))
        for *on, code, why, recall in rows
        for thing, row_id in zip(wanted, on, strict=True)
        if row_id is not None
    )


def chains(read: Reading, place_ids: Iterable[int]) -> dict[int, tuple[Place, ...]]:
    """The places from each of many outward, itself first; two questions for all of them."""
    found: dict[int, list[int]] = {}
    unique = sorted(set(place_ids))
    for part in _parts(unique):
        # A joined recursion would have PostgreSQL read all containers: it can't know how few rows a step has.
        for start, place_id in read.rows(
            "WITH RECURSIVE outward(start, id, depth) AS ("
            f"SELECT id, id, 0 FROM place WHERE id IN ({', '.join('?' * len(part))}) UNION ALL "
            "SELECT o.start, (SELECT c.inside_id FROM containment c WHERE c.container_id = o.id), o.depth + 1 "
            "FROM outward o WHERE o.id IS NOT NULL AND o.depth < 12) "
            "SELECT start, id FROM outward WHERE id IS NOT NULL ORDER BY start, depth",
            *part,
        ):
            found.setdefault(start, []).append(place_id)
    known = _places(read, sorted({place_id for ids in found.values() for place_id in ids}))
    return {start: tuple(known[place_id] for place_id in ids) for start, ids in found.items()}


def _places(read: Reading, place_ids: Sequence[int]) -> dict[int, Place]:
    return {
        row[0]: _place(row)
        for part in _parts(place_ids)
        for row in read.rows(
            f"SELECT {', '.join(_PLACE_COLUMNS)} FROM place WHERE id IN ({', '.join('?' * len(part))})", *part
        )
    }


def _parts(ids: Sequence[int]) -> Iterator[Sequence[int]]:
    """Numbers in portions that one question takes."""
    for start in range(0, len(ids), 500):
        yield ids[start : start + 500]


_PLACE_COLUMNS = ("id", "code", "kind", "name", "site_id", "person_id", "closed", "active")


def _place(row: Sequence[Any]) -> Place:
    return Place(**dict(zip(_PLACE_COLUMNS, row, strict=True)))


@dataclass(frozen=True)
class Located:
    """Stock with the places around it, what it is held by, and its line of the recall account."""

    stock: Stock
    chain: tuple[Place, ...]
    holds: tuple[Held, ...]
    account_class: AccountClass

    def innermost(self, kind: PlaceKind) -> Place | None:
        """The nearest place of a kind around the stock, or None."""
        return next((p for p in self.chain if p.kind == kind), None)


def within(*kinds: PlaceKind) -> str:
    """The condition on `holding h` that it lies in a place of some kinds or in a container inside one, at any depth.

    Found from the places inward: what went to the ends of the road, which grows for ever, is not looked at.
    """
    named = ", ".join(f"'{kind.value}'" for kind in kinds)
    return (
        f"h.place_id IN (WITH RECURSIVE within(id) AS (SELECT id FROM place WHERE kind IN ({named}) UNION ALL "
        "SELECT c.container_id FROM containment c JOIN within w ON c.inside_id = w.id) SELECT id FROM within)"
    )


def located(read: Reading, where: str, *params: Any) -> list[Located]:
    """All stock that a condition on `holding h` selects, the supplier's side left out, in a stable order.

    Holds on the receipt line, the piece, the set and the kit around it all count, and so does a set that
    is not serviceable as a whole (removed and not yet inspected).
    """
    rows = read.rows(
        "SELECT h.receipt_line_id, h.piece_id, h.place_id, h.condition, h.quantity FROM holding h "
        f"JOIN place p ON p.id = h.place_id WHERE p.kind <> 'supplier' AND ({where}) "
        "ORDER BY h.receipt_line_id, coalesce(h.piece_id, 0), h.place_id, h.condition",
        *params,
    )
    stock = [Stock(*row) for row in rows]
    around = chains(read, (s.place_id for s in stock))
    holds = _open_holds_by_thing(read)
    unfit = _unfit_sets(read, around)
    containers = {place: _holdable(places) for place, places in around.items()}
    classes: dict[tuple[int, str, bool], AccountClass] = {}
    found = []
    for item in stock:
        places, inside = around[item.place_id], containers[item.place_id]
        here = _held_by(holds, item, inside) if holds else ()
        held = bool(here) or any(place_id in unfit for _, place_id in inside)
        key = (item.place_id, item.condition, held)
        if key not in classes:
            classes[key] = class_of(places, condition=item.condition, held=held)
        found.append(Located(item, places, here, classes[key]))
    return found


def _holdable(places: Sequence[Place]) -> list[tuple[str, int]]:
    """The sets and kits around stock, on which a hold may lie."""
    return [(p.kind, p.id) for p in places if p.kind in (PlaceKind.ROTOR_SET, PlaceKind.KIT)]


def _held_by(
    holds: Mapping[tuple[str, int], tuple[Held, ...]], item: Stock, inside: Sequence[tuple[str, int]]
) -> tuple[Held, ...]:
    keys = [("receipt line", item.receipt_line_id), ("piece", item.piece_id or 0), *inside]
    return tuple(sorted({h for key in keys for h in holds.get(key, ())}))


def _unfit_sets(read: Reading, around: Mapping[int, tuple[Place, ...]]) -> frozenset[int]:
    """The place ids of the sets around that are not serviceable as a whole."""
    sets = sorted({p.id for places in around.values() for p in places if p.kind == PlaceKind.ROTOR_SET})
    found: set[int] = set()
    for start in range(0, len(sets), 500):
        part = sets[start : start + 500]
        marks = ", ".join("?" * len(part))
        rows = read.rows(
            f"SELECT place_id FROM rotor_set WHERE condition <> 'serviceable' AND place_id IN ({marks})",
            *part,
        )
        found |= {row[0] for row in rows}
    return frozenset(found)


def _open_holds_by_thing(read: Reading) -> dict[tuple[str, int], tuple[Held, ...]]:
    """Every open hold by the thing that it is on, sets and kits by their place; they are few at any time."""
    rows = read.rows(
        "SELECT i.receipt_line_id, i.piece_id, s.place_id, k.place_id, h.code, h.reason, h.is_recall "
        "FROM hold_item i JOIN hold h ON h.id = i.hold_id LEFT JOIN rotor_set s ON s.id = i.rotor_set_id "
        "LEFT JOIN kit k ON k.id = i.kit_id WHERE i.released_event_id IS NULL ORDER BY i.id"
    )
    found: dict[tuple[str, int], tuple[Held, ...]] = {}
    for line, piece, rotor_set, kit, code, reason, recall in rows:
        things = (("receipt line", line), ("piece", piece), ("rotor set", rotor_set), ("kit", kit))
        thing, thing_id = next((t, i) for t, i in things if i is not None)
        held = Held(thing, thing_id, code, reason, bool(recall))
        found[thing, thing_id] = (*found.get((thing, thing_id), ()), held)
    return found
