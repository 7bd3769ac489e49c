"""Reading one row of a catalogue file, whoever wrote it: an editor, or a spreadsheet that knew better.

A row hands out its values by name and kind. What can't be read is added to the list of problems with its file,
row and field, and reading goes on, so that one answer names everything. Source: design 3 (codes are text
always), R16.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from kittrack.domain.dates import read_date
from kittrack.domain.layout import FULL_TURN_MDEG
from kittrack.domain.quantities import Dimension, read_quantity
from kittrack.domain.text import clean_label, is_made_by_spreadsheet
from kittrack.errors import BadInput, Problem

_SHOWN = 40
_SCIENTIFIC = re.compile(r"[0-9]+(?:[.,][0-9]+)?E[+-]?[0-9]+", re.IGNORECASE)
_DAYS = re.compile(r"([0-9]{1,6}) ?days?")
_ANGLE = re.compile(r"([-+]?[0-9]{1,4}(?:[.,][0-9]{1,3})?) ?(?:deg|°)")
_WHOLE = re.compile(r"[0-9]{1,9}")
_FLAGS = {"yes": True, "no": False, "": False}


@dataclass
class Row:
    """The values of one row, or of one table of a nested file, that are still to be read.

    `owner` names a nested table ("fixing hub") in front of its fields; `is_typed` says that the file has
    numbers and true/false of its own, so that a text is what stands in quotes.
    """

    values: dict[str, Any]
    source: str
    problems: list[Problem]
    row: int | None = None
    owner: str = ""
    is_typed: bool = False
    seen: set[str] = field(default_factory=set)

    def fault(self, name: str, message: str) -> None:
        """Add a problem of one field; what a file says is shown with everything unseen made visible."""
        full = clean_label(f"{self.owner}, {name}" if self.owner else name)
        self.problems.append(Problem(clean_label(message), full, self.row, self.source))

    def blames(self, problems: Sequence[Problem], names: Mapping[str, str]) -> None:
        """Add problems that a check found, with their place, and with fields as the file calls them.

        A field that could not be read is blamed for that alone, and not for being empty as well.
        """
        unread = {(p.field, p.row, p.source) for p in self.problems}
        for problem in problems:
            before, _, last = problem.field.rpartition(", ")
            shown = names.get(last, last)
            full = clean_label(", ".join(part for part in (self.owner, before, shown) if part))
            if (full, self.row, self.source) not in unread:
                self.problems.append(Problem(clean_label(problem.message), full, self.row, self.source))

    def take(self, name: str) -> Any:
        """The raw value of a field, None where it is not given."""
        self.seen.add(name)
        value = self.values.get(name)
        return None if value in ("", None) and not self.is_typed else value

    def text(self, name: str) -> str:
        """A text as it stands; empty where it is not given."""
        value = self.take(name)
        if value is None:
            return ""
        if not isinstance(value, str):
            self.fault(
                name,
                f"{value!r} stands without quotes, so zeros and letters of it may be lost; write it in quotes.",
            )
            return ""
        if not self.is_typed:
            return self._cell_text(name, value)
        return value

    def _cell_text(self, name: str, value: str) -> str:
        if value.startswith("'"):
            return value[1:]
        shown = clean_label(value, max_length=_SHOWN)
        if _SCIENTIFIC.fullmatch(value) or is_made_by_spreadsheet(value):
            self.fault(
                name,
                f"{shown} is what a spreadsheet makes of a text; write what the paper says, "
                "with an apostrophe in front if it really reads so.",
            )
        return value

    def texts(self, name: str) -> tuple[str, ...]:
        """Several texts: a list, or words parted by blanks in a cell."""
        value = self.take(name)
        if value is None:
            return ()
        if isinstance(value, list) and all(isinstance(one, str) for one in value):
            return tuple(value)
        if isinstance(value, str) and not self.is_typed:
            return tuple(value.split())
        self.fault(name, f'Here stands a list of texts in quotes, such as ["a", "b"], and not {value!r}.')
        return ()

    def flag(self, name: str) -> bool:
        """Yes or no; no where it is not given."""
        value = self.take(name)
        if isinstance(value, bool):
            return value
        if value is None or (isinstance(value, str) and not self.is_typed and value.lower() in _FLAGS):
            return _FLAGS[(value or "").lower()]
        words = "true or false" if self.is_typed else "yes or no"
        self.fault(
            name, f"{clean_label(str(value), max_length=_SHOWN)!r} is neither {words}; write one of them."
        )
        return False

    def whole(self, name: str) -> int | None:
        """A whole number of zero or more."""
        value = self.take(name)
        if value is None or (isinstance(value, int) and not isinstance(value, bool) and value >= 0):
            return value
        if isinstance(value, str) and not self.is_typed and _WHOLE.fullmatch(value):
            return int(value)
        self.fault(
            name, f"{clean_label(str(value), max_length=_SHOWN)} is no whole number; write digits only."
        )
        return None

    def quantity(self, name: str, dimension: Dimension) -> int | None:
        """An amount with its unit, as a whole number of the kept unit."""
        value = self._amount_text(name, "its unit, such as 8 mm")
        if value is None:
            return None
        try:
            return read_quantity(value, dimension=dimension)
        except BadInput as why:
            for problem in why.problems:
                self.fault(name, problem.message)
            return None

    def days(self, name: str) -> int | None:
        """A number of days, written "730 days"."""
        value = self._amount_text(name, "its unit, such as 730 days")
        if value is None:
            return None
        read = _DAYS.fullmatch(value.strip())
        if read is None:
            self.fault(
                name, f"{clean_label(value, max_length=_SHOWN)} is no number of days; write it like 730 days."
            )
            return None
        return int(read[1])

    def angle_mdeg(self, name: str) -> int:
        """An angle, written "-157.5 deg", in millidegrees from 0 up to a full turn; 0 where it can't be read."""
        value = self.take(name)
        read = _ANGLE.fullmatch(value.strip()) if isinstance(value, str) else None
        if read is None:
            shown = "Nothing" if value is None else clean_label(str(value), max_length=_SHOWN)
            self.fault(
                name, f'{shown} is no angle; write it like "45 deg" or "-157.5 deg", clockwise from the nose.'
            )
            return 0
        return int(Decimal(read[1].replace(",", ".")) * 1000) % FULL_TURN_MDEG

    def date(self, name: str) -> str | None:
        """A calendar day as ISO text."""
        value = self.take(name)
        if value is None:
            return None
        try:
            return read_date(str(value)).isoformat()
        except BadInput as why:
            self.fault(name, str(why))
            return None

    def tables(self, name: str) -> Iterator["Row"]:
        """The nested tables of a name, each a row of its own; `owner` is set by who reads its name."""
        value = self.take(name)
        rows = [] if value is None else value
        if not isinstance(rows, list) or not all(isinstance(one, dict) for one in rows):
            self.fault(name, f"Here stand tables, each under a heading [[{name}]].")
            return
        for number, one in enumerate(rows, start=1):
            named = one.get("number") or one.get("name") or one.get("part") or number
            owner = f"{name} {named}"
            yield replace(
                self, values=one, owner=f"{self.owner}, {owner}" if self.owner else owner, seen=set()
            )

    def pairs(self, name: str) -> tuple[tuple[str, str], ...]:
        """A nested table of texts, in its own order."""
        value = self.take(name)
        if value is None:
            return ()
        if not isinstance(value, dict) or not all(isinstance(one, str) for one in value.values()):
            self.fault(name, f'Here stands a table of texts, such as {{ "R" = "CW" }}, and not {value!r}.')
            return ()
        return tuple(value.items())

    def done(self) -> None:
        """Refuse what nobody asked for: an unknown field is a slip that would be lost in silence."""
        for name in self.values:
            if name not in self.seen:
                known = ", ".join(sorted(self.seen))
                self.fault(
                    clean_label(name, max_length=_SHOWN), f"There is no such field; the fields are: {known}."
                )

    def _amount_text(self, name: str, example: str) -> str | None:
        value = self.take(name)
        if value is None or isinstance(value, str):
            return value
        self.fault(name, f"{value!r} has no unit; write it in quotes with {example}.")
        return None
