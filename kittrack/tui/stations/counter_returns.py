"""Kits that come back to the Counter: unopened, opened and complete, opened and short (design 7, R5, R9)."""

from collections.abc import Sequence
from enum import StrEnum
from typing import TYPE_CHECKING

from kittrack.domain.codes import Code, Kind, looks_like_code, read_code
from kittrack.errors import BadInput
from kittrack.queries.kits import KitView
from kittrack.services import returning
from kittrack.services.desk import Done
from kittrack.services.returning import Leftover, Missing
from kittrack.tui import doing
from kittrack.tui.deeds import Ask, Values
from kittrack.tui.kit_text import amount, read_amount
from kittrack.tui.verdicts import Tone, Verdict, verdict

if TYPE_CHECKING:
    from kittrack.tui.station import Station


class Return(StrEnum):
    """How a kit comes back, by the number that a person types."""

    UNOPENED = "1"
    COMPLETE = "2"
    SHORT = "3"


def ways_back(kit: KitView) -> tuple[Return, ...]:
    """How an issued kit can come back, or what is left of one of which a set was found elsewhere; else none."""
    if kit.holds_rest:
        return (Return.COMPLETE, Return.SHORT)
    return tuple(Return) if kit.state == "issued" else ()


def offer_return(kit: KitView) -> Verdict:
    """What to choose from when a kit that can come back is scanned alone."""
    if kit.holds_rest:
        return verdict(
            Tone.NEXT,
            f"A set of {kit.code} was found elsewhere, its number is dead. How does the rest come back? Type the number and Enter:",
            "2 everything else is there",
            "3 more is missing",
        )
    return verdict(
        Tone.NEXT,
        f"{kit.code} is out. How does it come back? Type the number and Enter:",
        "1 unopened, its seal intact",
        "2 opened, everything is there",
        "3 opened, something is missing",
        "To see it for a job instead, scan the job.",
    )


async def ask_return(station: "Station", kit: KitView, how: Return) -> Done | None:
    """Ask what the way of coming back takes, and record it; None where the person leaves the form."""
    asked = {Return.UNOPENED: _unopened, Return.COMPLETE: _complete, Return.SHORT: _short}
    return await asked[how](station, kit)


async def _unopened(station: "Station", kit: KitView) -> Done | None:
    async def record(values: Values) -> Done:
        return await station.app.ask(
            returning.return_unopened, **values, kit=kit.code, by=station.app.me, at=station.app.now()
        )

    asks = (
        Ask("seal", "Seal", help="as you read it on the kit"),
        Ask(
            "to_place",
            "Where it goes",
            help="a bin or a van; the hold cage for what is held",
            scans=(Kind.SHELF_PLACE,),
        ),
    )
    return await doing.ask_for(
        station, f"{kit.code} comes back unopened", asks=asks, act=record, service=returning.return_unopened,
        notes=("Look the kit over, read the seal, and scan the bin, the van or the hold cage where you put it.",),
        scan_into=lambda text: None if looks_like_code(text) else "seal",
    )  # fmt: skip


async def _complete(station: "Station", kit: KitView) -> Done | None:
    return await _opened(station, kit, asks=(), title=f"{kit.code} comes back opened and complete")


def _in_it(kit: KitView) -> str:
    """What was in a kit when it was sealed, by the codes that somebody names what is missing by."""
    things = [
        f"{thing if line.kind == 'rotor set' else f'{amount(line.have, line.unit)} of {thing}'} ({line.part})"
        for line in kit.lines
        for thing in line.things
    ]
    return f"In it were: {', '.join(things)}."


async def _short(station: "Station", kit: KitView) -> Done | None:
    missing = Ask(
        "missing", "Missing", _read_missing, help="scan it; then x COUNT where more than one is not there", many=True,
        scans=(Kind.ROTOR_SET, *_COUNTED),
    )  # fmt: skip
    return await _opened(station, kit, asks=(missing,), title=f"{kit.code} comes back opened and short")


_COUNTED = (Kind.RECEIPT_LINE, Kind.PIECE)


async def _opened(station: "Station", kit: KitView, *, asks: tuple[Ask, ...], title: str) -> Done | None:
    async def record(values: Values) -> Done:
        return await station.app.ask(
            returning.return_opened, **values, kit=kit.code, by=station.app.me, at=station.app.now()
        )

    closed = Ask(
        "closed_bags", "Bags still closed", _read_closed, help="scan each", needed=False, many=True, scans=_COUNTED
    )  # fmt: skip
    return await doing.ask_for(
        station, title, asks=(Ask("reason", "Why it was opened"), *asks, closed), act=record, service=returning.return_opened,
        notes=(
            "The number of an opened kit is dead. Sets go to inspection; screws and washers are scrapped, "
            "or go to inspection where their own bag is still closed. Part several codes by commas.",
            _in_it(kit),
        ),
    )  # fmt: skip


def _read_closed(text: str) -> tuple[str, ...]:
    return tuple(read_code(one).text for one in _listed(text))


def _read_missing(text: str) -> tuple[Missing, ...]:
    return tuple(map(_read_one_missing, _listed(text)))


def _read_one_missing(text: str) -> Missing:
    code, _, count = text.partition(" x ")
    read = read_code(code)
    if read.kind not in (Kind.ROTOR_SET, Kind.RECEIPT_LINE, Kind.PIECE):
        raise BadInput(f"{read} is {read.kind.with_article}; name a rotor set, a receipt line or a bottle.")
    return Missing(read.text, read_amount(count) if count else 1)


async def ask_leftover(station: "Station", job: str, code: Code, *, left_over: Sequence[str]) -> Done | None:
    """Take back one thing that a job has left over; None where the person leaves the form.

    Args:
        station: where it comes back.
        job: the job's code.
        code: of what comes back.
        left_over: what the job holds, in words.

    Raises:
        BadInput: it holds nothing under the number.
    """
    held = next((thing for thing in left_over if code.text in thing), "")
    if not held:
        raise BadInput(f"{job} holds nothing under {code}; scan one of what it holds, or Esc to start again.")
    counted = (
        Ask("count", "How much, in mL", _read_volume)
        if " mL of " in held
        else Ask("count", "How many come back", read_amount)
    )
    count = (counted,) if code.kind is Kind.RECEIPT_LINE else ()
    closed = Ask(
        "closed", "Never opened: yes or no", _read_yes, help="whether its own bag or bottle was never opened",
        value="no", choices=(("no", "its bag was opened"), ("yes", "its bag was never opened")),
    )  # fmt: skip

    async def record(values: Values) -> Done:
        left = Leftover(code.text, values.get("count", 1), bag_closed=values.get("closed", False))
        return await station.app.ask(
            returning.return_leftovers, job=job, items=(left,), by=station.app.me, at=station.app.now()
        )

    return await doing.ask_for(
        station, f"{code} comes back from {job}", asks=() if code.kind is Kind.ROTOR_SET else (*count, closed), act=record,
        service=returning.return_leftovers,
        notes=(
            f"The job holds {held}.",
            "Sets go to inspection. Screws and washers from an opened bag are scrapped, never used again.",
        ),
    )  # fmt: skip


def _read_volume(text: str) -> int:
    return read_amount(f"{text} mL" if text[-1:].isdigit() else text)


def _read_yes(text: str) -> bool:
    if text.lower() not in ("yes", "no"):
        raise BadInput("type yes or no.")
    return text.lower() == "yes"


def _listed(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]
