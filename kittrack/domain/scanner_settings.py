"""What is known of the scanner at one terminal: what it puts around each scan, and what it sends for GS."""

from dataclasses import dataclass
from typing import Final

from kittrack.domain.text import clean_label
from kittrack.errors import Problem

MOST_AFFIX: Final = (
    20  # characters that scanners can be set to put in front or behind (common practice, no source)
)
MOST_STAND_INS: Final = 10
_LINE_ENDS: Final = "\r\n\t"


@dataclass(frozen=True)
class ScannerSettings:
    """The settings of one terminal's scanner.

    `prefix` and `suffix` are taken off each scan that has them; `gs_stand_ins` stand for the separator GS besides those
    that every terminal knows.
    """

    prefix: str = ""
    suffix: str = ""
    gs_stand_ins: tuple[str, ...] = ()

    def bare(self, text: str) -> str:
        """A scan without what this scanner puts around it; line ends behind the suffix do not matter."""
        body = text.rstrip(_LINE_ENDS)
        if self.suffix and body.endswith(self.suffix):
            body = body.removesuffix(self.suffix)
        return body.removeprefix(self.prefix)


def check_settings(settings: ScannerSettings) -> tuple[Problem, ...]:
    """What is wrong with settings: an affix too long, or a stand-in that eats letters and digits of codes."""
    found = [
        Problem(f"The {name} has {len(text)} characters; shorten it to {MOST_AFFIX}.", name)
        for name, text in (("prefix", settings.prefix), ("suffix", settings.suffix))
        if len(text) > MOST_AFFIX
    ]
    if len(settings.gs_stand_ins) > MOST_STAND_INS:
        found.append(Problem(f"There are more than {MOST_STAND_INS} stand-ins for GS; name fewer.", "gs"))
    for stand_in in settings.gs_stand_ins:
        if not stand_in or len(stand_in) > MOST_AFFIX:
            found.append(Problem(f"A stand-in for GS has 1 to {MOST_AFFIX} characters; correct it.", "gs"))
        elif stand_in.isalnum() or stand_in == "-":
            shown = clean_label(stand_in)
            found.append(
                Problem(
                    f"{shown} can't stand for GS, because codes hold it too; set the scanner to send another sign.",
                    "gs",
                )
            )
    return tuple(found)
