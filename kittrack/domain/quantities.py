"""Amounts as people type and read them; the store keeps whole numbers of one unit each.

The only home of the unit library: one registry, made on first use from the short list below. Its own
parser never sees what a person typed, because it reads "1,5 mm" as 15 mm and can be made to run forever;
text is taken apart here, its number goes through Decimal and its unit through an allow-list.

Source: design section 5; the SI Brochure; the 1959 agreement on yard and pound; standard gravity of the
3rd General Conference on Weights and Measures (1901).
"""

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from enum import StrEnum
from functools import cache
from typing import Any, Final

from kittrack.domain import bounds
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput

_DEFINITIONS: Final = """
gram = [mass]
microgram = 0.000001 * gram
milligram = 0.001 * gram
kilogram = 1000 * gram
pound = 453.59237 * gram
ounce = 28.349523125 * gram
metre = [length]
micrometre = 0.000001 * metre
millimetre = 0.001 * metre
centimetre = 0.01 * metre
inch = 0.0254 * metre
foot = 0.3048 * metre
litre = 0.001 * metre ** 3
millilitre = 0.001 * litre
microlitre = 0.000001 * litre
second = [time]
minute = 60 * second
hour = 3600 * second
newton = kilogram * metre / second ** 2
centinewton = 0.01 * newton
millinewton = 0.001 * newton
gravity = 9.80665 * metre / second ** 2
pound_force = pound * gravity
ounce_force = ounce * gravity
kilogram_force = kilogram * gravity
turn = [turn]
piece = [item]
"""


class Dimension(StrEnum):
    """What is measured, and by it the unit in which the store keeps it."""

    MASS = "mass"  # mass_ug
    LENGTH = "length"  # length_um
    MOMENT = "moment"  # moment_g_um: a mass at a radius, as in balancing
    VOLUME = "volume"  # volume_ul
    TORQUE = "torque"  # torque_mnm
    SPEED = "speed"  # speed_rpm
    TIME = "time"  # minutes
    PIECES = "pieces"  # pieces


@dataclass(frozen=True)
class _Unit:
    """One accepted unit: as it is shown, as the registry names it, other spellings.

    A `rounded` unit has no whole number of the kept unit to its own steps, so what is typed in it goes to
    the nearest one; in every other unit a finer figure than the store keeps is refused.
    """

    shown: str
    registry_name: str
    spellings: tuple[str, ...] = ()
    rounded: bool = False


# The first unit is the one in which an amount is shown; the second item is the kept unit.
_UNITS: Final[dict[Dimension, tuple[str, tuple[_Unit, ...]]]] = {
    Dimension.MASS: (
        "microgram",
        (
            _Unit("g", "gram"),
            _Unit("mg", "milligram"),
            _Unit("kg", "kilogram"),
            _Unit("ug", "microgram", ("µg", "μg")),
            _Unit("oz", "ounce", rounded=True),
        ),
    ),
    Dimension.LENGTH: (
        "micrometre",
        (
            _Unit("mm", "millimetre"),
            _Unit("cm", "centimetre"),
            _Unit("m", "metre"),
            _Unit("um", "micrometre", ("µm", "μm")),
            _Unit("in", "inch", ("inch",), rounded=True),
        ),
    ),
    Dimension.MOMENT: (
        "gram * micrometre",
        (
            _Unit("g mm", "gram * millimetre"),
            _Unit("g cm", "gram * centimetre"),
            _Unit("oz in", "ounce * inch", rounded=True),
        ),
    ),
    Dimension.VOLUME: (
        "microlitre",
        (
            _Unit("mL", "millilitre", ("ml",)),
            _Unit("uL", "microlitre", ("ul", "µL", "µl", "μL", "μl")),
            _Unit("L", "litre", ("l",)),
        ),
    ),
    Dimension.TORQUE: (
        "millinewton * metre",
        (
            _Unit("N m", "newton * metre"),
            _Unit("cN m", "centinewton * metre"),
            _Unit("mN m", "millinewton * metre"),
            _Unit("lbf in", "pound_force * inch", ("in lbf",), rounded=True),
            _Unit("lbf ft", "pound_force * foot", ("ft lbf",), rounded=True),
            _Unit("ozf in", "ounce_force * inch", ("in ozf",), rounded=True),
            _Unit("kgf cm", "kilogram_force * centimetre", rounded=True),
        ),
    ),
    Dimension.SPEED: ("turn / minute", (_Unit("rpm", "turn / minute", ("r/min", "rev/min")),)),
    Dimension.TIME: ("minute", (_Unit("h", "hour", rounded=True), _Unit("min", "minute"))),
    Dimension.PIECES: (
        "piece",
        (_Unit("pieces", "piece", ("piece", "pcs", "pc", "each", "ea")),),
    ),
}
# An ounce or a pound by itself is a mass; a torque needs a force, and the two differ by gravity.
_MASS_FOR_FORCE: Final = frozenset({"ozin", "inoz", "lbin", "inlb", "lbft", "ftlb", "kgcm", "gcm", "gmm"})
_FORCE_FOR_MASS: Final = frozenset({"ozfin", "inozf", "gfcm", "Nm", "cNm", "mNm"})

