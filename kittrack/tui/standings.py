"""What a number of ours stands for at this moment, in words, and what comes next for it."""

from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from kittrack.domain.codes import Code, Kind
from kittrack.domain.ledger import PlaceKind
from kittrack.errors import NotFound
from kittrack.queries.counts import count_result
from kittrack.queries.kits import KitView, kit_view
from kittrack.queries.labels import label_history
from kittrack.queries.lookup import Thing, what_is
from kittrack.queries.orders import orders
from kittrack.queries.proofs import SetProof, set_proofs
from kittrack.queries.recalls import Drill, RecallStanding, drill, recall_standing
from kittrack.services.line_standing import LineView, line_view
from kittrack.tui import layout
from kittrack.tui.deeds import Draw
from kittrack.tui.fact_text import facts_told
from kittrack.tui.hints import differences_told, line_lines, line_to_come
from kittrack.tui.kit_text import amount, kit_lines
from kittrack.tui.listing import Ask, Step
from kittrack.tui.rows import put_away_from
from kittrack.tui.verdicts import reasons_in_words

EXPLAINED: Final = (Kind.ROTOR_SET, Kind.KIT, Kind.AIRFRAME, Kind.POSITION, Kind.LOT, Kind.RECEIPT_LINE)
"""Kinds about which figures decide."""

TRACED: Final = (Kind.LOT, Kind.RECEIPT_LINE, Kind.PIECE, Kind.ROTOR_SET, Kind.KIT, Kind.AIRFRAME, Kind.JOB)
"""Kinds that are made of something and went somewhere."""


@dataclass(frozen=True)
class Standing:
    """A thing in words for any width, and what comes next for it, None where nothing does."""

    draw: Draw
    step: Step | None


async def standing_of(ask: Ask, code: Code, at: datetime) -> Standing:
    """What the store says of a number.

    Raises:
        NotFound: nothing is known under it.
    """
    of_kind = _OF_KIND.get(code.kind)
    if of_kind is not None:
        return await of_kind(ask, code, at)
    thing: Thing = await ask(what_is, code=code.text)
    return Standing(wrapping(thing_lines(thing)), _STEPS.get(code.kind))


def wrapping(lines: Sequence[str]) -> Draw:
    """Lines that wrap at whatever width there is."""
    return lambda width: [part for line in lines for part in layout.wrapped(line, width=width, indent="  ")]


def thing_lines(thing: Thing) -> list[str]:
    """A thing in words: what it is, its facts, where it is, what holds it."""
    lines = [f"{thing.kind} {thing.code}", *(f"{name}: {value}" for name, value in facts_told(thing.facts))]
    lines += [f"it is in {' in '.join(thing.where)}"] if thing.where else []
    return [*lines, *(f"ON HOLD under {hold}" for hold in thing.holds), *thing.labels]


_STEPS: Final = {
    Kind.DELIVERY: Step("what", "show it"),
    Kind.JOB: Step("job show", "show the job"),
    Kind.LOT: Step("recall", "account for the lot"),
    Kind.PERSON: Step("person show", "show the person"),
    Kind.POSITION: Step("aircraft", "show the aircraft"),
    Kind.SHELF_PLACE: Step("shelf", "show what lies there"),
    Kind.TOOL: Step("tool calibrate", "record a calibration"),
}


# ---- receipt lines, pieces, sets, kits -------------------------------------------------------------


async def _airframe(ask: Ask, code: Code, _at: datetime) -> Standing:
    """An airframe of the fleet is looked at; the records of one that was sold or written off go along with it."""
    thing: Thing = await ask(what_is, code=code.text)
    is_ours = dict(thing.facts).get("state") == "active"
    step = Step("airframe show", "show its plan") if is_ours else _RECORDS
    return Standing(wrapping(thing_lines(thing)), step)


_RECORDS: Final = Step("archive airframe", "write its records to go along")
_LABEL: Final = Step("label print", "draw its label")

_OF_LINE: Final = {
    "attach its paper": "paper attach",
    "record its shelf life": "expiry record",
    "inspect its pieces": "inspect pieces",
    "inspect it": "inspect stock",
    "decide on what was held": "inspect stock",
    "put it away": "move",
}


async def _line(ask: Ask, code: Code, at: datetime) -> Standing:
    view: LineView = await ask(line_view, line=code.text, at=at)
    deed = _OF_LINE.get(view.next_step)
    if deed is None and view.is_expired_outside_the_cage:
        return Standing(wrapping(line_lines(view)), Step("move", "carry it to the hold cage"))
    if deed is None and view.is_expired and view.lying:
        return Standing(wrapping(line_lines(view)), Step("scrap", "scrap it"))
    if deed is None and await _lacks_label(ask, code):
        return Standing(wrapping(line_lines(view)), _LABEL)
    given = put_away_from(view.put_away_from) if view.put_away_from else ()
    return Standing(wrapping(line_lines(view)), Step(deed, view.next_step, given) if deed else None)


