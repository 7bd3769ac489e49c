"""The forms that were left unfinished on this computer, for whoever asks what became of what was typed."""

from collections.abc import Mapping
from dataclasses import dataclass

from kittrack.errors import NotFound
from kittrack.store.act import Reading, person_known_as
from kittrack.store.database import Store
from kittrack.store.form_memory import FormContent, forms_here


@dataclass(frozen=True)
class UnfinishedForm:
    """A form that was left: whose, of what, when (UTC), what stands in it; what was being recorded may be on record."""

    person: str
    deed: str
    title: str
    at: str
    was_being_recorded: bool
    fields: Mapping[str, str]
    rows: int


@dataclass(frozen=True)
class UnfinishedForms:
    """All that were left, the oldest first, and a sentence for each file that was none and is set aside now."""

    forms: tuple[UnfinishedForm, ...]
    problems: tuple[str, ...]


def unfinished_forms(store: Store) -> UnfinishedForms:
    """What closed terminals, faults and power cuts left unfinished in the forms of the stations of this computer.

    Nothing of it is recorded. Secrets and second persons were never kept. A demo store is not remembered.
    """
    with store.reading() as read:
        here = forms_here(read)
        found, problems = here.left() if here is not None else ((), ())
        forms = tuple(_form(read, left.content) for left in found)
    return UnfinishedForms(forms, tuple(map(str, problems)))


def _form(read: Reading, content: FormContent) -> UnfinishedForm:
    return UnfinishedForm(
        _name(read, content.who), content.deed, content.title, content.at, content.is_sent, content.fields,
        sum(map(len, content.rows.values())),
    )  # fmt: skip


def _name(read: Reading, badge: str) -> str:
    try:
        return person_known_as(read, badge).name
    except NotFound:
        return badge
