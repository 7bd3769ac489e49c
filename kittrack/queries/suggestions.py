"""What begins with what somebody types: numbers of ours, names, part numbers, by index and a few rows at a time.

Each source is one column with an index. A beginning is a range of that index, so a million rows cost as much as ten;
as an index tells capitals apart, a name is looked for as it was typed, in capitals, in small letters and with
capitals at the beginning of its words. Parts are found by any words of their names too, among the newest of them.
What belongs to a type, its revisions and fixings, is that of the type or airframe in the fields beside it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from kittrack.domain.codes import Kind
from kittrack.domain.text import is_unseen
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.word_search import words_held

_MOST: Final = 100  # of one answer
_LONGEST: Final = 100  # characters of which somebody knows the end themselves
_WINDOW: Final = 500  # rows of an index that are looked at for those that count
_END: Final = "\U0010ffff"  # sorts after every character


@dataclass(frozen=True)
class Suggestion:
    """What a field could say, and what that is in words."""

    value: str
    words: str


@dataclass(frozen=True)
class _Source:
    """One column: its table with what is joined to it, what a row says in words, which rows count.

    `within` is a part of the column's index, `where` looks at the rows that the index finds. Numbers of ours begin
    with the newest.
    """

    tables: str
    column: str
    words: str
    where: str = "1 = 1"
    within: str = "1 = 1"
    is_code: bool = False


def _code(tables: str, words: str, where: str = "1 = 1") -> _Source:
    return _Source(tables, "x.code", words, where, is_code=True)


def _place(kind: str) -> _Source:
    return _Source(
        "place x", "x.name", "x.kind || ' ' || x.code", "x.active = 1", within=f"x.kind = '{kind}'"
    )


_SHELF_KINDS: Final = ("bin", "goods-in", "hold cage", "bench", "van", "removed-parts cage")
_OF_PART: Final = "JOIN part t ON t.id = x.part_id"
_OF_TAIL: Final = "JOIN airframe a ON a.id = x.airframe_id"
_PART_WORDS: Final = "coalesce(x.sense || ' ', '') || x.kind || ' ' || x.name"
_SENSE: Final = "coalesce(t.sense || ' ', '') || t.number"

_SOURCES: Final[dict[str, tuple[_Source, ...]]] = {
    Kind.AIRFRAME.value: (_code("airframe x", "x.tail || ', ' || x.state"), _Source("airframe x", "x.tail", "x.code || ', ' || x.state")),
    Kind.COUNT.value: (_code("stock_count x JOIN place p ON p.id = x.place_id", "x.state || ', ' || p.name"),),
    Kind.DELIVERY.value: (_code("delivery x JOIN company c ON c.id = x.supplier_id", "c.name || ' ' || x.reference"),),
    Kind.DRILL.value: (_code("recall_drill x", "'recall drill'"),),
    Kind.HOLD.value: (_code("hold x", "x.scope || ' ' || x.scope_text || ': ' || x.reason"),),
    Kind.JOB.value: (_code(f"job x {_OF_TAIL}", "a.tail || ', ' || x.state || ': ' || x.purpose"),),
    Kind.KIT.value: (_code("kit x", "x.state || coalesce(', seal ' || x.seal, '')"),),
    Kind.LOT.value: (_code(f"lot x {_OF_PART}", "coalesce(x.lot_code, 'lot unknown') || ' of ' || t.number"),),
    Kind.NOTICE.value: (_code("recall_notice x", "x.state || ', ' || x.recipient"),),
    Kind.ORDER.value: (_code("purchase_order x JOIN company c ON c.id = x.supplier_id", "c.name"),),
    Kind.PERSON.value: (
        _code("person x", "x.name", "x.active = 1"), _Source("person x", "x.name", "x.code", "x.active = 1"),
    ),
    Kind.PIECE.value: (
        _code(f"piece x {_OF_PART}", f"{_SENSE} || coalesce(', serial ' || x.serial, '')"),
        _Source(f"piece x {_OF_PART}", "x.serial", f"x.code || ' ' || {_SENSE}"),
    ),
    Kind.POSITION.value: (_code(f"position x {_OF_TAIL}", "a.tail || ' ' || x.name"),),
    Kind.RECEIPT_LINE.value: (
        _code(f"receipt_line x {_OF_PART} JOIN lot l ON l.id = x.lot_id", f"{_SENSE} || coalesce(', lot ' || l.lot_code, ', lot unknown')"),
    ),
    Kind.ROTOR_SET.value: (_code(f"rotor_set x {_OF_PART}", f"{_SENSE} || ', ' || x.state || ', ' || x.condition"),),
    Kind.SHELF_PLACE.value: (_code("place x", "x.kind || ' ' || x.name", "x.active = 1"), *map(_place, _SHELF_KINDS)),
    Kind.SHIFT_HANDOVER.value: (_code("shift_handover x", "'since ' || x.since_at"),),
    Kind.TAG.value: (_code("removal x JOIN position p ON p.id = x.position_id JOIN airframe a ON a.id = p.airframe_id", "a.tail || ' ' || p.name"),),
    Kind.TOOL.value: (
        _code("tool x", "x.kind || ' ' || x.name", "x.active = 1"), _Source("tool x", "x.name", "x.kind || ' ' || x.code", "x.active = 1"),
    ),
    Kind.VOUCHER.value: (_code("voucher x JOIN kit k ON k.id = x.kit_id", "k.code || ', ' || x.state"),),
    "apron": (_place("apron"),),
    "company": (_Source("company x", "x.name", "'company'"),),
    "lot code": (_Source(f"lot x {_OF_PART}", "x.lot_code", "x.code || ' of ' || t.number"),),
    "maker": (_Source("company x", "x.name", "'maker'", "x.is_maker = 1"),),
    "part": (_Source("part x", "x.number", _PART_WORDS),),
    "site": (_Source("site x", "x.name", "x.time_zone"),),
    "supplier": (_Source("company x", "x.name", "'supplier'", "x.is_supplier = 1"),),
    "type": (_Source("airframe_type x", "x.name", "'type'"),),
}  # fmt: skip
_REVISION: Final = "type revision"
_ITS_REVISION: Final = "its revision"
_FIXING: Final = "fixing"
_PART: Final = "part"
_PARTS_LOOKED_AT: Final = 5_000
"""Parts whose names are looked through: 1.3 ms, where all of 100,000 parts take 200 ms."""

KINDS: Final = (*_SOURCES, _REVISION, _ITS_REVISION, _FIXING)
"""What there are suggestions of: numbers of ours by the letter of their kind, and names."""


def suggestions(
    store: Store, *, of: Sequence[str], text: str, limit: int = 8, beside: Mapping[str, str] | None = None
) -> tuple[Suggestion, ...]:
    """What begins with a text, the same text first, then source by source: numbers from the newest, names in order.

    Parts whose names hold every word of the text come last.

    Args:
        of: what is looked for, among `KINDS`.
        text: the beginning; empty for the first of everything.
        limit: how many at the most, up to 100.
        beside: what stands in the other fields, by their names.
    """
    typed = text.strip()
    if len(typed) > _LONGEST or any(map(is_unseen, typed)):
        return ()
    most = max(1, min(limit, _MOST))
    found: dict[str, Suggestion] = {}
    with store.reading() as read:
        for kind in of:
            for value, words in _of_kind(read, kind, typed, most, beside or {}):
                found.setdefault(value, Suggestion(value, words))
        if _PART in of and typed and len(found) < most:
            for value, words in _parts_called(read, typed, most):
                found.setdefault(value, Suggestion(value, words))
    ranked = sorted(found.values(), key=lambda one: one.value.casefold() != typed.casefold())
    return tuple(ranked[:most])


def _of_kind(
    read: Reading, kind: str, typed: str, most: int, beside: Mapping[str, str]
) -> Iterator[tuple[str, str]]:
    if kind == _REVISION:
        return _revisions(read, typed)
    if kind in (_ITS_REVISION, _FIXING):
        return _of_its_type(read, kind, typed, beside)
    return _rows(read, kind, typed, most)


def _rows(read: Reading, kind: str, typed: str, most: int) -> Iterator[tuple[str, str]]:
    for source in _SOURCES[kind]:
        for start in _starts(typed, is_code=source.is_code):
            yield from read.rows(_sql(source), start, start + _END, most)


def _sql(source: _Source) -> str:
    """Looks at no more than a window of the index, however many rows of it don't count."""
    order = f"{source.column} DESC" if source.is_code else source.column
    table, _, joined = source.tables.partition(" x")
    return (
        f"SELECT {source.column}, {source.words} FROM (SELECT * FROM {table} x WHERE {source.within} "
        f"AND {source.column} >= ? AND {source.column} < ? ORDER BY {order} LIMIT {_WINDOW}) x{joined} "
        f"WHERE {source.where} ORDER BY {order} LIMIT ?"
    )


