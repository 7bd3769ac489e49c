"""Who is at the stations: signing on and off, the lock, and what a person is told who comes.

It is loaded with the first station, after the frame was drawn.
"""

from functools import partial
from typing import TYPE_CHECKING

from kittrack.queries.people import Who
from kittrack.services import idling
from kittrack.tui import signing
from kittrack.tui.scan_taker import ScanTaker
from kittrack.tui.sign_on_form import SignOnForm
from kittrack.tui.starting import said_at_start
from kittrack.tui.station import Station
from kittrack.tui.verdicts import Tone, Verdict, verdict

if TYPE_CHECKING:
    from kittrack.tui.stations_app import StationsApp


async def sign_on(app: "StationsApp", station: Station, text: str) -> None:
    """Sign somebody on by badge or name, and PIN where one is set."""
    who = await signing.find(app, text)
    proved = await signing.prove(app, who, title="Sign on", note=f"{who.name} signs on with a PIN.")
    read = await signing.have_cautions_read(app, proved) if proved else None
    if proved is None:
        station.say(verdict(Tone.NOT_YET, f"Nobody is signed on: the PIN of {who.name} was not typed."))
    elif read is None:
        station.say(verdict(Tone.NOT_YET, "Nobody is signed on: the cautions are to be read first."))
    else:
        await _welcome(app, station, read)


async def sign_on_by_form(app: "StationsApp", station: Station) -> None:
    """F12: a form of its own, so that a name is never taken for a filter or a seal."""
    note = "Scan your badge, or type your exact name and Enter."
    then = partial(signing.have_cautions_read, app)
    who = await app.push_screen_wait(SignOnForm("Sign on", notes=(note,), then=then))
    if who is None:
        station.say(verdict(Tone.NEXT, "Nobody is signed on; scan a badge to sign on."))
    else:
        await _welcome(app, station, who)


async def _welcome(app: "StationsApp", station: Station, who: Who) -> None:
    app.session.lock_minutes = (await app.ask(idling.idle_lock)).minutes
    app.set_signed_on(who)
    roles = ", ".join(who.roles)
    left = await app.forms.look(who.code)
    said = verdict(Tone.DONE, f"{who.name} is signed on ({roles}).", *left, *station.next_in_words())
    if "manager" in who.roles:
        await tell_start(app, station, who=who.code, after=said)
    else:
        station.say(said)


async def tell_start(
    app: "StationsApp", station: Station, *, who: str = "", after: Verdict | None = None
) -> None:
    """Say what is to be known of the store now, above another verdict."""
    said = await said_at_start(app, who=who)
    if said is not None:
        station.say(Verdict(said.tone, (*said.sentences, *(after.sentences if after else ()))))
    elif after is not None:
        station.say(after)


def lock(app: "StationsApp") -> None:
    """Cover everything until somebody proves to be there; what is underneath stays as it is."""
    app.session.is_locked = True
    notes = (
        f"{app.name_signed_on} is signed on. What was begun is kept; nothing is recorded meanwhile.",
        "Scan your badge, or type your exact name. Another person signs on instead.",
    )
    then = partial(signing.have_cautions_read, app)
    app.push_screen(SignOnForm("LOCKED", notes=notes, then=then, is_lock=True), partial(_unlock, app))


def _unlock(app: "StationsApp", who: Who | None) -> None:
    before, app.session.is_locked = app.signed_on, False
    if who is None or before is None or who.code == before.code:
        return
    app.set_signed_on(who)
    app.run_worker(app.forms.look(who.code), group="forms", exit_on_error=False)
    told = f"{who.name} is signed on and acts from here; what {before.name} began stands as it was left."
    front = app.screen
    if isinstance(front, ScanTaker):
        front.hear(told)
    elif isinstance(front, Station):
        front.say(verdict(Tone.NEXT, told, "Esc starts again with an empty station."))
