"""A manager's word on how a supplier's lots of a part are sampled. Source: design C13."""

from datetime import datetime

from kittrack.domain.rules import Rule, require
from kittrack.domain.text import check_text, clean_label
from kittrack.errors import BadInput, NotFound, Refusal
from kittrack.services import booking, desk
from kittrack.services.desk import Done
from kittrack.store.database import Store
from kittrack.store.records import Company, SamplingDecision
from kittrack.store.sampling_facts import ALLOW_REDUCED, NO_REDUCED, RESUME, standing_of

DECISIONS = (RESUME, ALLOW_REDUCED, NO_REDUCED)


@desk.done_by("manager")
def decide_sampling(
    store: Store,
    *,
    part: str,
    supplier: str,
    decision: str,
    by: str,
    at: datetime,
    reason: str,
    key: str = "",
) -> Done:
    """Resume the sampling of a supplier whose lots were refused too often, or allow or end reduced sampling.

    Args:
        part: the part number.
        supplier: the supplier's name.
        decision: "resume" (tightened from here on), "allow reduced" or "no reduced".
        reason: what the supplier did about it, or why its production is held to be steady.

    Raises:
        BadInput: the decision is none of these, or the part is not sampled.
        NotFound: no such part or supplier.
        Refused: not by a manager; nothing is stopped that could resume (R6).
    """
    booking.raise_any(check_text(reason, field="reason"))
    if decision not in DECISIONS:
        shown = clean_label(decision, max_length=40)
        raise BadInput(
            f"{shown!r} is no decision on sampling; choose one of: {', '.join(DECISIONS)}.", field="decision"
        )
    with store.act("decide sampling", by=by, at=at, reason=reason, key=key) as act:
        found = desk.find_part(act, part)
        company = act.find(Company, name=supplier.strip())
        if company is None:
            raise NotFound(f"no company is called {clean_label(supplier, max_length=60)!r}")
        if found.kind != "fastener":
            raise BadInput(
                f"Of {found.number} every piece is looked at; only fasteners are sampled.", field="part"
            )
        before = standing_of(act, part_id=found.id, supplier_id=company.id)
        refusals = desk.check_done_by(act, decide_sampling)
        if decision == RESUME and not before.standing.stopped:
            message = f"Sampling of {found.number} from {company.name} is not stopped; nothing is to resume."
            refusals.append(Refusal(Rule.FIT_FOR_ISSUE, found.number, message))
        require(refusals)
        act.insert(
            SamplingDecision(part_id=found.id, supplier_id=company.id, kind=decision, event_id=act.event_id)
        )
        after = standing_of(act, part_id=found.id, supplier_id=company.id).standing
    said = f"{found.number} from {company.name}: {decision}; the next lot has {after.severity} inspection."
    return Done(act.event_id, (), (said,))
