"""Counting a place: a blind sheet, a count, a second count where it differs, and the difference settled.

A difference is a finding: it moves to or from *unaccounted*, a surplus goes on hold, and a blade that is
missing from its set breaks the set. Stock is never adjusted. Source: design 2 (counts), R8, R12.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from kittrack.domain import codes
from kittrack.domain.ledger import Condition, PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, Conflict, NotFound, Problem, Refusal
from kittrack.services import desk
from kittrack.services.counting_elsewhere import check_found_alone
from kittrack.services.counting_short import break_short_set, check_missing, check_short_named, keep_short_set
from kittrack.services.desk import Done, amount_of
from kittrack.store.act import Act, Reading, Slot
from kittrack.store.count_facts import is_counted_twice
from kittrack.store.database import Store
from kittrack.store.numbers import not_held
from kittrack.store.records import CountLine, Part, Place, ReceiptLine, RotorSet, StockCount
from kittrack.store.stock import Stock, containers_in, directly_in, end_place, place_named, stock_of_piece

COUNTED_KINDS = (
    PlaceKind.BIN,
    PlaceKind.GOODS_IN,
    PlaceKind.HOLD_CAGE,
    PlaceKind.BENCH,
    PlaceKind.VAN,
    PlaceKind.REMOVED_CAGE,
)


@dataclass(frozen=True)
class Counted:
    """One entry of a count: the code read on the thing, and how much of it is there.

    `code` is a receipt line (Y) for counted stock, a piece (U), a rotor set (R) or a kit (K); pieces and
    containers count 1 or 0. `missing` names the pieces that a set lacks, where it was opened to look.
    """

    code: str
    quantity: int
    condition: str = "serviceable"
    missing: tuple[str, ...] = ()


@desk.done_by("clerk", "manager")
def open_count(store: Store, *, place: str, by: str, at: datetime) -> Done:
    """Make a blind sheet for a place; answers with the count's code.

    Raises:
        Refused: a count of that place is open already.
    """
    with store.act("open a count", by=by, at=at) as act:
        where = place_named(act, place, kinds=COUNTED_KINDS)
        other = act.find(StockCount, place_id=where.id, state="open") or act.find(
            StockCount, place_id=where.id, state="counted"
        )
        require(
            desk.check_done_by(act, open_count),
            [Refusal(Rule.NOTHING_ERASED, other.code, _is_open(where, other))] if other else [],
        )
        count = act.insert(
            StockCount(
                code=act.new_code(StockCount, codes.Kind.COUNT), place_id=where.id, event_id=act.event_id
            )
        )
        for stock in directly_in(act, where.id):
            act.insert(
                CountLine(
                    stock_count_id=count.id, receipt_line_id=stock.receipt_line_id, piece_id=stock.piece_id,
                    condition=stock.condition, booked=stock.quantity,
                )
            )  # fmt: skip
        for container in containers_in(act, where.id):
            act.insert(CountLine(stock_count_id=count.id, container_id=container, booked=1))
    return Done(
        act.event_id,
        (count.code,),
        (f"{count.code}: count everything in {where.name} without looking at the record.",),
    )


def _is_open(where: Place, other: StockCount) -> str:
    return f"{where.name} is being counted already; go on with {other.code}, and settle it or begin it anew."


@desk.done_by("clerk", "manager")
def enter_count(store: Store, *, count: str, entries: Sequence[Counted], by: str, at: datetime) -> Done:
    """Enter what was counted. Where it differs, another person counts again and enters that.

    What is on the sheet and in no entry counts as not there. Who counts again counts what differed: a line that agreed
    stands as it is, unless it is entered again. The answer tells which lines differ.

    Raises:
        BadInput: every entry that can't be read.
        Refused: the same person counts twice (R8), the count is settled, or what differed was counted twice already,
            so that its figures are told.
    """
    with store.act("enter a count", by=by, at=at) as act:
        sheet = find_count(act, count)
        again = sheet.state == "counted"
        require(desk.check_done_by(act, enter_count), _check_counter(act, sheet))
        quantities = _read_entries(act, sheet, entries)
        differing = []
        for line in act.select(CountLine, "stock_count_id = ?", sheet.id):
            if again and line.id not in quantities and line.counted == line.booked:
                continue
            quantity = quantities.get(line.id, 0)
            changed = act.update(line, recounted=quantity) if again else act.update(line, counted=quantity)
            if quantity != line.booked:
                differing.append(_name(act, changed))
        if not again:
            act.update(sheet, state="counted", counted_by_id=act.by_id)
        short = [keep_short_set(act, sheet, e.code, e.missing) for e in entries if e.missing]
    if not differing:
        return Done(act.event_id, (sheet.code,), (f"{sheet.code} agrees with the record; settle it.", *short))
    step = "settle it with a second person" if again else "let another person count these again"
    first = f"{sheet.code} differs at {', '.join(differing)}: {step}."
    return Done(act.event_id, (sheet.code,), (first, *short))


@desk.done_by("clerk", "manager")
def settle_count(
    store: Store,
    *,
    count: str,
    reason: str,
    second: str,
    by: str,
    at: datetime,
    short_sets: Sequence[Counted] = (),
) -> Done:
    """Settle a count: what differs moves to or from *unaccounted*, with a reason and a second person.

    Raises:
        Refused: a difference was not counted twice, or no second person (R8); a set was found short that is not named
            among `short_sets` (R1); what was found is on record inside a set, a closed kit or a position, or is a kit
            that is issued (R1, R5, R10).
        Conflict: stock of the place moved since the sheet was made.
    """
    desk.require_text(reason=reason)
    with store.act("settle a count", by=by, at=at, second=second, reason=reason) as act:
        sheet = find_count(act, count)
        lines = act.select(CountLine, "stock_count_id = ?", sheet.id)
        require(
            desk.check_done_by(act, settle_count),
            desk.check_second(first=act.by, second=act.second, what="settling a count"),
            _check_counted(sheet, lines),
            check_short_named(act, sheet, [entry.code for entry in short_sets]),
            check_found_alone(act, lines),
        )
        _refuse_moved(act, sheet, lines)
        said = [sentence for line in lines if (sentence := _settle(act, sheet, line))]
        said += [break_short_set(act, entry.code, entry.missing) for entry in short_sets]
        act.update(sheet, state="settled")
    return Done(
        act.event_id, (sheet.code,), tuple(said) or (f"{sheet.code} is settled without a difference.",)
    )


def find_count(read: Reading, text: str) -> StockCount:
    """A count by its code."""
    code = codes.read_code(text, expect=codes.Kind.COUNT).text
    found = read.find(StockCount, code=code)
    if found is None:
        raise not_held(read, code)
    return found


def _check_counter(act: Act, sheet: StockCount) -> list[Refusal]:
    if sheet.state == "settled":
        return [
            Refusal(
                Rule.NOTHING_ERASED, sheet.code, f"{sheet.code} is settled; open a new count of the place."
            )
        ]
    if sheet.state == "counted" and sheet.counted_by_id == act.by_id:
        return [
            Refusal(
                Rule.SECOND_PERSON,
                sheet.code,
                f"{act.by.name} made the first count of {sheet.code}; another person counts again.",
            )
        ]
    if is_counted_twice(act.select(CountLine, "stock_count_id = ?", sheet.id)):
        return [
            Refusal(
                Rule.NOTHING_ERASED,
                sheet.code,
                f"What differs in {sheet.code} was counted twice; settle it, or begin it anew (count anew).",
            )
        ]
    return []


def _check_counted(sheet: StockCount, lines: Sequence[CountLine]) -> list[Refusal]:
    if sheet.state == "settled":
        return [Refusal(Rule.NOTHING_ERASED, sheet.code, f"{sheet.code} is settled already.")]
    if sheet.state == "open":
        return [
            Refusal(
                Rule.SECOND_PERSON,
                sheet.code,
                f"{sheet.code} has no count yet; enter what was counted first.",
            )
        ]
    if not is_counted_twice(lines) and any(line.counted != line.booked for line in lines):
        return [
            Refusal(
                Rule.SECOND_PERSON,
                sheet.code,
                f"{sheet.code} differs from the record; another person counts again before it is settled.",
            )
        ]
    return []


def _read_entries(act: Act, sheet: StockCount, entries: Sequence[Counted]) -> dict[int, int]:
    """The quantity of each line of the sheet by its id; a thing not on it gets a line of its own."""
    problems: list[Problem] = []
    counted: dict[int, int] = {}
    found: dict[int, int] = {}
    for row, entry in enumerate(entries, start=1):
        try:
            line = _line_of(act, sheet, entry)
            if entry.missing:
                check_missing(act, entry.code, entry.missing)
        except BadInput as error:
            problems += [replace(p, row=row) for p in error.problems]
            continue
        except NotFound as error:
            problems.append(Problem(str(error), "code", row))
            continue
        if entry.quantity < 0:
            problems.append(
                Problem(f"{entry.quantity} of {entry.code} can't lie there; count again", "quantity", row)
            )
        counted[line.id] = counted.get(line.id, 0) + entry.quantity
        if counted[line.id] > 1 and (line.piece_id is not None or line.container_id is not None):
            once = f"{_name(act, line)} has a number of its own and lies there once; enter it once"
            problems.append(Problem(once, "quantity", row))
        # a bottle is booked by its volume
        each = line.booked if line.piece_id is not None and line.booked else 1
        found[line.id] = counted[line.id] * each
    if problems:
        raise BadInput(problems)
    return found


def _line_of(act: Act, sheet: StockCount, entry: Counted) -> CountLine:
    code = codes.read_code(entry.code)
    key: dict[str, object] = {"stock_count_id": sheet.id}
    if code.kind in (codes.Kind.ROTOR_SET, codes.Kind.KIT):
        place = act.find(Place, code=code.text)
        if place is None:
            raise not_held(act, code.text)
        key["container_id"] = place.id
    elif code.kind is codes.Kind.PIECE:
        piece = desk.find_piece(act, code.text)
        key |= {"piece_id": piece.id, "receipt_line_id": piece.receipt_line_id}
    else:
        if entry.condition not in list(Condition):
            raise BadInput(
                f"{entry.condition!r} is no condition; one of: {', '.join(Condition)}", field="condition"
            )
        line = desk.find_line(act, code.text)
        key |= {"receipt_line_id": line.id, "piece_id": None, "condition": entry.condition}
    known = act.find(CountLine, **key)
    return known or act.insert(CountLine(booked=0, **{"condition": "on hold", **key}))  # type: ignore[arg-type]  # columns by name


def _name(act: Act, line: CountLine) -> str:
    if line.container_id is not None:
        return act.get(Place, line.container_id).code
    if line.piece_id is not None:
        return str(act.value("SELECT code FROM piece WHERE id = ?", line.piece_id))
    return act.get(ReceiptLine, line.receipt_line_id or 0).code


def _refuse_moved(act: Act, sheet: StockCount, lines: Sequence[CountLine]) -> None:
    now = {(s.receipt_line_id, s.piece_id, s.condition): s.quantity for s in directly_in(act, sheet.place_id)}
    inside = set(containers_in(act, sheet.place_id))
    booked = {
        (x.receipt_line_id, x.piece_id, x.condition): x.booked
        for x in lines
        if x.container_id is None and x.booked
    }
    if now != booked or inside != {x.container_id for x in lines if x.container_id is not None and x.booked}:
        raise Conflict(
            f"stock moved in or out of the place since {sheet.code} was opened; begin it anew (count anew) and count again"
        )


def _settle(act: Act, sheet: StockCount, line: CountLine) -> str:
    counted = line.recounted if line.recounted is not None else line.counted
    difference = (counted or 0) - line.booked
    if not difference:
        return ""
    nowhere = end_place(act, PlaceKind.UNACCOUNTED)
    name = _name(act, line)
    if line.container_id is not None:
        return _settle_container(act, sheet, line, nowhere, found=difference > 0)
    if line.piece_id is not None and difference > 0:
        return _found_elsewhere(act, sheet, stock_of_piece(act, line.piece_id), name)
    own = Slot(sheet.place_id, line.condition, line.piece_id)
    line_id = line.receipt_line_id or 0
    if difference < 0:
        act.move_stock(line_id, -difference, from_slot=own, to_slot=own.at_place(nowhere.id))
        return f"{name}: {_amount(act, line_id, -difference)} not there, now unaccounted."
    act.move_stock(
        line_id,
        difference,
        from_slot=Slot(nowhere.id, "on hold"),
        to_slot=Slot(sheet.place_id, Condition.ON_HOLD.value),
    )
    more = _amount(act, line_id, difference)
    return f"{name}: {more} more there than booked, on hold until somebody explains that."


def _amount(act: Act, line_id: int, quantity: int) -> str:
    line = act.get(ReceiptLine, line_id)
    return f"{amount_of(quantity, line.unit)} {act.get(Part, line.part_id).number}"


def _settle_container(act: Act, sheet: StockCount, line: CountLine, nowhere: Place, *, found: bool) -> str:
    container = act.get(Place, line.container_id or 0)
    if not found:
        act.move_container(container.id, from_place_id=sheet.place_id, to_place_id=nowhere.id)
        return f"{container.code} is not there and is now unaccounted, whole."
    was_in = act.value("SELECT inside_id FROM containment WHERE container_id = ?", container.id)
    act.move_container(container.id, from_place_id=was_in, to_place_id=sheet.place_id)
    rotor_set = act.find(RotorSet, place_id=container.id)
    if rotor_set is not None:
        act.update(rotor_set, condition=Condition.ON_HOLD.value)
    return f"{container.code} was found here and not where it was booked; it is on hold until somebody explains it."


def _found_elsewhere(act: Act, sheet: StockCount, was: Stock | None, name: str) -> str:
    if was is None:
        return (
            f"{name} was found here and is on record as used up: throw the bottle away if it is empty; if something is "
            "left in it, keep it apart and let nobody use it."
        )
    act.move_stock(
        was.receipt_line_id, was.quantity, from_slot=was.slot,
        to_slot=Slot(sheet.place_id, Condition.ON_HOLD.value, was.piece_id),
    )  # fmt: skip
    return f"{name} was found here and not where it was booked; it is on hold until somebody explains it."
