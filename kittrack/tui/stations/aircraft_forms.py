"""The forms at an aircraft: what fastens a hub, and what is said of a rotor that comes off."""

from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from kittrack.domain.codes import Kind, looks_like_code, read_code
from kittrack.domain.fixing import Need
from kittrack.domain.quantities import Dimension, read_quantity, write_torque
from kittrack.errors import BadInput
from kittrack.queries.at_aircraft import AircraftView, InJob, PositionView
from kittrack.services import fastening, position_desk
from kittrack.services.coverage import ALL, Coverage
from kittrack.services.desk import Done
from kittrack.services.fastening import TakenPart
from kittrack.store.database import Store
from kittrack.tui.forms import Field, Form, Values
from kittrack.tui.kit_text import amount

if TYPE_CHECKING:
    from kittrack.tui.station import Station

A = TypeVar("A")
Recording = Callable[[A], Awaitable[Done]]
"""Records what a form says."""


@dataclass(frozen=True)
class HubNeeds:
    """What one hub takes, and how it is tightened; `torque_mnm` is None where the method is no torque."""

    needs: tuple[Need, ...]
    method: str
    torque_mnm: int | None
    words: str


@dataclass(frozen=True)
class Fastened:
    """What the form says: the parts that were taken, the torque and the tool."""

    parts: tuple[TakenPart, ...]
    torque_mnm: int | None
    tool: str
    method: str


@dataclass(frozen=True)
class TakenOff:
    """What the form says of a rotor that comes off."""

    mark: str
    screws_out: int | None
    reason: str
    purpose: str
    carrier: str


@dataclass(frozen=True)
class MotorTest:
    """What the form says of a motor test: by position the sense seen, the test's record, the second person."""

    seen: dict[str, str]
    source: str
    second: str


@dataclass(frozen=True)
class Settlement:
    """What the form says of a finding that is settled: what was done, and who settles it."""

    text: str
    by: str


def hub_needs(store: Store, *, position: str) -> HubNeeds:
    """What the hub of a position takes by its type revision, as the act of fastening judges it."""
    with store.reading() as read:
        spot = position_desk.find_spot(read, position)
        fixing = spot.fixing
        return HubNeeds(
            tuple(fastening.needs_of(read, spot)), fixing.torque_method, fixing.torque_mnm, fixing.torque_text
        )


# ---- fasten --------------------------------------------------------------------------------------


async def ask_fastened(
    station: "Station", position: PositionView, hub: HubNeeds, held: Sequence[InJob], act: Recording[Fastened]
) -> Done | None:
    """Ask what fastens a hub: parts with counts, torque with its tool; None where the person leaves."""
    fields = [
        Field(f"part{i}", f"{amount(n.quantity, n.unit)} {n.part}: code", _first_choice(n, held))
        for i, n in enumerate(hub.needs)
    ]
    if hub.method == "torque":
        fields += [Field("torque", "Torque as set on the tool"), Field("tool", "Torque tool: scan its tag")]
    form = Form(
        f"Fasten {position.name} ({position.sense}), {position.fitted}",
        fields=fields,
        act=lambda values: act(_read_fastened(values, hub)),
        symbols=station.symbols,
        notes=(_instruction(hub), *_lacking(hub.needs, held)),
        scan_into=lambda text: _field_for(text, hub.needs, held),
    )
    return await station.app.push_screen_wait(form)


def _instruction(hub: HubNeeds) -> str:
    how = f"torque {write_torque(hub.torque_mnm)}" if hub.torque_mnm else f"{hub.method} {hub.words}".strip()
    return f"New screws and washers of one lot, never used ones. Tighten: {how}; the maker's manual decides."


def _lacking(needs: Sequence[Need], held: Sequence[InJob]) -> list[str]:
    """What the job does not hold, and who makes it good; loose stock never does."""
    short = []
    for need in needs:
        have = sum(thing.quantity for thing in held if thing.part == need.part)
        if have < need.quantity:
            short.append(f"{amount(have, need.unit)} of {amount(need.quantity, need.unit)} {need.part}")
    if not short:
        return []
    return [
        f"THE JOB IS SHORT, it holds {', '.join(short)}: Esc, and have a clerk build (F10, kit make-good) and issue "
        "a make-good kit."
    ]


def _first_choice(need: Need, held: Sequence[InJob]) -> str:
    """The code that the job holds for a need, where it holds just one that suffices."""
    enough = [thing.code for thing in held if thing.part == need.part and thing.quantity >= need.quantity]
    return enough[0] if len(enough) == 1 else ""


def _field_for(text: str, needs: Sequence[Need], held: Sequence[InJob]) -> str | None:
    if not looks_like_code(text):
        return None
    try:
        code = read_code(text)
    except BadInput:
        return None
    if code.kind is Kind.TOOL:
        return "tool"
    part = next((thing.part for thing in held if thing.code == code.text), None)
    return next((f"part{i}" for i, need in enumerate(needs) if need.part == part), None)


def _read_fastened(values: Values, hub: HubNeeds) -> Fastened:
    taken = tuple(
        _taken(values[f"part{i}"], need) for i, need in enumerate(hub.needs) if values[f"part{i}"].strip()
    )
    torque = values.get("torque", "").strip()
    return Fastened(
        taken,
        read_quantity(torque, dimension=Dimension.TORQUE) if torque else None,
        values.get("tool", "").strip(),
        hub.method,
    )


