"""What the store's answers look like as records of a list."""

from collections.abc import Sequence

from kittrack.domain.quantities import Dimension, write_quantity
from kittrack.queries.buildable import Buildable
from kittrack.queries.due import RetorqueDue
from kittrack.queries.expiring import Expiring
from kittrack.queries.integrity import Orphan, SetState
from kittrack.queries.kits import KitView
from kittrack.queries.log import LogEntry
from kittrack.queries.shelf import ShelfLine
from kittrack.queries.standing import JobStanding, OpenFinding
from kittrack.tui.kit_text import amount
from kittrack.tui.listing import Record


def of_shelf(line: ShelfLine) -> Record:
    """A quantity in a place."""
    until = _expiry(line)
    detail = (
        f"{line.sense} {line.part} {line.name}".strip(),
        f"{amount(line.quantity, line.unit)} in {line.place}: {line.condition}, {line.state.value}",
        f"receipt line {line.receipt_line}, lot {line.lot} ({line.lot_code}), {until}",
        *(f"ON HOLD under {hold}" for hold in line.holds),
    )
    cells = (line.sense, line.part, amount(line.quantity, line.unit), line.place, line.condition, until)
    key = f"{line.receipt_line} {line.place} {line.condition} {line.state.value}"
    return Record(key, cells, detail)


def _expiry(line: ShelfLine) -> str:
    if not line.expiry_known:
        return "expiry UNKNOWN"
    if line.expires_on is None:
        return "no expiry"
    return f"EXPIRED {line.expires_on}" if line.expired else f"until {line.expires_on}"


def of_set(state: SetState) -> Record:
    """A rotor set with its proof."""
    measured = (state.residual_g_um, state.uncertainty_g_um, state.tolerance_g_um)
    figures = [
        write_quantity(v, dimension=Dimension.MOMENT) if v is not None else "unknown" for v in measured
    ]
    breaches = ", ".join(state.breaches)
    detail = (
        f"{state.sense} {state.code} {state.part}, {state.condition}, in {state.where or 'no place'}",
        f"blades {', '.join(state.blades) or 'none'}",
        f"proof: {state.proof}",
        *(
            [f"residual {figures[0]}, uncertainty {figures[1]}, tolerance {figures[2]}"]
            if measured[0]
            else []
        ),
        *([f"AGAINST: {breaches}"] if breaches else []),
    )
    return Record(
        state.code, (state.sense, state.code, state.part, state.condition, breaches or "sound", state.where), detail
    )  # fmt: skip


def of_orphan(orphan: Orphan) -> Record:
    """A blade whose set was broken."""
    detail = (
        f"{orphan.sense} {orphan.code} {orphan.part}, serial {orphan.serial or 'none'}, {orphan.condition}",
        f"it was in {orphan.set_it_was_in}; it lies in {orphan.where}",
        "Only a new match record of measured blades brings it into a set again.",
    )
    cells = (orphan.sense, orphan.code, orphan.part, orphan.set_it_was_in, orphan.where, orphan.condition)
    return Record(orphan.code, cells, detail)


def of_kit(kit: KitView) -> Record:
    """A kit and what it lacks."""
    lacks = [f"{line.sense} {line.kind} {line.part}: short by {amount(line.short, line.unit)}".strip() for line in kit.lines if line.short]  # fmt: skip
    detail = (
        f"{kit.code} for {kit.revision}{f', {kit.airframe}' if kit.airframe else ''}, {kit.state}, in {kit.where}",
        f"positions {', '.join(f'{n} {s}' for n, s in zip(kit.positions, kit.senses, strict=True))}",
        f"next: {kit.next_step}",
        *lacks,
        *(f"AGAINST: {refusal.message} ({refusal.rule})" for refusal in kit.against),
        *(
            f"{line.sense} {amount(line.needed, line.unit)} {line.kind} {line.part}: {', '.join(line.things) or 'nothing'}".strip()
            for line in kit.lines
        ),
    )
    state = (
        f"{len(lacks)} lines SHORT"
        if lacks
        else (f"{len(kit.against)} against" if kit.against else "complete")
    )
    cells = (kit.code, kit.revision, kit.state, state, kit.where, kit.expires_on or "no expiry")
    return Record(kit.code, cells, detail)


