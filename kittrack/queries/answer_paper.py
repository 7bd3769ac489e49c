"""Any answer or list on paper: what was asked and found, with the cautions, the line to sign and the foot of every document."""

from dataclasses import replace
from datetime import datetime

from kittrack.printing.documents import Document
from kittrack.queries.paper import GENERAL, SENSES, Stores
from kittrack.store.database import Store


def answer_document(store: Store, *, content: Document, at: datetime) -> Document:
    """An answer as a document of these stores.

    Args:
        store: the store that answered.
        content: title, facts, charts and tables; how they are told is known to who asked.
        at: the instant of asking.
    """
    with store.reading() as read:
        stores = Stores(read, at=at)
    heads = {name.casefold() for table in content.tables for name in table.columns}
    senses = (SENSES,) if any("sense" in head for head in heads) else ()
    return replace(
        content, cautions=(*content.cautions, *senses, GENERAL), signatures=content.signatures or ("Looked at by",),
        code=content.code or stores.mark, footer=stores.foot,
    )  # fmt: skip
