"""The head of the chain of events: what is kept outside the store so that a cut or rewritten history shows."""

from dataclasses import dataclass

from kittrack.store import fold
from kittrack.store.database import Store


@dataclass(frozen=True)
class Head:
    """The last event's number and hash, and both as one text, as `verify --expected-head` takes it."""

    event: int
    hash: str
    text: str


def chain_head(store: Store) -> Head:
    """The head of the chain now; vouchers and notes beside backups show its text."""
    with store.reading() as read:
        number, digest = fold.chain_head(read)
    return Head(number, digest, f"{number}:{digest}")
