"""Bar patterns: Code 128 by python-barcode behind a fence, Data Matrix by zxing-cpp.

Widths are counted in modules (the narrowest bar) and printed in whole printer dots: a module of
1.6 dots prints as bars of one and two dots, which no reader trusts.

Source: design A5, C14; ISO/IEC 15417 (Code 128), ISO/IEC 16022 (Data Matrix).
"""

from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from math import floor
from typing import Any, Final

from kittrack.domain.text import clean_label
from kittrack.errors import PrintError

QUIET_MODULES: Final = 10  # each side; GS1 General Specifications 5.4.4.2 for Code 128
MATRIX_QUIET_MODULES: Final = 1  # all round; GS1 General Specifications, table 6
MIN_MODULE_DOTS: Final = 2  # a bar of one dot grows by half on a worn printer (common practice, no source)
# GS1 General Specifications, table 6: at least 0.170 mm linear and 0.254 mm matrix, at most 0.495 mm.
# Whole dots miss the figures by a hair: two of 300 dpi are 0.169 mm, two and four of 203 dpi 0.250 and 0.501 mm.
MIN_MODULE_UM: Final = 169
MIN_MATRIX_MODULE_UM: Final = 250
MAX_MODULE_UM: Final = 510
_LONGEST: Final = 48  # GS1 General Specifications 5.4.4.3


class Symbol(StrEnum):
    """The kinds of symbol that a label can carry."""

    CODE_128 = "code 128"
    DATA_MATRIX = "data matrix"


@dataclass(frozen=True)
class Pattern:
    """A symbol as rows of modules: "1" is dark. A linear symbol is one row. Quiet zones are not in it."""

    symbol: Symbol
    rows: tuple[str, ...]

    @property
    def width_modules(self) -> int:
        """The width without quiet zones."""
        return len(self.rows[0])

    @property
    def quiet_modules(self) -> int:
        """The blank modules that must stay at each side."""
        return QUIET_MODULES if self.symbol is Symbol.CODE_128 else MATRIX_QUIET_MODULES

    def module_dots(self, *, width_dots: int, dot_um: float) -> int | None:
        """The widest module that fits, in whole dots.

        Args:
            width_dots: the room, quiet zones included.
            dot_um: the printer's dot.

        Returns:
            Whole dots per module, or None when even the least readable module is too wide.
        """
        linear = self.symbol is Symbol.CODE_128
        room = width_dots // (self.width_modules + 2 * self.quiet_modules)
        widest = max(MIN_MODULE_DOTS, floor(MAX_MODULE_UM / dot_um))
        dots = min(room, widest)
        least_um = MIN_MODULE_UM if linear else MIN_MATRIX_MODULE_UM
        return dots if dots >= MIN_MODULE_DOTS and dots * dot_um >= least_um else None


def pattern(text: str, *, symbol: Symbol = Symbol.CODE_128, controls: str = "") -> Pattern:
    """The modules of a text.

    Args:
        text: printable ASCII, 1 to 48 characters.
        symbol: the kind of symbol.
        controls: control characters that it may hold as well; those of a scanner's self-test.

    Raises:
        PrintError: the text can't be encoded.
    """
    if symbol is Symbol.CODE_128:
        return Pattern(symbol, (modules(text, controls=controls),))
    return Pattern(symbol, matrix(text, controls=controls))


def modules(text: str, *, controls: str = "") -> str:
    """The bars of a text in Code 128, check symbol and stop included, quiet zones not.

    Args:
        text: printable ASCII, 1 to 48 characters.
        controls: as for `pattern`.

    Returns:
        "1" for a dark and "0" for a blank module; 11 for each symbol character and 13 for the stop.

    Raises:
        PrintError: the text can't be encoded.
    """
    _check(text, controls)
    bars: str = _fenced_code128()(text).build()[0]
    return bars


def matrix(text: str, *, gs1: bool = False, controls: str = "") -> tuple[str, ...]:
    """The modules of a text in Data Matrix ECC 200, quiet zone not included.

    Args:
        text: printable ASCII, 1 to 48 characters.
        gs1: the text is a GS1 element string with its identifiers in brackets, "(01)...(10)...";
            brackets are then not encoded and the separators are set by the encoder. An unknown
            identifier or a wrong length is refused, a wrong check digit is not.
        controls: as for `pattern`.

    Returns:
        Rows from the top; "1" for a dark and "0" for a blank module.

    Raises:
        PrintError: the text can't be encoded.
    """
    import zxingcpp

    _check(text, controls)
    options: dict[str, Any] = {"gs1": True} if gs1 else {}
    try:
        drawn = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.DataMatrix, **options)
    except ValueError as fault:
        raise PrintError(
            f"{clean_label(text)} can't be drawn as a Data Matrix ({clean_label(str(fault))}); correct the text."
        ) from fault
    pixels: Any = memoryview(drawn.to_image(scale=1, add_quiet_zones=False)).tolist()
    return tuple("".join("1" if pixel == 0 else "0" for pixel in row) for row in pixels)


def _check(text: str, controls: str = "") -> None:
    if not 1 <= len(text) <= _LONGEST:
        raise PrintError(
            f"A bar code holds 1 to {_LONGEST} characters and {clean_label(text, max_length=_LONGEST)!r} "
            f"has {len(text)}; give it a number of the store."
        )
    if not all(char in controls or (char.isascii() and char.isprintable()) for char in text):
        raise PrintError(
            f"{clean_label(text)} has characters that a bar code can't carry; use letters without accents, digits and -."
        )


@cache
def _fenced_code128() -> type[Any]:
    """python-barcode's Code 128, made safe for texts that begin with the digits 99.

    In set C the value 99 stands for the digits 99, elsewhere for "go to set C". The library drops a
    leading 99 after START C as if it were such a switch, so 996842535 would print as 6842535. Its
    instances also carry their set over from one call to the next.

    Source: reported to python-barcode and open in its release 0.16.1.
    """
    from barcode.codex import Code128

    start_c, digits_99 = 105, 99

    class FencedCode128(Code128):  # type: ignore[misc] # the library has no types
        def _build(self) -> list[int]:
            self._charset, self._buffer = "C", ""
            return super()._build()  # type: ignore[no-any-return] # untyped

        def _try_to_optimize(self, encoded: list[int]) -> list[int]:
            if encoded[0] == start_c and encoded[1:2] == [digits_99]:
                return encoded
            return super()._try_to_optimize(encoded)  # type: ignore[no-any-return] # untyped

    return FencedCode128
