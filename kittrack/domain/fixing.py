"""The checks of what fixes a rotor: screws, washers, threadlocker, how it was tightened, the re-torque.

Every check is a plain function over facts that were read before; it hands back all of its reasons.
Source: design R4, R7, R18.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from kittrack.domain import bounds
from kittrack.domain.preload import MOST_TORQUE_MNM, newton_metres
from kittrack.domain.quantities import stock_in_words
from kittrack.domain.rules import Rule
from kittrack.domain.torque import WIDEST_DEVIATION_PERCENT, Method, TorqueTool, check_tool
from kittrack.errors import Refusal


@dataclass(frozen=True)
class Need:
    """What one hub needs of a part: pieces, or uL of threadlocker; screws and washers of one hub are of one lot."""

    part: str
    quantity: int
    unit: str = "pieces"
    one_lot: bool = False

    def __post_init__(self) -> None:
        bounds.quantity(self.quantity, of=f"{self.part} that a hub needs")


@dataclass(frozen=True)
class Taken:
    """What a person took for a hub: the part's number, its lot, pieces or uL."""

    part: str
    lot: str
    quantity: int

    def __post_init__(self) -> None:
        bounds.quantity(self.quantity, of=f"{self.part} taken for a hub")


def check_fixings(position: str, *, needs: Sequence[Need], taken: Sequence[Taken]) -> list[Refusal]:
    """Why what was taken does not fix the hub: short, too many, mixed, or not the part named.

    Source: design R4 (per hub, one lot), R7 (the parts of this type revision and no others).
    """
    found = []
    for need in needs:
        mine = [t for t in taken if t.part == need.part]
        total = sum(t.quantity for t in mine)
        needed, got = (stock_in_words(amount, need.unit) for amount in (need.quantity, total))
        if total < need.quantity:
            short = stock_in_words(need.quantity - total, need.unit)
            message = f"{position} needs {needed} of {need.part}, and the scans give {got}: short by {short}; take new ones of the job's kit."
            found.append(Refusal(Rule.KIT_ARITHMETIC, need.part, message))
        if total > need.quantity:
            over = stock_in_words(total - need.quantity, need.unit)
            message = f"{position} needs {needed} of {need.part}, and the scans give {got}; put {over} back."
            found.append(Refusal(Rule.KIT_ARITHMETIC, need.part, message))
        lots = sorted({t.lot for t in mine})
        if need.one_lot and len(lots) > 1:
            message = f"The {need.part} of one hub must be of one lot, and these are of {' and '.join(lots)}; take all of one."
            found.append(Refusal(Rule.KIT_ARITHMETIC, need.part, message))
    named = {need.part for need in needs}
    for part in dict.fromkeys(t.part for t in taken if t.part not in named):
        wanted = ", ".join(sorted(named)) or "nothing"
        message = f"{part} is not a part that the airframe's revision names for {position} (it names {wanted}); put it back."
        found.append(Refusal(Rule.EFFECTIVITY, part, message))
    return found


@dataclass(frozen=True)
class StatedTightening:
    """What the type revision states for a fixing (R18); `words` stand for methods other than "torque"."""

    method: Method
    torque_mnm: int | None = None
    tolerance_mnm: int | None = None
    words: str = ""

    def __post_init__(self) -> None:
        _check_mnm(self.torque_mnm, name="torque stated in mN m")
        _check_mnm(self.tolerance_mnm, name="tolerance of the torque in mN m")

    def __str__(self) -> str:
        """The method as a sentence names it."""
        return f"{self.method} ({self.words})" if self.words else str(self.method)


@dataclass(frozen=True)
class Applied:
    """How a hub was tightened: the method, the torque that was set, and with what."""

    method: Method
    torque_mnm: int | None = None
    tool: TorqueTool | None = None

    def __post_init__(self) -> None:
        _check_mnm(self.torque_mnm, name="torque applied in mN m")


def _check_mnm(torque_mnm: int | None, *, name: str) -> None:
    if torque_mnm is not None:
        bounds.whole(torque_mnm, name=name, low=0, high=MOST_TORQUE_MNM)


