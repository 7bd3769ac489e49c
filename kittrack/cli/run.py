"""From a line of arguments to an exit code: find the verb, run it, print its answer or say why not."""

import argparse
import os
import sys
from collections.abc import Sequence
from contextlib import closing
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from kittrack.cli.areas import find_verb, verbs_of
from kittrack.cli.boundary import carried, guarded, say
from kittrack.cli.exits import Exit
from kittrack.cli.papers import is_writable
from kittrack.cli.parser import area_help, make_parser, parse_line, program_help, read_values, row_kind
from kittrack.cli.reading import instant
from kittrack.cli.stations import open_stations, store_url
from kittrack.cli.tables import csv_text, json_text, table_lines
from kittrack.cli.verb import Values, Verb
from kittrack.domain.codes import looks_like_code
from kittrack.errors import BadInput

if TYPE_CHECKING:
    from kittrack.store.database import Store


def run(argv: Sequence[str]) -> int:
    """Run one line; answers with the exit code. No error of any kind leaves this function."""
    return guarded(lambda: _run_line(argv), words=" ".join(w for w in argv[:2] if not w.startswith("-")))


def _run_line(argv: Sequence[str]) -> Exit | int:
    store, typed = parse_line(argv)
    if not typed:
        return open_stations(store_url(store))
    if typed[0] == "--help":
        _print(program_help())
        return Exit.DONE
    if typed[0] == "--version":
        from kittrack import __version__

        _print(f"kittrack {__version__}")
        return Exit.DONE
    verb, rest = find_verb(typed)
    if verb is None:
        _print(area_help(verbs_of(typed[0])))
        return Exit.DONE
    try:
        given = make_parser(verb).parse_args(rest)
    except SystemExit:  # --help was asked for and printed
        return Exit.DONE
    return _run_verb(verb, given, store)


# ---- one verb ------------------------------------------------------------------------------------


def _run_verb(verb: Verb, given: argparse.Namespace, store_before: str | None) -> int:
    values = read_values(verb, given)
    if verb.build is not None:
        values = verb.build(values)
    values |= _common(verb, given)
    if not verb.opens_store:
        answer = verb.calls(**values)
    else:
        from kittrack.store.database import open_store
        from kittrack.store.making import making_store

        url = store_url(getattr(given, "store", None) or store_before)
        with making_store(url) if verb.makes_store else closing(open_store(url)) as store:
            answer = _call(verb, store, values, given)
            if getattr(given, "into", None) and is_writable(verb):
                return _write_answer(verb, store, answer, given)
    _print_answer(verb, answer, given)
    return verb.fails(answer) if verb.fails is not None else Exit.DONE


def _call(verb: Verb, store: "Store", values: Values, given: argparse.Namespace) -> Any:
    """Say what is to be known at start, let people sign on where they act, and do it."""
    from kittrack.cli.pins import sign_on_all
    from kittrack.queries.at_start import messages_at_start
    from kittrack.store import terminal_memory

    if hasattr(given, "at"):
        store.told_clock(datetime.now(UTC))
    who = str(values.get("by") or "")
    asks_for_them = messages_at_start in verb.reaches
    for message in () if asks_for_them else messages_at_start(store, at=datetime.now(UTC), who=who):
        say(f"{message.text} {message.next_step}")
    if sys.stderr.isatty() and not asks_for_them:  # a person reads them
        terminal_memory.forget_left_open(store)
    if "by" not in verb.common:
        answer = verb.calls(store, **values)
    else:
        with terminal_memory.opened_here(store, who=who):
            sign_on_all(store, verb, values, given)
            _tell_entries(store, verb, given)
            answer = verb.calls(store, **values)
    if asks_for_them:
        terminal_memory.forget_left_open(store)
    terminal_memory.remember(store)
    return answer


def _tell_entries(store: "Store", verb: Verb, given: argparse.Namespace) -> None:
    """Tell the store how the numbers of ours of a line came in, where the line says so."""
    how = getattr(given, "entered", "")
    if not how:
        return
    for argument in verb.arguments:
        typed = getattr(given, argument.name, None)
        for text in typed if isinstance(typed, list) else (typed,):
            if isinstance(text, str) and looks_like_code(text):
                store.entered(text, typed=how == "typed")


def _common(verb: Verb, given: argparse.Namespace) -> Values:
    found: Values = {name: getattr(given, name) for name in verb.common if hasattr(given, name)}
    if "at" in verb.common:
        found["at"] = moment_of(verb, found.get("at"))
    if "by" in verb.common and "by" not in found:
        by = os.environ.get("KITTRACK_BY", "")
        if not by and verb.is_needed("by"):
            raise BadInput("It is not said who acts; give --by BADGE or set KITTRACK_BY.")
        found["by"] = by
    return found


def moment_of(verb: Verb, stated: str | None) -> datetime:
    """When a verb acts or asks, as a line states it or by the clock.

    Raises:
        BadInput: the text is no moment, or an act is stated for one to come; a question may be about such a day.
    """
    clock = datetime.now(UTC)
    if stated is None:
        return clock.astimezone()
    moment = instant(stated)
    if "by" in verb.common or verb.makes_store:
        from kittrack.store.stated_time import check_not_ahead

        check_not_ahead(moment, clock=clock)
    return moment


def _write_answer(verb: Verb, store: "Store", answer: Any, given: argparse.Namespace) -> Exit | int:
    """Write an answer into a file, and say where it is."""
    from kittrack.cli.answer_files import answer_content, write_answer
    from kittrack.cli.verbs_documents import written
    from kittrack.store.private import path_named

    shown = verb.show(answer) if verb.show is not None else ()
    content = answer_content(verb.help.removesuffix("."), shown)
    found = write_answer(store, content=content, into=path_named(given.into), at=datetime.now(UTC))
    if given.json:
        _print(json_text(found))
    else:
        for line in table_lines(written(found)[0]):
            _print(line)
    return verb.fails(answer) if verb.fails is not None else Exit.DONE


# ---- answers -------------------------------------------------------------------------------------


def _print_answer(verb: Verb, answer: Any, given: argparse.Namespace) -> None:
    if given.json:
        _print(json_text(answer))
    elif verb.show is None:
        _print_done(answer)
    elif getattr(given, "csv", False) and verb.rows is not None:
        sys.stdout.write(csv_text(verb.rows(answer), kind=row_kind(verb), for_terminal=sys.stdout.isatty()))
    else:
        _print_tables(verb, answer)


def _print_done(answer: Any) -> None:
    """Codes for a script to read, sentences for a person."""
    for code in answer.codes:
        _print(code)
    for sentence in answer.said:
        say(sentence)


def _print_tables(verb: Verb, answer: Any) -> None:
    shown = verb.show(answer) if verb.show is not None else ()
    first = True
    for table in shown:
        lines = table_lines(table)
        if lines and not first:
            _print("")
        for line in lines:
            _print(line)
        first = first and not lines
    if first:
        say(shown[0].nothing if shown else "nothing")


def _print(line: str) -> None:
    sys.stdout.write(carried(line, sys.stdout) + "\n")
