"""Numbers that a calculation takes: everything else is refused in one plain sentence.

A balance figure that comes out of NaN, a negative mass or 1e300 looks like any other figure, so each
calculation of blades, scales and layouts asks here first. The limits are far outside of anything that
flies and only keep arithmetic finite (common practice, no source).
"""

from kittrack.errors import BadInput

MOST_MASS_UG = 10**12  # one tonne
MOST_RADIUS_UM = 10**8  # one hundred metres
MOST_MOMENT_G_UM = 10**12  # one tonne metre
MOST_SPEED_RPM = 10**6
MOST_QUANTITY = 10**15  # pieces, microlitres, minutes; a thousand times this still fits the store's integers
MOST_SHOWN = 40  # characters of a refused value that fit one sentence


def real(value: object, *, name: str, low: float, high: float, above: bool = False) -> float:
    """Give a number back as a float when it lies inside its limits.

    Args:
        value: what was handed in; True and False are not numbers.
        name: the figure in words with its unit, as the sentence shall name it.
        low: the least value.
        high: the greatest value.
        above: whether `low` itself is refused too.

    Raises:
        BadInput: it is not a finite number between the limits.
    """
    fits = (
        isinstance(value, int | float)
        and not isinstance(value, bool)
        and low <= value <= high
        and not (above and value == low)
    )
    if not fits or not isinstance(value, int | float):
        raise BadInput(_sentence(value, name=name, low=low, high=high, kind="a number", above=above))
    return float(value)


def whole(value: object, *, name: str, low: int, high: int) -> int:
    """Give a whole number back when it lies inside its limits.

    Raises:
        BadInput: it is not an integer between the limits.
    """
    if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
        raise BadInput(_sentence(value, name=name, low=low, high=high, kind="a whole number", above=False))
    return value


def moment(value: object, *, of: str) -> int:
    """Give a static moment in g·µm back when it is a whole number of a real blade.

    Raises:
        BadInput: it is negative, not whole or far too great.
    """
    return whole(value, name=f"static moment of {of} in g um", low=0, high=MOST_MOMENT_G_UM)


def quantity(value: object, *, of: str, low: int = 0) -> int:
    """Give a counted or measured quantity of the store back when it is a whole number of `low` or more.

    Raises:
        BadInput: it is less, not whole or far too great.
    """
    return whole(value, name=f"quantity of {of}", low=low, high=MOST_QUANTITY)


def tolerance(value: object, *, name: str = "tolerance in g um") -> float:
    """Give a residual or tolerance in g·µm back when it is zero or more and finite.

    Raises:
        BadInput: it is negative, not a number or far too great.
    """
    return real(value, name=name, low=0, high=MOST_MOMENT_G_UM)


def _sentence(value: object, *, name: str, low: float, high: float, kind: str, above: bool) -> str:
    shown = _shown(value)
    floor = f"more than {low:,.13g}" if above else f"at least {low:,.13g}"
    return f"The {name} is {shown}: give {kind}, {floor} and at most {high:,.13g}."


def _shown(value: object) -> str:
    if isinstance(value, int) and abs(value) >= 10**MOST_SHOWN:
        return f"a whole number beyond 1e{MOST_SHOWN}"
    text = repr(value)
    return text if len(text) <= MOST_SHOWN else f"{text[:MOST_SHOWN]}..."
