"""Kit arithmetic: what a kit needs, computed from the positions that it covers, and whether it is complete.

Nothing here is typed by a person: sets come from the senses and the approved parts, screws and washers from
the hubs, threadlocker from the screws, extras from the kit list. Source: design R4, C6.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from kittrack.domain import bounds
from kittrack.domain.rules import Rule
from kittrack.domain.spin import Sense
from kittrack.errors import BadInput, Refusal


class LineKind(StrEnum):
    """What a line of a kit asks for."""

    ROTOR_SET = "rotor set"
    SCREW = "screw"
    WASHER = "washer"
    THREADLOCKER = "threadlocker"
    EXTRA = "extra"


PIECES, VOLUME = "pieces", "volume_ul"
_ORDER = {kind: rank for rank, kind in enumerate(LineKind)}
_PURE_KINDS = frozenset({LineKind.SCREW, LineKind.WASHER})


@dataclass(frozen=True)
class Locker:
    """The threadlocker of a hub fixing: the dose per screw and how its part is packed.

    A single-dose part is used by whole packs: `pack_ul` is the volume of one, or None where the part is
    counted in pieces and one pack serves one hub. Any other part is drawn by volume.
    """

    part_id: int
    ul_per_screw: int
    single_dose: bool = False
    pack_ul: int | None = None

    def __post_init__(self) -> None:
        bounds.quantity(self.ul_per_screw, of="threadlocker per screw in uL")
        if self.pack_ul is not None:
            bounds.quantity(self.pack_ul, of="threadlocker in a pack in uL", low=1)


@dataclass(frozen=True)
class Fixing:
    """How one hub is fixed: the parts and how many of each."""

    screw_part_id: int
    screws_per_hub: int
    washer_part_id: int | None = None
    washers_per_hub: int = 0
    locker: Locker | None = None

    def __post_init__(self) -> None:
        bounds.quantity(self.screws_per_hub, of="screws per hub")
        bounds.quantity(self.washers_per_hub, of="washers per hub")


@dataclass(frozen=True)
class Covered:
    """A position that a kit covers: the sense it turns in, the rotor part chosen for it, its fixing."""

    position_id: int
    name: str
    sense: Sense
    rotor_part_id: int
    fixing: Fixing


@dataclass(frozen=True)
class Extra:
    """A part of the kit list that comes beside sets and fixings, per kit or per hub."""

    part_id: int
    quantity: int
    unit: str = PIECES
    per_hub: bool = False

    def __post_init__(self) -> None:
        bounds.quantity(self.quantity, of="a part of the kit list")


@dataclass(frozen=True)
class Demand:
    """One computed line of a kit.

    `quantity` is the total in `unit`; where the line counts by hub, it is `hubs` times `per_hub`.
    """

    kind: LineKind
    part_id: int
    quantity: int
    unit: str = PIECES
    sense: Sense | None = None
    hubs: int = 0
    per_hub: int = 0


def kit_demand(positions: Sequence[Covered], *, extras: Iterable[Extra] = ()) -> tuple[Demand, ...]:
    """Compute every line of a kit from the positions that it covers.

    Args:
        positions: the covered positions, at least one, each once.
        extras: the kit list's lines beside sets and fixings.

    Returns:
        Sets by sense (CW first) and part, then screws, washers, threadlocker, extras; each by part.

    Raises:
        BadInput: no position is covered, or one is named twice.

    Source: design R4.
    """
    doubled = [name for name, times in Counter(p.name for p in positions).items() if times > 1]
    if not positions or doubled:
        what = f"names the position {doubled[0]} twice" if doubled else "covers no position"
        raise BadInput(f"The kit {what}; choose each position once.", field="positions")
    lines = [
        *_sets(positions),
        *_per_hub(LineKind.SCREW, [(p.fixing.screw_part_id, p.fixing.screws_per_hub) for p in positions]),
        *_per_hub(LineKind.WASHER, [(p.fixing.washer_part_id, p.fixing.washers_per_hub) for p in positions]),
        *_lockers(positions),
        *_extras(extras, hubs=len(positions)),
    ]
    return tuple(lines)


def _sets(positions: Sequence[Covered]) -> list[Demand]:
    wanted = Counter((p.sense, p.rotor_part_id) for p in positions)
    ordered = sorted(wanted.items(), key=lambda item: (item[0][0] is Sense.CCW, item[0][1]))
    return [Demand(LineKind.ROTOR_SET, part, count, sense=sense) for (sense, part), count in ordered]


def _per_hub(kind: LineKind, wanted: Iterable[tuple[int | None, int]]) -> list[Demand]:
    hubs = Counter((part, each) for part, each in wanted if part is not None and each > 0)
    return [
        Demand(kind, part, each * count, hubs=count, per_hub=each)
        for (part, each), count in sorted(hubs.items())
    ]


def _lockers(positions: Sequence[Covered]) -> list[Demand]:
    volume: dict[Locker, int] = defaultdict(int)
    hubs: Counter[Locker] = Counter()
    for position in positions:
        locker = position.fixing.locker
        if locker is None or locker.ul_per_screw * position.fixing.screws_per_hub == 0:
            continue
        volume[locker] += locker.ul_per_screw * position.fixing.screws_per_hub
        hubs[locker] += 1
    return [
        _locker_line(locker, volume_ul=volume[locker], hubs=hubs[locker])
        for locker in sorted(volume, key=lambda one: (one.part_id, one.ul_per_screw))
    ]


def _locker_line(locker: Locker, *, volume_ul: int, hubs: int) -> Demand:
    if not locker.single_dose:
        return Demand(LineKind.THREADLOCKER, locker.part_id, volume_ul, VOLUME)
    if locker.pack_ul is None:
        return Demand(LineKind.THREADLOCKER, locker.part_id, hubs)
    packs = packs_for(volume_ul, pack_quantity=locker.pack_ul)
    return Demand(LineKind.THREADLOCKER, locker.part_id, packs.packs * locker.pack_ul, VOLUME)


def _extras(extras: Iterable[Extra], *, hubs: int) -> list[Demand]:
    return [
        Demand(
            LineKind.EXTRA,
            extra.part_id,
            extra.quantity * (hubs if extra.per_hub else 1),
            extra.unit,
            hubs=hubs if extra.per_hub else 0,
            per_hub=extra.quantity if extra.per_hub else 0,
        )
        for extra in sorted(extras, key=lambda e: (e.part_id, e.per_hub))
    ]


@dataclass(frozen=True)
class Packs:
    """How many whole packs a quantity takes, and what is left over of the last one."""

    packs: int
    left_over: int


def packs_for(quantity: int, *, pack_quantity: int) -> Packs:
    """The packs to open for a quantity.

    Args:
        quantity: what is needed, in the part's unit.
        pack_quantity: what one pack holds, in the same unit.

    Raises:
        BadInput: a pack that holds nothing, or a negative quantity.

    Source: design C6; packs = ceil(q / p), left over = p ceil(q / p) - q.
    """
    bounds.whole(quantity, name="quantity needed", low=-bounds.MOST_QUANTITY, high=bounds.MOST_QUANTITY)
    bounds.quantity(pack_quantity, of="a pack")
    if pack_quantity < 1 or quantity < 0:
        raise BadInput(
            f"A pack of {pack_quantity} for a need of {quantity} can't be right; look at the part's pack."
        )
    packs = -(-quantity // pack_quantity)
    return Packs(packs, packs * pack_quantity - quantity)


@dataclass(frozen=True)
class Picked:
    """Something that lies in a kit for one of its lines: how much, of which lot, for which hub, under which code."""

    quantity: int
    lot: str
    hub: str = ""
    code: str = ""

    def __post_init__(self) -> None:
        bounds.quantity(self.quantity, of=f"what was picked of lot {self.lot}")


@dataclass(frozen=True)
class KitLineState:
    """A line of a kit with what was picked for it, named as a person reads it; `rank` is its place in the list."""

    demand: Demand
    part_number: str
    picked: tuple[Picked, ...] = ()
    pack_quantity: int = 1
    rank: int = 0

    def __post_init__(self) -> None:
        bounds.quantity(self.pack_quantity, of=f"{self.part_number} in a pack", low=1)
        bounds.whole(self.rank, name="rank of a kit's line", low=0, high=bounds.MOST_QUANTITY)

    @property
    def have(self) -> int:
        """What lies in the kit for this line, in the line's unit."""
        return sum(p.quantity for p in self.picked)

    @property
    def short(self) -> int:
        """What is missing; 0 where the line is met."""
        return max(0, self.demand.quantity - self.have)

    @property
    def name(self) -> str:
        """The line as a sentence names it."""
        sense = f"{self.demand.sense} " if self.demand.sense else ""
        return f"{sense}{self.demand.kind.value} {self.part_number}"

    def amount(self, quantity: int) -> str:
        """A quantity of this line in words."""
        if self.demand.unit == VOLUME:
            return f"{quantity / 1000:g} mL"
        return str(quantity)


