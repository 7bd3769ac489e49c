"""What the store knows of the numbers that stand in the fields of a form."""

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from kittrack.domain.codes import Code, Kind, looks_like_code, read_code
from kittrack.errors import BadInput, NotFound
from kittrack.queries.counts import CountedThing, CountResult, count_result
from kittrack.queries.kits import KitView, kit_view
from kittrack.queries.lookup import Thing, what_is
from kittrack.queries.orders import OrderedLine, orders
from kittrack.queries.scanned import WhatWasRead, what_was_read
from kittrack.services.line_standing import LineView, line_view
from kittrack.tui.deeds import Asker, Texts
from kittrack.tui.fact_text import facts_told
from kittrack.tui.kit_text import amount

_MOST: Final = 3  # numbers that a form tells about
_NAMING: Final = ("serial", "part", "sense", "lot code", "place")
BLIND: Final = ("count enter",)
"""Deeds whose person does not see what the record has, as what is there is to be found out."""
RAW: Final = "scans"
"""The field of a form that gathers the codes of a box."""


async def known_of(ask: Asker, texts: Texts, at: datetime) -> Sequence[str]:
    """A line or more for the first numbers of ours in the fields, and what the codes of a box say."""
    lines: list[str] = []
    for code in codes_in(" ".join(text for name, text in texts.items() if name != RAW))[:_MOST]:
        try:
            lines += await told_of(ask, code, at)
        except NotFound as error:
            lines.append(str(error))
    if texts.get(RAW):
        lines += box_lines(await ask(what_was_read, scans=texts[RAW].split("\n"), at=at))
    return lines


async def named_of(ask: Asker, texts: Texts, at: datetime) -> Sequence[str]:  # noqa: ARG001 - every hint's signature
    """What the first numbers of ours in the fields are, and nothing of where or how much of it the record has."""
    lines: list[str] = []
    for code in codes_in(" ".join(texts.values()))[-_MOST:]:
        try:
            thing: Thing = await ask(what_is, code=code.text)
        except NotFound as error:
            lines.append(str(error))
            continue
        facts = ", ".join(f"{name} {value}" for name, value in facts_told(thing.facts) if name in _NAMING)
        lines.append(f"{thing.code} {thing.kind}: {facts}" if facts else f"{thing.code} {thing.kind}")
    return lines


def codes_in(text: str) -> list[Code]:
    """The numbers of ours in a text, in order, each once; one that does not check is none."""
    found: dict[str, Code] = {}
    for word in text.replace(",", " ").replace("=", " ").split():
        if looks_like_code(word):
            try:
                found.setdefault(word, read_code(word))
            except BadInput:
                continue
    return list(found.values())


async def told_of(ask: Asker, code: Code, at: datetime) -> list[str]:
    """What the store says of one number, in a line or a few."""
    if code.kind is Kind.RECEIPT_LINE:
        return line_lines(await ask(line_view, line=code.text, at=at))
    if code.kind is Kind.KIT:
        return kit_lines(await ask(kit_view, kit=code.text, at=at))
    if code.kind is Kind.ORDER:
        lines: Sequence[OrderedLine] = await ask(orders, at=at)
        to_come = [line_to_come(line) for line in lines if line.order == code.text and line.outstanding]
        return [thing_line(await ask(what_is, code=code.text)), *to_come]
    if code.kind is Kind.COUNT:
        found: CountResult = await ask(count_result, count=code.text)
        return [thing_line(await ask(what_is, code=code.text)), *differences_told(found)]
    return [thing_line(await ask(what_is, code=code.text))]


def thing_line(thing: Thing) -> str:
    """A thing in one line."""
    facts = ", ".join(f"{name} {value}" for name, value in facts_told(thing.facts))
    where = f"; in {thing.where[0]}" if thing.where else ""
    held = f"; ON HOLD under {', '.join(thing.holds)}" if thing.holds else ""
    return f"{thing.code} {thing.kind}: {facts}{where}{held}"


def differences_told(found: CountResult) -> list[str]:
    """What of a count differs from the record, thing by thing; nothing while somebody is still to count blind."""
    return [_difference_told(one) for one in found.things if one.difference]


def _difference_told(one: CountedThing) -> str:
    named = " ".join(filter(None, (one.sense, one.part)))
    told = [f"{amount(one.booked or 0, one.unit)} on record"]
    told += [f"{amount(one.counted, one.unit)} counted"] if one.counted is not None else []
    told += [f"{amount(one.counted_again, one.unit)} counted again"] if one.counted_again is not None else []
    difference = one.difference or 0
    apart = f"{amount(abs(difference), one.unit)} {'MISSING' if difference < 0 else 'TOO MANY'}"
    return f"{one.thing} {named}: {', '.join(told)}: {apart}"


def line_to_come(line: OrderedLine) -> str:
    """What of a line of an order is still to come."""
    named = " ".join(filter(None, (line.sense, line.part, line.name)))
    rest, ordered = amount(line.outstanding, line.unit), amount(line.ordered, line.unit)
    return f"to come: {named}, {rest} of {ordered}, expected on {line.due_on}"


def line_lines(view: LineView) -> list[str]:
    """A receipt line in words: what it is, how far its inspection is, what it needs first."""
    named = " ".join(filter(None, (view.sense, view.part, view.name)))
    lot = f"lot {view.lot_code}" if view.lot_code else "lot unknown"
    lines = [
        f"{view.code} {named}: {amount(view.quantity, view.unit)} received, {lot}, of {view.supplier}, {view.reference}"
    ]
    lines += [f"{amount(one.quantity, view.unit)} {one.condition} in {one.place}" for one in view.lying]
    if view.is_by_piece:
        lines.append(
            f"{view.inspected} of {view.quantity} pieces inspected, {view.waiting} to go; look at every one"
        )
    lines += [f"Sampling: {view.sampling}"] if view.sampling else []
    if view.marks:
        lines.append(f"Marks of the part: {', '.join(f'{mark} is {sense}' for mark, sense in view.marks)}")
    return [
        *lines,
        *(f"NEEDS: {need}" for need in view.needs),
        *(f"ON HOLD under {hold}" for hold in view.holds),
    ]


def kit_lines(kit: KitView) -> list[str]:
    """A kit in a few lines: for what, how far, what is short."""
    whom = f"{kit.revision}, {kit.airframe}" if kit.airframe else kit.revision
    short = [
        f"SHORT: {amount(line.short, line.unit)} {line.sense} {line.kind} {line.part}".replace("  ", " ")
        for line in kit.lines
        if line.short
    ]
    counted = [
        f"line {line.rank}: {line.sense} {amount(line.needed, line.unit)} {line.kind} {line.part}".replace(
            "  ", " "
        )
        for line in kit.lines
        if kit.state == "building" and not short
    ]
    return [f"{kit.code} kit for {whom}: {kit.state}, in {kit.where}", *short, *counted]


def box_lines(read: WhatWasRead) -> list[str]:
    """What the codes of a box say, and what each fills."""
    return [
        *(f"{row.what}: {row.value} ({row.fills})" for row in read.rows),
        *(f"WRONG: {problem}" for problem in read.problems),
        *(
            f"IN DOUBT: {asked.question} Type the right one: {'; or '.join(asked.choices)}"
            for asked in read.questions
        ),
        *(f"LOOK AGAIN: {text}" for text in read.look_again),
        *read.notes,
    ]
