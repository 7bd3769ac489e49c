"""Verbs of opening the books: what is shelved and fitted at the start, and histories that were found later."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.reading import Key, record
from kittrack.cli.verb import Station, Verb, option, word, words
from kittrack.cli.verbs_goods_in import LINE_HELP, LINE_KEYS, line_spec
from kittrack.services import opening, opening_fitted
from kittrack.services.opening import ShelfSpec
from kittrack.services.opening_fitted import FittedSpec


def _shelved(
    *, place: str, part: str, amount: tuple[int, str], lot_code: str | None, history_known: bool = False, **line: object
) -> ShelfSpec:  # fmt: skip
    spec = line_spec(part=part, amount=amount, lot_code=lot_code, **line)  # type: ignore[arg-type]  # as LINE_KEYS reads them
    return ShelfSpec(spec, place, history_known)


def _serials(text: str) -> tuple[str | None, ...]:
    """Serials parted by commas, in order around the hub; "-" for a blade without one."""
    return tuple(None if serial == "-" else serial for serial in reading.listed(text))


_SHELVED: Final = record(
    _shelved,
    place=Key("place", help="code or name of the place where it lies"),
    history_known=Key("history_known", reading.yes_no, "yes where its whole history is on paper"),
    **LINE_KEYS,
)
_FITTED: Final = record(
    FittedSpec, position=Key("position"), part=Key("part"), mark=Key("mark", help="as read on the rotor; empty where none can be read", empty_ok=True), serials=Key("serials", _serials, "in order around the hub: A,B; - for a blade without one"),
    lot=Key("lot_code"), hub_serial=Key("hub_serial"),
)  # fmt: skip

VERBS: Final = (
    Verb(
        "books shelf", Station.OFFICE, "Take into the books what lies on shelves at the start, on hold where it is.",
        '"place=A-01; part=SC-M3x8; quantity=120; lot=unknown; expires=none" --by "Clerk One"',
        opening.open_shelf,
        (
            words("lines", f"{LINE_HELP}, with place= and, if all is on paper, history known=yes", read=_SHELVED),
            option("supplier", "who supplied it, where that is known"),
        ),
    ),
    Verb(
        "books fitted", Station.OFFICE, "Take into the books the rotor sets that are fitted at the start.",
        '"position=X000002-R; part=RB-18-CW; mark=R; serials=0417,-" --by "Technician One"',
        opening_fitted.open_fitted,
        (
            words(
                "fitted",
                'a set: "position=..; part=..; mark=..; serials=A,B" (- for none), lot=, hub serial=; mark= left empty '
                "where none can be read",
                read=_FITTED,
            ),
            option("supplier", "who supplied them, where that is known"),
        ),
    ),
    Verb(
        "set history", Station.OFFICE, "Record the service of a set whose record was found.",
        'R000012-3 --hours 45:30 --flights 120 --source "old log book, page 12" --second "Inspector One" --by "Manager One"',
        opening.record_history,
        (
            word("rotor_set", "the set's code"),
            option("used_minutes", "time in service as h:mm", read=reading.minutes, flag="--hours", needed=True),
            option("used_flights", "flights", read=reading.whole, flag="--flights", needed=True),
            option("used_since_on", "the day of its first fit", read=reading.day, flag="--since"),
            option("source", "the record that was found", needed=True),
        ),
    ),
)  # fmt: skip
