"""What rows of `queries.pages` look like as records of a list."""

from typing import Any

from kittrack.domain.ledger import Condition
from kittrack.domain.quantities import Dimension, write_quantity
from kittrack.queries.pages import Row
from kittrack.tui.kit_text import amount
from kittrack.tui.listing import Record, Step


def _expiry(kind: str, last_day: str | None) -> str:
    return {"unknown": "expiry UNKNOWN", "none": "no expiry"}.get(kind) or f"until {last_day}"


def _figure(value: Any, dimension: Dimension) -> str:
    return write_quantity(int(value), dimension=dimension) if value is not None else ""


def of_waiting(row: Row) -> Record:
    """A receipt line that waits for its paper or its inspection."""
    (
        code,
        sense,
        part,
        _,
        _,
        count,
        unit,
        place,
        expiry,
        until,
        lot,
        company,
        reference,
        papers,
        held,
        _,
        looked_at,
    ) = row
    state = "no paper" if not papers else "no date" if expiry == "unknown" else "inspect"
    state = "decide" if state == "inspect" and int(count) <= int(looked_at) else state
    state = "ON HOLD" if held else state
    cells = (
        sense or "",
        part,
        amount(int(count), unit),
        state,
        code,
        lot or "unknown",
        _expiry(expiry, until),
        place,
    )
    return Record(code, cells, (f"{company}, delivery note {reference}",))


def of_holding(row: Row) -> Record:
    """Some stock that is to be put away."""
    key, code, sense, part, count, unit, place, lot, company = row
    cells = (sense or "", part, amount(int(count), unit), code, lot or "unknown", place, company)
    given = [("things", code)]
    if code.startswith("Y"):  # counted: other pieces of the line may lie elsewhere, or be held
        given = [("things", f"{code}={amount(int(count), unit)}"), *put_away_from(place)]
    return Record(key, cells, code=code, step=Step("move", "put it away", tuple(given)))


def put_away_from(place: str) -> tuple[tuple[str, str], ...]:
    """What the form of a move says of accepted stock that is still in goods-in."""
    return ("from_place", place), ("condition", Condition.SERVICEABLE)


def of_shelf(row: Row) -> Record:
    """Some stock in the stores."""
    key, code, sense, part, count, unit, place, condition, expiry, until, lot = row
    cells = (
        sense or "",
        part,
        amount(int(count), unit),
        code,
        place,
        condition,
        lot or "unknown",
        _expiry(expiry, until),
    )
    return Record(key, cells, code=code)


def of_lot(row: Row) -> Record:
    """A lot of a part, whose every piece can be accounted for."""
    code, sense, part, lot, maker, supplier, name = row
    cells = (sense or "", part, lot or "unknown", code, maker, supplier)
    return Record(code, cells, (name,))


def of_piece(row: Row) -> Record:
    """A piece on hold or unserviceable."""
    code, sense, part, serial, place, condition, mark, note = row
    cells = (
        sense or "",
        part,
        f"serial {serial}" if serial else "no serial",
        condition,
        code,
        place,
        note or "",
    )
    return Record(code, cells, (f"mark read: {mark or 'none'}", *([f"note: {note}"] if note else [])))


def of_loose(row: Row) -> Record:
    """A loose blade with what a scale showed; weighed, it may be matched, else it is weighed first."""
    code, sense, part, serial, place, _, mass, moment, lot = row
    weighed = _figure(moment, Dimension.MOMENT) or "not weighed"
    cells = (
        sense or "",
        part,
        code,
        serial or "no serial",
        weighed,
        _figure(mass, Dimension.MASS),
        place,
        lot or "unknown",
    )
    step = (
        Step("set propose", "propose sets", (("part", part),))
        if moment is not None
        else Step("weigh", "weigh it")
    )
    return Record(code, cells, step=step)


def of_orphan(row: Row) -> Record:
    """A blade that a broken set left."""
    code, sense, part, serial, place, condition, was_in = row
    cells = (sense or "", part, code, serial or "no serial", condition, f"was in {was_in}", place)
    told = "Only an inspection and a match record of measured blades bring it into a set again."
    return Record(code, cells, (told,))


def of_line(row: Row) -> Record:
    """A receipt line of any age."""
    code, sense, part, name, count, unit, expiry, until, lot, company, reference, _ = row
    cells = (
        sense or "",
        part,
        amount(int(count), unit),
        code,
        lot or "unknown",
        company,
        reference,
        _expiry(expiry, until),
    )
    return Record(code, cells, (f"{name}, {company}, delivery note {reference}",))


def of_bottle(row: Row) -> Record:
    """An opened bottle."""
    code, part, left, place, condition, opened, until = row
    expiry = f"until {until}" if until else "no expiry"
    cells = (
        part,
        f"{amount(int(left), 'volume_ul')} left",
        code,
        place,
        condition,
        f"opened {opened}",
        expiry,
    )
    return Record(code, cells)