def _taken(text: str, need: Need) -> TakenPart:
    """A code, with " x count" where another count than the need's was taken."""
    code, _, count = text.partition(" x ")
    quantity = read_quantity(count, dimension=Dimension.PIECES) if count else need.quantity
    return TakenPart(read_code(code).text, 0 if need.unit == "volume_ul" else quantity)


# ---- take off ------------------------------------------------------------------------------------


async def ask_taken_off(station: "Station", position: PositionView, act: Recording[TakenOff]) -> Done | None:
    """Ask what is found on the rotor that comes off, and why it does; None where the person leaves."""
    form = Form(
        f"Take {position.fitted} off {position.name}",
        fields=(
            Field("mark", "Mark read on it, empty if unreadable"),
            Field("screws", "Screws that came out, counted"),
            Field("reason", "Why it comes off"),
            Field("purpose", "replacement or transport", "replacement"),
            Field("to_place", "Transport: bin, van or person"),
        ),
        act=lambda values: act(_read_taken_off(values)),
        symbols=station.symbols,
        notes=(
            "It goes whole to the removed-parts cage with a tag; taken off for transport it goes where you say, and "
            "back on this position. Its screws are scrapped, never used again.",
        ),
        scan_into=lambda text: "to_place" if looks_like_code(text) else None,
    )
    return await station.app.push_screen_wait(form)


def _read_taken_off(values: Values) -> TakenOff:
    reason = values["reason"].strip()
    if not reason:
        raise BadInput("The reason is empty; type why it comes off.", field="reason")
    screws = values["screws"].strip()
    return TakenOff(
        mark=values["mark"].strip(),
        screws_out=read_quantity(screws, dimension=Dimension.PIECES) if screws else None,
        reason=reason,
        purpose=values["purpose"].strip(),
        carrier=values["to_place"].strip(),
    )


# ---- other questions -----------------------------------------------------------------------------


async def ask_reason(station: "Station", title: str, *, note: str, act: Recording[str]) -> Done | None:
    """Ask for one reason; None where the person leaves."""
    form = Form(
        title, fields=(Field("reason", "Why"),), act=lambda values: act(_read_reason(values)),
        symbols=station.symbols, notes=(note,),
    )  # fmt: skip
    return await station.app.push_screen_wait(form)


def _read_reason(values: Values) -> str:
    if not values["reason"].strip():
        raise BadInput("The reason is empty; type why.", field="reason")
    return values["reason"].strip()


async def ask_settled(station: "Station", number: str, text: str, act: Recording[Settlement]) -> Done | None:
    """Ask what was done about a finding, and who settles it."""
    form = Form(
        f"Settle finding {number}",
        fields=(
            Field("text", "What was done about it"),
            Field("second", "Badge of the inspector or manager who settles it"),
        ),
        act=lambda values: act(_read_settlement(values)),
        symbols=station.symbols,
        notes=(text,),
        scan_into=lambda scanned: "second" if looks_like_code(scanned) else None,
    )
    return await station.app.push_screen_wait(form)


def _read_settlement(values: Values) -> Settlement:
    if not values["text"].strip():
        raise BadInput("What was done is empty; type it.", field="text")
    if not values["second"].strip():
        raise BadInput("The badge is missing; an inspector or a manager settles a finding.", field="second")
    return Settlement(values["text"].strip(), values["second"].strip())


async def ask_motor_test(
    station: "Station", positions: Sequence[PositionView], act: Recording[MotorTest]
) -> Done | None:
    """Ask which way each motor turned: by position the sense seen, the test's record, the second person."""
    fields = [Field(f"at{i}", f"{p.name}: CW or CCW, seen from above") for i, p in enumerate(positions)]
    form = Form(
        "Motor test, ROTORS OFF",
        fields=(*fields, Field("source", "Record of the test"), Field("second", "Badge of who watched it")),
        act=lambda values: act(_read_motor_test(values, positions)),
        symbols=station.symbols,
        notes=(
            "Take every rotor off, run each motor alone, and type which way it turned. Do not look it up.",
        ),
        scan_into=lambda text: "second" if looks_like_code(text) else None,
    )
    return await station.app.push_screen_wait(form)


def _read_motor_test(values: Values, positions: Sequence[PositionView]) -> MotorTest:
    seen = {p.name: values[f"at{i}"].strip().upper() for i, p in enumerate(positions)}
    wrong = [name for name, sense in seen.items() if sense not in ("CW", "CCW")]
    if wrong:
        raise BadInput(f"{', '.join(wrong)}: type CW or CCW, as seen from above.")
    if not values["source"].strip() or not values["second"].strip():
        raise BadInput("The record of the test and the second person's badge are both needed.")
    return MotorTest(seen, values["source"].strip(), values["second"].strip())


async def ask_job(
    station: "Station", view: AircraftView, act: Recording[tuple[str, Coverage]]
) -> Done | None:
    """Ask for what a job is opened: its purpose, and all positions or some."""
    names = ", ".join(p.name for p in view.positions)
    form = Form(
        f"Open a job for {view.tail}",
        fields=(Field("purpose", "Why the work is done"), Field("positions", "Positions; empty for all")),
        act=lambda values: act(_read_job(values)),
        symbols=station.symbols,
        notes=(f"Positions of {view.tail}: {names}. Part several by commas.",),
    )
    return await station.app.push_screen_wait(form)


def _read_job(values: Values) -> tuple[str, Coverage]:
    if not values["purpose"].strip():
        raise BadInput("The purpose is empty; type why the work is done.", field="purpose")
    names = tuple(name.strip() for name in values["positions"].split(",") if name.strip())
    return values["purpose"].strip(), Coverage("named", names) if names else ALL
