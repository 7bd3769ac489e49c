"""Which module declares the verbs that begin with a word. Only that module is loaded for a verb."""

from collections.abc import Iterator
from difflib import get_close_matches
from importlib import import_module
from typing import Final

from kittrack.cli.verb import Station, Verb
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput

_MODULES: Final[dict[str, str]] = {
    "verbs_goods_in": "delivery line paper expiry inspect bottle",
    "verbs_moving": "move return scrap expiry",
    "verbs_opening": "books set",
    "verbs_matching": "weigh set explain",
    "verbs_figures": "trim sampling figure",
    "verbs_kitting": "kit buildable",
    "verbs_kit_views": "kit issuable job",
    "verbs_counter": "job reserve unreserve issue return kit",
    "verbs_aircraft": "open fit fasten inspect walk unfit stopped remove refit retorque finding occurrence",
    "verbs_fleet": "airframe map",
    "verbs_standing": "aircraft airframe job finding retorques",
    "verbs_find": "what shelf trace recall expiring sets",
    "verbs_hold": "hold",
    "verbs_orders": "order supply",
    "verbs_ship_sets": "ship-sets",
    "verbs_set_health": "set",
    "verbs_recall": "recall-case notice drill",
    "verbs_reorder": "reorder usage lives waste expiry-months tools-due",
    "verbs_count": "count",
    "verbs_people": "person site place cautions",
    "verbs_catalogue": "catalogue company paper tool type",
    "verbs_parts": "part",
    "verbs_office_papers": "print stock-review",
    "verbs_documents": "print voucher fit-record unserviceable",
    "verbs_oversight": "oversight shift print",
    "verbs_labels": "label",
    "verbs_print": "label",
    "verbs_scan": "scan scanner delivery",
    "verbs_settings": "setting",
    "verbs_store": "found verify log key reverse clock",
    "verbs_keeping": "backup archive chain sign-on person setting database lock store unfinished",
    "verbs_demo": "demo",
}
"""Each module with the first words of its verbs."""


def areas() -> dict[str, tuple[str, ...]]:
    """The modules whose verbs begin with a word, by word."""
    found: dict[str, tuple[str, ...]] = {}
    for module, firsts in _MODULES.items():
        for first in firsts.split():
            found[first] = (*found.get(first, ()), module)
    return found


def all_verbs() -> tuple[Verb, ...]:
    """Every verb, by station and then as declared."""
    order = list(Station)
    found = [verb for module in _MODULES for verb in _load(module)]
    return tuple(sorted(found, key=lambda v: order.index(v.station)))


def verbs_of(first: str) -> tuple[Verb, ...]:
    """The verbs that begin with a word.

    Raises:
        BadInput: none does; the nearest word is named.
    """
    known = areas()
    if first not in known:
        near = get_close_matches(first, known, n=1)
        hint = f"did you mean {near[0]}?" if near else "see: kittrack --help"
        raise BadInput(f"There is no verb {clean_label(first, max_length=40)}; {hint}")
    found = [verb for module in known[first] for verb in _load(module)]
    return tuple(v for v in found if v.words.split()[0] == first)


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
