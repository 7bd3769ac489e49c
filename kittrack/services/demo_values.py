"""How the scenario's files write what acts take: receipt lines, inspected pieces, weighings, amounts, positions.

The items of one value are parted by semicolons. Source: design A6.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

from kittrack.domain import dates
from kittrack.domain.quantities import Dimension, read_quantity
from kittrack.errors import BadInput
from kittrack.services.booking import LineSpec, PaperSpec
from kittrack.services.coverage import ALL, Coverage
from kittrack.services.inspecting import PieceFinding, PieceSpec
from kittrack.services.ordering import OrderSpec
from kittrack.services.weighing import PieceWeighing

_RANGE = re.compile(r"(.*?)(\d+) to (.*?)(\d+)")
_PAPER = re.compile(r"paper (.+) (\S+) of (.+)")
_COVERAGE = re.compile(r"(arm|group) (.+)")
_RESULTS = ("held", "rejected")


def items(text: str) -> list[str]:
    """The items of a value."""
    return [item.strip() for item in text.split(";") if item.strip()]


def amount(text: str) -> int:
    """Pieces or a volume, in the unit in which the store keeps it."""
    dimension = Dimension.VOLUME if text.strip()[-1:].lower() == "l" else Dimension.PIECES
    return read_quantity(text, dimension=dimension)


def torque(text: str) -> int:
    """A torque in mN m."""
    return read_quantity(text, dimension=Dimension.TORQUE)


def hours(text: str) -> int:
    """A time in minutes."""
    return read_quantity(text, dimension=Dimension.TIME)


def coverage(text: str) -> Coverage:
    """`all`, `arm NAME`, `group NAME`, or names parted by commas."""
    if text.strip() == "all":
        return ALL
    if found := _COVERAGE.fullmatch(text.strip()):
        return Coverage(found[1], (found[2],))
    return Coverage("named", listed(text))


def listed(text: str) -> tuple[str, ...]:
    """Texts parted by commas."""
    return tuple(part.strip() for part in text.split(",") if part.strip())


def paired(text: str) -> tuple[str, str]:
    """`left = right`."""
    left, sign, right = text.partition(" = ")
    if not sign:
        raise BadInput(f"{text!r} has no ' = '; write it as left = right")
    return left.strip(), right.strip()


def expiry(text: str) -> dates.Expiry:
    """A last day, `no expiry` or `unknown`."""
    known = {"no expiry": dates.Expiry.unlimited(), "unknown": dates.Expiry.unknown()}
    return known.get(text.strip()) or dates.Expiry.limited(dates.read_date(text))


def receipt_line(text: str) -> LineSpec:
    """`PART; AMOUNT; lot X | no lot; until DAY | no expiry; made DAY; paper KIND NUMBER of ISSUER`."""
    part, quantity, lot, *rest = items(text)
    unit = "volume_ul" if quantity[-1:].lower() == "l" else "pieces"
    spec = LineSpec(part, amount(quantity), None if lot == "no lot" else lot.removeprefix("lot "), unit=unit)
    if unit == "pieces":
        spec = replace(spec, expiry=dates.Expiry.unlimited())
    for item in rest:
        if found := _PAPER.fullmatch(item):
            spec = replace(spec, papers=(*spec.papers, PaperSpec(found[1], found[2], found[3])))
        elif item.startswith("made "):
            spec = replace(spec, made_on=dates.read_date(item.removeprefix("made ")))
        elif item.startswith("scan "):
            spec = replace(spec, raw_scan=item.removeprefix("scan "))
        else:
            spec = replace(spec, expiry=expiry(item.removeprefix("until ")))
    return spec


def order_line(text: str) -> OrderSpec:
    """`PART; AMOUNT`, with `due DAY` where it is not the supplier's lead time from then."""
    part, quantity, *rest = items(text)
    unit = "volume_ul" if quantity[-1:].lower() == "l" else "pieces"
    due = dates.read_date(rest[0].removeprefix("due ")) if rest else None
    return OrderSpec(part, amount(quantity), unit, due)


def yes_or_no(text: str) -> bool:
    """`yes` or `no`."""
    if text not in ("yes", "no"):
        raise BadInput(f"{text!r} is neither yes nor no")
    return text == "yes"


def paper(text: str) -> PaperSpec:
    """`KIND NUMBER of ISSUER`."""
    found = _PAPER.fullmatch(f"paper {text}")
    if found is None:
        raise BadInput(f"{text!r} is no paper; write it as KIND NUMBER of ISSUER")
    return PaperSpec(found[1], found[2], found[3])


def serials(text: str) -> list[str]:
    """One serial, or all from one to another: `QW-0001 to QW-0016`."""
    found = _RANGE.fullmatch(text)
    if found is None or found[1] != found[3]:
        return [text]
    width = len(found[2])
    return [f"{found[1]}{number:0{width}d}" for number in range(int(found[2]), int(found[4]) + 1)]


def inspected(text: str) -> Iterator[PieceSpec]:
    """`SERIALS | no serial; mark M; pair P | pairs of N; held | rejected; note TEXT`, one piece for each serial."""
    first, *rest = items(text)
    words = dict(_keyed(rest))
    result = next((r for r in _RESULTS if r in rest), "accepted")
    known: list[str | None] = [None] if first == "no serial" else [*serials(first)]
    for rank, serial in enumerate(known):
        pair = words.get("pair", "")
        if "pairs of" in words:
            size = int(words["pairs of"])
            pair = f"{known[rank - rank % size]}"
        yield PieceSpec(
            serial, mark=words.get("mark", ""), result=result, pair_code=pair, note=words.get("note", "")
        )


def finding(code: Callable[[str], str], text: str) -> PieceFinding:
    """`PIECE; mark M; held | rejected; note TEXT`."""
    first, *rest = items(text)
    words = dict(_keyed(rest))
    result = next((r for r in _RESULTS if r in rest), "accepted")
    return PieceFinding(code(first), mark=words.get("mark", ""), result=result, note=words.get("note", ""))


def weighings(text: str, *, radius_um: int) -> list[PieceWeighing]:
    """`SERIALS; GRAMS GRAMS ...`: one mass for each serial."""
    named, masses = items(text)
    known, read = serials(named), masses.split()
    if len(known) != len(read):
        raise BadInput(f"{named} are {len(known)} pieces and {len(read)} masses are given; count them")
    return [
        PieceWeighing(serial, read_quantity(f"{mass} g", dimension=Dimension.MASS), radius_um)
        for serial, mass in zip(known, read, strict=True)
    ]


def _keyed(found: list[str]) -> Iterator[tuple[str, Any]]:
    for item in found:
        for key in ("pairs of", "pair", "mark", "note"):
            if item.startswith(f"{key} "):
                yield key, item.removeprefix(f"{key} ")
                break
        else:
            if item not in _RESULTS:
                raise BadInput(
                    f"{item!r} says nothing about a piece; write mark, pair, held, rejected or note"
                )
