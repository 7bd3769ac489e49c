"""Questions that every station asks of the store: what decided, where it has been, who has to be told."""

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from kittrack.domain.codes import Kind, read_code
from kittrack.errors import KittrackError
from kittrack.queries.explaining import Asked, explain_code
from kittrack.queries.trace import Trace, trace
from kittrack.tui import typed
from kittrack.tui.deeds import Ask, Asker, Question, Values
from kittrack.tui.kit_text import amount

_EXPLAINED: Final = (Kind.ROTOR_SET, Kind.KIT, Kind.AIRFRAME, Kind.POSITION, Kind.LOT, Kind.RECEIPT_LINE)
_TRACED: Final = (Kind.LOT, Kind.RECEIPT_LINE, Kind.PIECE, Kind.ROTOR_SET, Kind.KIT, Kind.AIRFRAME, Kind.JOB)


async def explained(ask: Asker, values: Values, _at: datetime) -> Sequence[str]:
    """The figures that decided: formula, inputs, source, result."""
    asked: Asked = await ask(explain_code, **values)
    lines: list[str] = []
    for one in asked.explanations:
        lines += [*one.lines(), ""]
    return lines or ["No figure decided about it."]


async def traced(ask: Asker, values: Values, _at: datetime) -> Sequence[str]:
    """What a thing is made of, where it went, how it moved."""
    found: Trace = await ask(trace, **values)
    return trace_lines(found)


def trace_lines(found: Trace) -> list[str]:
    """A trace in words."""
    lines = [f"{found.kind} {found.code}", "", "It is made of:"]
    for part in found.made_of:
        papers = f", papers: {', '.join(part.papers)}" if part.papers else ", NO PAPER"
        serial = f", serial {part.serial}" if part.serial else ""
        lines.append(
            f"  {amount(part.quantity, part.unit)} {part.part} {part.what}{serial}: line {part.receipt_line}, lot "
            f"{part.lot} ({part.lot_code or 'unknown'}), {part.maker}, from {part.supplier}{papers}"
        )
    lines += ["", "Where it went:"] + [
        f"  {use.at[:16]} {use.kind} {use.code} {' '.join(filter(None, (use.airframe, use.position, use.detail)))}".rstrip()
        for use in found.uses
    ]
    lines += ["", "How it moved:"] + [
        f"  {step.at[:16]} event {step.event} {step.act} by {step.by}: {step.quantity} from {step.from_place or 'nowhere'} to "
        f"{step.to_place}{f', {step.reason}' if step.reason else ''}"
        for step in found.steps
    ]
    return lines


async def _either(ask: Asker, values: Values, at: datetime) -> Sequence[str]:
    """The figures where there are any, and the trace."""
    lines: list[str] = []
    if read_code(values["code"]).kind in _EXPLAINED:
        lines += await explained(ask, values, at)
    try:
        lines += await traced(ask, values, at)
    except KittrackError as error:
        if not lines:
            raise
        lines.append(str(error))
    return lines


EXPLAIN_OR_TRACE: Final = Question(
    "Explain and trace", _either, (Ask("code", "Its label", scans=tuple(dict.fromkeys((*_EXPLAINED, *_TRACED)))),)
)
TRACE: Final = Question("Trace both ways", traced, (Ask("code", "Its label", scans=_TRACED),))
EXPLAIN: Final = Question(
    "Explain the figures that decided", explained,
    (Ask("code", "Its label", scans=_EXPLAINED), Ask("speed_rpm", "A set: turns per minute", typed.whole, needed=False)),
)  # fmt: skip
