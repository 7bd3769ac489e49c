"""Hostile texts, and a store in which every free text of every table carries them.

Which columns are free text follows from the declarations in store/records/, so that a table added later is covered
by itself. Sources: OWASP "CSV Injection" (formulas), ECMA-48 (escape sequences), Unicode UAX 9 (directional marks).
"""

import re
from dataclasses import dataclass

from kittrack.domain.text import is_unseen
from kittrack.store.records import TABLES, Record
from kittrack.store.tables import columns
from tests.machine.attack import Attack

OPEN, SHUT = "«", "»"
"""Around every hostile text, so that a cut or changed one shows wherever it comes out."""

MARKUP = "[bold red]x[/] [link=file:///etc/passwd]y[/link] <b>z</b> <para>&amp;&#x202e; \\[a]"
ESCAPES = "\x1b[2J\x1b]0;owned\x07\x1b]8;;file:///etc/passwd\x1b\\\x9b31m\r\n\b\x7f"
DIRECTIONS = "\u202egnp.exe\u2066\u200f\u200b\ufeff\u2028"
SQL = "'); DROP TABLE event; -- ? % %s \" :x"
PATHS = "../../etc/passwd C:\\NUL.txt /dev/null ${HOME} `id` $(id)"
FORMULAS = ("=1+1", "\t@SUM(A1)")
ZERO = "zero\x00byte"
LARGE = "m" * 1_000_000

LEGAL = f"{MARKUP.replace(chr(0x202E), '')} {SQL} {PATHS}"[:110]
"""Harmful only where it is taken for more than text; a person could type all of it."""
EVERYTHING = f"{MARKUP}{ESCAPES}{DIRECTIONS}{SQL}{PATHS}"
TYPED = {
    "legal": f"={LEGAL}", "steering": f"{ESCAPES}{DIRECTIONS}", "zero byte": ZERO, "large": LARGE,
    "lone surrogate": "\udcff", "blank": " ",
}  # fmt: skip
"""What is typed for every argument of every act."""

_MACHINE = re.compile(
    r"code|hash|previous_hash|statements|salt|digest|at|time_zone|tail|subject|.*_(on|at)|scope_text|(from_|to_)?condition|sense|account_class"
)
"""Columns that the program alone writes, in a form of its own, or by which a test asks its questions."""


def is_free_text(record: type[Record], column: str) -> bool:
    """Whether a column holds what people typed: text, in no list of words, in no form of the program's own."""
    kind = str(record.__dataclass_fields__[column].type)  # type: ignore[attr-defined]  # every record is a dataclass
    rules = " ".join(record.shape.checks.values())
    is_listed = re.search(rf"\b{column} (=|<>|IN) [('(]", rules) is not None
    return "str" in kind and not is_listed and not _MACHINE.fullmatch(column)


def free_texts() -> list[tuple[str, str]]:
    """Every free text of every table: (table, column)."""
    return [(name, c) for name, record in TABLES.items() for c in columns(record) if is_free_text(record, c)]


@dataclass(frozen=True)
class Poison:
    """What is put before and behind each text."""

    before: str
    behind: str

    @property
    def whole(self) -> str:
        """What stands behind each text, marks included."""
        return f"{OPEN}{self.behind}{SHUT}"


def poison(attack: Attack, with_what: Poison) -> int:
    """Put a hostile text around every free text, in every row; says how many cells carry it."""
    for name, column in free_texts():
        attack.change(
            f'UPDATE "{name}" SET "{column}" = CAST(? AS TEXT) || "{column}" || CAST(? AS TEXT)',
            with_what.before, with_what.whole,
        )  # fmt: skip
    return attack.rows


def seen_wrong(shown: str) -> list[str]:
    """Every character of an output for people that steers the terminal or can't be seen."""
    return sorted({f"U+{ord(c):04X}" for c in shown if c != "\n" and is_unseen(c)})


def pieces_cut(shown: str, *forms: str) -> list[str]:
    """Every place where a hostile text begins and goes on whole in none of its forms, nor says that it was cut."""
    places = [shown[found.end() :] for found in re.finditer(OPEN, shown)]
    return [rest[:80] for rest in places if not any(_goes_on(rest, f"{form}{SHUT}") for form in forms)]


def _goes_on(rest: str, whole: str) -> bool:
    same = next((i for i, (a, b) in enumerate(zip(rest, whole, strict=False)) if a != b), len(whole))
    cut = ("...", "…")
    return rest.startswith(whole) or rest[max(0, same - 3) :].startswith(cut) or rest[same:].startswith(cut)


def quoted(text: str) -> str:
    """A text as a sentence names what was typed."""
    return repr(text)[1:-1]