_OF_COUNT: Final = {
    "count": Step("count enter", "enter what was counted"),
    "count again": Step("count enter", "enter what another person counted"),
    "settle": Step("count settle", "settle the differences"),
}


async def _count(ask: Ask, code: Code, _at: datetime) -> Standing:
    thing: Thing = await ask(what_is, code=code.text)
    step = _OF_COUNT.get(dict(thing.facts).get("to do", ""), Step("count show", "show what it found"))
    told = differences_told(await ask(count_result, count=code.text))
    return Standing(wrapping([*thing_lines(thing), *told]), step)


_IN_STORES: Final = (
    PlaceKind.BIN, PlaceKind.BENCH, PlaceKind.GOODS_IN, PlaceKind.VAN, PlaceKind.HOLD_CAGE, PlaceKind.REMOVED_CAGE,
)  # fmt: skip
_TO_PUT_AWAY_FROM: Final = (PlaceKind.GOODS_IN, PlaceKind.HOLD_CAGE, PlaceKind.REMOVED_CAGE)
"""Where nothing serviceable stays."""


async def _piece(ask: Ask, code: Code, _at: datetime) -> Standing:
    thing: Thing = await ask(what_is, code=code.text)
    facts = dict(thing.facts)
    condition = facts.get("condition")
    if thing.holds or not _is_in_stores(thing):
        step = Step("trace", "trace it")
    elif condition == "on hold":
        step = Step("inspect again", "inspect it again")
    elif condition == "unserviceable":
        step = Step("scrap", "scrap it")
    elif "opened" in facts and await _lacks_label(ask, code):
        step = _LABEL
    else:
        step = Step("move", "move it")
    return Standing(wrapping(thing_lines(thing)), step)


async def _rotor_set(ask: Ask, code: Code, _at: datetime) -> Standing:
    thing: Thing = await ask(what_is, code=code.text)
    facts = dict(thing.facts)
    [proof] = (
        *await ask(set_proofs, rotor_sets=[code.text]),
        *([None] if facts.get("state") == "broken" else []),
    )[:1]
    step = _next_of_set(facts, thing, proof)
    if step.deed == "explain" and _is_in_stores(thing) and await _lacks_label(ask, code):
        step = _LABEL
    return Standing(wrapping(thing_lines(thing)), step)


def _is_in_stores(thing: Thing) -> bool:
    return thing.around in _IN_STORES


async def _lacks_label(ask: Ask, code: Code) -> bool:
    try:
        await ask(label_history, thing=code.text)
    except NotFound:
        return True
    return False


def _next_of_set(facts: dict[str, str], thing: Thing, proof: SetProof | None) -> Step:
    if facts.get("state") == "broken" or thing.holds:
        return Step("trace", "trace it")
    if facts.get("condition") == "unserviceable":
        return Step("scrap", "scrap it")
    if facts.get("condition") == "on hold":
        return Step("inspect set", "inspect the set")
    if proof is None or not proof.method:
        return Step("set prove", "prove its match")
    if thing.around in _TO_PUT_AWAY_FROM:
        return Step("move", "put it away")
    return Step("explain", "explain its match")


async def _kit(ask: Ask, code: Code, at: datetime) -> Standing:
    view: KitView = await ask(kit_view, kit=code.text, at=at)
    sets = [thing for line in view.lines if line.kind == "rotor set" for thing in line.things]
    proofs: Sequence[SetProof] = await ask(set_proofs, rotor_sets=sets) if sets else ()
    by_code = {proof.code: proof for proof in proofs}

    def draw(width: int) -> list[str]:
        whom = f"{view.revision}, {view.airframe}" if view.airframe else view.revision
        head = f"{view.code} for {whom}: {view.state}, in {view.where}; next: {view.next_step}"
        covered = ", ".join(
            f"{name} {sense}" for name, sense in zip(view.positions, view.senses, strict=True)
        )
        people = f"built by {view.built_by}" + (f", checked by {view.checked_by}" if view.checked_by else "")
        against = [
            f"AGAINST: {reason}" for reason in reasons_in_words((r.rule, r.message) for r in view.against)
        ]
        return [
            *wrapping([head, *against])(width), *kit_lines(view, proofs=by_code, width=width),
            *wrapping([f"positions {covered}", people])(width),
        ]  # fmt: skip

    step = _next_of_kit(view)
    if step is not None and step.deed == "label kit" and not await _lacks_label(ask, code):
        step = Step("kit put", "move it")
    return Standing(draw, step)