def of_set(row: Row) -> Record:
    """A rotor set with its proof, or without one."""
    code, sense, part, condition, place, kind, method, residual, uncertainty, tolerance = row
    figures = (
        f"{_figure(residual, Dimension.MOMENT)} of {_figure(tolerance, Dimension.MOMENT)}"
        if residual is not None
        else ""
    )
    where = f"{kind} {place}".strip() if kind in ("kit", "position") else place
    detail = [f"proof: {method or 'NONE'}"]
    if figures:
        detail.append(f"residual {figures}, uncertain by {_figure(uncertainty, Dimension.MOMENT)}")
    return Record(
        code, (sense, code, part, condition, figures or method or "NOT PROVED", where), tuple(detail)
    )


def of_came_back(row: Row) -> Record:
    """A set that came off an aircraft, out of a kit or from a job, and is in no bin yet."""
    code, sense, part, condition, place = row
    return Record(code, (sense, code, part, condition, place))


def of_unproved(row: Row) -> Record:
    """A set without a proof of match."""
    code, sense, part, condition, place, why = row
    return Record(code, (sense, code, part, condition, why, place))


def of_kit(row: Row) -> Record:
    """A kit."""
    code, revision, tail, state, place, expires, seal = row
    until = f"until {expires}" if expires else ""
    cells = (code, revision, tail or "any airframe", state, place, until, f"seal {seal}" if seal else "")
    return Record(code, cells)


def of_hold(row: Row) -> Record:
    """An open hold."""
    code, scope, text, reason, reference, is_recall, is_evidence, by, at = row
    kind = "RECALL" if is_recall else ("EVIDENCE" if is_evidence else "hold")
    detail = (
        f"{kind} on {scope} {text}: {reason}",
        f"placed by {by} at {at[:16]} UTC, {reference or 'no reference'}",
    )
    return Record(code, (kind, code, text, reason, reference or "no reference"), detail)


def of_override(row: Row) -> Record:
    """An override that was used."""
    number, kind, subject, reason, by, second, at = row
    detail = (f"{kind}: {subject}", f"why: {reason}", f"by {by} with {second or 'NOBODY'}, {at[:16]} UTC")
    return Record(number, (at[:10], kind, subject, reason, by, second), detail)


def of_alone(row: Row) -> Record:
    """A declaration that nobody else was there."""
    number, name, job, first, last, reason, by = row
    detail = (f"{name} alone, {job or 'any job'}, {first} to {last}", f"why: {reason}", f"declared by {by}")
    return Record(number, (f"{first} to {last}", name, job or "any job", reason, by), detail)


def of_count(row: Row) -> Record:
    """A count of a place."""
    code, place, state, counted_by, at = row
    return Record(code, (code, place, state, counted_by, at[:10]))


def of_person(row: Row) -> Record:
    """A person."""
    code, name, active, is_script, roles = row
    kind = "a program" if is_script else "a person"
    return Record(code, (name, code, roles.strip() or "no role", "here" if active else "has left", kind))


def of_place(row: Row) -> Record:
    """A place of the stores."""
    code, kind, name, site = row
    return Record(code, (kind, code, name, site))


def of_airframe(row: Row) -> Record:
    """An airframe."""
    code, tail, revision, state, minutes, flights, map_revision, verified = row
    hours = write_quantity(int(minutes), dimension=Dimension.TIME) if minutes is not None else "hours UNKNOWN"
    flown = f"{flights} flights" if flights is not None else "flights UNKNOWN"
    checked = "verified" if verified else "NOT VERIFIED"
    return Record(code, (tail, code, revision, state, hours, flown, f"map {map_revision} {checked}"))


def of_part(row: Row) -> Record:
    """A part number."""
    number, sense, part, name, kind, maker, tolerance, pairing, superseded = row
    figure = f"tolerance {_figure(tolerance, Dimension.MOMENT)}" if tolerance is not None else ""
    cells = (sense or "", part, kind, name, maker, figure, f"superseded: {superseded}" if superseded else "")
    told = f"supplier's pairing {'suffices' if pairing else 'does not suffice'}" if kind == "blade" else ""
    step = Step("shelf", "show what is on the shelf", (("part", part),))
    return Record(number, cells, (f"{maker}: {part}", *([told] if told else [])), step=step)


def of_tool(row: Row) -> Record:
    """A scale or a torque tool."""
    code, name, kind, until, active = row
    cells = (
        name,
        kind,
        code,
        f"calibrated until {until}" if until else "NOT CALIBRATED",
        "in use" if active else "retired",
    )
    return Record(code, cells)


def of_change(row: Row) -> Record:
    """A setting that was changed."""
    number, subject, name, old, new, source, by, second, at = row
    detail = (
        f"{subject}: {name} from {old or 'nothing'} to {new or 'nothing'}", f"source: {source}",
        f"by {by} with {second or 'NOBODY'}, {at[:16]} UTC",
    )  # fmt: skip
    return Record(number, (at[:10], subject, name, f"{old} -> {new}", by), detail)


def of_voucher(row: Row) -> Record:
    """A voucher."""
    code, kit, job, tail, giver, receiver, state = row
    step = Step("voucher show", "show the voucher", (("voucher", code),))
    return Record(code, (code, kit, job, tail, f"{giver} to {receiver}", state), code=kit, step=step)
