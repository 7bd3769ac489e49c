"""Scanners that type for another keyboard than the computer is set to, or that drop the separator GS.

A scanner in keyboard mode sends key positions. Set for a US keyboard and read by a German one, Y and Z
change places and the hyphen becomes a sharp s. No character survives every layout, so a number that comes
out wrong is refused, and the layout is named so that somebody can set it right.

Source: the layouts "de", "fr" and "gb" of xkeyboard-config against its "us".
"""

from enum import StrEnum
from typing import Final

from kittrack.domain.codes import read_code
from kittrack.errors import BadInput


class Layout(StrEnum):
    """A keyboard layout, by the name that a person knows."""

    GERMAN = "a German keyboard"
    FRENCH = "a French keyboard"
    BRITISH = "a British keyboard"


# Key by key in rows from the top left, first plain and then with Shift; a dead key stands as its sign.
_US: Final = (
    "`1234567890-=" "qwertyuiop[]" "asdfghjkl;'" "zxcvbnm,./" "\\"
    "~!@#$%^&*()_+" "QWERTYUIOP{}" 'ASDFGHJKL:"' "ZXCVBNM<>?" "|"
)  # fmt: skip
_TYPED: Final = {
    Layout.GERMAN: (
        "^1234567890ß´" "qwertzuiopü+" "asdfghjklöä" "yxcvbnm,.-" "#"
        '°!"§$%&/()=?`' "QWERTZUIOPÜ*" "ASDFGHJKLÖÄ" "YXCVBNM;:_" "'"
    ),
    Layout.FRENCH: (
        "²&é\"'(-è_çà)=" "azertyuiop^$" "qsdfghjklmù" "wxcvbn,;:!" "*"
        "~1234567890°+" "AZERTYUIOP¨£" "QSDFGHJKLM%" "WXCVBN?./§" "µ"
    ),
    Layout.BRITISH: (
        "`1234567890-=" "qwertyuiop[]" "asdfghjkl;'" "zxcvbnm,./" "#"
        '¬!"£$%^&*()_+' "QWERTYUIOP{}" "ASDFGHJKL:@" "ZXCVBNM<>?" "~"
    ),
}  # fmt: skip
_MEANT: Final = {layout: str.maketrans(typed, _US) for layout, typed in _TYPED.items()}

# A label to check a scanner with: capitals and small letters, characters that each layout changes, then GS, then an
# end mark. `self_test` judges what arrives.
SELF_TEST_HEAD: Final = "KITtrack@Y-Z#1"
SELF_TEST_END: Final = "END"
SELF_TEST: Final = f"{SELF_TEST_HEAD}\x1d{SELF_TEST_END}"


def as_typed_on(text: str, *, layout: Layout) -> str:
    """What a computer of a layout makes of a text that a scanner types as on a US keyboard."""
    return text.translate(str.maketrans(_US, _TYPED[layout]))


def layout_mismatch(text: str) -> Layout | None:
    """The keyboard layout that would turn one of our codes, or the self-test label, into this text.

    Args:
        text: a scan that is not a code of ours as it stands.

    Returns:
        The layout, or None where no layout explains the text. The text is never repaired by it.
    """
    for layout in Layout:
        meant = text.translate(_MEANT[layout])
        if meant != text and (_is_code(meant) or _is_self_test(meant)):
            return layout
    return None


def _is_code(text: str) -> bool:
    try:
        read_code(text)
    except BadInput:
        return False
    return True


def _is_self_test(text: str) -> bool:
    return text.startswith(SELF_TEST_HEAD) and text.endswith(SELF_TEST_END)
