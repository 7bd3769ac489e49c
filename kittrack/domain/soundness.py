"""Whether stock and rotor sets are fit to be picked, sealed, issued and fitted: facts in, every reason out.

The facts are read in one transaction (store/kit_facts.py); nothing here asks a database or a clock.
Source: design R1, R2, R6, R13, R19.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from kittrack.domain import dates
from kittrack.domain.dates import Expiry, LifeLimit, LifeUsed
from kittrack.domain.fit import check_history
from kittrack.domain.ledger import Condition
from kittrack.domain.rules import Rule
from kittrack.errors import Refusal


@dataclass(frozen=True)
class Moment:
    """When and where dates are judged: an aware instant and the stores' time zone."""

    at: datetime
    zone: str

    @property
    def day(self) -> date:
        """The local calendar day."""
        return dates.local_day(self.at, zone=self.zone)


@dataclass(frozen=True, order=True)
class HoldFact:
    """An open hold on a thing, named by its kind ("receipt line") and code."""

    thing: str
    code: str
    hold_code: str
    reason: str
    is_recall: bool


@dataclass(frozen=True)
class StockFact:
    """A quantity of a receipt line, or one piece of it, with all that decides whether it may be used.

    `received` grows with the time of receipt; `sense` is that of a blade, read at inspection.
    """

    line_id: int
    line_code: str
    piece_id: int | None
    piece_code: str
    place_id: int
    condition: str
    quantity: int
    part_id: int
    part_number: str
    part_kind: str
    lot: str
    received: int
    expiry: Expiry
    superseded_for_safety: bool
    sense: str | None = None
    holds: tuple[HoldFact, ...] = ()

    @property
    def code(self) -> str:
        """The code on its label."""
        return self.piece_code or self.line_code

    @property
    def name(self) -> str:
        """As a sentence names it."""
        return f"{self.code} ({self.part_number})"


@dataclass(frozen=True)
class ProofFact:
    """The match record of a set beside what its part demands now.

    Attributes:
        method: "supplier pairing" or "measured".
        residual_g_um: the residual unbalance, where measured.
        uncertainty_g_um: its expanded uncertainty, where measured.
        tolerance_g_um: the tolerance that was met.
        tolerance_now_g_um: the part's tolerance now, or None where it states none.
        pairing_suffices: whether the part's data say now that the supplier's pairing is a proof.
        pieces: the ids of the blades that were proved.
    """

    method: str
    residual_g_um: int | None
    uncertainty_g_um: int | None
    tolerance_g_um: int | None
    tolerance_now_g_um: int | None
    pairing_suffices: bool
    pieces: frozenset[int]


@dataclass(frozen=True)
class SetFact:
    """A rotor set with its content, its proof and its service life.

    `history_settled` is False for a set of unknown history that no inspection has accepted since.
    """

    set_id: int
    code: str
    place_id: int
    part_id: int
    part_number: str
    sense: str
    state: str
    condition: str
    blades_needed: int
    mixes_lots: bool
    hub_part_id: int | None
    content: tuple[StockFact, ...]
    proof: ProofFact | None
    used: LifeUsed
    limit: LifeLimit
    bound_to: str = ""
    history_settled: bool = True
    holds: tuple[HoldFact, ...] = ()

    @property
    def blades(self) -> tuple[StockFact, ...]:
        """The blades in it."""
        return tuple(s for s in self.content if s.part_id != self.hub_part_id)

    @property
    def expiry(self) -> Expiry:
        """The earliest expiry of its content."""
        return dates.earliest(s.expiry for s in self.content)

    @property
    def age(self) -> tuple[date, int, str, str]:
        """Its rank in first expiry first out; total, so that a pick is always the same."""
        return (
            self.expiry.day or date.max,
            min((s.received for s in self.content), default=0),
            min((s.lot for s in self.content), default=""),
            self.code,
        )


def check_holds(holds: Iterable[HoldFact]) -> list[Refusal]:
    """A refusal for each open hold (R6); there is no override (R20)."""
    return [
        Refusal(
            Rule.FIT_FOR_ISSUE,
            h.code,
            f"{h.thing} {h.code} is {'recalled' if h.is_recall else 'on hold'} under {h.hold_code} "
            f"({h.reason}); put it in the hold cage until the hold is released.",
        )
        for h in holds
    ]