def check_complete(lines: Sequence[KitLineState], *, subject: str) -> tuple[Refusal, ...]:
    """Every reason why a kit's content is not what its lines ask for.

    Args:
        lines: the kit's lines with what was picked.
        subject: the kit's code.

    Returns:
        By line: short or too much; then hubs with a wrong count or with screws or washers of two lots.

    Source: design R4.
    """
    found = []
    for line in lines:
        message = _short_or_over(line)
        problems = ([message] if message else []) + _hub_faults(line)
        found += [Refusal(Rule.KIT_ARITHMETIC, subject, f"{subject}: {text}") for text in problems]
    return tuple(found)


def _short_or_over(line: KitLineState) -> str:
    demand = line.demand
    if line.short:
        return (
            f"{line.name}: {line.amount(demand.quantity)} needed{_hubs_in_words(demand)}, "
            f"{line.amount(line.have)} in the kit, short by {line.amount(line.short)}; "
            f"pick {line.amount(line.short)} more{_packs_in_words(line)}."
        )
    goes_along = demand.kind is LineKind.THREADLOCKER  # a bottle holds more than the dose and comes back
    if line.have > demand.quantity and not goes_along:
        over = line.have - demand.quantity
        return (
            f"{line.name}: {line.amount(demand.quantity)} needed, {line.amount(line.have)} in the kit, "
            f"{line.amount(over)} too many; take them out."
        )
    return ""


