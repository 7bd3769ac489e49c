"""Every verb as a deed of its station, so that whatever the command line does the stations do too.

A verb's arguments become the fields of a form, their help the words beside them, their readers read what was
typed. Only verbs that talk to the terminal itself have a form of their own, in `cli.own_deeds`.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from functools import partial
from typing import Any, Final

from kittrack.cli.answer_files import answer_content, write_answer
from kittrack.cli.areas import by_station
from kittrack.cli.choice_words import told
from kittrack.cli.papers import PAPERS, is_writable
from kittrack.cli.parser import COMMON_HELP
from kittrack.cli.reading import Key, RecordReader, one_of, yes_no
from kittrack.cli.scan_kinds import KINDS, kinds_of, suggested
from kittrack.cli.table_drawing import tables_drawn
from kittrack.cli.tables import Table, cell
from kittrack.cli.verb import Argument, Station, Verb
from kittrack.cli.verbs_documents import INTO, written
from kittrack.domain.dates import shown_at
from kittrack.printing.documents import Document
from kittrack.services.desk import roles_for
from kittrack.store.database import Store
from kittrack.tui.deeds import NOWHERE, Ask, Deed, Draw, Facts, Grid, Rows
from kittrack.tui.keys import STATIONS

_MODES: Final = {name: mode for mode, name in STATIONS}
_STORE_MODE: Final = "office"  # what keeps the store itself is the manager's work
_ASKED: Final = ("second", "reason")
_CALLED: Final = {"second": "second person"}

LEFT_OUT: Final = {
    "demo": "it opens the stations itself",
    "found": "the stations ask it where there is no store yet",
}
"""Verbs that are no deed, each with the reason."""


_STORES: Final = ("goods_in", "matching", "kitting", "counter")
ALSO_AT: Final = {
    "hold place": (*_STORES, "aircraft"),
    "label print": _STORES,
    "shift report": ("goods_in", "counter", "aircraft"),
    "shift hand-over": ("goods_in", "counter", "aircraft"),
    "shift show": ("goods_in", "counter", "aircraft"),
    "shift list": ("goods_in", "counter", "aircraft"),
    "print hand-over": ("goods_in", "counter", "aircraft"),
}
"""Deeds of the Office that the people of other stations do where they stand."""


def all_deeds() -> dict[str, tuple[Deed, ...]]:
    """The deeds of every station, by its mode, in the order of the command line's help."""
    from kittrack.cli.own_deeds import OWN

    found: dict[str, list[Deed]] = {mode: [] for mode, _ in STATIONS}
    for station, verbs in by_station():
        mode = _STORE_MODE if station is Station.STORE else _MODES[station.value]
        for verb in verbs:
            if verb.words not in LEFT_OUT:
                found[mode].append(OWN[verb.words](verb) if verb.words in OWN else deed_of(verb))
    for deed in list(found[_STORE_MODE]):
        for mode in ALSO_AT.get(deed.key, ()):
            found[mode].append(deed)
    return {**{mode: tuple(deeds) for mode, deeds in found.items()}, NOWHERE: (_answer_deed(),)}


def deed_of(verb: Verb) -> Deed:
    """A verb as a deed."""
    asks = [ask for argument in verb.arguments for ask in _asks_of(argument, _taken_names(verb))]
    asks += [_common(verb, name) for name in _ASKED if name in verb.common]
    asks = suggesting(asks, verb)
    rows = tuple(
        Rows(a.name, a.shown.strip("-").replace("-", " ").lower(), a.read.make, needed=a.needed)
        for a in verb.arguments
        if isinstance(a.read, RecordReader) and a.many
    )
    return Deed(
        verb.words, title_of(verb), verb.calls if verb.opens_store else without_store(verb), tuple(asks), rows,
        verb.build, by="by" in verb.common, at="at" in verb.common, shows=shown_by(verb), grid=_grid_of(verb),
        paper=PAPERS.get(verb.words, ""), prints=_printed_by(verb), writes=verb.show is written, done_by=roles_of(verb),
    )  # fmt: skip


def roles_of(verb: Verb) -> tuple[str, ...]:
    """The roles of which one has to be held for what a verb does, as its service declares them."""
    found = (roles_for(act) for act in (verb.calls, *verb.reaches))
    return next(filter(None, found), ())


def suggesting(asks: Sequence[Ask], verb: Verb) -> list[Ask]:
    """The fields of a verb, each with what of the store is suggested in it."""
    names = {ask.keyword for ask in asks}
    return [replace(a, suggests=suggested(a.keyword, verb=verb.words, others=names)) for a in asks]


def title_of(verb: Verb) -> str:
    """What a verb does, as the title of its form."""
    return verb.help if verb.help.endswith("...") else verb.help.removesuffix(".")


def shown_by(verb: Verb) -> Callable[[Any], Draw] | None:
    """How the answer of a question is laid out; None for an act."""
    show = verb.show
    if show is None:
        return None

    def drawn(answer: Any) -> Draw:
        tables = [_in_local_time(table) for table in show(answer)]
        return lambda width: tables_drawn(tables, width=width)

    return drawn