def check_stock(stock: Sequence[StockFact], *, now: Moment) -> list[Refusal]:
    """Every reason why stock can't be picked, sealed, issued or fitted now.

    Source: design R6, R13.
    """
    found: list[Refusal] = []
    for item in stock:
        if item.condition != Condition.SERVICEABLE:
            message = f"{item.name} is {item.condition}; only serviceable stock is issued: take another or have it inspected."
            found.append(Refusal(Rule.FIT_FOR_ISSUE, item.code, message))
        if item.superseded_for_safety:
            message = f"{item.part_number} is superseded for safety and must not be used; scrap it and take its successor."
            found.append(Refusal(Rule.FIT_FOR_ISSUE, item.part_number, message))
        found += dates.check_shelf_life(item.expiry, subject=item.name, at=now.at, zone=now.zone)
        found += check_holds(item.holds)
    return list(dict.fromkeys(found))


def check_set(one: SetFact, *, now: Moment) -> list[Refusal]:
    """Every reason why a rotor set can't be picked, sealed, issued or fitted now.

    Source: design R1, R2, R6, R13, R19.
    """
    return [
        *_check_whole(one),
        *_check_sense(one),
        *_check_condition(one),
        *check_proof(one),
        *check_history(one.code, known=one.history_settled, inspected=False),
        *dates.check_service_life(one.limit, used=one.used, subject=f"set {one.code}", on=now.day),
        *check_holds(one.holds),
        *check_stock(one.content, now=now),
    ]


def _check_whole(one: SetFact) -> list[Refusal]:
    if one.state != "complete":
        message = f"Set {one.code} is broken and is never issued again; take another set."
        return [Refusal(Rule.WHOLE_SET, one.code, message)]
    hubs = sum(s.part_id == one.hub_part_id for s in one.content)
    hubs_needed = int(one.hub_part_id is not None)
    if len(one.blades) == one.blades_needed and hubs == hubs_needed:
        return []
    message = (
        f"Set {one.code} holds {len(one.blades)} blades and {hubs} hubs, {one.blades_needed} and {hubs_needed} "
        "belong to it; break it and match a new set."
    )
    return [Refusal(Rule.WHOLE_SET, one.code, message)]


def _check_sense(one: SetFact) -> list[Refusal]:
    wrong = [b.code for b in one.blades if b.sense != one.sense or b.part_id != one.part_id]
    if wrong:
        message = f"Set {one.code} turns {one.sense}, but {', '.join(wrong)} in it is of another sense or part; break the set."
        return [Refusal(Rule.ONE_SENSE, one.code, message)]
    if len({b.lot for b in one.blades}) > 1 and not one.mixes_lots:
        message = (
            f"Set {one.code} has blades of more than one lot, which its part does not allow; break the set."
        )
        return [Refusal(Rule.ONE_SENSE, one.code, message)]
    return []


def _check_condition(one: SetFact) -> list[Refusal]:
    found = []
    if one.condition != Condition.SERVICEABLE:
        message = f"Set {one.code} is {one.condition}; only a serviceable set is issued: have it inspected or take another."
        found.append(Refusal(Rule.FIT_FOR_ISSUE, one.code, message))
    if one.bound_to:
        message = (
            f"Set {one.code} was taken off {one.bound_to} for transport and goes back there; take another."
        )
        found.append(Refusal(Rule.FIT_FOR_ISSUE, one.code, message))
    return found


def check_proof(one: SetFact) -> list[Refusal]:
    """Why a set does not count as matched: no record, of other blades, or not within the tolerance now.

    Source: design R19, R21 (a changed tolerance is judged again).
    """
    proof = one.proof
    if proof is None:
        return _unproved(one, "has no match record")
    if proof.pieces != {b.piece_id for b in one.blades}:
        return _unproved(one, "has a match record of other blades")
    if proof.method == "supplier pairing":
        return (
            [] if proof.pairing_suffices else _unproved(one, "has only its supplier's pairing as proof, which its part does not accept")
        )  # fmt: skip
    limits = [t for t in (proof.tolerance_g_um, proof.tolerance_now_g_um) if t is not None]
    if proof.residual_g_um is None or proof.uncertainty_g_um is None or not limits:
        return _unproved(one, "has a match record without a residual or a tolerance")
    if proof.residual_g_um + proof.uncertainty_g_um > min(limits):
        return _unproved(one, f"is outside the tolerance of {min(limits) / 1000:g} g mm")
    return []


def _unproved(one: SetFact, what: str) -> list[Refusal]:
    message = f"Set {one.code} {what}; have it measured and proved, or take another."
    return [Refusal(Rule.PROOF_OF_MATCH, one.code, message)]
