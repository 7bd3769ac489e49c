"""The several bar codes of one box, read together: what each says, what it fills, what must be asked.

A carrier's, the supplier's and our own label may stand on one box. Nothing that was read is lost: what fills no field of
the receipt line stays with the raw scans, and the table says so.

Source: design C14; trade practice (part, lot, expiry and quantity come in one to four bar codes).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date
from typing import Final

from kittrack.domain.scan_result import Choice, Fields, FieldValue, Question, Scan, Standard
from kittrack.domain.scanner_settings import ScannerSettings
from kittrack.domain.scans import GS_STAND_INS, read_scan
from kittrack.domain.text import clean_label
from kittrack.errors import Problem

_KEPT: Final = "nothing; it stays with the scan"
_FILLS: Final = {
    "part_number": "part",
    "customer_part": "part",
    "lot": "lot",
    "serial": "serial, at the inspection",
    "quantity": "quantity",
    "expiry": "expires",
    "made_on": "made",
    "best_before": "nothing; where it is the last good day, type it as that",
}
LINE_FIELDS: Final = frozenset({"part_number", "customer_part", "lot", "quantity", "expiry", "made_on"})
"""The fields that fill a receipt line."""

_SHOWN: Final = 60


@dataclass(frozen=True)
class BoxRow:
    """One thing that was read: the scan it stands in, counted from 1, and the field of Goods-in that it fills."""

    scan: int
    standard: str
    what: str
    value: str
    fills: str


@dataclass(frozen=True)
class Asked:
    """A question of one scan, counted from 1."""

    scan: int
    text: str
    question: Question


@dataclass(frozen=True)
class Box:
    """The scans of one box together. A field that two scans give differently is a problem and stands in no field."""

    scans: tuple[Scan, ...]
    rows: tuple[BoxRow, ...]
    fields: Fields
    questions: tuple[Asked, ...]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]

    @property
    def raw(self) -> str:
        """The scans as they arrived, one to a line."""
        return "\n".join(scan.raw for scan in self.scans)


def read_sent(text: str, *, today: date, settings: ScannerSettings) -> Scan:
    """Read a scan of a terminal whose scanner has settings of its own; `raw` stays what arrived."""
    stand_ins = (*GS_STAND_INS, *settings.gs_stand_ins)
    read = read_scan(settings.bare(text), today=today, gs_stand_ins=stand_ins)
    return replace(read, raw=text)


def read_box(scans: Iterable[Scan]) -> Box:
    """Combine the scans of one box.

    Args:
        scans: in the order in which they were made; a question that a person settled before is not asked again.

    Returns:
        The table, the fields that all scans agree on, and what is open or wrong.
    """
    made = tuple(scans)
    asked = [Asked(at, scan.text, q) for at, scan in enumerate(made, 1) for q in _questions(scan)]
    rows = [row for at, scan in enumerate(made, 1) for row in _rows(at, scan)]
    rows += [BoxRow(a.scan, made[a.scan - 1].standard.value, "?", _shown(a.text), "asked") for a in asked]
    values, conflicts = _together(made)
    problems = [replace(p, row=at) for at, scan in enumerate(made, 1) for p in scan.problems]
    notes = [note for scan in made for note in scan.notes]
    return Box(
        made,
        tuple(sorted(rows, key=lambda row: row.scan)),
        Fields(**values),  # type: ignore[arg-type]  # names and types go together
        tuple(asked),
        (*problems, *conflicts),
        tuple(dict.fromkeys(notes)),
    )


def still_asked(box: Box, *, given: Mapping[str, FieldValue]) -> tuple[Asked, ...]:
    """The questions of a box that what a person typed does not settle.

    A question is settled when every field of the line that it could fill was typed, or when the typed values are those of
    one of its choices. What fills no field of the line keeps nobody waiting.

    Args:
        box: from `read_box`.
        given: field names and values as typed.
    """
    return tuple(asked for asked in box.questions if not _is_settled(asked, given))


def _is_settled(asked: Asked, given: Mapping[str, FieldValue]) -> bool:
    choices = [dict(choice.fields) for choice in asked.question.choices if choice.fields]
    wanted = {name for choice in choices for name in choice} & LINE_FIELDS
    if wanted <= given.keys():
        return True
    return any(all(given.get(name) == value for name, value in choice.items()) for choice in choices)


def _together(scans: Sequence[Scan]) -> tuple[dict[str, FieldValue], list[Problem]]:
    """The fields of all scans, and a problem for each that two of them give differently."""
    values: dict[str, FieldValue] = {}
    problems: dict[str, Problem] = {}
    for scan in scans:
        if scan.problems:
            continue
        for name, value in scan.fields.found():
            if values.setdefault(name, value) != value:
                words = name.replace("_", " ")
                one, other = _shown(values[name]), _shown(value)
                problems[name] = Problem(
                    f"Two codes of this box give different values for {words} ({one} and {other}); look whether they "
                    "belong to one box, and leave the wrong one out.",
                    name,
                )
    return {name: value for name, value in values.items() if name not in problems}, list(problems.values())


def _rows(at: int, scan: Scan) -> list[BoxRow]:
    standard = scan.standard.value
    if scan.code is not None:
        return [
            BoxRow(at, standard, scan.code.kind.in_words, scan.code.text, "nothing; it is a number of ours")
        ]
    if scan.move is not None:
        return [BoxRow(at, standard, "move", scan.move.called, "nothing; it is a move of the bench sheet")]
    if scan.problems:
        return [BoxRow(at, standard, "not read", _shown(scan.raw), "nothing; see what is wrong")]
    found = [
        BoxRow(at, standard, name.replace("_", " "), _shown(value), _FILLS.get(name, _KEPT))
        for name, value in scan.fields.found()
    ]
    return found + [BoxRow(at, standard, name, _shown(value), _KEPT) for name, value in scan.others]


def _questions(scan: Scan) -> tuple[Question, ...]:
    """A scan's own questions; a plain text is asked about, because it does not say what it is."""
    if scan.problems or scan.standard is not Standard.PLAIN or scan.notes or scan.fields.found():
        return () if scan.problems else scan.questions
    shown = _shown(scan.text)
    names = ("part number", "lot", "serial", "order number")
    plain = tuple(
        Choice(f"the {name} is {shown}", ((name.replace(" ", "_"), scan.text),))
        for name in names
        if name.replace(" ", "_") in _NAMES
    )
    own = [choice for question in scan.questions for choice in question.choices if choice.fields]
    return (Question(f"{shown} does not say what it is; look at the label and choose.", (*own, *plain)),)


_NAMES: Final = frozenset(field.name for field in fields(Fields))


def _shown(value: FieldValue) -> str:
    return clean_label(value.isoformat() if isinstance(value, date) else str(value), max_length=_SHOWN)
