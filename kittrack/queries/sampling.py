"""How lots of fasteners are sampled: the plan of a line, and where each supplier stands.

Source: design C13; ISO 2859-1 and its public forerunner MIL-STD-105E.
"""

from dataclasses import dataclass

from kittrack.domain import codes
from kittrack.errors import BadInput, NotFound
from kittrack.store.database import Store
from kittrack.store.records import Company, Part, ReceiptLine
from kittrack.store.sampling_facts import AQL, plan_in_words, plan_of, sample_of, standing_of


@dataclass(frozen=True)
class SamplingPlan:
    """What to look at in a receipt line; quantities in pieces.

    `passes_with` is the most faulty pieces with which the lot passes; `code_letter` is empty where every
    piece is looked at. `faulty` and `passed` tell of the sample on record, None where there is none.
    """

    line: str
    part: str
    lot_size: int
    look_at: int
    passes_with: int
    severity: str
    code_letter: str
    aql: str
    stopped: bool
    faulty: int | None
    passed: bool | None
    said: str


@dataclass(frozen=True)
class SamplingRecord:
    """A supplier's sampled lots of one part, and how the next one is looked at."""

    supplier: str
    part: str
    lots: int
    refused: int
    severity: str
    stopped: bool
    reduced_allowed: bool
    score: int


def sampling_plan(store: Store, *, line: str) -> SamplingPlan:
    """The plan of a receipt line, as its supplier's history makes it.

    Raises:
        NotFound: no such line.
        BadInput: its part is not sampled.
    """
    code = codes.read_code(line, expect=codes.Kind.RECEIPT_LINE).text
    with store.reading() as read:
        row = read.find(ReceiptLine, code=code)
        if row is None:
            raise NotFound(f"the store holds nothing under {code}")
        part, found = read.get(Part, row.part_id), plan_of(read, row)
        if found is None:
            raise BadInput(f"{part.number} is no fastener: every piece is looked at.", field="line")
        plan, standing = found
        sample = sample_of(read, row)
    said = f"{code} ({part.number}): {plan_in_words(plan)}."
    if standing.stopped:
        said = f"{code} ({part.number}): too many lots before were refused; look at every piece."
    return SamplingPlan(
        line=code, part=part.number, lot_size=plan.lot_size, look_at=plan.inspect, passes_with=plan.rejection - 1,
        severity=plan.severity.value, code_letter=plan.plan.code_letter if plan.plan else "", aql=AQL,
        stopped=standing.stopped, faulty=sample.faulty if sample else None,
        passed=bool(sample.passed) if sample else None, said=said,
    )  # fmt: skip


def sampling_records(store: Store) -> tuple[SamplingRecord, ...]:
    """Every supplier and part of which a lot was sampled, those that are looked at hardest first."""
    found = []
    with store.reading() as read:
        rows = read.rows(
            "SELECT DISTINCT r.part_id, l.supplier_id FROM lot_sample s JOIN receipt_line r ON r.id = s.receipt_line_id "
            "JOIN lot l ON l.id = r.lot_id ORDER BY r.part_id, l.supplier_id"
        )
        for part_id, supplier_id in rows:
            one = standing_of(read, part_id=part_id, supplier_id=supplier_id)
            if not one.lots:  # every sample was reversed
                continue
            found.append(
                SamplingRecord(
                    supplier=read.get(Company, supplier_id).name, part=read.get(Part, part_id).number, lots=one.lots,
                    refused=one.refused, severity=one.standing.severity.value, stopped=one.standing.stopped,
                    reduced_allowed=one.allow_reduced, score=one.standing.score,
                )
            )  # fmt: skip
    hardest = {"tightened": 0, "normal": 1, "reduced": 2}
    return tuple(sorted(found, key=lambda r: (not r.stopped, hardest[r.severity], r.supplier, r.part)))
