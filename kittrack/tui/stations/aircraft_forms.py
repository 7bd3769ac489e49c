"""The forms at an aircraft: what fastens a hub, and what is said of a rotor that comes off."""

from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Final, TypeVar

from kittrack.domain.codes import Kind, looks_like_code, read_code
from kittrack.domain.fixing import Need
from kittrack.domain.quantities import Dimension, read_quantity, write_torque
from kittrack.errors import BadInput
from kittrack.queries.at_aircraft import AircraftView, InJob, PositionView
from kittrack.services import fastening, jobs, position_desk, removing, sense_maps, torquing
from kittrack.services.coverage import ALL, Coverage
from kittrack.services.desk import Done
from kittrack.services.fastening import TakenPart
from kittrack.store.database import Store
from kittrack.tui import doing
from kittrack.tui.deeds import Ask, Values
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

    reason: str
    purpose: str
    mark: str = ""
    screws_out: int | None = None
    to_place: str = ""


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
    asks = [*(_ask_part(i, need, held) for i, need in enumerate(hub.needs)), *_ask_torque(hub)]
    return await doing.ask_for(
        station, f"Fasten {position.name} ({position.sense}), {position.fitted}", asks=asks,
        service=fastening.fasten, act=lambda values: act(_fastened(values, hub)), notes=(_instruction(hub), *_lacking(hub.needs, held)),
        scan_into=lambda text: _field_for(text, hub.needs, held),
    )  # fmt: skip


async def ask_retorqued(
    station: "Station", position: PositionView, hub: HubNeeds, act: Recording[Fastened]
) -> Done | None:
    """Ask how the screws of a fitted position were torqued again; None where the person leaves."""
    return await doing.ask_for(
        station, f"Re-torque {position.name} ({position.sense}), {position.fitted}", asks=_ask_torque(hub),
        service=torquing.record_retorque, act=lambda values: act(Fastened((), values.get("torque"), values.get("tool", ""), hub.method)),
        notes=(f"The same screws stay in. {_tighten(hub)}",),
    )  # fmt: skip


def _ask_torque(hub: HubNeeds) -> Sequence[Ask]:
    if hub.method != "torque":
        return ()
    help_text = "a number and its unit, such as 0.8 N m"
    return (
        Ask("torque", "Torque as set on the tool", _read_torque, help=help_text),
        Ask("tool", "Torque tool", help="scan its tag", scans=(Kind.TOOL,)),
    )


def _ask_part(number: int, need: Need, held: Sequence[InJob]) -> Ask:
    """The code of what the job holds for a need; another count than the need's stands behind an x."""
    own = tuple(
        (thing.code, f"{amount(thing.quantity, thing.unit)} in the job")
        for thing in held
        if thing.part == need.part
    )
    return Ask(
        f"part{number}", f"{amount(need.quantity, need.unit)} {need.part}: code", partial(_taken, need=need),
        help="scan its bag or bottle; CODE x COUNT where another count is taken", value=_first_choice(need, held),
        choices=own,
    )  # fmt: skip


def _instruction(hub: HubNeeds) -> str:
    return f"New screws and washers of one lot, never used ones. {_tighten(hub)}"


def _tighten(hub: HubNeeds) -> str:
    how = f"torque {write_torque(hub.torque_mnm)}" if hub.torque_mnm else f"{hub.method} {hub.words}".strip()
    return f"Tighten: {how}; the maker's manual decides."


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
    part = next((thing.part for thing in held if thing.code == code.text), None)
    return next((f"part{i}" for i, need in enumerate(needs) if need.part == part), None)


def _fastened(values: Values, hub: HubNeeds) -> Fastened:
    taken = tuple(values[f"part{i}"] for i, _ in enumerate(hub.needs))
    return Fastened(taken, values.get("torque"), values.get("tool", ""), hub.method)


def _read_torque(text: str) -> int:
    return read_quantity(text, dimension=Dimension.TORQUE)


def _read_pieces(text: str) -> int:
    return read_quantity(text, dimension=Dimension.PIECES)


def _taken(text: str, need: Need) -> TakenPart:
    """A code, with " x count" where another count than the need's was taken."""
    code, _, count = text.partition(" x ")
    quantity = read_quantity(count, dimension=Dimension.PIECES) if count else need.quantity
    return TakenPart(read_code(code).text, 0 if need.unit == "volume_ul" else quantity)


# ---- take off ------------------------------------------------------------------------------------


