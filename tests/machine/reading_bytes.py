"""The readers of what comes from outside, each as a function of bytes that holds what a reader promises.

A reader answers, or raises one of the program's own errors in sentences that are safe to show. Anything else is a
fault. `fuzz_readers.py` runs them guided by coverage, `test_readers_on_any_bytes.py` by Hypothesis.
"""

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from kittrack.data import data_folder
from kittrack.domain.boxes import read_box, read_sent
from kittrack.domain.scanner_settings import ScannerSettings
from kittrack.domain.scans import read_scan
from kittrack.domain.text import clean_label
from kittrack.errors import KittrackError, Problem
from kittrack.services import catalogue_files, founding, keeping
from kittrack.services.receiving_files import read_delivery_file
from kittrack.store.archive import check_hashes, opened
from kittrack.store.database import open_store

TODAY = date(2026, 3, 2)
MOST_SAID = 100_000
"""Far more than the longest list of faults that a reader may say."""

CATALOGUE_NAMES = ("sites.csv", "people.csv", "places.csv", "parts/x.csv", "parts/x.toml", "types/x.toml")


@dataclass(frozen=True)
class Reader:
    """One reader: what it does with bytes, and sound inputs to begin with."""

    read: Callable[[bytes], object]
    seeds: Callable[[], list[bytes]]

    def one_input(self, content: bytes) -> bool:
        """Read; says whether it was taken. Raises whatever is a fault."""
        try:
            self.read(content)
        except KittrackError as error:
            said = str(error)
            assert said.strip()
            assert len(said) < MOST_SAID
            clean_label(said).encode("utf-8")
            return False
        return True


# ---- scans -------------------------------------------------------------------------------------


def _scan(content: bytes) -> None:
    text = content.decode("utf-8", "surrogateescape")
    found = read_scan(text, today=TODAY)
    settings = ScannerSettings(prefix=text[:1], suffix=text[-1:], gs_stand_ins=("~",))
    read_box([found, read_sent(text, today=TODAY, settings=settings)])


def _scan_seeds() -> list[bytes]:
    texts = (
        "R000001-K", "]C101095212345432131727033110LOT-17", "]C10109506000134352", "4006381333931",
        "[)>\x1e06\x1d1PRB-18-CW\x1dQ10\x1d1TLOT-17\x1dSAB-0417\x1e\x04", "(01)09521234543213(17)270300(10)A-1",
        "010952123454321317270331~10LOT-17~21S-1", "1TLOT-17", "Q12", "\x1d",
    )  # fmt: skip
    return [text.encode() for text in texts]


# ---- files -------------------------------------------------------------------------------------


def _delivery(content: bytes) -> None:
    assert read_delivery_file(content, name="delivery.csv")


def _delivery_seeds() -> list[bytes]:
    return [
        b"part,lot,quantity,expires\nRB-18-CW,LOT-17,10,none\nSC-M3x8,0042,200,2027-03-31\n",
        b'part;lot;quantity;expires\n"TL-2";"a;b";"10 mL";unknown\n',
        b"\xef\xbb\xbfpart\tlot\tquantity\texpires\nX\tunknown\t1\tnone\n",
    ]


def _catalogue(content: bytes) -> None:
    """The first byte says which file the rest is."""
    name = CATALOGUE_NAMES[content[0] % len(CATALOGUE_NAMES)] if content else CATALOGUE_NAMES[0]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content[1:])
        problems: list[Problem] = []
        catalogue_files._read_folder(Path(folder), problems)
        for problem in problems:
            assert problem.message
        assert len(problems) < MOST_SAID


def _catalogue_seeds() -> list[bytes]:
    folder = Path(str(data_folder("demo_db"))) / "catalogue"
    found = []
    for number, name in enumerate(CATALOGUE_NAMES):
        own = folder / name
        like = [own] if own.is_file() else sorted(own.parent.glob(f"*{own.suffix}"))
        found += [bytes([number]) + path.read_bytes()[:3000] for path in like[:1]]
    return found


def _archive(content: bytes) -> None:
    with tempfile.NamedTemporaryFile(suffix=".zip") as file:
        file.write(content)
        file.flush()
        with opened(Path(file.name)) as archive:
            check_hashes(archive)


def _archive_seeds() -> list[bytes]:
    at = datetime(2026, 3, 2, 8, tzinfo=UTC)
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(f"sqlite:///{folder}/small.kittrack", create=True)
        founding.found_store(store, site="Home", time_zone="Europe/Oslo", manager="Manager One", at=at)
        keeping.make_archive(store, to=f"{folder}/small.zip", at=at)
        store.close()
        return [(Path(folder) / "small.zip").read_bytes()]


READERS = {
    "scan": Reader(_scan, _scan_seeds),
    "delivery": Reader(_delivery, _delivery_seeds),
    "catalogue": Reader(_catalogue, _catalogue_seeds),
    "archive": Reader(_archive, _archive_seeds),
}


@contextmanager
def corpus(name: str) -> Iterator[Path]:
    """A folder with the seeds of a reader, one file each, gone after the block."""
    with tempfile.TemporaryDirectory(prefix=f"kittrack-{name}-") as folder:
        for number, seed in enumerate(READERS[name].seeds()):
            (Path(folder) / str(number)).write_bytes(seed)
        yield Path(folder)