def check_tightening(position: str, *, stated: StatedTightening, applied: Applied, on: date) -> list[Refusal]:
    """Why what was done does not tighten a hub as stated: method, value, the tool's range and calibration.

    Args:
        position: the position as a person names it.
        stated: what the type revision states.
        applied: what was done.
        on: the local day.

    Source: design R18; where the fixing states no tolerance, the deviation allowed to the tool (ISO 6789-1).
    """
    if applied.method is not stated.method:
        message = f"{position} is tightened by {stated}, not by {applied.method}; do it so and record it so."
        return [Refusal(Rule.TORQUE, position, message)]
    if stated.method is not Method.TORQUE:
        return _check_no_torque(position, stated=stated, applied=applied)
    found = []
    if stated.torque_mnm is None or applied.torque_mnm is None:
        found.append(f"{position} takes a torque with its value; read it on the tool and enter it.")
    if applied.tool is None:
        found.append(f"The torque of {position} takes a torque tool; scan the tool that was used.")
    if found or applied.tool is None or applied.torque_mnm is None or stated.torque_mnm is None:
        return [Refusal(Rule.TORQUE, position, message) for message in found]
    allowed = _allowed_mnm(stated, deviation_percent=applied.tool.deviation_percent)
    if abs(applied.torque_mnm - stated.torque_mnm) > allowed:
        found.append(
            f"{position} takes {newton_metres(stated.torque_mnm)} (within {newton_metres(allowed)}) and "
            f"{newton_metres(applied.torque_mnm)} was applied; slacken it, take new screws and set the tool right."
        )
    values = [Refusal(Rule.TORQUE, position, message) for message in found]
    return [*values, *check_tool(applied.tool, torque_mnm=applied.torque_mnm, on=on)]


def _allowed_mnm(stated: StatedTightening, *, deviation_percent: int) -> int:
    if stated.tolerance_mnm is not None:
        return stated.tolerance_mnm
    return (stated.torque_mnm or 0) * deviation_percent // 100


def is_still_as_stated(stated: StatedTightening, *, method: str, torque_mnm: int | None) -> bool:
    """Whether how a hub was tightened satisfies what the type revision states at a later moment.

    Args:
        stated: what the type revision states at that moment.
        method: how it was tightened, as the record keeps it.
        torque_mnm: the torque that was applied, where it was one.

    Source: design R18, R21; where no tolerance is stated, the widest deviation allowed to a tool (ISO 6789-1).
    """
    if method != stated.method or stated.method is not Method.TORQUE:
        return method == stated.method
    if torque_mnm is None or stated.torque_mnm is None:
        return False
    _check_mnm(torque_mnm, name="torque applied in mN m")
    return abs(torque_mnm - stated.torque_mnm) <= _allowed_mnm(
        stated, deviation_percent=WIDEST_DEVIATION_PERCENT
    )


def _check_no_torque(position: str, *, stated: StatedTightening, applied: Applied) -> list[Refusal]:
    if applied.torque_mnm is None and applied.tool is None:
        return []
    message = f"{position} is tightened by {stated}, which no torque tool shows; leave torque and tool empty."
    return [Refusal(Rule.TORQUE, position, message)]


@dataclass(frozen=True)
class Retorque:
    """Since when a position's torque counts, in the airframe's minutes; `over` is None where hours are unknown."""

    due: bool
    since: int | None
    over: int | None


def retorque(interval: int | None, *, torqued_at: int | None, now: int | None) -> Retorque:
    """Whether a re-torque is due; all arguments in minutes. Unknown hours are due, no interval never is.

    Source: design R18.
    """
    for reading in (interval, torqued_at, now):
        if reading is not None:
            bounds.quantity(reading, of="minutes in service")
    since = None if torqued_at is None or now is None or now < torqued_at else now - torqued_at
    if interval is None:
        return Retorque(due=False, since=since, over=None)
    if since is None:
        return Retorque(due=True, since=None, over=None)
    return Retorque(due=since >= interval, since=since, over=since - interval)
