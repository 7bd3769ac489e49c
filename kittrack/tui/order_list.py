"""What must be ordered and why, and what is on order: from a line of either the next form is one key away, filled."""

from collections.abc import Iterator, Sequence
from datetime import datetime

from kittrack.queries.reorder import Proposal, ProposedLine, reorder_proposal
from kittrack.tui.kit_text import amount
from kittrack.tui.listing import Ask, Page, Record, Step
from kittrack.tui.lists import OfQuestion
from kittrack.tui.pictures import picture_page
from kittrack.tui.widgets.plots import Bar

ON_ORDER = OfQuestion(
    "on order", "what is still to come, and what is late", "order list", "nothing is on order.", step="delivery receive", words="receive it",
    fills=(("order", "order"), ("supplier", "supplier"), ("part", "part"), ("amount", "to come")),
)  # fmt: skip
"""What is still to come; a line of it is received with what it says filled in."""

HEADS = ("sense", "part", "order", "packs", "supplier", "expected")


async def to_order(ask: Ask, at: datetime) -> Page:
    """The lines of the re-order proposal, each with its reasons; all the groups as bars beside their re-order points."""
    found: Sequence[Proposal] = await ask(reorder_proposal, at=at, everything=True)
    due = [(group, line) for group in found if group.is_due for line in group.lines if line.packs]
    records = [_record(group, line, [one for _, one in due]) for group, line in due]
    bars = [
        Bar(_short(group.group), group.ship_sets, f"{group.ship_sets} ({group.reorder_at})")
        for group in found
    ]
    return picture_page(records, bars, title="ship sets that count (at how many to order)", heads=HEADS)


def _short(group: str) -> str:
    """A group's name without what it says of a part in brackets."""
    return group.removeprefix("rotor sets of ").partition(" (")[0]


def _record(group: Proposal, line: ProposedLine, every: Sequence[ProposedLine]) -> Record:
    packs = f"{line.packs} of {amount(line.pack_quantity, line.unit)}"
    cells = (
        line.sense, line.part, amount(line.quantity, line.unit), packs, line.supplier or "no supplier is known",
        str(line.expected_on or "unknown"),
    )  # fmt: skip
    return Record(f"{group.group} {line.part}", cells, tuple(_told(group, line)), step=_order(line, every))


def _told(group: Proposal, line: ProposedLine) -> Iterator[str]:
    plural = "" if line.ship_sets == 1 else "s"
    yield f"{line.part} {line.name}"
    yield (
        f"{amount(line.issuable, line.unit)} issuable, {amount(line.in_kits, line.unit)} in kits, "
        f"{amount(line.waiting, line.unit)} waiting, {amount(line.on_order, line.unit)} on order: "
        f"enough for {line.ship_sets} ship set{plural} of {line.per_ship_set}"
    )
    yield f"why, {group.group}:"
    yield from group.reasons


def _order(line: ProposedLine, every: Sequence[ProposedLine]) -> Step:
    """The order of all that is proposed of a supplier; where none is known, how the part is got comes first."""
    if not line.supplier:
        return Step("supply set", "say who supplies it", (("part", line.part),))
    rows = tuple(
        (("part", one.part), ("amount", amount(one.quantity, one.unit)))
        for one in every
        if one.supplier == line.supplier
    )
    return Step("order place", f"order from {line.supplier}", (("supplier", line.supplier),), rows)
