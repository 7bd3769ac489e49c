"""Who a badge or a name is: the person, the roles, and what they have read and acknowledged."""

from dataclasses import dataclass

from kittrack.errors import NotFound
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import Acknowledgement, Person, PersonRole


@dataclass(frozen=True)
class Who:
    """A person of the stores. `human` is one number for all badges of the same human."""

    code: str
    name: str
    human: int
    is_here: bool
    roles: tuple[str, ...]
    acknowledged: tuple[str, ...]


_LEAST, _MOST = 3, 4  # characters of a part of a name, and names that it may stand for


def _like(read: Reading, text: str) -> str:
    """The names of those who are here that hold what was typed; nothing where it is too little or fits many."""
    if len(text) < _LEAST:
        return ""
    names = [
        repr(p.name)
        for p in read.select(Person, "active = 1", order="name")
        if text.lower() in p.name.lower()
    ]
    if not 0 < len(names) <= _MOST:
        return ""
    return ": " + " or ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def who_is(store: Store, *, who: str) -> Who:
    """The person of a badge code or an exact name.

    Raises:
        NotFound: nobody is known so.
    """
    with store.reading() as read:
        text = who.strip()
        found = read.find(Person, code=text.upper()) or read.find(Person, name=text)
        if found is None:
            raise NotFound(
                f"nobody is known as {text!r}; scan your badge or type your exact name{_like(read, text)}"
            )
        roles = read.select(PersonRole, "person_id = ? AND active = 1", found.id)
        read_before = read.select(Acknowledgement, "person_id = ?", found.id)
    return Who(
        code=found.code, name=found.name, human=found.same_human_as_id or found.id, is_here=bool(found.active),
        roles=tuple(r.role for r in roles), acknowledged=tuple(a.what for a in read_before),
    )  # fmt: skip