async def ask_taken_off(
    station: "Station", position: PositionView, purpose: str, act: Recording[TakenOff]
) -> Done | None:
    """Ask what is found on the rotor that comes off, and why it does; None where the person leaves."""
    asks = [replace(ask, value=purpose) if ask.name == "purpose" else ask for ask in _TAKEN_OFF]
    return await doing.ask_for(
        station, f"Take {position.fitted} off {position.name}", asks=asks, act=lambda values: act(TakenOff(**values)),
        service=removing.remove_set,
        notes=(
            "It goes whole to the removed-parts cage with a tag; taken off for transport it goes where you say, and "
            "back on this position. Its screws are scrapped, never used again.",
        ),
    )  # fmt: skip


_TAKEN_OFF: Final = (
    Ask("mark", "Mark read on it", help="as it stands on the rotor; empty where none can be read", needed=False),
    Ask("screws_out", "Screws that came out", _read_pieces, help="counted one by one", needed=False),
    Ask("reason", "Why it comes off"),
    Ask(
        "purpose", "Purpose",
        choices=(
            ("replacement", "another set takes its place"),
            ("transport", "it comes off for a journey and goes back on"),
            ("finding", "something is wrong with it"),
        ),
    ),
    Ask(
        "to_place", "Transport: to", help="the bin, van or person that carries it", needed=False,
        scans=(Kind.SHELF_PLACE, Kind.PERSON),
    ),
)  # fmt: skip


# ---- other questions -----------------------------------------------------------------------------


async def ask_reason(station: "Station", title: str, *, note: str, act: Recording[str]) -> Done | None:
    """Ask for one reason; None where the person leaves."""
    asks = (Ask("reason", "Why"),)
    return await doing.ask_for(
        station, title, asks=asks, act=lambda values: act(values["reason"]), notes=(note,)
    )


async def ask_settled(station: "Station", number: str, text: str, act: Recording[Settlement]) -> Done | None:
    """Ask what was done about a finding, and who settles it."""
    asks = (
        Ask("text", "What was done about it"),
        Ask("second", "Who settles it", help="badge of an inspector or a manager", scans=(Kind.PERSON,)),
    )
    return await doing.ask_for(
        station, f"Settle finding {number}", asks=asks,
        act=lambda values: act(Settlement(values["text"], values["second"])), notes=(text,),
    )  # fmt: skip


async def ask_motor_test(
    station: "Station", positions: Sequence[PositionView], act: Recording[MotorTest]
) -> Done | None:
    """Ask which way each motor turned: by position the sense seen, the test's record, the second person."""
    asks = (
        *(
            Ask(f"at{i}", f"{p.name}: CW or CCW", _read_sense, choices=_SENSES)
            for i, p in enumerate(positions)
        ),
        Ask("source", "Record of the test"),
        Ask("second", "Who watched it", help="badge of a second person", scans=(Kind.PERSON,)),
    )

    def read(values: Values) -> MotorTest:
        seen = {p.name: values[f"at{i}"] for i, p in enumerate(positions)}
        return MotorTest(seen, values["source"], values["second"])

    return await doing.ask_for(
        station, "Motor test, ROTORS OFF", asks=asks, act=lambda values: act(read(values)), service=sense_maps.record_motor_test,
        notes=("Take every rotor off, run each motor alone, and type which way it turned. Do not look it up.",),
    )  # fmt: skip


_SENSES: Final = (("CW", "clockwise, seen from above"), ("CCW", "counter-clockwise, seen from above"))


def _read_sense(text: str) -> str:
    sense = text.upper()
    if sense not in ("CW", "CCW"):
        raise BadInput("type CW or CCW, as seen from above.")
    return sense


async def ask_job(
    station: "Station", view: AircraftView, act: Recording[tuple[str, Coverage]]
) -> Done | None:
    """Ask for what a job is opened: its purpose, and all positions or some."""
    names = ", ".join(p.name for p in view.positions)
    asks = (
        Ask("purpose", "Why the work is done"),
        Ask(
            "positions", "Positions", _read_names, help="parted by commas; empty for all", needed=False, many=True,
            choices=tuple((p.name, f"turns {p.sense}") for p in view.positions),
        ),
    )  # fmt: skip
    return await doing.ask_for(
        station, f"Open a job for {view.tail}", asks=asks,
        service=jobs.open_job, act=lambda values: act((values["purpose"], values.get("positions", ALL))),
        notes=(f"Positions of {view.tail}: {names}. Part several by commas.",),
    )  # fmt: skip


def _read_names(text: str) -> Coverage:
    names = tuple(name.strip() for name in text.split(",") if name.strip())
    return Coverage("named", names) if names else ALL
