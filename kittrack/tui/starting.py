"""What the stations say when they open and when a manager signs on: what happened, and what to do."""

from typing import TYPE_CHECKING

from kittrack.queries.at_start import SMALL, Message, messages_at_start
from kittrack.store import terminal_memory
from kittrack.tui.verdicts import Tone, Verdict, verdict

if TYPE_CHECKING:
    from kittrack.tui.stations_app import StationsApp


async def said_at_start(app: "StationsApp", *, who: str = "") -> Verdict | None:
    """What is to be known of the store now, or None where nothing is."""
    found = await app.ask(messages_at_start, at=app.now(), who=who, most_bytes=SMALL)
    await app.ask(terminal_memory.forget_left_open)
    if not found:
        return None
    tone = Tone.STOP if found[0].is_grave else Tone.NOT_YET
    return verdict(tone, *(_sentence(message) for message in found))


def _sentence(message: Message) -> str:
    return f"{message.text} {message.next_step}"
