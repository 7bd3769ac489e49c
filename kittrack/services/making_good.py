"""A make-good kit: exactly what a job still owes its positions, never loose stock.

What is owed follows from the positions that are not fastened, what the job's place still holds, and lot
purity: a hub is completed from the lot that it began with where the shelf has it, else it gets a whole new
lot. Source: design R4, R11; section 2 ("A dropped screw").
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from kittrack.domain.kits import PIECES, Covered, Demand, Fixing, LineKind, kit_demand
from kittrack.domain.ledger import PlaceKind
from kittrack.domain.lots import Allocation, Draw, Offer, allocate, complete_hubs, whole_for
from kittrack.domain.rules import Rule, require
from kittrack.domain.soundness import SetFact, StockFact, check_set, check_stock
from kittrack.errors import Refusal
from kittrack.services import coverage, desk
from kittrack.services.coverage import Chosen, Coverage
from kittrack.services.desk import Done
from kittrack.services.kit_desk import kit_now
from kittrack.services.kitting import begin, write_lines
from kittrack.services.picking import Picking, picking_for, take_set, take_stock
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.issuable import issuable_sets, issuable_stock
from kittrack.store.job_facts import owing_positions, with_a_set
from kittrack.store.kit_facts import sets_in, stock_facts
from kittrack.store.records import Airframe, Job, Kit, KitLine, Part, Place, TypePosition, TypeRevision
from kittrack.store.stock import place_named


@dataclass
class _Plan:
    """Lines of a make-good kit with what is drawn for each, and what the shelf can't give."""

    lines: list[tuple[Demand, list[SetFact], list[tuple[StockFact, Draw]]]] = field(default_factory=list)
    positions: set[int] = field(default_factory=set)
    short: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class _Work:
    """What a plan is made from: the act, the job, its unfastened positions, where it is built."""

    act: Act
    job: Job
    owing: tuple[Chosen, ...]
    fixings: dict[int, Fixing]
    bench: Place
    own: tuple[StockFact, ...]

    def own_of(self, part_id: int) -> list[StockFact]:
        """What the job holds of a part and may still use."""
        return [s for s in self.own if s.part_id == part_id]

    def shelf_of(self, part_id: int) -> tuple[StockFact, ...]:
        """What the bins of the bench's site give of a part."""
        return issuable_stock(self.act, [part_id], now=kit_now(self.act), site_id=self.bench.site_id)


@desk.done_by("clerk")
def build_make_good(store: Store, *, job: str, bench: str, by: str, at: datetime, key: str = "") -> Done:
    """Build a kit of what a job still owes after a loss, a broken set or a transport; it is checked, sealed and issued as any.

    Args:
        store: the store.
        job: the open job that got a kit, or on whose position a set goes back.
        bench: the bench where it is built.
        by: the clerk who builds.
        at: the instant.
        key: the caller's own name for the act.

    Returns:
        The kit's code; what to fetch from where.

    Raises:
        Refused: the job got no kit and no set goes back on, owes nothing, has a make-good kit already or is closed (R11); or the
            shelf can't give all of it (R4): nothing is picked then.
    """
    with store.act("build a make-good kit", by=by, at=at, key=key) as act:
        work = desk.find_job(act, job)
        place = place_named(act, bench, kinds=(PlaceKind.BENCH,))
        owing = owing_positions(act, work)
        require(desk.check_done_by(act, build_make_good), _check_can_owe(act, work, owing))
        plan, frame = _plan(act, work, owing, place), act.get(Airframe, work.airframe_id)
        require(_check_plan(work, plan))
        revision = act.get(TypeRevision, frame.type_revision_id)
        kit = begin(act, revision, place, airframe=frame, job=work, purpose="make-good")
        covered = [c for c in _chosen(act, frame, owing) if c.position.id in plan.positions]
        lines = write_lines(act, kit, covered, [demand for demand, _, _ in plan.lines])
        said = _pick(picking_for(act, kit, for_job_id=work.id), plan, lines)
    return Done(act.event_id, (kit.code,), (f"{kit.code} makes {work.code} good ({frame.tail}).", *said))