def _starts(typed: str, *, is_code: bool) -> tuple[str, ...]:
    """How a beginning may stand in an index that tells capitals apart."""
    if is_code:
        return (typed.upper(),)
    return tuple(dict.fromkeys((typed, typed.upper(), typed.lower(), typed.capitalize(), typed.title())))


def _revisions(read: Reading, typed: str) -> Iterator[tuple[str, str]]:
    """Type revisions such as "QA A": by the type's first word, then by all that was typed."""
    sql = (
        "SELECT y.name || ' ' || v.name, 'type revision' FROM airframe_type y JOIN type_revision v ON v.airframe_type_id = y.id "
        "WHERE y.name >= ? AND y.name < ? ORDER BY y.name, v.name LIMIT ?"
    )
    for start in _starts(typed.split(" ", maxsplit=1)[0], is_code=False):
        for name, words in read.rows(sql, start, start + _END, _MOST):
            if name.casefold().startswith(typed.casefold()):
                yield name, words


def _parts_called(read: Reading, typed: str, most: int) -> Iterator[tuple[str, str]]:
    """Parts among the newest whose names hold every word that was typed, by number."""
    conditions, bound = words_held("x.name", typed)
    sql = (
        f"SELECT x.number, {_PART_WORDS} FROM (SELECT number, sense, kind, name FROM part ORDER BY id DESC "
        f"LIMIT {_PARTS_LOOKED_AT}) x WHERE {' AND '.join(conditions)} ORDER BY x.number LIMIT ?"
    )
    yield from read.rows(sql, *bound, most)


