"""Label stocks: the paper in a printer, read from one TOML file each.

A new stock is a new file in `labels/`, or in a folder of one's own, and needs no code.
Source: design A5, A6.
"""

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any, Final

from kittrack.data import data_folder
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput, NotFound, Problem

UM_PER_INCH: Final = 25_400  # exact, by definition of the inch
_NAME: Final = re.compile(r"[a-z0-9][a-z0-9.-]{0,39}")
_LEAST_MM, _MOST_MM = Decimal("0.1"), Decimal(2000)
_LEAST_DPI, _MOST_DPI = Decimal(72), Decimal(2400)
_LABEL_KEYS: Final = ("width_mm", "height_mm")
_SHEET_LENGTHS: Final = ("page_width_mm", "page_height_mm")
_SHEET_OFFSETS: Final = ("left_mm", "top_mm", "column_gap_mm", "row_gap_mm")
_SHEET_COUNTS: Final = ("columns", "rows")
_MOST_COUNT: Final = 100


@dataclass(frozen=True)
class Sheet:
    """How labels stand on a page. All lengths in micrometres."""

    page_width_um: int
    page_height_um: int
    columns: int
    rows: int
    left_um: int
    top_um: int
    column_gap_um: int
    row_gap_um: int

    @property
    def labels(self) -> int:
        """How many labels a page holds."""
        return self.columns * self.rows


@dataclass(frozen=True)
class Stock:
    """One label paper at one printer resolution. A roll has no sheet: each label is a page."""

    name: str
    title: str
    dpi: Decimal
    width_um: int
    height_um: int
    margin_um: int
    sheet: Sheet | None = None

    @property
    def key(self) -> str:
        """Name and resolution, as `stock_named` reads it back."""
        return f"{self.name}@{self.dpi}"

    @property
    def dot_um(self) -> float:
        """The printer's dot."""
        return UM_PER_INCH / float(self.dpi)

    def dots(self, length_um: float) -> int:
        """Whole dots in a length; what is left over stays blank."""
        return int(length_um / self.dot_um + 1e-9)

    @property
    def width_dots(self) -> int:
        """Whole dots across one label."""
        return self.dots(self.width_um)

    @property
    def height_dots(self) -> int:
        """Whole dots down one label."""
        return self.dots(self.height_um)


def stocks(*folders: Path) -> tuple[Stock, ...]:
    """Every known stock at each of its resolutions.

    Args:
        folders: more folders to read; a file in them takes the place of ours with the same name.

    Returns:
        By area, then name, then resolution.

    Raises:
        BadInput: a file is not a stock; every fault of every file.
    """
    found = dict(_own_stocks()) | _read_folders(folders)
    return tuple(sorted(_each(found), key=lambda s: (s.width_um * s.height_um, s.name, s.dpi)))


def stock_named(key: str, *folders: Path) -> Stock:
    """The stock of a name, such as "roll-50x25" or, at one of its resolutions, "roll-50x25@300".

    Raises:
        NotFound: there is no such stock; the sentence lists those there are.
        BadInput: a file in `folders` is not a stock.
    """
    found = dict(_own_stocks()) | _read_folders(folders)
    name, _, dpi = key.partition("@")
    for stock in found.get(name, ()):
        if dpi in {"", str(stock.dpi)}:
            return stock
    listed = ", ".join(sorted(stock.key for stock in _each(found)))
    raise NotFound(f"There is no label stock {clean_label(key, max_length=60)}; choose one of {listed}.")


def read_stock(text: str, *, name: str) -> tuple[Stock, ...]:
    """One stock at each of its resolutions, in the order of the file.

    Args:
        text: TOML with `title`, `dpi`, `width_mm`, `height_mm`, `margin_mm` and, for sheets, `[sheet]`.
        name: the file's name without its ending.

    Raises:
        BadInput: every fault found.
    """
    try:
        found = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as fault:
        raise BadInput([Problem(f"This is not TOML ({fault}); correct the file.", source=name)]) from fault
    reading = _Reading(name)
    stock = reading.stock(found)
    if reading.problems or stock is None:
        raise BadInput(reading.problems)
    return stock


