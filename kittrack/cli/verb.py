"""What a verb of the command line is: one frozen declaration that names the act or question it calls.

The parser, the help, the reading of arguments and the printing of answers all follow from it. The keywords
`by`, `at`, `second`, `reason` and `key` of an act need no declaration: they are options of every verb whose
act takes them.
"""

import inspect
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Any, Final

from kittrack.cli.reading import with_form
from kittrack.cli.tables import Table
from kittrack.domain.codes import Kind

Values = dict[str, Any]

_KEPT_UNIT: Final = re.compile(r"_(?:g_um|um_s|mnm|ppm|ug|um)$")
"""The unit in which the store keeps a value, at the end of its keyword."""


class Station(StrEnum):
    """Where a verb belongs, in the order in which material flows; the help is grouped by it."""

    GOODS_IN = "Goods-in"
    MATCHING = "Matching"
    KITTING = "Kitting"
    COUNTER = "Counter"
    AIRCRAFT = "Aircraft"
    OFFICE = "Office"
    STORE = "Store"


@dataclass(frozen=True)
class Argument:
    """One thing that a person types for a verb.

    `name` is the keyword of the act (or of the verb's `build`); without a `flag` it is told by its place.
    What was not typed is not passed on, so the act's own default holds.

    For the forms of the stations: `scans` are the kinds of numbers of ours that fill it, where its name alone
    does not say so; `parted` is what stands between several of them; `empty_ok` says that it may be told to be
    nothing; `is_raw` that it takes scans as they were sent; `is_asked` that a form presumes no answer.
    `called` is what the help calls it where that is not its name.
    """

    name: str
    help: str
    read: Callable[[str], Any] = str
    flag: str = ""
    many: bool = False
    needed: bool = True
    is_switch: bool = False
    choices: tuple[str, ...] = ()
    scans: tuple[Kind, ...] = ()
    parted: str = ","
    empty_ok: bool = False
    is_raw: bool = False
    is_asked: bool = False
    called: str = ""

    @property
    def shown(self) -> str:
        """As the help and a refusal name it: one word, and no unit, since the unit is typed."""
        return self.flag or self.called or _KEPT_UNIT.sub("", self.name).replace("_", "-").upper()


def word(
    name: str, help_text: str, *, read: Callable[[str], Any] = str, choices: Sequence[str] = (), needed: bool = True,
    scans: Sequence[Kind] = (), is_raw: bool = False, called: str = "",
) -> Argument:  # fmt: skip
    """An argument told by its place."""
    return Argument(
        name, with_form(help_text, read), read, choices=tuple(choices), needed=needed, scans=tuple(scans),
        is_raw=is_raw, called=called,
    )  # fmt: skip


def words(
    name: str, help_text: str, *, read: Callable[[str], Any] = str, choices: Sequence[str] = (), needed: bool = True,
    scans: Sequence[Kind] = (), is_raw: bool = False,
) -> Argument:  # fmt: skip
    """All the arguments that are left, one or more of them."""
    return Argument(
        name, help_text, read, many=True, choices=tuple(choices), needed=needed, scans=tuple(scans), is_raw=is_raw
    )  # fmt: skip


def option(
    name: str, help_text: str, *, read: Callable[[str], Any] = str, flag: str = "", many: bool = False,
    needed: bool = False, choices: Sequence[str] = (), scans: Sequence[Kind] = (), parted: str = ",",
    empty_ok: bool = False, is_asked: bool = False,
) -> Argument:  # fmt: skip
    """An argument with a flag; a `many` one may be repeated, one that is asked has to be answered in a form."""
    return Argument(
        name, with_form(help_text, read), read, flag or _flag(name), many, needed, choices=tuple(choices), scans=tuple(scans),
        parted=parted, empty_ok=empty_ok, is_asked=is_asked,
    )  # fmt: skip


def switch(name: str, help_text: str, *, flag: str = "", is_asked: bool = False) -> Argument:
    """A flag that says yes; one that is asked has to be answered in a form, as only the person there knows."""
    return Argument(
        name, help_text, flag=flag or _flag(name.removeprefix("is_")), needed=False, is_switch=True, is_asked=is_asked
    )  # fmt: skip


def _flag(name: str) -> str:
    return "--" + name.replace("_", "-")


ONE_STOP: Final = switch(
    "one_stop",
    "all blades rested on the scale at one stop of one fixture, so that they share one radius",
    is_asked=True,
)
"""What several verbs ask of weighed blades: it decides how uncertain their moments are."""

COMMON: Final = ("by", "at", "second", "reason", "key")


@dataclass(frozen=True)
class Verb:
    """One verb.

    `words` is what is typed ("kit build"), `example` a whole line of invented values after the verb.
    `calls` is the act (answers `Done`) or the question; `build` turns what was typed into its keywords.
    `show` lays an answer out as tables, `rows` names its lines for CSV. `fails` says of an answer that the
    exit code is not 0 although the question was answered. `reaches` names every service or query that the
    verb stands for, where `calls` is not one itself.
    """

    words: str
    station: Station
    help: str
    example: str
    calls: Callable[..., Any]
    arguments: tuple[Argument, ...] = ()
    build: Callable[[Values], Values] | None = None
    show: Callable[[Any], Sequence[Table]] | None = None
    rows: Callable[[Any], Sequence[Any]] | None = None
    fails: Callable[[Any], int] | None = None
    reaches: tuple[Callable[..., Any], ...] = ()
    makes_store: bool = False
    opens_store: bool = True
    needs: tuple[str, ...] = field(default=())

    @property
    def takes(self) -> Mapping[str, inspect.Parameter]:
        """The keywords of `calls`, the store left out."""
        return _parameters(self.calls)

    @property
    def common(self) -> tuple[str, ...]:
        """Which of the options of every act this one takes."""
        own = {argument.name for argument in self.arguments}
        return tuple(name for name in COMMON if name in self.takes and name not in own)

    def is_needed(self, name: str) -> bool:
        """Whether a common option has to be given."""
        return self.takes[name].default is inspect.Parameter.empty or name in self.needs


@cache
def _parameters(function: Callable[..., Any]) -> Mapping[str, inspect.Parameter]:
    """The keywords of a function, the store left out; asked for often, and the same for good."""
    found = inspect.signature(function).parameters
    return MappingProxyType({name: p for name, p in found.items() if name != "store"})
