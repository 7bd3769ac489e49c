"""What a scan says: its standard, the fields found, what must be asked, what is wrong.

Nothing in doubt stands in a field: a doubtful reading is a question whose choices a person sees.
"""

from dataclasses import dataclass, field, replace
from datetime import date
from enum import StrEnum

from kittrack.domain.codes import Code
from kittrack.domain.moves import Move
from kittrack.errors import Problem

FieldValue = str | int | date


class Standard(StrEnum):
    """By which rules a scan was read."""

    OURS = "label of this store"
    BENCH = "bench sheet of this store"
    GS1 = "GS1 element string"
    GS1_LINK = "GS1 Digital Link"
    GTIN = "GS1 trade item number"
    DATA_IDENTIFIERS = "ANSI MH10.8.2 data identifiers"
    TEXT_ELEMENTS = "MIL-STD-130 text element identifiers"
    PLAIN = "plain text"


@dataclass(frozen=True)
class Fields:
    """What was found on a supplier's label; None where the scan does not say. Codes stay text as read."""

    gtin: str | None = None  # 14 digits
    sscc: str | None = None  # 18 digits
    part_number: str | None = None  # the maker's or supplier's
    customer_part: str | None = None  # by which we order it
    maker_code: str | None = None  # CAGE, DUNS or another enterprise identifier
    lot: str | None = None
    serial: str | None = None
    uii: str | None = None  # unique item identifier by MIL-STD-130
    order_number: str | None = None
    quantity: int | None = None  # pieces
    expiry: date | None = None
    best_before: date | None = None
    made_on: date | None = None

    def found(self) -> tuple[tuple[str, FieldValue], ...]:
        """The names and values that the scan gave, in the order above."""
        return tuple((name, value) for name, value in vars(self).items() if value is not None)


@dataclass(frozen=True)
class Choice:
    """One reading that a person may confirm: in words, and what it puts into the fields."""

    words: str
    fields: tuple[tuple[str, FieldValue], ...]


@dataclass(frozen=True)
class Question:
    """A doubt that only a look at the label settles. None of its choices stands in the fields yet."""

    message: str
    choices: tuple[Choice, ...]


@dataclass(frozen=True)
class Scan:
    """One scan, read.

    `raw` is what arrived; `text` is without the scanner's own prefix and blanks around it, and is the
    candidate for a part number, lot or serial where the standard is PLAIN. `code` is set only for a label
    of this store whose check character holds. A scan with problems fills no form.
    """

    raw: str
    text: str
    standard: Standard
    code: Code | None = None
    fields: Fields = Fields()
    others: tuple[tuple[str, str], ...] = ()  # identifiers that the stores make no use of, with their values
    questions: tuple[Question, ...] = ()
    notes: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    move: Move | None = None  # of a bench sheet; such a scan is no label of anything

    @property
    def is_sure(self) -> bool:
        """Whether nothing is wrong and nothing is left to ask."""
        return not self.problems and not self.questions

    def answered(self, question: Question, *, choice: Choice) -> "Scan":
        """The scan after a person has settled one question.

        Raises:
            ValueError: the question is not open, or the choice is not one of its own.
        """
        if question not in self.questions or choice not in question.choices:
            raise ValueError("this question is not open, or has no such choice")
        fields = replace(self.fields, **dict(choice.fields))  # type: ignore[arg-type]  # names and types go together
        return replace(self, fields=fields, questions=tuple(q for q in self.questions if q is not question))


@dataclass
class Draft:
    """A scan while it is being read."""

    today: date
    standard: Standard = Standard.PLAIN
    values: dict[str, FieldValue] = field(default_factory=dict)
    others: list[tuple[str, str]] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def put(self, name: str, value: FieldValue, *, words: str) -> None:
        """Keep a field; two different values of one field are a problem and neither is kept."""
        if self.values.setdefault(name, value) != value:
            del self.values[name]
            self.fault(
                f"This label gives two different values for {words}; type the right one by hand.", name
            )

    def fault(self, message: str, name: str = "") -> None:
        """Add a problem."""
        self.problems.append(Problem(message, name))

    def finish(self, *, raw: str, text: str, code: Code | None = None) -> Scan:
        """The frozen result."""
        fields = Fields(**self.values)  # type: ignore[arg-type]  # names and types go together
        return Scan(
            raw, text, self.standard, code, fields, tuple(self.others), tuple(self.questions), tuple(self.notes),
            tuple(dict.fromkeys(self.problems)),
        )  # fmt: skip
