"""The one place that makes parsers, and the help that lists verbs by station."""

import argparse
import dataclasses
import sys
import typing
from collections.abc import Mapping, Sequence
from typing import Any, Final, NoReturn

from kittrack.cli.areas import by_station
from kittrack.cli.exits import MEANINGS
from kittrack.cli.papers import is_writable
from kittrack.cli.reading import RecordReader
from kittrack.cli.verb import Argument, Values, Verb
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput, Problem

ENTERED: Final = ("scanned", "typed")
COMMON_HELP: Final = {
    "by": "the badge or exact name of the person who acts; default: KITTRACK_BY",
    "at": "the moment, with its offset, such as 2026-03-02T08:00+01:00; default: now; an act is of no moment to come, and the log tells the clock too",
    "second": "the badge or exact name of the second person",
    "reason": "why, in your words",
    "key": "your own name for this act; the same key is never recorded twice",
}
_ABOUT: Final = """\
kittrack: matched rotor sets and fastener kits, by lot and by spin sense, traced to the airframe.

usage: kittrack                              open the stations
       kittrack [--store URL] VERB ...       one act or question
       kittrack VERB --help                  what a verb takes, with an example
       kittrack --version

Codes and lists go to stdout, what is said about them to stderr. Questions take --json, most take --csv,
and --into FILE, which writes the answer to print.
The store is named by --store or KITTRACK_STORE (sqlite:///path or postgresql://host/name), the person who
acts by --by or KITTRACK_BY, a PostgreSQL password by KITTRACK_STORE_PASSWORD_FILE or
KITTRACK_STORE_PASSWORD, never by the address. Who has a PIN signs on with it:
--pin-file FILE, KITTRACK_PIN_FILE or KITTRACK_PIN, for the second person --second-pin-file and so on."""


_MOST_TYPED: Final = 5_000  # more than the longest scan or record of several values


class Parser(argparse.ArgumentParser):
    """A parser that says what is wrong by the program's own error, in one sentence and safe to show."""

    def error(self, message: str) -> NoReturn:
        """Raise instead of leaving the program."""
        text = clean_label(message)
        raise BadInput(f"{text[:1].upper()}{text[1:]}; see: {self.prog} --help")


def _new_parser(**settings: Any) -> Parser:
    if sys.version_info >= (3, 14):
        settings["color"] = False
    return Parser(allow_abbrev=False, formatter_class=argparse.RawDescriptionHelpFormatter, **settings)


def parse_line(argv: Sequence[str]) -> tuple[str | None, list[str]]:
    """The store that a line names in front of its verb, and the rest of the line.

    Raises:
        BadInput: an option that is not known stands in front.
    """
    parser = _new_parser(prog="kittrack", add_help=False)
    parser.add_argument("--store")
    parser.add_argument("--help", "-h", action="store_true")
    parser.add_argument("--version", action="store_true")
    parser.add_argument("rest", nargs=argparse.REMAINDER)
    found = parser.parse_args(list(argv))
    front = [flag for flag, given in (("--help", found.help), ("--version", found.version)) if given]
    return found.store, front or found.rest


def program_help() -> str:
    """Every verb with one line, grouped by station."""
    stations = list(by_station())
    width = max(len(verb.words) for _, verbs in stations for verb in verbs)
    lines = [_ABOUT]
    for station, verbs in stations:
        if verbs:
            lines += ["", station.value, *(f"  {v.words:<{width}}  {v.help}" for v in verbs)]
    lines += ["", "Exit codes", *(f"  {code.value}  {meaning}" for code, meaning in MEANINGS)]
    return "\n".join(lines)


def area_help(verbs: Sequence[Verb]) -> str:
    """The verbs that begin with one word."""
    width = max(len(v.words) for v in verbs)
    lines = [f"  kittrack {v.words:<{width}}  {v.help}" for v in verbs]
    return "\n".join([*lines, "", f"see: kittrack {verbs[0].words} --help"])


# ---- the parser of a verb ------------------------------------------------------------------------


def make_parser(verb: Verb) -> Parser:
    """The parser of one verb, made from its declaration."""
    parser = _new_parser(prog=f"kittrack {verb.words}", description=verb.help, epilog=_epilog(verb))
    for argument in verb.arguments:
        _add(parser, argument)
    for name in verb.common:
        needed = verb.is_needed(name) and name not in ("by", "at")
        parser.add_argument(
            f"--{name}", required=needed, default=argparse.SUPPRESS, help=COMMON_HELP[name],
            metavar=name.upper(),
        )  # fmt: skip
    if verb.opens_store:
        if "by" in verb.common:
            parser.add_argument(
                "--entered", default=argparse.SUPPRESS, choices=ENTERED,
                help="how the numbers of this line came in; the Office counts what was typed instead of scanned",
            )  # fmt: skip
            from kittrack.cli.pins import add_pin_options

            add_pin_options(parser, verb)
        parser.add_argument(
            "--store", default=argparse.SUPPRESS, metavar="URL", help="the store; default: KITTRACK_STORE"
        )
    parser.add_argument("--json", action="store_true", help="the whole answer as one JSON document on stdout")
    if verb.show is not None and verb.rows is not None:
        parser.add_argument("--csv", action="store_true", help="the list as CSV on stdout")
    if is_writable(verb):
        parser.add_argument(
            "--into", default=argparse.SUPPRESS, metavar="FILE",
            help="write the answer into a file to print; its ending .pdf, .csv or .xlsx says its kind",
        )  # fmt: skip
    return parser