def _check_can_owe(act: Act, job: Job, owing: Sequence[TypePosition]) -> list[Refusal]:
    if job.state != "open":
        message = f"{job.code} is closed and owes nothing; open a new job."
    elif not owing and not act.value(
        "SELECT count(*) FROM voucher WHERE job_id = ? AND state IN ('open', 'closed')", job.id
    ):
        message = f"{job.code} got no kit yet; issue one first."
    elif pending := act.select(
        Kit,
        "job_id = ? AND purpose = 'make-good' AND state IN ('building', 'checked', 'sealed', 'issued')",
        job.id,
    ):
        message = f"{pending[0].code} makes {job.code} good already ({pending[0].state}); open or dissolve that one first."
    elif unopened := act.select(
        Kit,
        "id IN (SELECT kit_id FROM voucher WHERE job_id = ? AND state = 'open') AND state = 'issued'",
        job.id,
    ):
        message = (
            f"{unopened[0].code} is not opened yet; open it at the aircraft and count what is in it first."
        )
    elif not owing:
        message = f"{job.code} has fastened every position that it got a kit for; it owes nothing."
    else:
        return []
    return [Refusal(Rule.COUNT_OUT_COUNT_IN, job.code, message)]


def _check_plan(job: Job, plan: _Plan) -> list[Refusal]:
    if plan.short:
        return [
            Refusal(
                Rule.KIT_ARITHMETIC,
                job.code,
                f"{job.code} owes {what} that no bin here has; order it, then build the kit.",
            )
            for what in plan.short
        ]
    if plan.lines:
        return []
    message = f"{job.code} holds all that its positions need; it owes nothing."
    return [Refusal(Rule.COUNT_OUT_COUNT_IN, job.code, message)]


# ---- the plan ------------------------------------------------------------------------------------


def _chosen(act: Act, frame: Airframe, positions: Sequence[TypePosition]) -> tuple[Chosen, ...]:
    names = Coverage("named", tuple(p.name for p in positions))
    revision = act.get(TypeRevision, frame.type_revision_id)
    return coverage.choose(act, revision, names, airframe=frame)


def _plan(act: Act, job: Job, owing: Sequence[TypePosition], bench: Place) -> _Plan:
    frame = act.get(Airframe, job.airframe_id)
    own = stock_facts(act, "h.place_id = ?", job.place_id)
    sound = tuple(s for s in own if not check_stock([s], now=kit_now(act)))
    chosen = _chosen(act, frame, owing)
    fixings = {c.position.id: coverage.hub_of(act, c.position.id) for c in chosen}
    work, plan = _Work(act, job, chosen, fixings, bench, sound), _Plan()
    _plan_sets(work, plan)
    for kind in (LineKind.SCREW, LineKind.WASHER):
        _plan_hubs(work, plan, kind)
    _plan_locker(work, plan)
    _plan_extras(work, plan, revision_id=frame.type_revision_id)
    return plan


def _plan_sets(work: _Work, plan: _Plan) -> None:
    """A set for each position that has none, beyond the sound ones that the job still holds."""
    act = work.act
    seated = with_a_set(act, work.job)
    own = Counter(
        (s.sense, s.part_id) for s in sets_in(act, work.job.place_id) if not check_set(s, now=kit_now(act))
    )
    bare = [c for c in work.owing if c.position.id not in seated]
    stock = issuable_sets(
        act, coverage.rotor_parts(act, bare), now=kit_now(act), site_id=work.bench.site_id, for_job_id=work.job.id
    )  # fmt: skip
    counts = Counter(s.part_id for s in stock)
    positions, refusals = coverage.covered(act, bare, issuable=counts)
    require(refusals)
    owed = []
    for position in positions:
        key = (position.sense.value, position.rotor_part_id)
        if own[key]:
            own[key] -= 1
        else:
            owed.append(position)
    for demand in kit_demand(owed) if owed else ():
        if demand.kind is not LineKind.ROTOR_SET:
            continue
        taken = [s for s in stock if (s.sense, s.part_id) == (demand.sense, demand.part_id)][
            : demand.quantity
        ]
        plan.lines.append((demand, taken, []))
        plan.positions |= {p.position_id for p in owed if (p.sense, p.rotor_part_id) == (demand.sense, demand.part_id)}  # fmt: skip
        if len(taken) < demand.quantity:
            part = act.get(Part, demand.part_id).number
            plan.short.append(f"{demand.quantity - len(taken)} {demand.sense} rotor set {part}")


def _plan_hubs(work: _Work, plan: _Plan, kind: LineKind) -> None:
    """Screws or washers for each hub that the job's own can't serve, every hub of one lot."""
    needs: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for position_id, fixing in work.fixings.items():
        part_id, each = (
            (fixing.screw_part_id, fixing.screws_per_hub)
            if kind is LineKind.SCREW
            else (fixing.washer_part_id, fixing.washers_per_hub)
        )
        if part_id is not None and each:
            needs[part_id].append((position_id, each))
    for part_id, hubs in sorted(needs.items()):
        shelf = work.shelf_of(part_id)
        found = complete_hubs(hubs, own=_offers(work.own_of(part_id)), shelf=_offers(shelf))
        if found.short:
            plan.short.append(f"{found.short} {kind.value}s {work.act.get(Part, part_id).number}")
        _add_hub_lines(plan, kind, part_id, found, shelf)


