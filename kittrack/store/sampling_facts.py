"""What the store knows of a supplier's lots of a part: how the next one is to be sampled.

Source: design C13.
"""

from dataclasses import dataclass
from typing import Final

from kittrack.domain.sampling import LotPlan, Plan, Severity, plan_lot
from kittrack.domain.severity import LotResult, Standing, standing_after
from kittrack.store.act import Reading
from kittrack.store.records import Lot, LotSample, Part, ReceiptLine, SamplingDecision
from kittrack.store.reversals import not_reversed

AQL: Final = "2.5"
"""Acceptance quality limit of fasteners in percent (common practice, no source)."""
RESUME, ALLOW_REDUCED, NO_REDUCED = "resume", "allow reduced", "no reduced"


@dataclass(frozen=True)
class SupplierStanding:
    """Where a supplier stands for a part, over how many sampled lots, and whether a manager allows reduced plans."""

    standing: Standing
    lots: int
    refused: int
    allow_reduced: bool


def standing_of(read: Reading, *, part_id: int, supplier_id: int) -> SupplierStanding:
    """Fold a supplier's samples of a part and the manager's decisions, in the order in which they were recorded."""
    samples = read.rows(
        "SELECT s.event_id, s.severity, s.lot_size, s.faulty, s.passed FROM lot_sample s "
        "JOIN receipt_line r ON r.id = s.receipt_line_id JOIN lot l ON l.id = r.lot_id "
        f"WHERE r.part_id = ? AND l.supplier_id = ? AND {not_reversed('s.event_id')} ORDER BY s.id",
        part_id, supplier_id,
    )  # fmt: skip
    decisions = read.select(
        SamplingDecision, "part_id = ? AND supplier_id = ?", part_id, supplier_id, order="id"
    )
    standing, allow = Standing(), False
    steps = [(d.event_id, d) for d in decisions] + [(row[0], row) for row in samples]
    for _, step in sorted(steps, key=lambda s: s[0]):
        if isinstance(step, SamplingDecision):
            allow = {ALLOW_REDUCED: True, NO_REDUCED: False}.get(step.kind, allow)
            standing = Standing(Severity.TIGHTENED) if step.kind == RESUME else standing
            continue
        _, severity, lot_size, faulty, passed = step
        result = _result(severity, lot_size, faulty, passed=bool(passed))
        standing = standing_after([result], allow_reduced=allow, start=standing)
    refused = sum(not row[4] for row in samples)
    if not allow and standing.severity is Severity.REDUCED:
        standing = Standing()
    return SupplierStanding(standing, len(samples), refused, allow)


def plan_of(read: Reading, line: ReceiptLine) -> tuple[LotPlan, Standing] | None:
    """How a line is to be sampled and where its supplier stands; None for what is not sampled."""
    part = read.get(Part, line.part_id)
    if part.kind != "fastener":
        return None
    supplier_id = read.get(Lot, line.lot_id).supplier_id
    standing = standing_of(read, part_id=part.id, supplier_id=supplier_id).standing
    return plan_lot(line.quantity, kind=part.kind, aql=AQL, severity=standing.severity), standing


def sample_of(read: Reading, line: ReceiptLine) -> LotSample | None:
    """The last sample of a line that was not reversed, or None."""
    where = f"receipt_line_id = ? AND {not_reversed('lot_sample.event_id')}"
    found = read.select(LotSample, where, line.id, order="id DESC", limit=1)
    return found[0] if found else None


def _result(severity: str, lot_size: int, faulty: int | None, *, passed: bool) -> LotResult:
    plan = plan_lot(lot_size, kind="fastener", aql=AQL, severity=Severity(severity))
    if faulty is None:  # refused uncounted: at least as many as refuse it
        faulty = 0 if passed else plan.rejection
    return LotResult(plan, min(faulty, plan.inspect))


def plan_in_words(plan: LotPlan) -> str:
    """What to look at and when the lot passes."""
    if plan.plan is None:
        return f"look at every one of {plan.lot_size} pieces; one faulty piece fails the lot"
    rule: Plan = plan.plan
    return (
        f"look at {plan.inspect} of {plan.lot_size} pieces, out of every pack ({plan.severity} inspection, "
        f"letter {rule.code_letter}, AQL {rule.aql}); the lot passes with at most {plan.rejection - 1} faulty"
    )