class _Reading:
    """Reads one file and collects every fault in it."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.problems: list[Problem] = []

    def stock(self, found: Mapping[str, Any]) -> tuple[Stock, ...] | None:
        if not _NAME.fullmatch(self.name):
            self.fault("", "A stock's file is named in small letters, digits, dots and hyphens; rename it.")
        self.unknown(found, {"title", "dpi", "margin_mm", "sheet", *_LABEL_KEYS})
        title = found.get("title")
        if not isinstance(title, str) or not title.strip() or not title.isprintable():
            self.fault("title", "A stock needs a title of one line; write it.")
        width_um, height_um = (self.length(found, key, least=_LEAST_MM) for key in _LABEL_KEYS)
        margin_um = self.length(found, "margin_mm", least=Decimal(0))
        if not self.problems and 2 * margin_um >= min(width_um, height_um):
            self.fault("margin_mm", "The margins leave nothing of the label; make them smaller.")
        sheet = self.sheet(found["sheet"], width_um, height_um) if "sheet" in found else None
        resolutions = self.resolutions(found.get("dpi"))
        if self.problems:
            return None
        return tuple(
            Stock(self.name, str(title), dpi, width_um, height_um, margin_um, sheet) for dpi in resolutions
        )

    def sheet(self, found: object, width_um: int, height_um: int) -> Sheet | None:
        if not isinstance(found, dict):
            self.fault("sheet", "A sheet is a table of its own; write [sheet] above its lines.")
            return None
        self.unknown(found, {*_SHEET_LENGTHS, *_SHEET_OFFSETS, *_SHEET_COUNTS})
        page_w, page_h = (self.length(found, key, least=_LEAST_MM) for key in _SHEET_LENGTHS)
        columns, rows = (self.count(found, key) for key in _SHEET_COUNTS)
        left, top, gap_x, gap_y = (self.length(found, key, least=Decimal(0)) for key in _SHEET_OFFSETS)
        if self.problems:
            return None
        if left + columns * width_um + (columns - 1) * gap_x > page_w:
            self.fault("columns", "The labels are wider than the page; check columns, left and gap.")
        if top + rows * height_um + (rows - 1) * gap_y > page_h:
            self.fault("rows", "The labels are higher than the page; check rows, top and gap.")
        return Sheet(page_w, page_h, columns, rows, left, top, gap_x, gap_y)

    def length(self, found: Mapping[str, Any], key: str, *, least: Decimal) -> int:
        number = _number(found.get(key))
        if number is None or not least <= number <= _MOST_MM:
            self.fault(key, f"This is a length of {least} to {_MOST_MM} mm; write it as a number.")
            return 0
        return round(number * 1000)

    def count(self, found: Mapping[str, Any], key: str) -> int:
        number = found.get(key)
        if type(number) is not int or not 1 <= number <= _MOST_COUNT:
            self.fault(key, f"This is a whole number from 1 to {_MOST_COUNT}; write it.")
            return 1
        return number

    def resolutions(self, found: object) -> tuple[Decimal, ...]:
        given = found if isinstance(found, list) else [found]
        numbers = [_number(value) for value in given]
        good = [number for number in numbers if number is not None and _LEAST_DPI <= number <= _MOST_DPI]
        if not good or len(good) != len(numbers) or len(set(good)) != len(good):
            self.fault(
                "dpi",
                f"This is a list of unlike resolutions of {_LEAST_DPI} to {_MOST_DPI} dots per inch; write it.",
            )
        return tuple(good)

    def unknown(self, found: Iterable[str], known: set[str]) -> None:
        for key in sorted(set(found) - known):
            self.fault(key, f"A stock has no such line; remove it or use one of {', '.join(sorted(known))}.")

    def fault(self, field: str, message: str) -> None:
        self.problems.append(Problem(message, field=clean_label(field), source=clean_label(self.name)))


def _number(value: object) -> Decimal | None:
    if type(value) is int:
        return Decimal(value)
    return value if isinstance(value, Decimal) and value.is_finite() else None


def _each(found: Mapping[str, tuple[Stock, ...]]) -> Iterable[Stock]:
    return (stock for resolutions in found.values() for stock in resolutions)


@cache
def _own_stocks() -> tuple[tuple[str, tuple[Stock, ...]], ...]:
    return tuple(_read_folders([data_folder("labels")]).items())


def _read_folders(folders: Iterable[Traversable]) -> dict[str, tuple[Stock, ...]]:
    found: dict[str, tuple[Stock, ...]] = {}
    problems: list[Problem] = []
    for folder in folders:
        for file in sorted(folder.iterdir(), key=lambda f: f.name) if folder.is_dir() else []:
            if not file.name.endswith(".toml"):
                continue
            name = file.name.removesuffix(".toml")
            try:
                found[name] = read_stock(file.read_text(encoding="utf-8"), name=name)
            except (UnicodeDecodeError, OSError) as fault:
                problems.append(Problem(f"The file can't be read ({fault}); correct it.", source=name))
            except BadInput as fault:
                problems += fault.problems
    if problems:
        raise BadInput(problems)
    return found
