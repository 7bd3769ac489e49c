"""What comes in at the stations, told apart: a move of the bench sheet, a badge, a number of ours, a scan at a form.

It is loaded with the first station, after the frame was drawn.
"""

from typing import TYPE_CHECKING

from kittrack.domain import scans
from kittrack.domain.codes import Kind, looks_like_code
from kittrack.domain.moves import Move
from kittrack.errors import BadInput
from kittrack.services import terminals
from kittrack.tui import presence
from kittrack.tui.entries import Entry, read_entry
from kittrack.tui.keys import STATIONS
from kittrack.tui.scan_taker import ScanTaker
from kittrack.tui.station import Station

if TYPE_CHECKING:
    from kittrack.tui.stations_app import StationsApp


async def take(app: "StationsApp", station: Station, text: str, *, typed: bool) -> None:
    """Have a station take an entry, or do what it stands for anywhere."""
    settings = terminals.settings_of()
    entry = read_entry(text, typed=typed, today=app.now().date(), settings=settings)
    if entry.scan.move is not None:
        await _make_move(app, entry.scan.move, station)
    elif app.signed_on is None and _is_sign_on(entry, station):
        await presence.sign_on(app, station, entry.code.text if entry.code else entry.text)
    else:
        if entry.code is not None:
            await app.note_entry(entry.code.text, typed=typed)
        await station.take(entry)


async def _make_move(app: "StationsApp", move: Move, station: Station) -> None:
    """Do what a bar code of the bench sheet stands for: what one key does, and never more."""
    match move:
        case Move.GO_AHEAD:
            await station.go_ahead()
        case Move.START_AGAIN:
            await station.start_again()
        case Move.SECOND_PERSON:
            await station.ask_for_second()
        case Move.NEXT_STATION:
            modes = [mode for mode, _ in STATIONS]
            await app.action_station(modes[(modes.index(station.mode) + 1) % len(modes)])


def _is_sign_on(entry: Entry, station: Station) -> bool:
    """Whether an entry says who signs on: a badge, or a name typed where names are no filter."""
    if entry.code is not None:
        return entry.code.kind is Kind.PERSON
    return station.takes_names and entry.typed and not looks_like_code(entry.text)


def read_scan(app: "StationsApp", text: str) -> scans.Scan:
    """What a scan at a form is, by what this terminal's scanner sends for GS; its affixes are off already."""
    known = (*scans.GS_STAND_INS, *terminals.settings_of().gs_stand_ins)
    return scans.read_scan(text, today=app.now().date(), gs_stand_ins=known)


def hand_to_form(app: "StationsApp", form: ScanTaker, text: str) -> None:
    """Let a form take a scan at once."""
    try:
        bare = terminals.settings_of().bare(text)
        move = read_scan(app, bare).move
    except BadInput as error:  # the file of the settings can't be read
        form.hear(" ".join(str(problem) for problem in error.problems))
        return
    if move is not None:
        form.take_move(move)
    else:
        form.take_scan(bare)
