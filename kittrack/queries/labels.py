"""Which labels of a thing were drawn, by whom, and which of them must not be used any more."""

from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import codes
from kittrack.domain.text import clean_label
from kittrack.errors import NotFound
from kittrack.store.act import Reading, read_instant_text
from kittrack.store.database import Store


@dataclass(frozen=True)
class LabelCopy:
    """One copy of a label: its number, when and by whom it was drawn, its paper, and why it is void if it is."""

    copy: int
    printed_at: datetime
    by: str
    stock: str
    void: str


@dataclass(frozen=True)
class LabelHistory:
    """The copies of one thing's label in order, and what is to be looked at on the label in hand."""

    code: str
    copies: tuple[LabelCopy, ...]
    warnings: tuple[str, ...]


def label_history(store: Store, *, thing: str) -> LabelHistory:
    """Say which labels of a thing were drawn.

    Raises:
        NotFound: none was.
        BadInput: the code does not check.
    """
    code = codes.read_code(thing).text
    with store.reading() as read:
        copies = _copies(read, code)
    if not copies:
        raise NotFound(f"no label of {code} was printed from this store; print one: kittrack label print")
    return LabelHistory(code, copies, _warnings(code, copies))


def label_warnings(read: Reading, code: str) -> tuple[str, ...]:
    """What to look at on a label of a thing: which copies are void. Bars of all copies are alike, so words must tell."""
    return _warnings(code, _copies(read, code))


def _copies(read: Reading, code: str) -> tuple[LabelCopy, ...]:
    rows = read.rows(
        "SELECT l.copy_number, e.at, p.name, l.stock, v.reason FROM label_print l JOIN event e ON e.id = l.event_id "
        "JOIN person p ON p.id = e.by_id LEFT JOIN label_void v ON v.label_print_id = l.id "
        "WHERE l.subject = ? ORDER BY l.copy_number",
        code,
    )
    return tuple(
        LabelCopy(n, read_instant_text(at), by, stock, void or "") for n, at, by, stock, void in rows
    )


def _warnings(code: str, copies: tuple[LabelCopy, ...]) -> tuple[str, ...]:
    void, good = [c for c in copies if c.void], [c for c in copies if not c.void]
    found = [
        f"{_named(c.copy)} of the label of {code} is void ({clean_label(c.void, max_length=80)}); take it off if it is "
        "the one in your hand."
        for c in void
    ]
    if void and not good:
        found.append(f"No label of {code} is good any more; print a new one.")
    if len(good) > 1:
        numbers = " and ".join(str(c.copy) for c in good)
        found.append(f"Copies {numbers} of the label of {code} are out; look that they are on one thing.")
    return tuple(found)


def _named(copy: int) -> str:
    return "The first copy, which carries no copy number," if copy == 1 else f"Copy {copy}"
