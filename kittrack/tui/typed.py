"""From what a person typed into a field to what an act takes. Each reader raises BadInput with a plain sentence.

The readers of numbers are the domain's; what is here puts them together for the fields of a form.
"""

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Final, TypeVar

from kittrack.domain import dates
from kittrack.domain.quantities import Dimension, read_quantity
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput

R = TypeVar("R")

_MOST_BYTES: Final = 50_000_000  # of a file; more than any delivery or bench sheet holds
_MOST_WHOLE: Final = 2**63 - 1  # what both databases keep in one whole number


def quantity(dimension: Dimension) -> Callable[[str], int]:
    """A reader of amounts of one dimension, with their unit."""
    return lambda text: read_quantity(text, dimension=dimension)


mass, length, moment = quantity(Dimension.MASS), quantity(Dimension.LENGTH), quantity(Dimension.MOMENT)
volume, torque, minutes = quantity(Dimension.VOLUME), quantity(Dimension.TORQUE), quantity(Dimension.TIME)
pieces = quantity(Dimension.PIECES)


def text(typed: str) -> str:
    """Text as it stands."""
    return typed


def amount(typed: str) -> tuple[int, str]:
    """Pieces or a volume: the number and the unit in which the store keeps it."""
    if typed[-1:].lower() == "l":
        return volume(typed), "volume_ul"
    return pieces(typed), "pieces"


def amount_only(typed: str) -> int:
    """Pieces or a volume, as a whole number of the unit in which the store keeps it."""
    return 0 if typed == "0" else amount(typed)[0]


def day(typed: str) -> date:
    """A date that can be read in one way only."""
    return dates.read_date(typed)


def day_text(typed: str) -> str:
    """A date, as the ISO text of it."""
    return day(typed).isoformat()


def expiry(typed: str) -> dates.Expiry:
    """The last good day, or `none` or `unknown`."""
    known = {"none": dates.Expiry.unlimited(), "unknown": dates.Expiry.unknown()}
    return known.get(typed.lower()) or dates.Expiry.limited(day(typed))


def whole(typed: str) -> int:
    """A plain whole number of zero or more."""
    if not (typed.isascii() and typed.isdigit()) or int(typed[:20]) > _MOST_WHOLE:
        raise not_read(typed, "a whole number; type digits only")
    return int(typed)


def yes_no(typed: str) -> bool:
    """Yes or no."""
    if typed.lower() not in ("yes", "no"):
        raise not_read(typed, "yes or no")
    return typed.lower() == "yes"


def listed(typed: str) -> tuple[str, ...]:
    """Texts parted by commas."""
    return tuple(part.strip() for part in typed.split(",") if part.strip())


def one_of(*choices: str) -> Callable[[str], str]:
    """A reader of one of some words; the beginning of a word is enough where it is the only one."""

    def read(typed: str) -> str:
        exact = [c for c in choices if c.casefold() == typed.casefold()]
        found = exact or [c for c in choices if c.casefold().startswith(typed.casefold())]
        if len(found) != 1:
            raise not_read(typed, f"one of: {', '.join(choices)}")
        return found[0]

    return read


def or_word(word: str, reader: Callable[[str], R]) -> Callable[[str], R | None]:
    """A reader that also takes a word for no value at all."""
    return lambda typed: None if typed.lower() == word else reader(typed)


def each(reader: Callable[[str], R]) -> Callable[[str], tuple[R, ...]]:
    """A reader of several things parted by commas."""
    return lambda typed: tuple(reader(part) for part in listed(typed))


def named(
    what: str, reader: Callable[[str], R], *, default: R | None = None
) -> Callable[[str], tuple[str, R]]:
    """A reader of "name=value"; without "=" the value is the default, where there is one."""

    def read(typed: str) -> tuple[str, R]:
        name, mark, value = (part.strip() for part in typed.rpartition("="))
        if not mark and default is not None:
            return typed.strip(), default
        if not (name and value):
            raise not_read(typed, f"{what}; give both, parted by =")
        return name, reader(value)

    return read


def file_bytes(typed: str) -> tuple[bytes, str]:
    """The content of a file and its name."""
    path = Path(typed).expanduser()
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise not_read(typed, "a file of a size that can be taken in; split it")
        return path.read_bytes(), path.name
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "no such name"
        raise not_read(typed, f"a file that can be read ({why}); look at its name and rights") from None


def not_read(typed: str, wanted: str) -> BadInput:
    """What to say of a text that is not what was wanted."""
    return BadInput(f"{clean_label(typed, max_length=60) or 'Nothing'} is not {wanted}.")
