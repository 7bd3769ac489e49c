"""Signing on at the stations: the badge or name, the PIN where one is set, the cautions that each person reads once."""

from typing import TYPE_CHECKING

from kittrack.domain.cautions import CAUTIONS
from kittrack.errors import BadInput, Refusal, Refused
from kittrack.queries.people import Who, who_is
from kittrack.services import founding, signing_on
from kittrack.tui.reading_page import ReadingPage

if TYPE_CHECKING:
    from kittrack.tui.stations_app import StationsApp


async def find(app: "StationsApp", text: str) -> Who:
    """The person of a badge or an exact name, who is here.

    Raises:
        NotFound: nobody is known so.
        Refused: the person has left.
    """
    found = await app.ask(who_is, who=text)
    if not found.is_here:
        message = f"{found.name} has left and can't sign on; scan the badge of somebody who is here."
        raise Refused([Refusal("R8", found.code, message)])
    return found


async def prove(app: "StationsApp", who: Who, *, title: str, note: str) -> Who | None:
    """The person once the PIN was right, at once where none is set, None where the form was left.

    Raises:
        Refused: everybody here signs on with a PIN and this person has none.
    """
    if not await app.ask(signing_on.needs_pin, who=who.code):
        await app.ask(signing_on.sign_on, who=who.code, at=app.now())
        return who
    from kittrack.tui.sign_on_form import SignOnForm

    return await app.push_screen_wait(SignOnForm(title, notes=(note,), who=who))


async def confirm(app: "StationsApp", text: str, *, what: str) -> Who:
    """The second person of an act, confirmed in place: nobody is signed off, and the PIN is asked for where one is set.

    Args:
        text: badge or exact name.
        what: what is confirmed, as a sentence says it.

    Raises:
        NotFound, Refused: nobody known so, the person has left or has no PIN where everybody needs one.
        BadInput: the person left the form without the PIN.
    """
    who = await find(app, text)
    if app.signed_on is not None and who.code == app.signed_on.code:
        return who  # signed on already; whether one person may do both is a rule of the act
    note = f"{who.name} confirms {what}. {app.name_signed_on or 'Nobody'} stays signed on."
    proved = await prove(app, who, title=f"Second person: {who.name}", note=note)
    if proved is None:
        raise BadInput(f"{who.name} did not confirm; scan the badge again and type the PIN.", field="second")
    return proved


async def have_cautions_read(app: "StationsApp", who: Who) -> Who | None:
    """The person as known once the cautions are acknowledged, None where they were not read."""
    if founding.CAUTIONS in who.acknowledged:
        return who
    page = ReadingPage(
        f"Cautions for {who.name}", lines=[line for text in CAUTIONS for line in (text, "")],
        keys=" F9 I have read this   Esc sign off", symbols=app.symbols, asks=True,
    )  # fmt: skip
    if not await app.push_screen_wait(page):
        return None
    await app.ask(founding.acknowledge_cautions, by=who.code, at=app.now())
    return await app.ask(who_is, who=who.code)
