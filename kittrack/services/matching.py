"""Matching: rotor sets from blades whose match is proved, and the breaking of sets.

A match is proved by the supplier's own pairing where the part says that this suffices, or by measured
static moments; a rotor of one piece by its own balance. Source: design R1, R2, R19, C1, C4.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from math import ceil
from typing import Final

from kittrack.domain.balance import Tape, unbalance_of
from kittrack.domain.measurement import Setup, Verdict, Weighing, expanded_g_um, judge_match, prove_match
from kittrack.domain.rules import Rule, require
from kittrack.errors import Refusal
from kittrack.services import desk, weighing
from kittrack.services.desk import Done
from kittrack.services.set_breaking import break_set
from kittrack.services.set_making import (
    Gathered,
    Proof,
    blades_of,
    check_gathered,
    gather,
    sets_before,
    write_proof,
    write_set,
)
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import Part, Piece, RotorSet, Tool
from kittrack.store.weighing_facts import at_one_stop, setup_of, weighing_of

__all__ = ["break_set", "make_set_by_measurement", "make_set_of_one", "make_set_of_pair", "prove_set"]

SUPPLIER_PAIRING, MEASURED = "supplier pairing", "measured"


_MATCHERS: Final = ("clerk", "technician", "inspector")


@desk.done_by(*_MATCHERS)
def make_set_of_pair(
    store: Store,
    *,
    blades: Sequence[str],
    by: str,
    at: datetime,
    hub: str = "",
    at_place: str = "",
    tape: str = "",
    key: str = "",
) -> Done:
    """Make a rotor set of blades that their supplier paired, where the part says that this is a proof.

    Args:
        blades: codes or serials of all blades that came under one pair number, in order around the hub.
        hub: the hub's code, where the hub belongs to the set.
        at_place: the bench or bin where it is made; by default where the blades lie.
        tape: balance tape, putty or grub screws that the supplier put on, in words.

    Returns:
        The code of the set.

    Raises:
        Refused: not one whole set of one sense (R1, R2), not fit (R6, R13), no proof by pairing (R19).
    """
    with store.act("make a set of a supplier's pair", by=by, at=at, key=key) as act:
        gathered = gather(act, blades, hub=hub, at_place=at_place, tape=tape)
        require(
            desk.check_done_by(act, make_set_of_pair),
            check_gathered(act, gathered),
            _check_pairing(act, gathered),
        )
        pair = gathered.blades[0].pair_code
        source = f"{gathered.part.pairing_source}{f'; pair {pair}' if pair else ''}{_lots(gathered)}"
        made = write_set(act, gathered, Proof(SUPPLIER_PAIRING, source, tape=tape), moments=False)
    return _made(act, made, gathered, "by its supplier's pairing")


@desk.done_by(*_MATCHERS)
def make_set_by_measurement(
    store: Store,
    *,
    blades: Sequence[str],
    by: str,
    at: datetime,
    hub: str = "",
    at_place: str = "",
    one_stop: bool = False,
    tapes: Sequence[Tape] = (),
    tape: str = "",
    key: str = "",
) -> Done:
    """Make a rotor set of weighed blades whose residual, uncertainty included, is within tolerance.

    Args:
        blades: codes or serials in their order around the hub, from slot 0.
        hub: the hub's code, where the hub belongs to the set.
        at_place: the bench or bin where it is made; by default where the blades lie.
        one_stop: all blades rested on the scale at one stop of one fixture.
        tapes: balance tape as masses at radii and angles, counted into the residual.
        tape: the tape in words, as it is to be seen on the rotor.

    Returns:
        The code of the set; the residual in words.

    Raises:
        Refused: not one whole set of one sense (R1, R2), not fit (R6, R13), not weighed on one scale in
            date, or not proved (R19), and whether the blades or the scale fall short.
    """
    with store.act("make a set by measurement", by=by, at=at, key=key) as act:
        gathered = gather(act, blades, hub=hub, at_place=at_place, tape=tape)
        faults = [*desk.check_done_by(act, make_set_by_measurement), *check_gathered(act, gathered)]
        require(faults, _check_weighed(act, gathered.part, gathered.blades))
        proof, verdict = _measure(
            act, gathered.part, gathered.blades, one_stop=one_stop, tapes=tapes, tape=tape
        )
        require(_check_verdict(gathered.subject, verdict))
        made = write_set(act, gathered, _with_lots(proof, gathered), moments=True)
    return _made(act, made, gathered, verdict.message)


@desk.done_by(*_MATCHERS)
def make_set_of_one(
    store: Store,
    *,
    rotor: str,
    scale: str,
    residual_g_um: int,
    uncertainty_g_um: int,
    by: str,
    at: datetime,
    hub: str = "",
    at_place: str = "",
    tape: str = "",
    key: str = "",
) -> Done:
    """Make the set of one that a one-piece rotor is, by its own balance proof.

    Args:
        rotor: its code or serial.
        scale: the balancing stand or scale that showed the residual.
        residual_g_um: what is left over, balance tape included.
        uncertainty_g_um: the expanded uncertainty (k = 2) of that figure.

    Raises:
        Refused: its rotors have several blades (R1), not fit (R6, R13), not within tolerance (R19).
    """
    with store.act("make a set of a one-piece rotor", by=by, at=at, key=key) as act:
        gathered = gather(act, [rotor], hub=hub, at_place=at_place, tape=tape)
        tool = weighing.find_scale(act, scale)
        require(
            desk.check_done_by(act, make_set_of_one),
            check_gathered(act, gathered),
            _check_tolerance(gathered.part),
            weighing.check_calibrated(tool, on=desk.today(act)),
        )
        limit = gathered.part.tolerance_g_um or 0
        verdict = judge_match(
            residual_g_um,
            expanded_g_um=uncertainty_g_um,
            tolerance_g_um=limit,
            tool="balancing stand",
            way_out="balance it again, or measure it on a finer stand",
        )
        require(_check_verdict(gathered.subject, verdict))
        proof = _proof(gathered.part, tool, verdict, tape=tape)
        made = write_set(act, gathered, proof, moments=False)
    return _made(act, made, gathered, verdict.message)


@desk.done_by(*_MATCHERS)
def prove_set(
    store: Store,
    *,
    rotor_set: str,
    by: str,
    at: datetime,
    one_stop: bool = False,
    tapes: Sequence[Tape] = (),
    tape: str = "",
    key: str = "",
) -> Done:
    """Prove the match of a set anew from the weighings of its blades, without taking it apart on record.

    A set of unknown history needs this, and an inspection, before it is issued again.

    Raises:
        Refused: it is fitted, in a kit or issued (R5, R10), not weighed, or not proved (R19).
    """
    with store.act("prove a set", by=by, at=at, key=key) as act:
        found = desk.find_set(act, rotor_set)
        part, blades = act.get(Part, found.part_id), blades_of(act, found)
        reach = [r for b in blades for r in weighing.check_within_reach(act, b)]
        require(desk.check_done_by(act, prove_set), _check_complete(found, part, blades), reach)
        require(_check_weighed(act, part, blades))
        proof, verdict = _measure(act, part, blades, one_stop=one_stop, tapes=tapes, tape=tape)
        require(_check_verdict(found.code, verdict))
        write_proof(act, found, blades, proof, moments=True)
    return Done(act.event_id, (found.code,), (f"{found.code} is proved: {verdict.message}",))


# ---- proofs ------------------------------------------------------------------------------------


def _measure(
    act: Act, part: Part, blades: Sequence[Piece], *, one_stop: bool, tapes: Sequence[Tape], tape: str
) -> tuple[Proof, Verdict]:
    tool = act.get(Tool, blades[0].weighed_with_id or 0)
    setup = setup_of(tool, one_stop=one_stop)
    weighings = [weighing_of(b) for b in blades]
    if one_stop:
        weighings = at_one_stop(weighings)
    limit = part.tolerance_g_um or 0
    verdict = _judge(blades, weighings, setup, limit=limit, tapes=tapes)
    return _proof(part, tool, verdict, tape=tape), verdict


def _judge(
    blades: Sequence[Piece], weighings: Sequence[Weighing], setup: Setup, *, limit: int, tapes: Sequence[Tape]
) -> Verdict:
    """The verdict on whole g·µm, rounded up, as the record keeps them."""
    if not tapes:
        verdict = prove_match(weighings, setup=setup, tolerance_g_um=limit)
        if not verdict.accepted:
            return verdict
    residual = unbalance_of([b.moment_g_um or 0 for b in blades], tapes=tapes).residual_g_um
    return judge_match(
        ceil(residual), expanded_g_um=ceil(expanded_g_um(weighings, setup=setup)), tolerance_g_um=limit
    )


def _proof(part: Part, tool: Tool, verdict: Verdict, *, tape: str) -> Proof:
    return Proof(
        method=MEASURED,
        source=f"{tool.name} ({tool.code}), calibrated until {tool.calibrated_until_on}",
        tool_id=tool.id,
        tolerance_g_um=part.tolerance_g_um,
        tolerance_source=part.tolerance_source,
        residual_g_um=ceil(verdict.residual_g_um),
        uncertainty_g_um=ceil(verdict.expanded_g_um),
        tape=tape,
    )


def _check_verdict(subject: str, verdict: Verdict) -> list[Refusal]:
    return (
        [] if verdict.accepted else [Refusal(Rule.PROOF_OF_MATCH, subject, f"{subject}: {verdict.message}")]
    )


def _check_weighed(act: Act, part: Part, blades: Sequence[Piece]) -> list[Refusal]:
    found = _check_tolerance(part)
    lacking = [
        b.code for b in blades if b.mass_ug is None or b.moment_g_um is None or b.weighed_with_id is None
    ]
    if lacking:
        message = (
            f"{', '.join(lacking)} {'has' if len(lacking) == 1 else 'have'} no weighing with its radius; "
            "mass alone is no match: weigh every blade of the set first."
        )
        return [*found, Refusal(Rule.PROOF_OF_MATCH, lacking[0], message)]
    tools = [act.get(Tool, i) for i in dict.fromkeys(b.weighed_with_id or 0 for b in blades)]
    if len(tools) > 1:
        names = ", ".join(t.name for t in tools)
        message = f"The blades were weighed on several scales ({names}); weigh them all on one."
        return [*found, Refusal(Rule.PROOF_OF_MATCH, blades[0].code, message)]
    return [
        *found,
        *weighing.check_calibrated(tools[0], on=desk.today(act)),
        *weighing.check_figures(tools[0]),
    ]


def _check_tolerance(part: Part) -> list[Refusal]:
    if part.tolerance_g_um is not None and part.tolerance_source:
        return []
    message = f"{part.number} has no tolerance with its source; a manager enters the maker's figure first."
    return [Refusal(Rule.PROOF_OF_MATCH, part.number, message)]


def _check_pairing(act: Act, gathered: Gathered) -> list[Refusal]:
    part, blades = gathered.part, gathered.blades
    found = []
    if not (part.pairing_suffices and part.pairing_source):
        found.append(
            f"For {part.number} the supplier's pairing is no proof; weigh the blades and match them."
        )
    pairs = {b.pair_code for b in blades}
    if len(blades) > 1 and (len(pairs) > 1 or "" in pairs):
        told = ", ".join(f"{b.code} of {b.pair_code or 'none'}" for b in blades)
        found.append(
            f"The blades are not of one pair of their supplier ({told}); take the blades of one pair, or weigh them."
        )
    elif len(blades) > 1 and _namesakes(act, gathered) > len(blades):
        found.append(
            f"More than one pair of the lot bears the number {blades[0].pair_code}; weigh the blades and match them."
        )
    if sets_before(act, blades):
        found.append(
            "A blade of them was in a set before, so the supplier's pairing is over; weigh the blades and match them."
        )
    return [Refusal(Rule.PROOF_OF_MATCH, gathered.subject, message) for message in found]


def _namesakes(act: Act, gathered: Gathered) -> int:
    """How many pieces of these lots bear the same pair number."""
    total = 0
    for lot in gathered.lots:
        total += int(
            act.value(
                "SELECT count(*) FROM piece p JOIN receipt_line r ON r.id = p.receipt_line_id "
                "WHERE r.lot_id = ? AND p.pair_code = ?",
                lot.id,
                gathered.blades[0].pair_code,
            )
        )
    return total


def _check_complete(rotor_set: RotorSet, part: Part, blades: Sequence[Piece]) -> list[Refusal]:
    if rotor_set.state == "complete" and len(blades) == part.blades_per_rotor:
        return []
    message = f"{rotor_set.code} is {rotor_set.state} with {len(blades)} blades; a broken set is never proved again."
    return [Refusal(Rule.WHOLE_SET, rotor_set.code, message)]


# ---- words -------------------------------------------------------------------------------------


def _lots(gathered: Gathered) -> str:
    lots = [lot.code for lot in gathered.lots]
    return f"; lots mixed: {', '.join(lots)}" if len(lots) > 1 else ""


def _with_lots(proof: Proof, gathered: Gathered) -> Proof:
    return replace(proof, source=proof.source + _lots(gathered))


def _made(act: Act, made: RotorSet, gathered: Gathered, how: str) -> Done:
    said = [f"{made.sense} set {made.code} of {gathered.part.number} is made in {gathered.place.name}: {how}"]
    if made.rematches:
        said.append("Its blades were in sets before; it carries the service of the one that served longest.")
    said.append("Put its label on it.")
    return Done(act.event_id, (made.code,), tuple(said))