def _add_hub_lines(
    plan: _Plan, kind: LineKind, part_id: int, found: Allocation, shelf: Sequence[StockFact]
) -> None:
    """One line for each count by hub: hubs that are completed and hubs that are served whole differ."""
    per_hub = Counter[int]()
    for draw in found.draws:
        per_hub[draw.hub or 0] += draw.quantity
    for each in sorted(set(per_hub.values())):
        hubs = [hub for hub, count in per_hub.items() if count == each]
        draws = [(shelf[d.offer.key], d) for d in found.draws if d.hub in hubs]
        plan.lines.append((Demand(kind, part_id, each * len(hubs), hubs=len(hubs), per_hub=each), [], draws))
        plan.positions |= set(hubs)


def _plan_locker(work: _Work, plan: _Plan) -> None:
    """The doses that are missing beyond what the job still holds."""
    positions = [
        Covered(c.position.id, c.position.name, c.sense, 0, work.fixings[c.position.id]) for c in work.owing
    ]
    for demand in kit_demand(positions):
        if demand.kind is not LineKind.THREADLOCKER:
            continue
        short = demand.quantity - sum(s.quantity for s in work.own_of(demand.part_id))
        part = work.act.get(Part, demand.part_id)
        if short > 0:
            if part.single_dose and demand.unit != PIECES:
                short = -(-short // part.pack_quantity) * part.pack_quantity
            _add_plain(
                work,
                plan,
                Demand(demand.kind, demand.part_id, short, demand.unit),
                whole=not part.single_dose,
            )


def _plan_extras(work: _Work, plan: _Plan, *, revision_id: int) -> None:
    """The extras of the kit list that the job lost and nothing has made good since."""
    act, job = work.act, work.job
    for extra in coverage.extras(act, act.get(TypeRevision, revision_id)):
        lost = act.value(
            "SELECT coalesce(sum(m.quantity), 0) FROM movement m JOIN place p ON p.id = m.to_place_id "
            "WHERE m.from_place_id = ? AND p.kind = 'lost' AND m.receipt_line_id IN (SELECT k.receipt_line_id "
            "FROM kit_pick k JOIN kit_line l ON l.id = k.kit_line_id JOIN voucher v ON v.kit_id = k.kit_id "
            "WHERE v.job_id = ? AND l.kind = 'extra' AND l.part_id = ?)",
            job.place_id, job.id, extra.part_id,
        )  # fmt: skip
        made_good = act.value(
            "SELECT coalesce(sum(l.quantity), 0) FROM kit_line l JOIN kit k ON k.id = l.kit_id "
            "WHERE k.job_id = ? AND k.purpose = 'make-good' AND k.state = 'opened' AND l.kind = 'extra' AND l.part_id = ?",
            job.id, extra.part_id,
        )  # fmt: skip
        if int(lost) > int(made_good):
            short = int(lost) - int(made_good)
            _add_plain(work, plan, Demand(LineKind.EXTRA, extra.part_id, short, extra.unit), whole=False)


def _add_plain(work: _Work, plan: _Plan, demand: Demand, *, whole: bool) -> None:
    """A line that does not count by hub: from one bottle or slot where `whole`, else across lots."""
    shelf = work.shelf_of(demand.part_id)
    if whole:
        bottle = whole_for(demand.quantity, offers=_offers(shelf))
        draws: tuple[Draw, ...] = (Draw(bottle, demand.quantity),) if bottle else ()
    else:
        draws = allocate(demand.quantity, offers=_offers(shelf)).draws
    missing = demand.quantity - sum(d.quantity for d in draws)
    if missing:
        amount = str(missing) if demand.unit == PIECES else f"{missing / 1000:g} mL"
        plan.short.append(f"{amount} of {work.act.get(Part, demand.part_id).number}")
    plan.lines.append((demand, [], [(shelf[d.offer.key], d) for d in draws]))
    plan.positions |= {c.position.id for c in work.owing}


def _offers(stock: Iterable[StockFact]) -> list[Offer]:
    return [Offer(key, s.lot, s.quantity, s.received, s.expiry.day) for key, s in enumerate(stock)]


def _pick(picking: Picking, plan: _Plan, lines: Sequence[KitLine]) -> list[str]:
    said = []
    for line, (_, sets, draws) in zip(lines, plan.lines, strict=True):
        said += [take_set(picking, line, one) for one in sets]
        said += [take_stock(picking, line, item, draw) for item, draw in draws]
    return said