def _hubs_in_words(demand: Demand) -> str:
    return f" ({demand.hubs} hubs of {demand.per_hub})" if demand.per_hub else ""


def _packs_in_words(line: KitLineState) -> str:
    if line.pack_quantity <= 1:
        return ""
    packs = packs_for(line.short, pack_quantity=line.pack_quantity).packs
    return f" ({packs} {'pack' if packs == 1 else 'packs'} of {line.amount(line.pack_quantity)})"


def _hub_faults(line: KitLineState) -> list[str]:
    demand = line.demand
    if demand.kind not in _PURE_KINDS:
        return []
    by_hub: dict[str, list[Picked]] = defaultdict(list)
    for picked in line.picked:
        by_hub[picked.hub].append(picked)
    found = []
    for hub, picks in sorted(by_hub.items()):
        lots = sorted({p.lot for p in picks})
        if len(lots) > 1:
            found.append(
                f"{line.name}: the hub {hub} has pieces of the lots {' and '.join(lots)}; "
                "all of one hub are of one lot: swap one of them."
            )
        count = sum(p.quantity for p in picks)
        if count > demand.per_hub:
            found.append(
                f"{line.name}: {count} are picked for the hub {hub}, {demand.per_hub} belong there; "
                "take the others out."
            )
    if len(by_hub) > demand.hubs:
        found.append(
            f"{line.name}: picked for {len(by_hub)} hubs, the line has {demand.hubs}; take the others out."
        )
    return found