_JOINS: Final = re.compile(r"[ ·⋅•*-]")
_AMOUNT: Final = re.compile(r"([0-9]+(?:[.,][0-9]+)?) *(.*)")
_CLOCK: Final = re.compile(r"([0-9]{1,7}):([0-5][0-9])(?: *h)?")
_FAULTS: Final = tuple(
    (re.compile(start), fault)
    for start, fault in (
        (r"$", "was typed; type a number and its unit"),
        (r"[-−–]", "is negative; type an amount of zero or more"),
        (r"(?![0-9])", "does not start with a plain number; type one such as 12.5 and its unit"),
        (r"[0-9]++(?:[.,][0-9]++)?+[eE][+-]?[0-9]", "has an exponent; write the number in full"),
        (
            r"[0-9]++(?:[.,][0-9]++)?+ *+[^A-Za-zµμ]",
            "has a blank or a sign inside its number; write it without, such as 1000 or 12.5",
        ),
        (
            r"[0-9]++,[0-9]{3}(?![0-9])",
            "can be read in two ways, since a comma before three digits may part thousands; use a point",
        ),
    )
)
_MAX_TEXT: Final = 40
_MAX_KEPT: Final = 2**63 - 1  # what both databases keep in one whole number
_FACTOR_DIGITS: Final = 24  # every factor is exact in fewer; going by way of seconds leaves dust behind them
_PRECISION: Final = 60  # digits of intermediate products; far beyond 19 kept digits times any factor


@cache
def registry() -> Any:
    """The one unit registry, exact in Decimal. Takes about 0.2 s the first time."""
    import pint

    units = pint.UnitRegistry(None, non_int_type=Decimal, cache_folder=None)
    units.load_definitions(_DEFINITIONS.strip().splitlines())
    return units


@cache
def _factor(unit: _Unit, kept: str) -> Decimal:
    """How many of the kept unit one of a unit is."""
    factor: Decimal = registry().convert(Decimal(1), unit.registry_name, kept)
    with localcontext(prec=_FACTOR_DIGITS):
        return +factor


@cache
def _spellings(dimension: Dimension) -> dict[str, _Unit]:
    _, units = _UNITS[dimension]
    return {_JOINS.sub("", text): unit for unit in units for text in (unit.shown, *unit.spellings)}


def accepted_units(dimension: Dimension) -> tuple[str, ...]:
    """The units that a person may type, the one that screens show first."""
    return tuple(unit.shown for unit in _UNITS[dimension][1])


def _named(dimension: Dimension) -> str:
    """The accepted units as a sentence names them."""
    units = accepted_units(dimension)
    clock = " or h:mm" if dimension is Dimension.TIME else ""
    return (f"{', '.join(units[:-1])} or {units[-1]}" if len(units) > 1 else units[0]) + clock


def read_quantity(text: str, *, dimension: Dimension, field: str = "") -> int:
    """Read an amount with its unit, such as "12.5 g" or "1,5 mm".

    Args:
        text: a plain decimal number and a unit; a time may be h:mm, pieces need no unit.
        dimension: what is measured.
        field: the form's name for it, if any; it stands in front of a refusal.

    Returns:
        A whole number of the kept unit of the dimension (mass_ug, length_um, moment_g_um, volume_ul,
        torque_mnm, rpm, minutes, pieces). Inches, ounces, pounds, kilogram-force and decimal hours go to
        the nearest one, halves to the even one.

    Raises:
        BadInput: no unit or another one, a number that can be read in two ways, negative, not finite,
            with an exponent, too long, too large, or finer than the store keeps.
    """
    trimmed = text.strip(" \t\r\n")
    shown = clean_label(trimmed, max_length=_MAX_TEXT)
    if len(trimmed) > _MAX_TEXT:
        raise BadInput(f"{shown} is too long for an amount; type one number and its unit.", field=field)
    if dimension is Dimension.TIME and (clock := _CLOCK.fullmatch(trimmed)):
        return int(clock[1]) * 60 + int(clock[2])
    amount = _AMOUNT.fullmatch(trimmed)
    fault = _number_fault(trimmed)
    if fault or amount is None:
        raise BadInput(f"{shown or 'Nothing'} {fault}.", field=field)
    unit = _read_unit(amount[2], dimension=dimension, shown=shown, field=field)
    kept = _kept(Decimal(amount[1].replace(",", ".")), dimension=dimension, unit=unit)
    if kept is None or (dimension is Dimension.PIECES and "." in amount[1].replace(",", ".")):
        raise BadInput(f"{shown} is finer than the store keeps; {_FINEST[dimension]}.", field=field)
    if kept > _MAX_KEPT:
        raise BadInput(f"{shown} is too large to be right; look again and type it anew.", field=field)
    if dimension is Dimension.PIECES and kept == 0:
        raise BadInput(f"{shown} is no piece at all; type at least 1.", field=field)
    return kept


