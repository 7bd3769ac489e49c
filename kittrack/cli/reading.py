"""From what a person typed to what an act takes: amounts, dates, instants, lists, files.

Each reader takes a text and answers a value or raises BadInput with a plain sentence.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from inspect import Parameter, signature
from typing import Any, Final, Generic, TypeVar

from kittrack.domain import dates
from kittrack.domain.quantities import Dimension, read_quantity, write_quantity
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput, Problem
from kittrack.store.private import path_named

R = TypeVar("R")

_MOST_BYTES: Final = 50_000_000  # a file larger than any that a reader below takes in
_MOST_WHOLE: Final = 2**63 - 1  # what both databases keep in one whole number


def quantity(dimension: Dimension) -> Callable[[str], int]:
    """A reader of amounts of one dimension, with their unit."""
    return lambda text: read_quantity(text, dimension=dimension)


mass, length, moment = quantity(Dimension.MASS), quantity(Dimension.LENGTH), quantity(Dimension.MOMENT)
volume, torque, minutes = quantity(Dimension.VOLUME), quantity(Dimension.TORQUE), quantity(Dimension.TIME)
pieces = quantity(Dimension.PIECES)


def amount(text: str) -> tuple[int, str]:
    """Pieces or a volume: the number and the unit in which the store keeps it."""
    if text.strip()[-1:].lower() == "l":
        return volume(text), "volume_ul"
    return pieces(text), "pieces"


def amount_only(text: str) -> int:
    """Pieces or a volume, as a whole number of the unit in which the store keeps it."""
    return amount(text)[0]


def counted(text: str) -> int:
    """Pieces or a volume that somebody counted, which may be none."""
    return 0 if text.strip() == "0" else amount(text)[0]


def amount_text(number: int, unit: str) -> str:
    """A kept amount as a person reads it."""
    if unit == "volume_ul":
        return write_quantity(number, dimension=Dimension.VOLUME)
    return str(number) if unit == "pieces" else f"{number} {unit}"


def moment_text(moment_g_um: int | None) -> str:
    """A static moment as a person reads it."""
    return "" if moment_g_um is None else write_quantity(moment_g_um, dimension=Dimension.MOMENT)


def torque_text(torque_mnm: int | None) -> str:
    """A torque as a person reads it."""
    return "" if torque_mnm is None else write_quantity(torque_mnm, dimension=Dimension.TORQUE)


def time_text(minutes_used: int | None) -> str:
    """A time in hours and minutes; what nobody knows is said to be unknown."""
    return "unknown" if minutes_used is None else write_quantity(minutes_used, dimension=Dimension.TIME)


def day(text: str) -> date:
    """A date that can be read in one way only."""
    return dates.read_date(text)


def day_text(text: str) -> str:
    """A date, as the ISO text of it."""
    return dates.read_date(text).isoformat()


def instant(text: str) -> datetime:
    """An instant with its offset, which is kept."""
    dates.read_instant(text)
    return datetime.fromisoformat(dates.as_iso(text))


def expiry(text: str) -> dates.Expiry:
    """The last good day, or `none` or `unknown`."""
    known = {"none": dates.Expiry.unlimited(), "unknown": dates.Expiry.unknown()}
    return known.get(text.strip().lower()) or dates.Expiry.limited(day(text))


def angle(text: str) -> int:
    """An angle in degrees with at most three places, as thousandths of a degree; clockwise is positive."""
    body = text.strip().removesuffix("°").removesuffix("deg").strip()
    whole, _, part = body.removeprefix("-").removeprefix("+").partition(".")
    if not (whole.isascii() and whole.isdigit() and len(whole) <= 3 and len(part) <= 3):
        raise _not_read(text, "an angle; type degrees such as -45 or 22.5")
    if part and not (part.isascii() and part.isdigit()):
        raise _not_read(text, "an angle; type degrees such as -45 or 22.5")
    size = int(whole) * 1000 + int(part.ljust(3, "0") or 0)
    return -size if body.startswith("-") else size


def whole(text: str) -> int:
    """A plain whole number of zero or more."""
    body = text.strip()
    if not (body.isascii() and body.isdigit()) or int(body[:20]) > _MOST_WHOLE:
        raise _not_read(text, "a whole number; type digits only")
    return int(body)


_WRITTEN: Final[tuple[tuple[Callable[[str], Any], str], ...]] = (
    (mass, 'such as "42 g"'),
    (length, 'such as "96.5 mm"'),
    (moment, 'such as "5 g mm"'),
    (volume, 'such as "10 mL"'),
    (torque, 'such as "0.8 N m"'),
    (minutes, "as h:mm"),
    (day, "such as 2027-03-31"),
    (day_text, "such as 2027-03-31"),
)
"""How the values of a reader are written, with their unit."""


def with_form(help_text: str, read: Callable[[str], Any]) -> str:
    """What is told about a value, and how one is written, with its unit, unless that is told already."""
    form = next((words for reader, words in _WRITTEN if reader is read), "")
    return help_text if not form or "such as" in help_text or "h:mm" in help_text else f"{help_text}, {form}"


@dataclass(frozen=True)
class Key:
    """One named value of a record: the field that it fills, its reader, and what a form says about it.

    `keeps` says that a form leaves it filled for the next record, `empty_ok` that nothing may be told,
    `is_raw` that it takes a scan as it was sent.
    """

    field: str
    read: Callable[[str], Any] = str
    help: str = ""
    choices: tuple[str, ...] = ()
    keeps: bool = False
    empty_ok: bool = False
    is_raw: bool = False


@dataclass(frozen=True)
class RecordReader(Generic[R]):
    """Reads several named values in one text, such as "serial=0417; mark=R"; `keys` by name as typed."""

    make: Callable[..., R]
    keys: Mapping[str, Key]

    def __call__(self, text: str) -> R:
        """Read a text; every fault of it is named at once."""
        problems: list[Problem] = []
        found: dict[str, Any] = {}
        for part in filter(None, (p.strip() for p in text.split(";"))):
            name, mark, value = (p.strip() for p in part.partition("="))
            key = self.keys.get(name)
            if key is None or not mark:
                shown = clean_label(part, max_length=60)
                problems.append(
                    Problem(f"{shown!r} is not NAME=VALUE with one of: {', '.join(self.keys)}.", name)
                )
                continue
            try:
                found[key.field] = key.read(value)
            except BadInput as error:
                problems += [Problem(p.message, name) for p in error.problems]
        if problems:
            raise BadInput(problems)
        missing = [name for name in self.needed if self.keys[name].field not in found]
        if missing:
            raise BadInput(f"{', '.join(missing)} is missing; add it as NAME=VALUE, parted by a semicolon.")
        return self.make(**found)

    @property
    def needed(self) -> tuple[str, ...]:
        """The names that have to be told."""
        taken = signature(self.make).parameters
        return tuple(
            name
            for name, key in self.keys.items()
            if key.field in taken and taken[key.field].default is Parameter.empty
        )


def record(make: Callable[..., R], **keys: Key) -> RecordReader[R]:
    """A reader of several named values in one text.

    Args:
        make: what the values make, by keyword.
        keys: each name as it is typed, with "_" for a blank.
    """
    return RecordReader(make, {name.replace("_", " "): key for name, key in keys.items()})


def listed(text: str) -> tuple[str, ...]:
    """Texts parted by commas."""
    return tuple(part.strip() for part in text.split(",") if part.strip())


def one_of(*choices: str) -> Callable[[str], str]:
    """A reader of one of some words; the beginning of a word is enough where it is the only one."""

    def read(text: str) -> str:
        typed = text.strip().casefold()
        exact = [c for c in choices if c.casefold() == typed]
        found = exact or [c for c in choices if c.casefold().startswith(typed)]
        if len(found) != 1:
            raise _not_read(text, f"one of: {', '.join(choices)}")
        return found[0]

    return read


def yes_no(text: str) -> bool:
    """Yes or no."""
    if text.strip().lower() not in ("yes", "no"):
        raise _not_read(text, "yes or no")
    return text.strip().lower() == "yes"


def or_none(reader: Callable[[str], R], word: str = "none") -> Callable[[str], R | None]:
    """A reader that also takes a word for no value at all."""
    return lambda text: None if text.strip().lower() == word else reader(text)


def pair_of(name: str, reader: Callable[[str], Any], what: str) -> Callable[[str], tuple[str, Any]]:
    """A reader of "name=value", the value read by another reader."""

    def read(text: str) -> tuple[str, Any]:
        left, mark, right = text.rpartition("=")
        if not (mark and left.strip() and right.strip()):
            raise _not_read(text, f"{name}={what}; give both, parted by =")
        return left.strip(), reader(right)

    return read


def file_bytes(text: str) -> tuple[bytes, str]:
    """The content of a file and its name."""
    path = path_named(text)
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise _not_read(text, "a file of a size that can be taken in; split it")
        return path.read_bytes(), path.name
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "no such name"
        raise _not_read(text, f"a file that can be read ({why}); look at its name and rights") from None


def _not_read(text: str, wanted: str) -> BadInput:
    return BadInput(f"{clean_label(text, max_length=60) or 'Nothing'} is not {wanted}.")
