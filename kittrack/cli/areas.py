"""Which module declares the verbs that begin with a word. Only that module is loaded for a verb."""

from collections.abc import Iterator
from difflib import get_close_matches
from importlib import import_module
from typing import Final

from kittrack.cli.verb import Station, Verb
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput

AREAS: Final[dict[str, str]] = {
    "found": "verbs_store",
    "demo": "verbs_store",
    "verify": "verbs_store",
    "log": "verbs_store",
    "key": "verbs_store",
    "reverse": "verbs_store",
    "what": "verbs_find",
    "shelf": "verbs_find",
    "trace": "verbs_find",
    "recall": "verbs_find",
    "expiring": "verbs_find",
    "sets": "verbs_find",
    "person": "verbs_people",
    "site": "verbs_people",
    "place": "verbs_people",
    "cautions": "verbs_people",
    "hold": "verbs_hold",
    "count": "verbs_count",
}


def all_verbs() -> tuple[Verb, ...]:
    """Every verb, by station and then as declared."""
    modules = [_load(name) for name in dict.fromkeys(AREAS.values())]
    order = list(Station)
    return tuple(sorted((v for m in modules for v in m), key=lambda v: order.index(v.station)))


def verbs_of(first: str) -> tuple[Verb, ...]:
    """The verbs that begin with a word.

    Raises:
        BadInput: none does; the nearest word is named.
    """
    if first not in AREAS:
        near = get_close_matches(first, AREAS, n=1)
        hint = f"did you mean {near[0]}?" if near else "see: kittrack --help"
        raise BadInput(f"There is no verb {clean_label(first, max_length=40)}; {hint}")
    return tuple(v for v in _load(AREAS[first]) if v.words.split()[0] == first)


def find_verb(typed: list[str]) -> tuple[Verb | None, list[str]]:
    """The verb that a line begins with, and the rest of the line; no verb where only its area is named.

    Raises:
        BadInput: no verb is called so.
    """
    own = verbs_of(typed[0])
    for verb in own:
        length = len(verb.words.split())
        if typed[:length] == verb.words.split():
            return verb, typed[length:]
    if len(typed) == 1 or typed[1] in ("-h", "--help"):
        return None, typed
    seconds = [v.words.split()[1] for v in own]
    shown = clean_label(typed[1], max_length=40)
    raise BadInput(f"{typed[0]} has no verb {shown}; it has: {', '.join(seconds)}.")


def by_station() -> Iterator[tuple[Station, tuple[Verb, ...]]]:
    """Each station with its verbs."""
    found = all_verbs()
    for station in Station:
        yield station, tuple(v for v in found if v.station is station)


def _load(module: str) -> tuple[Verb, ...]:
    verbs: tuple[Verb, ...] = import_module(f"kittrack.cli.{module}").VERBS
    return verbs