_FINEST: Final = {
    Dimension.MASS: "round it to whole micrograms",
    Dimension.LENGTH: "round it to whole micrometres",
    Dimension.MOMENT: "round it to thousandths of a g mm",
    Dimension.VOLUME: "round it to whole microlitres",
    Dimension.TORQUE: "round it to whole mN m",
    Dimension.SPEED: "round it to whole turns per minute",
    Dimension.TIME: "round it to whole minutes",
    Dimension.PIECES: "type whole pieces",
}


def _number_fault(trimmed: str) -> str:
    """What is wrong with the number at the start of an amount, or nothing."""
    return next((fault for start, fault in _FAULTS if start.match(trimmed)), "")


def _read_unit(text: str, *, dimension: Dimension, shown: str, field: str) -> _Unit:
    """The unit of the allow-list that a text names."""
    if not text and dimension is Dimension.PIECES:
        return _UNITS[dimension][1][0]
    if not text:
        raise BadInput(f"{shown} has no unit; add {_named(dimension)}.", field=field)
    compact = _JOINS.sub("", text)
    unit = _spellings(dimension).get(compact)
    if unit is not None:
        return unit
    named = clean_label(text, max_length=_MAX_TEXT)
    if dimension is Dimension.TORQUE and compact in _MASS_FOR_FORCE:
        raise BadInput(f"{named} is a mass at a radius and no torque; use {_named(dimension)}.", field=field)
    if dimension is Dimension.MOMENT and compact in _FORCE_FOR_MASS:
        raise BadInput(f"{named} is a torque and no mass at a radius; use {_named(dimension)}.", field=field)
    raise BadInput(f"{named} is no unit of {dimension.value} here; use {_named(dimension)}.", field=field)


def _kept(number: Decimal, *, dimension: Dimension, unit: _Unit) -> int | None:
    """A number of a unit as a whole number of the kept unit; None if that would cut off digits."""
    with localcontext(prec=_PRECISION):
        exact = number * _factor(unit, _UNITS[dimension][0])
        whole = exact.to_integral_value(rounding=ROUND_HALF_EVEN)
    return int(whole) if unit.rounded or whole == exact else None


def write_quantity(value: int, *, dimension: Dimension, unit: str | None = None) -> str:
    """An amount as a person reads it; `read_quantity` gives the same whole number back.

    Args:
        value: a whole number of the kept unit; a difference may be negative.
        dimension: what is measured.
        unit: one of `accepted_units`; by default the first one, and h:mm for a time.

    Returns:
        The shortest plain decimal number that reads back as this value, and its unit.

    Raises:
        BadInput: the unit is none of the dimension, or the value is none that the store keeps.
    """
    bounds.whole(value, name="amount to be written", low=-_MAX_KEPT, high=_MAX_KEPT)
    sign, size = ("-" if value < 0 else ""), abs(value)
    if unit is None and dimension is Dimension.TIME:
        return f"{sign}{size // 60}:{size % 60:02d}"
    if unit is None and dimension is Dimension.PIECES:
        return f"{sign}{size} {'piece' if size == 1 else 'pieces'}"
    chosen = _read_unit(unit or accepted_units(dimension)[0], dimension=dimension, shown="", field="")
    return f"{sign}{_shortest(size, dimension=dimension, unit=chosen)} {chosen.shown}"


def stock_in_words(quantity: int, unit: str) -> str:
    """An amount of stock as a sentence says it: "4 pieces", "1 piece", "0.32 mL".

    Args:
        quantity: pieces, or microlitres where the unit says so.
        unit: as the store keeps it, "pieces" or "volume_ul".

    Raises:
        BadInput: an amount that the store never keeps.
    """
    if unit == "volume_ul":
        amount = bounds.whole(quantity, name="amount to be written", low=-_MAX_KEPT, high=_MAX_KEPT)
        return f"{amount / 1000:g} mL"
    return write_quantity(quantity, dimension=Dimension.PIECES)


def _shortest(size: int, *, dimension: Dimension, unit: _Unit) -> str:
    """The decimal number with the fewest places that reads back as a whole number of the kept unit."""
    places = 0
    with localcontext(prec=_PRECISION):
        exact = size / _factor(unit, _UNITS[dimension][0])
        while (
            _kept(number := exact.quantize(Decimal(1).scaleb(-places)), dimension=dimension, unit=unit)
            != size
        ):
            places += 1
    return f"{number:f}"


def write_torque(torque_mnm: int, *, second: str = "lbf in") -> str:
    """A torque in two units, so that a slip of unit shows on the spot.

    Args:
        torque_mnm: the torque in mN m.
        second: the unit in brackets, one of `accepted_units`.
    """
    first = write_quantity(torque_mnm, dimension=Dimension.TORQUE)
    return f"{first} ({write_quantity(torque_mnm, dimension=Dimension.TORQUE, unit=second)})"