def of_expiring(item: Expiring) -> Record:
    """Something that expires, or whose expiry nobody knows."""
    left = "UNKNOWN" if item.days_left is None else f"{item.days_left} days"
    until = item.expires_on.isoformat() if item.expires_on else "unknown"
    how_many = amount(item.quantity, item.unit)
    detail = (
        f"{item.what} {item.part}: {how_many} in {item.place or 'the stores'}",
        f"until {until}; {item.state}",
    )
    return Record(
        f"{item.what} {item.place}", (left, until, item.what, item.part, how_many, item.place), detail
    )


def of_job(job: JobStanding) -> Record:
    """An open job."""
    unfinished = [name for name, state in job.positions if state == "not finished"]
    how = f"NOT FINISHED: {', '.join(unfinished)}" if unfinished else job.next_step.removeprefix("Next: ")
    detail = (
        f"{job.job} on {job.tail}: {job.purpose}",
        job.next_step,
        *(f"{name}: {state}" for name, state in job.positions),
        *(f"still held: {thing}" for thing in job.owed),
    )
    return Record(job.job, (job.tail, job.job, how), detail)


def of_finding(finding: OpenFinding) -> Record:
    """A finding that nobody has settled."""
    where = " ".join(filter(None, (finding.airframe, finding.position)))
    detail = (
        f"finding {finding.finding}: {finding.text}",
        f"{where}, {finding.rotor_set}",
        f"by {finding.by} at {finding.at}",
    )
    return Record(f"finding {finding.finding}", (where, f"finding {finding.finding}", finding.text), detail)


def of_buildable(one: Buildable) -> Record:
    """How many ship sets the stock gives for a type revision, what limits them, senses that are stranded."""
    name, ships = f"{one.type_name} {one.revision}", one.ship_sets
    senses = ", ".join(f"{sense} {there} sets of {needed}" for sense, there, needed in one.sets_by_sense)
    stranded = f"{one.senses.stranded} {one.senses.fuller} sets stranded" if one.senses.stranded else ""
    detail = (
        f"{name}: {ships.count} ship sets; {senses}",
        *([f"limited by {', '.join(ships.limiting)}"] if ships.limiting else []),
        *([stranded] if stranded else []),
        *(f"one more takes {lack}" for lack in one.one_more_takes),
        *(f"{line}: {there} on the shelf, {needed} a ship set" for line, there, needed in one.stock),
    )
    return Record(name, (name, f"{ships.count} ship sets", stranded or senses), detail)


def of_retorque(due: RetorqueDue) -> Record:
    """A position whose torque is due."""
    over = (
        "hours UNKNOWN"
        if due.over_minutes is None
        else write_quantity(due.over_minutes, dimension=Dimension.TIME)
    )
    return Record(
        due.position, (due.name, due.rotor_set, over), (f"{due.name}: {due.rotor_set}, over by {over} h",)
    )


def of_event(entry: LogEntry) -> Record:
    """An event of the log."""
    second = f" with {entry.second}" if entry.second else ""
    detail = (
        f"event {entry.event}: {entry.act}, by {entry.by}{second}, {entry.at}",
        *([f"reason: {entry.reason}"] if entry.reason else []),
        *([f"codes given: {', '.join(entry.codes)}"] if entry.codes else []),
        f"{entry.moved} movements; {entry.hash}",
    )
    return Record(
        str(entry.event), (str(entry.event), entry.at[:16], entry.by, entry.act, entry.reason), detail
    )


def counts(rows: Sequence[tuple[str, int]], *, kind: str) -> tuple[Record, ...]:
    """Counts by name."""
    return tuple(Record(f"{kind} {name}", (str(count), name), (f"{count} {name}",)) for name, count in rows)