def _add(parser: Parser, argument: Argument) -> None:
    text = argument.help.replace("%", "%%")
    if argument.choices:
        text += f" (one of: {', '.join(argument.choices)})"
    settings: dict[str, Any] = {"help": text, "default": argparse.SUPPRESS}
    if argument.is_switch:
        parser.add_argument(argument.flag, dest=argument.name, action="store_true", **settings)
    elif argument.flag:
        settings |= {"dest": argument.name, "required": argument.needed}
        settings |= {"metavar": argument.flag.strip("-").replace("-", "_").upper()}
        if argument.many:
            settings |= {
                "action": "append",
                "help": f"{text}; may be repeated".replace("may be repeated; may", "may"),
            }
        parser.add_argument(argument.flag, **settings)
    else:
        settings["nargs"] = _NARGS[argument.many, argument.needed]
        parser.add_argument(argument.name, metavar=argument.shown, **settings)


_NARGS: Final = {(False, True): None, (False, False): "?", (True, True): "+", (True, False): "*"}


def read_values(verb: Verb, typed: argparse.Namespace) -> Values:
    """What was typed, each text read by its argument's reader; what was not typed is left out.

    Raises:
        BadInput: every argument that can't be read.
    """
    values: Values = {}
    problems: list[Problem] = []
    given = vars(typed)
    _refuse_too_long(given)
    for argument in verb.arguments:
        if argument.name not in given or given[argument.name] in (None, []):
            continue
        text = given[argument.name]
        try:
            values[argument.name] = _read(argument, text)
        except BadInput as error:
            problems += [dataclasses.replace(p, field=_field(argument, p)) for p in error.problems]
    if problems:
        raise BadInput(problems)
    return values


def _refuse_too_long(given: Mapping[str, Any]) -> None:
    """Refuse what is longer than anything that is taken, so that no sentence has to repeat it."""
    found = []
    for name, typed in given.items():
        texts = typed if isinstance(typed, list) else [typed]
        longest = max((len(t) for t in texts if isinstance(t, str)), default=0)
        if longest > _MOST_TYPED:
            shown = name.replace("_", " ")
            message = (
                f"The {shown} has {longest} characters; nothing that is typed takes more than {_MOST_TYPED}."
            )
            found.append(Problem(message, shown))
    if found:
        raise BadInput(found)


def _read(argument: Argument, text: Any) -> Any:
    if argument.is_switch:
        return True
    return _read_each(argument, text) if argument.many else _read_one(argument, text)


def _read_each(argument: Argument, texts: Sequence[str]) -> tuple[Any, ...]:
    """Several texts of one argument; which of them can't be read is told as its row, where there are more."""
    values: list[Any] = []
    problems: list[Problem] = []
    for row, text in enumerate(texts, start=1):
        try:
            values.append(_read_one(argument, text))
        except BadInput as error:
            problems += [dataclasses.replace(p, row=row if len(texts) > 1 else p.row) for p in error.problems]
    if problems:
        raise BadInput(problems)
    return tuple(values)


def _field(argument: Argument, problem: Problem) -> str:
    """What a fault of an argument stands in: the argument, and the value in it where it has several."""
    return (
        f"{argument.shown}, {problem.field}"
        if isinstance(argument.read, RecordReader) and problem.field
        else argument.shown
    )


def _read_one(argument: Argument, text: str) -> Any:
    if argument.choices and text not in argument.choices:
        raise BadInput(f"{clean_label(text, max_length=60)!r} is none of: {', '.join(argument.choices)}.")
    return argument.read(text)


# ---- what a verb's help ends with ----------------------------------------------------------------


def _epilog(verb: Verb) -> str:
    lines = ["example:", f"  kittrack {verb.words} {verb.example}".rstrip()]
    keys = json_keys(verb)
    if keys:
        lines += ["", "keys of --json:", *(f"  {line}" for line in keys)]
    return "\n".join(lines)


def json_keys(verb: Verb) -> list[str]:
    """The keys of the JSON document that a verb answers with, one line for each kind of value in it."""
    answer = typing.get_type_hints(verb.calls).get("return")
    lines: list[str] = []
    _describe(answer, "", lines, set())
    return lines


def row_kind(verb: Verb) -> type | None:
    """What the rows of a verb's CSV are: the dataclass that its `rows` says, or picks out of the answer's type."""
    if verb.rows is None:
        return None
    said = typing.get_type_hints(verb.rows).get("return")
    answer = typing.get_type_hints(verb.calls).get("return")
    found = _dataclasses_in(said or getattr(verb.rows(_Picked(answer)), "kind_", answer))
    return found[0] if found else None


class _Picked:
    """Stands for a value of a type; asked for a field or a property, it stands for that."""

    def __init__(self, kind: Any) -> None:
        self.kind_ = kind

    def __getattr__(self, name: str) -> "_Picked":
        own = getattr(self.kind_, name, None)
        getter = own.fget if isinstance(own, property) else None
        return _Picked(
            typing.get_type_hints(getter)["return"] if getter else typing.get_type_hints(self.kind_)[name]
        )


def _describe(kind: Any, name: str, lines: list[str], seen: set[Any]) -> None:
    for one in _dataclasses_in(kind):
        if one in seen:
            continue
        seen.add(one)
        own = dataclasses.fields(one)
        lines.append(f"{name + ': ' if name else ''}{', '.join(f.name for f in own)}")
        hints = typing.get_type_hints(one)
        for f in own:
            _describe(hints[f.name], f.name, lines, seen)


def _dataclasses_in(kind: Any) -> list[Any]:
    if dataclasses.is_dataclass(kind):
        return [kind]
    return [found for part in typing.get_args(kind) for found in _dataclasses_in(part)]
