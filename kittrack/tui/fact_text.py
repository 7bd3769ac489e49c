"""Facts of the store as a person reads them: an instant to the minute, minutes as hours."""

import re
from collections.abc import Iterable
from typing import Final

from kittrack.domain.quantities import Dimension, write_quantity

_INSTANT: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z")  # as the store keeps it
_MINUTES: Final = "minutes "


def facts_told(facts: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Names and values of a thing for the eye."""
    return [_told(name, value) for name, value in facts]


def _told(name: str, value: str) -> tuple[str, str]:
    if name.startswith(_MINUTES) and value.isdecimal():
        hours = write_quantity(int(value), dimension=Dimension.TIME)
        return f"hours {name.removeprefix(_MINUTES)}", hours
    if _INSTANT.fullmatch(value):
        return name, f"{value[:10]} {value[11:16]} UTC"
    return name, value