def _printed_by(verb: Verb) -> Callable[[str, Any, Facts], Document] | None:
    """What makes a document of an answer that has no paper of its own."""
    show = verb.show
    if show is None or not is_writable(verb):
        return None

    def content(title: str, answer: Any, asked: Facts) -> Document:
        return answer_content(title, show(answer), facts=asked)

    return content


def _answer_deed() -> Deed:
    """Writes what stands on a screen into a file."""
    asks = tuple(ask_of(argument) for argument in INTO)
    return Deed(
        "print answer", "Print", write_answer, asks, by=False, shows=lambda _: lambda _: [], writes=True
    )


def _grid_of(verb: Verb) -> Callable[[Any], Grid] | None:
    """The first table with headings of a question's answer, as cells."""
    show = verb.show
    if show is None:
        return None

    def grid(answer: Any) -> Grid:
        table = _in_local_time(next((t for t in show(answer) if t.headings), Table((), ())))
        return table.headings, [tuple(cell(value) for value in row) for row in table.rows]

    return grid


_INSTANT: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z")


def _in_local_time(table: Table) -> Table:
    """A table whose instants people read: in this computer's own time, with its offset."""
    rows = tuple(tuple(_local(v) if isinstance(v, str) else v for v in row) for row in table.rows)
    return replace(table, rows=rows)


def _local(text: str) -> str:
    return _INSTANT.sub(lambda found: shown_at(datetime.fromisoformat(found[0])), text)


def without_store(verb: Verb) -> Callable[..., Any]:
    """What a verb calls that takes no store, as a deed calls it."""

    def call(_store: Store, **values: Any) -> Any:
        return verb.calls(**values)

    return call


# ---- fields --------------------------------------------------------------------------------------


def _taken_names(verb: Verb) -> set[str]:
    """Names of fields that more than one record or argument of a verb has."""
    names = [a.name for a in verb.arguments]
    for argument in verb.arguments:
        if isinstance(argument.read, RecordReader):
            names += [key.field for key in argument.read.keys.values()]
    return {name for name in names if names.count(name) > 1}


def _asks_of(argument: Argument, taken: set[str]) -> list[Ask]:
    reader = argument.read
    if isinstance(reader, RecordReader) and argument.many:
        needed = reader.needed
        return [
            _ask_of_key(argument.name, name, key, is_needed=name in needed, taken=taken)
            for name, key in reader.keys.items()
        ]
    return [ask_of(argument)]


def ask_of(argument: Argument) -> Ask:
    """An argument as a field of a form."""
    words = _CALLED.get(argument.name) or argument.flag.strip("-") or argument.name
    return Ask(
        argument.name, words.replace("-", " ").replace("_", " "), _reader(argument), _help(argument),
        needed=(argument.needed and not argument.empty_ok) or argument.is_raw or argument.is_asked,
        value="no" if argument.is_switch and not argument.is_asked else "",
        scans=kinds_of(argument), many=argument.many, is_raw=argument.is_raw, empty_ok=argument.empty_ok,
        choices=_choices(argument.name, argument.choices, is_yes_no=argument.is_switch or argument.read is yes_no),
    )  # fmt: skip


def _ask_of_key(rows: str, name: str, key: Key, *, is_needed: bool, taken: set[str]) -> Ask:
    read = one_of(*key.choices) if key.choices else key.read
    words = "; ".join(filter(None, (key.help, f"one of: {', '.join(key.choices)}" if key.choices else "")))
    return Ask(
        f"{rows}-{key.field}" if key.field in taken else key.field, name, read, words,
        needed=is_needed and not key.empty_ok, scans=KINDS.get(key.field, ()), is_raw=key.is_raw, rows=rows,
        keeps=key.keeps, empty_ok=key.empty_ok, field=key.field,
        choices=_choices(key.field, key.choices, is_yes_no=key.read is yes_no),
    )  # fmt: skip


def _choices(name: str, choices: Sequence[str], *, is_yes_no: bool) -> tuple[tuple[str, str], ...]:
    return told("yes or no", ("yes", "no")) if is_yes_no else told(name, choices)


def _help(argument: Argument) -> str:
    parts = [argument.help]
    if argument.choices:
        parts.append(f"one of: {', '.join(argument.choices)}")
    if argument.many and not argument.is_raw:
        parts.append(f"several are parted by {_PARTED[argument.parted]}")
    if argument.is_switch:
        parts.append("yes or no")
    return "; ".join(parts)


_PARTED: Final = {",": "commas", ";": "semicolons"}


def _reader(argument: Argument) -> Callable[[str], Any]:
    if argument.is_switch:
        return yes_no
    one = one_of(*argument.choices) if argument.choices else argument.read
    if argument.is_raw:
        return (
            (lambda text: tuple(text.split("\n"))) if argument.many else (lambda text: text.split("\n")[-1])
        )
    return partial(_each, one, argument.parted) if argument.many else one


def _each(read: Callable[[str], Any], parted: str, text: str) -> tuple[Any, ...]:
    return tuple(read(part.strip()) for part in text.split(parted) if part.strip())


def _common(verb: Verb, name: str) -> Ask:
    return Ask(
        name,
        _CALLED.get(name, name),
        help=COMMON_HELP[name],
        needed=verb.is_needed(name),
        scans=KINDS.get(name, ()),
    )
