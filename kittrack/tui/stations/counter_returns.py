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
from kittrack.tui.forms import Field, Form, Values
from kittrack.tui.kit_text import amount, read_amount
from kittrack.tui.verdicts import Tone, Verdict, done, verdict

if TYPE_CHECKING:
    from kittrack.tui.station import Station


class Return(StrEnum):
    """How a kit comes back, by the number that a person types."""

    UNOPENED = "1"
    COMPLETE = "2"
    SHORT = "3"

    @classmethod
    def choices(cls) -> tuple[str, ...]:
        """The numbers."""
        return tuple(cls)


def offer_return(kit: KitView) -> Verdict:
    """What to choose from when an issued kit is scanned alone."""
    return verdict(
        Tone.NEXT,
        f"{kit.code} is out. How does it come back? Type the number and Enter:",
        "1 unopened, its seal intact",
        "2 opened, everything is there",
        "3 opened, something is missing",
        "To see it for a job instead, scan the job.",
    )


async def ask_return(station: "Station", kit: KitView, how: Return) -> Verdict | None:
    """Ask what the way of coming back takes, and record it; None where the person leaves the form."""
    asked = {Return.UNOPENED: _unopened, Return.COMPLETE: _complete, Return.SHORT: _short}
    said = await asked[how](station, kit)
    return done(said.said) if said is not None else None


async def _unopened(station: "Station", kit: KitView) -> Done | None:
    async def record(values: Values) -> Done:
        seal, place = _read_unopened(values)
        return await station.app.ask(
            returning.return_unopened, kit=kit.code, seal=seal, to_place=place, by=station.app.me,
            at=station.app.now(),
        )  # fmt: skip

    form = Form(
        f"{kit.code} comes back unopened",
        fields=(Field("seal", "Seal as you read it on the kit"), Field("place", "Bin or van where it goes")),
        act=record,
        symbols=station.symbols,
        notes=("Look the kit over, read the seal, and scan the bin or van where you put it.",),
        scan_into=lambda text: "place" if looks_like_code(text) else "seal",
    )
    return await station.app.push_screen_wait(form)


def _read_unopened(values: Values) -> tuple[str, str]:
    if not values["seal"].strip() or not values["place"].strip():
        raise BadInput("Both are needed: the seal as read, and the bin or van.")
    return values["seal"].strip(), values["place"].strip()


async def _complete(station: "Station", kit: KitView) -> Done | None:
    return await _opened(station, kit, fields=(), title=f"{kit.code} comes back opened and complete")


def _in_it(kit: KitView) -> str:
    """What was in a kit when it was sealed, by the codes that somebody names what is missing by."""
    things = [
        f"{thing if line.kind == 'rotor set' else f'{amount(line.have, line.unit)} of {thing}'} ({line.part})"
        for line in kit.lines
        for thing in line.things
    ]
    return f"In it were: {', '.join(things)}."


async def _short(station: "Station", kit: KitView) -> Done | None:
    missing = Field("missing", "Missing: scan it; then x COUNT", gathers=(Kind.ROTOR_SET, *_COUNTED))
    return await _opened(station, kit, fields=(missing,), title=f"{kit.code} comes back opened and short")


_COUNTED = (Kind.RECEIPT_LINE, Kind.PIECE)


async def _opened(station: "Station", kit: KitView, *, fields: tuple[Field, ...], title: str) -> Done | None:
    async def record(values: Values) -> Done:
        reason, missing, closed = _read_opened(values)
        return await station.app.ask(
            returning.return_opened, kit=kit.code, reason=reason, missing=missing, closed_bags=closed,
            by=station.app.me, at=station.app.now(),
        )  # fmt: skip

    form = Form(
        title,
        fields=(
            Field("reason", "Why it was opened"),
            *fields,
            Field("closed", "Bags still closed: scan each", gathers=_COUNTED),
        ),
        act=record,
        symbols=station.symbols,
        notes=(
            "The number of an opened kit is dead. Sets go to inspection; screws and washers are scrapped, "
            "or go to inspection where their own bag is still closed. Part several codes by commas.",
            _in_it(kit),
        ),
    )
    return await station.app.push_screen_wait(form)


def _read_opened(values: Values) -> tuple[str, tuple[Missing, ...], tuple[str, ...]]:
    if not values["reason"].strip():
        raise BadInput("The reason is empty; type why it was opened.", field="reason")
    closed = tuple(read_code(text).text for text in _listed(values["closed"]))
    missing = tuple(_read_missing(text) for text in _listed(values.get("missing", "")))
    if "missing" in values and not missing:
        raise BadInput(
            "Nothing is named as missing; name it, or leave with Esc and choose 2.", field="missing"
        )
    return values["reason"].strip(), missing, closed


def _read_missing(text: str) -> Missing:
    code, _, count = text.partition(" x ")
    read = read_code(code)
    if read.kind not in (Kind.ROTOR_SET, Kind.RECEIPT_LINE, Kind.PIECE):
        raise BadInput(f"{read} is {read.kind.with_article}; name a rotor set, a receipt line or a bottle.")
    return Missing(read.text, read_amount(count) if count else 1)


async def ask_leftover(
    station: "Station", job: str, code: Code, *, left_over: Sequence[str]
) -> Verdict | None:
    """Take back one thing that a job has left over; None where the person leaves the form.

    Args:
        station: where it comes back.
        job: the job's code.
        code: of what comes back.
        left_over: what the job holds, in words.
    """
    counted = code.kind is Kind.RECEIPT_LINE
    held = next((thing for thing in left_over if code.text in thing), "nothing under this number")
    is_volume = " mL of " in held
    count = (Field("count", "How much, in mL" if is_volume else "How many come back"),) if counted else ()

    async def record(values: Values) -> Done:
        left = _read_leftover(values, code, is_volume=is_volume)
        return await station.app.ask(
            returning.return_leftovers, job=job, items=(left,), by=station.app.me, at=station.app.now()
        )

    form = Form(
        f"{code} comes back from {job}",
        fields=(*count, Field("closed", "Own bag or bottle never opened: yes or no", "no")),
        act=record,
        symbols=station.symbols,
        notes=(
            f"The job holds {held}.",
            "Sets go to inspection. Screws and washers from an opened bag are scrapped, never used again.",
        ),
    )
    said = await station.app.push_screen_wait(form)
    return done(said.said) if said is not None else None


def _read_leftover(values: Values, code: Code, *, is_volume: bool) -> Leftover:
    closed = values["closed"].strip().lower()
    if closed not in ("yes", "no"):
        raise BadInput("Was its own bag never opened? Type yes or no.", field="closed")
    typed = values.get("count", "1")
    with_unit = f"{typed} mL" if is_volume and typed.strip()[-1:].isdigit() else typed
    count = read_amount(with_unit)
    return Leftover(code.text, count, bag_closed=closed == "yes")


def _listed(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]
