"""How the numbers of an act came in: read by a scanner, or typed from a label that no scanner reads any more.

Source: trade practice ("typed" is possible, has its check character, and is counted); no published source.
"""

from dataclasses import dataclass, replace
from typing import Final

from kittrack.domain.text import clean_label
from kittrack.store.act import Act
from kittrack.store.records import Entry

_LONGEST: Final = 200  # characters of typed numbers that are kept with an act


@dataclass(frozen=True)
class Entries:
    """What was entered since the last act: how many numbers by a scanner, and which were typed."""

    scanned: int = 0
    typed: tuple[str, ...] = ()

    def with_one(self, text: str, *, typed: bool) -> "Entries":
        """One entry more."""
        return replace(self, typed=(*self.typed, text)) if typed else replace(self, scanned=self.scanned + 1)

    def keep(self, act: Act) -> None:
        """Make it a statement of an act; nothing where nobody told how its numbers came in."""
        if self.scanned or self.typed:
            texts = clean_label(" ".join(self.typed), max_length=_LONGEST)
            act.insert(
                Entry(scanned=self.scanned, typed=len(self.typed), typed_texts=texts, event_id=act.event_id)
            )
