"""Keeping what stands in the forms of the stations until it is recorded, so that a closed terminal loses none of it."""

from kittrack.store.database import Store
from kittrack.store.form_memory import FormsHere
from kittrack.store.form_memory import forms_here as _forms_here


def forms_here(store: Store) -> FormsHere | None:
    """Where this computer keeps the open forms of a store; None for a demo store, which is not remembered."""
    with store.reading() as read:
        return _forms_here(read)
