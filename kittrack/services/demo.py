"""The demo store: an invented operator's two years, played through the real acts from readable text.

`demo_db/catalogue` says who and what there is, `demo_db/history` what happened, day by day. Whoever plays it
gets the same rows, events and hashes. Source: design A6, 8.
"""

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from kittrack.data import data_folder
from kittrack.domain.rules import Rule
from kittrack.errors import BadInput, Conflict, KittrackError, NotFound, Refusal, Refused
from kittrack.services import founding
from kittrack.services.catalogue_files import founding_of, load_catalogue
from kittrack.services.demo_acts import DEEDS
from kittrack.services.demo_days import DAYS
from kittrack.services.demo_reader import Entry, read_history
from kittrack.services.demo_scene import Scene
from kittrack.store.database import Store
from kittrack.store.records import Event

Progress = Callable[[int, int], None]

_KINDS: dict[str, type[KittrackError]] = {
    "not found": NotFound,
    "bad input": BadInput,
    "conflict": Conflict,
}
"""The words after `refused:` for a refusal that is no rule's."""


def build_demo(store: Store, *, progress: Progress | None = None) -> None:
    """Fill an empty store with the invented scenario, whole or not at all.

    Args:
        store: a store that nobody founded yet.
        progress: called with (paragraphs played, paragraphs in all).

    Raises:
        BadInput: a file of the scenario can't be read, or a paragraph does not go as it says; the message
            names the file and the row.
        Refused: the store is founded already (R12).
    """
    folder = Path(str(data_folder("demo_db")))
    first = founding_of(folder / "catalogue")
    entries = read_history(folder / "history", zone=first.time_zone)
    if not entries:
        raise BadInput(f"the folder {folder / 'history'} holds no paragraph; restore the scenario's files")
    _refuse_founded(store)
    with store.all_or_nothing():
        start = _day_before(entries[0].at, zone=first.time_zone)
        founding.found_store(
            store, site=first.site, time_zone=first.time_zone, manager=first.manager, at=start
        )
        load_catalogue(store, folder=folder / "catalogue", by=first.manager, at=start)
        scene = Scene(store)
        for done, entry in enumerate(entries, start=1):
            play(scene, entry)
            if progress is not None:
                progress(done, len(entries))


def _refuse_founded(store: Store) -> None:
    with store.reading() as read:
        if read.find(Event, id=1) is None:
            return
    message = "There is something in this store already; build the demo in an empty one."
    raise Refused([Refusal(Rule.NOTHING_ERASED, "store", message)])


def play(scene: Scene, entry: Entry) -> None:
    """Do what one paragraph says, or see that it is refused as it says.

    Raises:
        BadInput: it does not go as it says; with file and row.
    """
    act = DEEDS.get(entry.act) or DAYS.get(entry.act)
    if act is None:
        raise entry.fault(f"nobody knows how to {entry.act!r}; the acts are: {', '.join((*DEEDS, *DAYS))}")
    for how in ("was typed", "was scanned"):
        for value in entry.all(how):
            scene.store.entered(scene.code(value), typed=how == "was typed")
    try:
        done = act(scene, entry)
    except KittrackError as error:
        scene.store.forget_entries()
        _check_refused(entry, error)
        return
    if entry.get("refused"):
        raise entry.fault(f"{entry.act!r} was done and should have been refused: {entry.get('refused')}")
    if done is None:
        return
    if len(entry.names) > len(done.codes):
        raise entry.fault(
            f"{entry.act!r} gave {len(done.codes)} codes and {len(entry.names)} names are given"
        )
    for name, code in zip(entry.names, done.codes, strict=False):
        scene.name(name, code, done.event)


def _check_refused(entry: Entry, error: KittrackError) -> None:
    expected = entry.get("refused")
    if expected and _is_as_said(expected, error) and entry.get("because") in str(error):
        return
    if expected:
        raise entry.fault(
            f"{entry.act!r} should be refused ({expected}, {entry.get('because')}) and said: {error}"
        )
    if isinstance(error, BadInput) and any(p.source for p in error.problems):
        raise error
    raise entry.fault(f"{entry.act!r} was refused: {error}") from error


def _is_as_said(expected: str, error: KittrackError) -> bool:
    if isinstance(error, Refused):
        return {word.strip() for word in expected.split(",")} == set(error.rules)
    kind = _KINDS.get(expected)
    return kind is not None and isinstance(error, kind)


def _day_before(at: datetime, *, zone: str) -> datetime:
    """Eight in the morning of the day before the first paragraph: the store is founded and filled then."""
    day = at.astimezone(ZoneInfo(zone)) - timedelta(days=1)
    return day.replace(hour=8, minute=0)
