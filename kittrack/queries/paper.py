"""What every document of the stores has in common: local times, copies, the head of the chain in its foot, cautions.

Source: design 2 (the head of the chain is kept outside the store), 9 (cautions).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from kittrack.domain.cautions import CAUTIONS, NO_RELEASE
from kittrack.domain.dates import shown_at
from kittrack.domain.paper_marks import make_paper_mark
from kittrack.domain.quantities import Dimension, write_quantity
from kittrack.errors import NotFound
from kittrack.printing.documents import Caution
from kittrack.store.act import Reading, read_instant_text
from kittrack.store.fold import chain_head
from kittrack.store.records import Event, LabelPrint, Person, Site

RELEASE: Final = (Caution.CAUTION, NO_RELEASE)
SENSES: Final = (Caution.CAUTION, CAUTIONS[1])
GENERAL: Final = (Caution.NOTE, CAUTIONS[0])
FIGURES: Final = (Caution.NOTE, CAUTIONS[2])


@dataclass(frozen=True)
class Copy:
    """One earlier copy of a document: its number, when and by whom it was printed."""

    number: int
    at: str
    by: str


class Stores:
    """The stores as a document names them: local times, people, the foot of a page."""

    def __init__(self, read: Reading, *, at: datetime) -> None:
        found = read.select(Site, limit=1)
        if not found:
            raise NotFound(
                "The store was never founded, so there is nothing to print; found it first: kittrack found"
            )
        site = found[0]
        self._read, self._zone = read, ZoneInfo(site.time_zone)
        self.site, self._at = site.name, at

    def local(self, instant: str) -> str:
        """An instant of the store in the stores' own time, to the minute; "" for none."""
        if not instant:
            return ""
        return self._shown(read_instant_text(instant))

    def when(self, event_id: int | None) -> str:
        """When an event was, in the stores' own time; "" for none."""
        return self.local(self._read.get(Event, event_id).at) if event_id else ""

    def who(self, person_id: int | None) -> str:
        """A person's name; "" for nobody."""
        return self._read.get(Person, person_id).name if person_id else ""

    @property
    def foot(self) -> str:
        """What stands at the foot of each page: where and when it was printed, and the head of the chain."""
        number, digest = chain_head(self._read)
        return f"{self.site}, printed {self._shown(self._at)}. Head of the chain of events: {number}:{digest}"

    @property
    def mark(self) -> str:
        """The bar code of a document that has no number of its own: where in the chain it stands."""
        number, digest = chain_head(self._read)
        return make_paper_mark(number, digest=digest).text

    def _shown(self, at: datetime) -> str:
        return shown_at(at, zone=self._zone)


def copies(read: Reading, stores: Stores, subject: str) -> tuple[Copy, ...]:
    """The copies of a document that are on record, the first one first."""
    return tuple(
        Copy(p.copy_number, stores.when(p.event_id), stores.who(read.get(Event, p.event_id).by_id))
        for p in read.select(LabelPrint, "subject = ?", subject, order="copy_number")
    )


def copy_note(found: Sequence[Copy]) -> tuple[tuple[Caution, str], ...]:
    """What a second or later copy says of itself; nothing for a first one."""
    if len(found) < 2:
        return ()
    before = "; ".join(f"copy {c.number} printed {c.at} by {c.by}" for c in found[:-1])
    return (
        (
            Caution.CAUTION,
            f"COPY {found[-1].number}. There is one such document, not {len(found)}: {before}.",
        ),
    )


def amount(quantity: int, unit: str) -> str:
    """A kept amount as a document shows it."""
    return write_quantity(quantity, dimension=Dimension.VOLUME) if unit == "volume_ul" else str(quantity)


def torque(torque_mnm: int | None) -> str:
    """A torque as a document shows it; "" for none."""
    return "" if torque_mnm is None else write_quantity(torque_mnm, dimension=Dimension.TORQUE)


def moment(moment_g_um: int | None) -> str:
    """A static moment or residual unbalance as a document shows it; "" for none."""
    return "" if moment_g_um is None else write_quantity(moment_g_um, dimension=Dimension.MOMENT)


def hours(minutes: int | None) -> str:
    """A time as hours and minutes; what nobody knows is said to be unknown."""
    return "unknown" if minutes is None else write_quantity(minutes, dimension=Dimension.TIME)
