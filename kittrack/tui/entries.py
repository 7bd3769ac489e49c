"""What a person entered at a station: scanned or typed, and what of ours it is."""

from dataclasses import dataclass
from datetime import date

from kittrack.domain.boxes import read_sent
from kittrack.domain.codes import Code
from kittrack.domain.scanner_settings import ScannerSettings
from kittrack.domain.scans import Scan, read_scan
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput

_SHOWN = 40  # characters of a scan that a sentence repeats


@dataclass(frozen=True)
class Entry:
    """One entry. `typed` tells a person's typing from a scanner's."""

    raw: str
    typed: bool
    scan: Scan

    @property
    def text(self) -> str:
        """The text without the scanner's prefix and the blanks around it."""
        return self.scan.text

    @property
    def code(self) -> Code | None:
        """The number of this store that it is, if it is one."""
        return self.scan.code

    @property
    def shown(self) -> str:
        """It as a sentence may repeat it."""
        return clean_label(self.text, max_length=_SHOWN)

    def require_code(self, wanted: str) -> Code:
        """The number of this store.

        Args:
            wanted: what to scan instead, as a sentence says it.

        Raises:
            BadInput: it is none, or it does not check.
        """
        if self.scan.code is not None:
            return self.scan.code
        if self.scan.problems:
            raise BadInput(self.scan.problems)
        raise BadInput(f"{self.shown} is not a number of this store; scan {wanted}.")


def read_entry(text: str, *, typed: bool, today: date, settings: ScannerSettings) -> Entry:
    """Read what was entered, a scan by the settings of this terminal's scanner; it never raises."""
    scan = read_scan(text, today=today) if typed else read_sent(text, today=today, settings=settings)
    return Entry(text, typed, scan)


def that_is(code: Code, *, wanted: str) -> BadInput:
    """What to say of a number of the wrong kind."""
    return BadInput(f"{code} is {code.kind.with_article}; scan {wanted}.")
