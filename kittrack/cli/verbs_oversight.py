"""Verbs of oversight and of the shift hand-over."""

from datetime import datetime
from pathlib import Path
from typing import Final

from kittrack.cli import reading
from kittrack.cli.tables import Table, facts, listing
from kittrack.cli.verb import Station, Verb, option, word
from kittrack.cli.verbs_documents import INTO, print_copy, print_verb
from kittrack.printing.documents import Document, Paper
from kittrack.queries import oversight, oversight_paper, shift
from kittrack.queries.oversight import (
    JobAcrossShifts,
    KitNotFitted,
    OverrideUsed,
    Oversight,
    Reprint,
    StoppedScan,
    TypedByPerson,
    WorkedAlone,
)
from kittrack.queries.shift import HandOver, HandOverSummary
from kittrack.services import document_printing, handing_over
from kittrack.services.desk import Done
from kittrack.store.database import Store
from kittrack.store.shift_facts import ShiftLine


def _overrides(found: tuple[OverrideUsed, ...], title: str = "") -> list[Table]:
    return [
        listing(
            found,
            "at",
            "kind",
            "subject",
            "reason",
            "by",
            "second",
            title=title,
            nothing="no override was used",
        )
    ]


def _alone(found: tuple[WorkedAlone, ...], title: str = "") -> list[Table]:
    return [
        listing(
            found, "at", "what", "subject", "by", title=title, nothing="nobody worked without a second person"
        )
    ]


def _stopped(found: tuple[StoppedScan, ...], title: str = "") -> list[Table]:
    return [
        listing(
            found, "needed", "at", "airframe", "position", "scanned", "mark", "job", "by", title=title, nothing="no wrong sense was stopped"
        )
    ]  # fmt: skip


def _typed(found: tuple[TypedByPerson, ...], title: str = "") -> list[Table]:
    return [
        listing(
            found, "person", "typed", "scanned", "percent_typed", "acts_typed", "acts_silent", title=title,
            nothing="no act says how its numbers came in",
        )
    ]  # fmt: skip


def _kits(found: tuple[KitNotFitted, ...], title: str = "") -> list[Table]:
    return [
        listing(
            found, "kit", "hours_out", "how", "tail", "job", "receiver", "voucher", "issued_at", title=title,
            nothing="no kit is out for longer than a shift",
        )
    ]  # fmt: skip


def _jobs(found: tuple[JobAcrossShifts, ...], title: str = "") -> list[Table]:
    return [
        listing(
            found, "job", "hours_open", "tail", "purpose", "unfinished", "to_do", "opened_at", "opened_by", title=title,
            nothing="no job is open for longer than a shift",
        )
    ]  # fmt: skip


def _reprints(found: tuple[Reprint, ...], title: str = "") -> list[Table]:
    return [
        listing(
            found, "at", "subject", "copy", "by", "void", title=title, nothing="nothing was printed again"
        )
    ]


def _page(found: Oversight) -> list[Table]:
    return [
        facts(("of the last days", found.days), ("hours of a shift", found.shift_hours)),
        *_overrides(found.overrides, "overrides"),
        *_alone(found.alone, "without a second person"),
        *_stopped(found.stopped, "wrong senses stopped"),
        *_typed(found.typed, "typed instead of scanned"),
        *_kits(found.kits_not_fitted, "kits issued and not fitted for longer than a shift"),
        *_jobs(found.jobs_across_shifts, "jobs open across shifts"),
        *_reprints(found.reprints, "printed again"),
    ]


def _lines(found: tuple[ShiftLine, ...]) -> list[Table]:
    return [
        listing(found, "section", "subject", "text", nothing="nothing is open; there is nothing to hand over")
    ]


def _handover(found: HandOver) -> list[Table]:
    return [
        facts(
            ("hand-over", found.handover), ("at", found.at), ("by", found.by), ("taken over by", found.taken_by),
            ("since", found.since), ("in words", found.text),
        ),
        *_lines(found.lines),
    ]  # fmt: skip


def _handovers(found: tuple[HandOverSummary, ...]) -> list[Table]:
    return [
        listing(
            found,
            "handover",
            "at",
            "by",
            "taken_by",
            "lines",
            "text",
            nothing="no shift was ever handed over",
        )
    ]


