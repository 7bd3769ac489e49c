"""Verbs of scans: what the codes of a box say, a delivery by scans, and the scanner of this terminal."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Final

from kittrack.cli.exits import Exit
from kittrack.cli.output_file import write_out
from kittrack.cli.reading import Key, record
from kittrack.cli.scan_input import one_scan, several_scans
from kittrack.cli.tables import Table, facts, listing
from kittrack.cli.verb import Argument, Station, Values, Verb, option, switch, word, words
from kittrack.cli.verbs_goods_in import LINE_KEYS
from kittrack.domain.dates import Expiry
from kittrack.domain.scanner_settings import ScannerSettings
from kittrack.domain.scans import GS_STAND_INS
from kittrack.domain.self_test import SelfTest, judge_anything
from kittrack.errors import BadInput
from kittrack.printing.pages import Paper
from kittrack.printing.self_test_sheet import self_test_sheet_pdf
from kittrack.queries import scanned
from kittrack.queries.scanned import WhatWasRead
from kittrack.services import scanning, terminals
from kittrack.services.booking import PaperSpec
from kittrack.services.scanning import ScannedBox, Typed
from kittrack.store.database import Store
from kittrack.store.private import path_named


@dataclass(frozen=True)
class Terminal:
    """The scanner of one terminal, and the file in which its settings are kept."""

    terminal: str
    prefix: str
    suffix: str
    gs_stand_ins: tuple[str, ...]
    file: str


@dataclass(frozen=True)
class Judged:
    """What the self-test showed: each fault, what is well, and the settings with which the scanner can be used."""

    terminal: str
    faults: tuple[str, ...]
    notes: tuple[str, ...]
    settings: ScannerSettings
    kept: bool = False


@dataclass(frozen=True)
class SheetFile:
    """Where the self-test sheet was drawn."""

    file: str


# ---- reading a box -------------------------------------------------------------------------------


def _what_was_read(
    store: Store, *, at: datetime, scans: tuple[str, ...] = (), terminal: str = ""
) -> WhatWasRead:
    """Read the codes of a box that were typed here or come from the scanner."""
    settings = terminals.settings_of(terminal)
    return scanned.what_was_read(store, scans=scans or several_scans(), at=at, settings=settings)


def _read_tables(found: WhatWasRead) -> list[Table]:
    return [
        listing(found.rows, "scan", "standard", "what", "value", "fills", nothing="nothing was read"),
        *(
            Table((), tuple((choice,) for choice in asked.choices), f"scan {asked.scan}: {asked.question}")
            for asked in found.questions
        ),
        facts(*(("wrong", text) for text in found.problems)),
        facts(*(("look again", text) for text in found.look_again)),
        facts(*(("note", text) for text in found.notes)),
    ]


# ---- a delivery by scans -------------------------------------------------------------------------

_LOT_UNKNOWN: Final = "unknown"
_TYPED_KEYS: Final = {
    **{name: key for name, key in LINE_KEYS.items() if name not in ("lot", "scan")},
    "lot": Key("lot", help="the lot code on the pack, or unknown"),
}  # fmt: skip


def _typed(
    *, part: str = "", amount: tuple[int, str] | None = None, lot: str = "", expiry: Expiry | None = None,
    paper_kind: str = "", paper_number: str = "", paper_issuer: str = "", **rest: object,
) -> Typed:  # fmt: skip
    paper = (paper_kind, paper_number, paper_issuer)
    is_unknown = lot == _LOT_UNKNOWN
    typed = Typed(
        part=part, lot="" if is_unknown else lot, is_lot_unknown=is_unknown, expiry=expiry,
        papers=(PaperSpec(*paper),) if any(paper) else (),
        **rest,  # type: ignore[arg-type]  # the readers of _TYPED_KEYS give the fields' types
    )  # fmt: skip
    return typed if amount is None else replace(typed, quantity=amount[0], unit=amount[1])


READ_TYPED: Final = record(_typed, **_TYPED_KEYS)


def _boxes(given: tuple[str, ...]) -> Iterator[ScannedBox]:
    """The boxes of a line: scans, what was typed beside them after "with", parted by "next"."""
    scans: list[str] = []
    typed = Typed()
    rest = iter([*given, "next"])
    for text in rest:
        if text == "with":
            typed = READ_TYPED(next(rest, ""))
        elif text != "next":
            scans.append(text)
        elif scans:
            yield ScannedBox(tuple(scans), typed)
            scans, typed = [], Typed()
        else:
            raise BadInput("A box has no scan; scan at least one code of each box.")


def _scanned_delivery(values: Values) -> Values:
    settings = terminals.settings_of(values.pop("terminal", ""))
    return values | {"boxes": tuple(_boxes(values["boxes"])), "settings": settings}


# ---- the scanner of this terminal ----------------------------------------------------------------


def _test(*, text: str = "", terminal: str = "", keep: bool = False) -> Judged:
    """Judge what the scanner sends of the self-test label; keep what makes it usable where that is asked."""
    name = terminal or terminals.terminal_name()
    known = terminals.settings_of(name)
    judged = judge_anything(
        text or one_scan(),
        known_stand_ins=(*GS_STAND_INS, *known.gs_stand_ins),
        is_end_known=not text,
    )
    return _answer(name, _known(judged, known), keep=keep)


def _known(judged: SelfTest, known: ScannerSettings) -> SelfTest:
    """The judgement without what the kept settings make good already, and with those settings."""
    found = judged.settings
    solved = {
        text
        for text, is_known in (("prefix", found.prefix == known.prefix), ("suffix", found.suffix == known.suffix))
        if is_known and getattr(known, text)
    }  # fmt: skip
    faults = tuple(fault for fault in judged.faults if fault.trouble.value not in solved)
    stand_ins = tuple(dict.fromkeys((*known.gs_stand_ins, *found.gs_stand_ins)))
    notes = judged.notes
    if not faults and judged.faults:
        notes += ("With the settings kept for this terminal the scanner is understood.",)
    return SelfTest(faults, notes, replace(found, gs_stand_ins=stand_ins))


def _answer(name: str, judged: SelfTest, *, keep: bool) -> Judged:
    faults = tuple(fault.message for fault in judged.faults)
    if keep:
        terminals.keep_settings(judged.settings, terminal=name)
    return Judged(name, faults, judged.notes, judged.settings, keep)


def _judged_tables(found: Judged) -> list[Table]:
    own = found.settings
    proposed = (("prefix", own.prefix), ("suffix", own.suffix), ("stand-ins for GS", own.gs_stand_ins))
    title = (
        "kept for this terminal"
        if found.kept
        else "settings with which it can be used (keep them with --keep)"
    )
    return [
        facts(("terminal", found.terminal), *(("wrong", text) for text in found.faults)),
        facts(*(("note", text) for text in found.notes)),
        *([facts(*proposed, title=title)] if own != ScannerSettings() else []),
    ]


def _set(
    *, prefix: str | None = None, suffix: str | None = None, gs: tuple[str, ...] | None = None, terminal: str = ""
) -> Terminal:  # fmt: skip
    """Change the settings of a terminal; what is not named stays as it is."""
    own = terminals.settings_of(terminal)
    fresh = ScannerSettings(
        own.prefix if prefix is None else prefix,
        own.suffix if suffix is None else suffix,
        own.gs_stand_ins if gs is None else tuple(text for text in gs if text),
    )
    terminals.keep_settings(fresh, terminal=terminal)
    return _terminal(terminal or terminals.terminal_name(), fresh)


def _terminal(name: str, own: ScannerSettings) -> Terminal:
    return Terminal(name, own.prefix, own.suffix, own.gs_stand_ins, str(terminals.terminals_path()))


def _show() -> tuple[Terminal, ...]:
    kept = {terminals.terminal_name(): ScannerSettings(), **terminals.all_settings()}
    return tuple(_terminal(name, own) for name, own in sorted(kept.items()))


def _terminal_table(found: Terminal | tuple[Terminal, ...]) -> list[Table]:
    every = found if isinstance(found, tuple) else (found,)
    return [
        listing(every, "terminal", "prefix", "suffix", ("stand-ins for GS", lambda t: t.gs_stand_ins), "file")
    ]


def _sheet(*, into: Path, paper: str = Paper.A4.name, force: bool = False) -> SheetFile:
    """Draw the self-test sheet into a file."""
    with write_out(into, force=force) as write:
        write(self_test_sheet_pdf(paper=Paper[paper]))
    return SheetFile(str(into))


_TERMINAL: Final[Argument] = option(
    "terminal", "the terminal's name; default: KITTRACK_TERMINAL, else this computer's"
)

VERBS: Final = (
    Verb(
        "scan read", Station.GOODS_IN, "What the codes of a box say and what each would fill; nothing is recorded.",
        "]C101095212345432131727033110LOT-17 S0042",
        _what_was_read,
        (
            words("scans", "what the scanner sent; without any, scan now and end with Enter alone", needed=False, is_raw=True),
            _TERMINAL,
        ),
        show=_read_tables,
        rows=lambda found: found.rows,
        fails=lambda found: Exit.USAGE if found.problems else Exit.DONE,
        reaches=(scanned.what_was_read,),
    ),
    Verb(
        "delivery scan", Station.GOODS_IN, "Take in a delivery by the codes of its boxes, on hold until inspected.",
        ']C101095212345432131727033110LOT-17 with "part=RB-18-CW; quantity=10" next ]C11PRB-18-CCW with '
        '"quantity=10; lot=unknown; expires=none" --supplier "Invented Rotors" --reference DN-7 --by "Clerk One"',
        scanning.receive_scanned,
        (
            words(
                "boxes",
                'the scans of a box; after the word with, what no scan says: "part=..; quantity=..; lot=CODE or unknown; '
                'expires=2027-03-31, none or unknown", made=, maker=, paper kind=, paper number=, paper issuer=; the word next '
                "begins another box",
            ),
            option("supplier", "the supplier's name", needed=True),
            option("reference", "the number of the delivery note", needed=True),
            _TERMINAL,
        ),
        build=_scanned_delivery,
    ),
    Verb(
        "scanner test", Station.STORE, "Judge a scan of the self-test sheet: layout, caps lock, separator, prefix, suffix...",
        "--keep",
        _test,
        (
            word("text", "what the scanner sent; without it, scan the sheet now", needed=False, is_raw=True),
            _TERMINAL,
            switch("keep", "keep the settings with which this scanner can be used"),
        ),
        show=_judged_tables,
        fails=lambda found: Exit.USAGE if found.faults else Exit.DONE,
        opens_store=False,
    ),
    Verb(
        "scanner set", Station.STORE, "Change the settings of a terminal's scanner by hand.",
        '--suffix "#" --gs "^]"',
        _set,
        (
            option("prefix", "what it puts in front of each scan; empty for nothing"),
            option("suffix", "what it puts behind each scan; empty for nothing"),
            option("gs", "what it sends for the separator GS; may be repeated, empty for nothing", many=True),
            _TERMINAL,
        ),
        show=_terminal_table,
        opens_store=False,
    ),
    Verb(
        "scanner show", Station.STORE, "The settings of every terminal's scanner, and where they are kept.", "",
        _show,
        show=_terminal_table,
        rows=lambda found: found,
        opens_store=False,
    ),
    Verb(
        "scanner sheet", Station.STORE, "Draw the self-test sheet for scanners.",
        "--into self-test.pdf",
        _sheet,
        (
            option("into", "the PDF file to write", read=path_named, flag="--into", needed=True),
            option("paper", "the paper; default A4", choices=tuple(p.name for p in Paper)),
            switch("force", "write over a file that is there"),
        ),
        show=lambda found: [facts(("self-test sheet", found.file))],
        opens_store=False,
    ),
)  # fmt: skip
