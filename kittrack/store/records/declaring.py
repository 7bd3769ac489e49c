"""How a table is declared: one class, its columns the fields."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar, TypeVar, dataclass_transform

RecordT = TypeVar("RecordT", bound="Record")


@dataclass(frozen=True)
class Shape:
    """What a table demands beyond its columns: uniqueness, checks, references, append-only or not."""

    name: str
    unique: tuple[tuple[str, ...], ...] = ()
    unique_where: tuple[tuple[tuple[str, ...], str], ...] = ()
    indexed: tuple[tuple[str, ...], ...] = ()
    checks: Mapping[str, str] = field(default_factory=dict)
    refers: Mapping[str, str] = field(default_factory=dict)
    once: bool = False


class Record:
    """The common root of all rows."""

    shape: ClassVar[Shape]
    id: int


def one_of(column: str, *values: str) -> str:
    """The SQL of a check that a text column holds one of the values."""
    return f"{column} IN ({', '.join(repr(v) for v in values)})"


@dataclass_transform(frozen_default=True, kw_only_default=True)
def table(name: str, **shape: Any) -> Callable[[type[RecordT]], type[RecordT]]:
    """Declare a record class as the row of a table; see `Shape` for the keywords."""

    def declare(cls: type[RecordT]) -> type[RecordT]:
        made = dataclass(frozen=True, kw_only=True, slots=True)(cls)
        made.shape = Shape(name, **shape)
        return made

    return declare


SENSES = ("CW", "CCW")
CONDITIONS = ("on hold", "serviceable", "unserviceable", "unsalvageable")
ROLES = ("clerk", "technician", "inspector", "manager", "auditor")