def _of_its_type(
    read: Reading, kind: str, typed: str, beside: Mapping[str, str]
) -> Iterator[tuple[str, str]]:
    """The revisions of the type beside, or of the airframe's there; the fixings of that revision."""
    of_type = "y.name = ?"
    named = beside.get("airframe_type", "").strip()
    if not named:
        named = beside.get("airframe", "").strip()
        of_type = "y.id IN (SELECT v.airframe_type_id FROM airframe a JOIN type_revision v ON v.id = a.type_revision_id WHERE ? IN (a.code, a.tail))"
    revisions = f"airframe_type y JOIN type_revision r ON r.airframe_type_id = y.id AND {of_type}"
    sql = f"SELECT r.name, 'revision of ' || y.name FROM {revisions} ORDER BY r.name LIMIT {_MOST}"
    given = [named]
    if kind == _FIXING:
        sql = (
            f"SELECT f.name, 'fixing of ' || y.name || ' ' || r.name FROM {revisions} JOIN hub_fixing f ON f.type_revision_id = r.id "
            f"WHERE r.name = ? ORDER BY f.name LIMIT {_MOST}"
        )
        given.append(beside.get("revision", "").strip())
    for name, words in read.rows(sql, *given):
        if name.casefold().startswith(typed.casefold()):
            yield name, words