def _print(
    store: Store, *, handover: str, into: Path, by: str, at: datetime, paper: str = Paper.A4.name, force: bool = False, key: str = "",
    queue: str = "",
) -> Done:  # fmt: skip
    """Write a hand-over into a file and keep that it was printed."""

    def make(when: datetime) -> Document:
        return shift.handover_document(store, handover=handover, at=when)

    return print_copy(store, make, into=into, by=by, at=at, paper=paper, force=force, key=key, queue=queue)


_DAYS: Final = option("days", f"how many days to look back; default {oversight.DAYS}", read=reading.whole)
_SHIFT: Final = option(
    "shift_hours", f"how many hours a shift has; default {oversight.SHIFT_HOURS}", read=reading.whole
)
_HANDOVER: Final = word("handover", "the hand-over's code (G)")

VERBS: Final = (
    Verb(
        "oversight page", Station.OFFICE, "All of oversight on one page: let pass, stopped, typed, hanging, printed again.",
        "--days 7 --shift-hours 8",
        oversight.oversight,
        (_DAYS, _SHIFT),
        show=_page,
    ),
    Verb(
        "oversight overrides", Station.OFFICE, "Who overrode what, why, and who confirmed it.", "--days 365",
        oversight.overrides,
        (_DAYS,),
        show=_overrides,
        rows=lambda found: found,
    ),
    Verb(
        "oversight alone", Station.OFFICE, "Checks that one person made twice because nobody else was there.", "--days 365",
        oversight.worked_alone,
        (_DAYS,),
        show=_alone,
        rows=lambda found: found,
    ),
    Verb(
        "oversight stopped", Station.OFFICE, "Rotors of the wrong sense that were stopped at their position.", "--days 365",
        oversight.stopped_scans,
        (_DAYS,),
        show=_stopped,
        rows=lambda found: found,
    ),
    Verb(
        "oversight typed", Station.OFFICE, "Who typed numbers instead of scanning them, and how often.", "--days 7",
        oversight.typed_entries,
        (_DAYS,),
        show=_typed,
        rows=lambda found: found,
    ),
    Verb(
        "oversight kits", Station.OFFICE, "Kits issued longer than a shift ago and not all fitted.", "--shift-hours 8",
        oversight.kits_not_fitted,
        (_SHIFT,),
        show=_kits,
        rows=lambda found: found,
    ),
    Verb(
        "oversight jobs", Station.OFFICE, "Jobs open for longer than a shift, and what of them is begun and not finished.", "--shift-hours 8",
        oversight.jobs_across_shifts,
        (_SHIFT,),
        show=_jobs,
        rows=lambda found: found,
    ),
    Verb(
        "oversight reprints", Station.OFFICE, "Labels and documents that were printed again.", "--days 7",
        oversight.reprints,
        (_DAYS,),
        show=_reprints,
        rows=lambda found: found,
    ),
    print_verb(
        "oversight", Station.OFFICE, "Write the page of oversight.", "--days 7", oversight_paper.oversight_document, _DAYS, _SHIFT
    ),
    Verb(
        "shift report", Station.OFFICE, "What the store would hand over now: read it before you write your words.", "",
        shift.shift_report,
        show=_lines,
        rows=lambda found: found,
    ),
    Verb(
        "shift hand-over", Station.OFFICE, "Hand the shift over: the second person is the one who takes it.",
        '"kit K000042-G waits for its seal; van Kestrel is back at six" --second "Clerk Two" --by "Clerk One"',
        handing_over.hand_over_shift,
        (word("text", "what the next shift has to know that the store does not"),),
        needs=("second",),
    ),
    Verb(
        "shift show", Station.OFFICE, "A hand-over as it was: both names, the words, what was open.", "G000001-A",
        shift.handover,
        (_HANDOVER,),
        show=_handover,
        rows=lambda found: found.lines,
    ),
    Verb(
        "shift list", Station.OFFICE, "Every hand-over, the newest first.", "",
        shift.handovers,
        show=_handovers,
        rows=lambda found: found,
    ),
    Verb(
        "print hand-over", Station.OFFICE, "Write a hand-over for both to sign; every later copy says that it is one.",
        'G000001-A --into hand-over.pdf --by "Clerk One"',
        _print,
        (_HANDOVER, *INTO),
        reaches=(shift.handover_document, document_printing.record_document_print),
    ),
)  # fmt: skip
