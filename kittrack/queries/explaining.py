"""Every figure that decides something, with formula, inputs, source and result, so that it can be checked by hand.

Asked by code: a rotor set (its match), a kit (its lines and its expiry), an airframe (the layout check of its
sense map), a position (its torque against the screws), a lot or receipt line (its account).
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from kittrack.domain import codes, explain
from kittrack.domain.balance import Blade, Tolerance
from kittrack.domain.explain import Explanation, Figure
from kittrack.domain.layout import LayoutPosition, check_layout
from kittrack.domain.measurement import judge_match
from kittrack.domain.preload import preload, proof_torque_mnm
from kittrack.domain.sampling import Plan, acceptance_probability
from kittrack.domain.spin import Drive, Level, Sense
from kittrack.domain.threads import Condition, coarse_thread, property_class
from kittrack.errors import BadInput, NotFound
from kittrack.queries.recall import recall_account
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import (
    Airframe,
    HubFixing,
    Kit,
    KitLine,
    Lot,
    MatchReading,
    MatchRecord,
    Part,
    Piece,
    Position,
    ReceiptLine,
    RotorSet,
    Tool,
    TypePosition,
)
from kittrack.store.sampling_facts import AQL, plan_in_words, plan_of, standing_of
from kittrack.store.weighing_facts import at_one_stop, setup_of, weighing_of

AS_RECORDED = "as the match record keeps it; the maker's figure decides"


@dataclass(frozen=True)
class Asked:
    """What was asked about, and the explanations in the order in which one follows from another."""

    subject: str
    explanations: tuple[Explanation, ...]


def explain_code(store: Store, *, code: str, speed_rpm: float | None = None) -> Asked:
    """Explain the deciding figures behind a code.

    Args:
        store: the store.
        code: a rotor set, kit, airframe, position, lot or receipt line of ours.
        speed_rpm: for a rotor set, the speed at which the rotating force is wanted.

    Raises:
        NotFound: the store holds nothing under it, or nothing about it was computed.
        BadInput: the code does not check, or is of a kind without figures.
    """
    wanted = codes.read_code(code)
    if wanted.kind in (codes.Kind.LOT, codes.Kind.RECEIPT_LINE):
        return Asked(wanted.text, (_account(store, wanted.text), *_sample(store, wanted)))
    answers: dict[codes.Kind, Callable[[Reading], Iterator[Explanation]]] = {
        codes.Kind.ROTOR_SET: lambda read: _of_set(read, wanted.text, speed_rpm),
        codes.Kind.KIT: lambda read: _of_kit(read, wanted.text),
        codes.Kind.AIRFRAME: lambda read: _of_airframe(read, wanted.text),
        codes.Kind.POSITION: lambda read: _of_position(read, wanted.text),
    }
    if wanted.kind not in answers:
        raise BadInput(
            f"{wanted.text} is {wanted.kind.with_article}; ask about a rotor set, kit, airframe, position or lot",
            field="code",
        )
    with store.reading() as read:
        found = tuple(answers[wanted.kind](read))
    if not found:
        raise NotFound(
            f"no figure decided anything about {wanted.text}; its proof is a paper, not a calculation"
        )
    return Asked(wanted.text, found)


def _missing(code: str) -> NotFound:
    return NotFound(f"the store holds nothing under {code}")


# ---- a rotor set's match -------------------------------------------------------------------------


def _of_set(read: Reading, code: str, speed_rpm: float | None) -> Iterator[Explanation]:
    one = read.find(RotorSet, code=code)
    if one is None:
        raise _missing(code)
    record = read.find(MatchRecord, id=one.match_record_id) if one.match_record_id else None
    if record is None or record.residual_g_um is None or record.tolerance_g_um is None:
        return
    readings = read.select(MatchReading, "match_record_id = ?", record.id, order="slot")
    pieces = [read.get(Piece, r.piece_id) for r in readings]
    blades = [
        Blade(p.code, r.moment_g_um)
        for p, r in zip(pieces, readings, strict=True)
        if r.moment_g_um is not None
    ]
    if len(blades) == len(readings) >= 2:
        found = explain.explain_residual(blades)
        yield _beside_tape(found, record.tape, record.residual_g_um) if record.tape else found
    yield from _uncertainty(read, record, pieces)
    yield explain.explain_tolerance(Tolerance(record.tolerance_g_um, record.tolerance_source or AS_RECORDED))
    verdict = judge_match(
        record.residual_g_um, expanded_g_um=record.uncertainty_g_um or 0, tolerance_g_um=record.tolerance_g_um
    )
    yield explain.explain_verdict(verdict)
    if speed_rpm is not None:
        yield explain.explain_force(record.residual_g_um, speed_rpm=speed_rpm)


def _beside_tape(blades: Explanation, tape: str, residual_g_um: int) -> Explanation:
    """The residual of blades that carry balance tape, of which a match record keeps the words alone."""
    return replace(
        blades,
        title="Residual unbalance of the blades without their tape",
        verdict=f"With the tape ({tape}) the match record keeps {residual_g_um / 1000:g} g mm.",
    )


def _uncertainty(read: Reading, record: MatchRecord, pieces: Sequence[Piece]) -> Iterator[Explanation]:
    """The expanded uncertainty from the weighings, where they still lead to what the match record keeps.

    They don't where a blade was weighed again since, or the data of the scale was changed.
    """
    if record.uncertainty_g_um is None:
        return
    for found in _ways_of_weighing(read, record, pieces):
        if abs(found.result.value * 1000 - record.uncertainty_g_um) <= 1:
            yield found
            return
    figure = Figure("expanded uncertainty", record.uncertainty_g_um / 1000, "g mm")
    yield Explanation(
        "Expanded uncertainty of the residual",
        "as recorded when the set was matched",
        (figure,),
        AS_RECORDED,
        figure,
    )


def _ways_of_weighing(read: Reading, record: MatchRecord, pieces: Sequence[Piece]) -> Iterator[Explanation]:
    """The uncertainty by each way in which the blades may have been weighed: at one stop for all, or each by itself."""
    if (
        record.tool_id is None
        or len(pieces) < 2
        or any(not p.mass_ug or p.moment_g_um is None for p in pieces)
    ):
        return
    tool, weighings = read.get(Tool, record.tool_id), [weighing_of(p) for p in pieces]
    together = at_one_stop(weighings)
    if len({w.radius_um for w in together}) == 1:
        yield explain.explain_uncertainty(together, setup=setup_of(tool, one_stop=True))
    yield explain.explain_uncertainty(weighings, setup=setup_of(tool, one_stop=False))


# ---- a kit's arithmetic ----------------------------------------------------------------------------


def _of_kit(read: Reading, code: str) -> Iterator[Explanation]:
    kit = read.find(Kit, code=code)
    if kit is None:
        raise _missing(code)
    for line in read.select(KitLine, "kit_id = ?", kit.id, order="rank"):
        part = read.get(Part, line.part_id)
        picked = read.value(
            "SELECT coalesce(sum(quantity), 0) FROM kit_pick WHERE kit_line_id = ? AND active = 1", line.id
        )
        per_hub = line.per_hub and line.hubs
        inputs = (
            (Figure("hubs", line.hubs, ""), Figure("per hub", line.per_hub, line.unit))
            if per_hub
            else (Figure("covered positions", line.quantity, ""),)
        )
        short = line.quantity - int(picked)
        verdict = f"Short by {short}: the kit can't be sealed." if short > 0 else "Complete."
        yield Explanation(
            title=f"{line.kind} {line.sense or ''} {part.number}".replace("  ", " "),
            formula="needed = hubs x per hub" if per_hub else "needed = one for each position that takes it",
            inputs=(*inputs, Figure("picked", int(picked), line.unit)),
            source="rule R4: kit lines are computed from the covered positions",
            result=Figure("needed", line.quantity, line.unit), verdict=verdict,
        )  # fmt: skip


# ---- an airframe's layout --------------------------------------------------------------------------


def _of_airframe(read: Reading, code: str) -> Iterator[Explanation]:
    airframe = read.find(Airframe, code=code)
    if airframe is None:
        raise _missing(code)
    rows = read.rows(
        "SELECT p.name, l.sense, p.type_position_id FROM position p JOIN sense_map_line l ON l.position_id = p.id "
        "WHERE p.airframe_id = ? AND p.active = 1 AND l.sense_map_id = ? ORDER BY p.id",
        airframe.id, airframe.sense_map_id,
    )  # fmt: skip
    positions = []
    for name, sense, type_position_id in rows:
        at = read.get(TypePosition, type_position_id)
        positions.append(
            LayoutPosition(name, at.angle_mdeg, at.radius_um, Level(at.level), Drive(at.drive), Sense(sense))
        )
    report = check_layout(positions)
    senses = " ".join(f"{p.name} {p.sense}" for p in positions)
    yield Explanation(
        title=f"Hover balance of {airframe.tail} by its sense map: {senses}",
        formula="sum of every rotor's roll, pitch and yaw at equal thrust; a CCW rotor yaws +, a CW rotor -",
        inputs=(Figure("CW rotors", report.cw, ""), Figure("CCW rotors", report.ccw, "")),
        source="design C7; sign rule of open autopilots: positive for CCW",
        result=Figure("left-over yaw moment", report.hover.yaw_um / 1000, "mm x thrust of one rotor"),
        verdict="; ".join(report.warnings) or "No warning. The map decides, and a motor test with rotors off proves it.",
    )  # fmt: skip
    yield Explanation(
        title=f"Control rank of {airframe.tail}",
        formula="rank of the rows thrust, roll, pitch, yaw over all rotors",
        inputs=(Figure("rotors", len(positions), ""),),
        source="design C7; 4 is needed to hold all axes, and does not prove control after a failure",
        result=Figure("rank", report.rank, "of 4"),
    )  # fmt: skip


# ---- a position's torque -----------------------------------------------------------------------------


def _of_position(read: Reading, code: str) -> Iterator[Explanation]:
    position = read.find(Position, code=code)
    if position is None:
        raise _missing(code)
    fixing = read.get(HubFixing, read.get(TypePosition, position.type_position_id).hub_fixing_id)
    screw_part = read.get(Part, fixing.screw_part_id)
    if fixing.torque_mnm is None or not screw_part.thread or not screw_part.property_class:
        return
    thread, strength = coarse_thread(screw_part.thread), property_class(screw_part.property_class)
    condition = (
        Condition(fixing.torque_condition) if fixing.torque_condition in list(Condition) else Condition.DRY
    )
    found = preload(fixing.torque_mnm, thread=thread, strength=strength, condition=condition)
    yield Explanation(
        title=f"Preload of {screw_part.number} at {position.name}",
        formula="F = T / (K d), over the band of K of its condition",
        inputs=(
            Figure("T", fixing.torque_mnm / 1000, f"N m ({fixing.torque_source})"),
            Figure("d", thread.diameter_um / 1000, "mm"),
        ),
        source=found.source,
        result=Figure("F at the high end of K", found.low_n, "N"),
        verdict=f"From {found.low_n:.0f} N to {found.high_n:.0f} N, that is {found.low_n / found.proof_n:.0%} to {found.high_n / found.proof_n:.0%} of the proof load. A plausibility check; the maker's figure decides.",
    )
    limit = proof_torque_mnm(thread, strength=strength)
    yield Explanation(
        title=f"Torque that reaches the proof load of {thread.name} {strength.name}",
        formula="T = K d F, K = 0.20",
        inputs=(
            Figure("proof load F", found.proof_n, "N"),
            Figure("d", thread.diameter_um / 1000, "mm"),
        ),
        source="ISO 898-1 or ISO 3506-1 proof stress times stress area",
        result=Figure("T", limit / 1000, "N m"),
    )


# ---- a lot's account ---------------------------------------------------------------------------------


def _account(store: Store, code: str) -> Explanation:
    account = recall_account(store, code=code)
    return Explanation(
        title=f"Recall account of {account.scope}",
        formula="received = the sum of all classes",
        inputs=tuple(
            Figure(name.value, quantity, account.unit) for name, quantity in account.classes if quantity
        ),
        source="rule R15; every chain of places has exactly one class",
        result=Figure("received", account.received, account.unit),
        verdict="It adds up."
        if account.missing == 0
        else f"It does NOT add up, by {account.missing}: run verify.",
    )


def _sample(store: Store, wanted: codes.Code) -> Iterator[Explanation]:
    """How many pieces of a receipt line of fasteners are looked at."""
    with store.reading() as read:
        line = read.find(ReceiptLine, code=wanted.text) if wanted.kind is codes.Kind.RECEIPT_LINE else None
        found = None if line is None else plan_of(read, line)
        if line is None or found is None:
            return
        one = standing_of(read, part_id=line.part_id, supplier_id=read.get(Lot, line.lot_id).supplier_id)
    plan, standing = found
    yield Explanation(
        title=f"Sample of {wanted.text}",
        formula="letter from the size of the lot at level II; size and numbers from the plan of that letter, arrows followed",
        inputs=(
            Figure("pieces in the lot", plan.lot_size, ""), Figure("AQL", float(AQL), "%"),
            Figure("lots sampled before", one.lots, ""), Figure("of them refused", one.refused, ""),
        ),
        source="ISO 2859-1 by its public forerunner MIL-STD-105E; switching by the supplier's last lots",
        result=Figure("look at", plan.inspect, "pieces"),
        verdict="Sampling is stopped: look at every piece." if standing.stopped else f"{plan_in_words(plan)}.",
    )  # fmt: skip
    if plan.plan is not None:
        yield _told_by_sample(plan.plan)


def _told_by_sample(plan: Plan) -> Explanation:
    """How sure a sample is: how often lots pass that are as bad as the limit, and four times as bad."""
    worse = 4 * float(AQL)
    often = acceptance_probability(plan, faults_per_hundred=worse) * 100
    return Explanation(
        title="How often a lot passes by this sample",
        formula="P = sum of Poisson terms up to the acceptance number, mean = sample x faulty share",
        inputs=(
            Figure("sample", plan.sample_size, "pieces"),
            Figure("passes with at most", plan.rejection - 1, "faulty"),
        ),
        source="operating characteristic by Poisson, as the curves of 7 CFR 42.140",
        result=Figure(
            f"with {AQL} % faulty", acceptance_probability(plan, faults_per_hundred=float(AQL)) * 100, "%"
        ),
        verdict=f"With {worse:g} % faulty it still passes in {often:.0f} of 100 cases: a sample is no proof of every piece.",
    )
