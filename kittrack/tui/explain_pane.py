"""What decided about a thing: its standing, the figures with formula, inputs and source, and its trace both ways."""

from typing import TYPE_CHECKING

from kittrack.domain.codes import Code
from kittrack.errors import KittrackError
from kittrack.tui.answer_page import AnswerPage
from kittrack.tui.deeds import Deed, Draw
from kittrack.tui.standings import EXPLAINED, TRACED, standing_of, wrapping
from kittrack.tui.verdicts import Tone, verdict

if TYPE_CHECKING:
    from kittrack.tui.station import Station


async def explain(station: "Station") -> None:
    """Lay over the station what is known of the first thing in hand."""
    if not station.in_hand:
        station.say(verdict(Tone.NEXT, "Nothing is in hand; scan a label, or go to a line with the arrows."))
        return
    code = station.in_hand[0]
    standing = await standing_of(station.app.ask, code, station.app.now())
    draws = [standing.draw]
    deeds = await station.app.deeds_by_key()
    for key, kinds in (("explain", EXPLAINED), ("trace", TRACED)):
        if code.kind in kinds:
            draws += [_blank, await _answer(station, deeds[key], code)]
    page = AnswerPage(f"What decided: {code.kind.in_words} {code}", draw=_together(draws))
    await station.app.push_screen_wait(page)


async def _answer(station: "Station", deed: Deed, code: Code) -> Draw:
    """The answer of a question about a code; where nothing was computed, that is said."""
    try:
        answer = await station.app.ask(deed.calls, code=code.text)
    except KittrackError as error:
        return wrapping([str(error)])
    return deed.shows(answer) if deed.shows else _blank


def _blank(_width: int) -> list[str]:
    return [""]


def _together(draws: list[Draw]) -> Draw:
    return lambda width: [line for draw in draws for line in draw(width)]