def _next_of_kit(view: KitView) -> Step | None:
    if view.holds_rest:
        return Step("return opened", "take back what is left in it")
    if view.state == "building":
        short = any(line.short for line in view.lines)
        return Step("kit pick", "pick what is missing") if short else Step("kit check", "check the kit")
    steps = {
        "checked": Step("kit seal", "seal the kit"),
        "sealed": Step("label kit", "draw its label"),
        "issued": Step("open", "open it at the aircraft"),
    }
    if view.state == "sealed" and view.where_kind == PlaceKind.BENCH:
        return Step("kit put", "put the kit away")
    return steps.get(view.state)


async def _order(ask: Ask, code: Code, at: datetime) -> Standing:
    lines = [line for line in await ask(orders, at=at) if line.order == code.text and line.outstanding]
    thing: Thing = await ask(what_is, code=code.text)
    if not lines:
        return Standing(wrapping(thing_lines(thing)), Step("what", "show it"))
    given = {"order": code.text, "supplier": lines[0].supplier}
    if len(lines) == 1:
        given |= {"part": lines[0].part, "amount": amount(lines[0].outstanding, lines[0].unit)}
    step = Step("delivery receive", "receive it", tuple(given.items()))
    return Standing(wrapping([*thing_lines(thing), *map(line_to_come, lines)]), step)


async def _notice(ask: Ask, code: Code, _at: datetime) -> Standing:
    thing: Thing = await ask(what_is, code=code.text)
    facts = dict(thing.facts)
    steps = {
        "to send": Step("notice sent", "mark it as sent"),
        "sent": Step("notice answer", "keep the answer"),
        "answered": Step(_CASE, "show how far its recall is", (("hold", facts["recall"]),)),
    }
    return Standing(wrapping(thing_lines(thing)), steps.get(facts["state"]))


_CASE: Final = "recall-case show"


async def _hold(ask: Ask, code: Code, _at: datetime) -> Standing:
    """A hold is released; a recall has its notices written, is followed, and closed once nothing is against it."""
    thing: Thing = await ask(what_is, code=code.text)
    facts = dict(thing.facts)
    if facts["kind"] != "recall":
        step = Step("hold release", "release it") if facts["state"] == "open" else None
        return Standing(wrapping(thing_lines(thing)), step)
    case: RecallStanding = await ask(recall_standing, hold=code.text)
    step = Step(_CASE, "show how far it is")
    if case.without_notice:
        step = Step("notice write", "write its notices")
    elif case.state == "open" and not case.against:
        step = Step("recall-case close", "close it")
    left = f"; {len(case.against)} reasons against closing it" if case.against else ""
    return Standing(wrapping([*thing_lines(thing), f"the recall is {case.state}{left}"]), step)


async def _drill(ask: Ask, code: Code, _at: datetime) -> Standing:
    """A drill is reported entry by entry; of what is not seen yet no figure is told."""
    found: Drill = await ask(drill, drill=code.text)
    ended = (
        f"ended after {found.minutes} minutes, and it {'adds up' if found.adds_up else 'DOES NOT ADD UP'}"
        if found.ended_at
        else f"running, {found.unseen} of {len(found.entries)} entries not seen yet"
    )
    unseen = [entry for entry in found.entries if entry.found is None]
    lines = [
        f"recall drill {found.drill} of {found.of}: {ended}",
        *(
            f"entry {e.entry}: look for {' '.join(filter(None, (e.sense, e.part)))} {e.account_class.value}, at {e.where}"
            for e in unseen
        ),
    ]
    if found.ended_at or not unseen:
        return Standing(wrapping(lines), Step("drill show", "show it"))
    given = (("drill", found.drill), ("line", str(unseen[0].entry)))
    return Standing(wrapping(lines), Step("drill report", f"report entry {unseen[0].entry}", given))


_OF_KIND: Final[dict[Kind, Callable[[Ask, Code, datetime], Awaitable[Standing]]]] = {
    Kind.AIRFRAME: _airframe,
    Kind.COUNT: _count,
    Kind.DRILL: _drill,
    Kind.HOLD: _hold,
    Kind.KIT: _kit,
    Kind.NOTICE: _notice,
    Kind.ORDER: _order,
    Kind.PIECE: _piece,
    Kind.RECEIPT_LINE: _line,
    Kind.ROTOR_SET: _rotor_set,
}
