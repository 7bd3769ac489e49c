"""What every change of a setting has in common: who may make it, its record, and what it touches.

Source: design R21: versioned, by a manager with a second person and a source; open kits and jobs are checked
again. A kit keeps the settings revision that it was built to, and sealing and issuing compare it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from kittrack.domain import codes
from kittrack.domain.ledger import ENDS, place_in_words
from kittrack.domain.rules import require
from kittrack.services import desk
from kittrack.services.catalogue_types import name_of
from kittrack.services.open_work import look_again, open_jobs, unissued_kits
from kittrack.store.act import Act, Reading
from kittrack.store.records import (
    Hold,
    HoldItem,
    Part,
    Piece,
    RotorSet,
    SettingChange,
    TypeRevision,
)
from kittrack.store.stock import chain, slot_of_piece


@dataclass(frozen=True)
class Changed:
    """One setting, before and after, in words."""

    name: str
    old: str
    new: str


@desk.done_by("manager")
def require_authority(act: Act, what: str) -> None:
    """Stop unless a manager makes the change and a second person confirms it (R21)."""
    require(
        desk.check_done_by(act, require_authority),
        desk.check_second(first=act.by, second=act.second, what=what),
    )


def change_part(act: Act, part: Part, changed: Changed, *, source: str, **columns: Any) -> tuple[str, ...]:
    """Write a change of a part's setting, and count it in every type revision that uses the part.

    Returns:
        A sentence for each kit and job to check again.
    """
    act.update(part, revision=part.revision + 1, **columns)
    _record(act, part.number, changed, source=source)
    return _count(act, revisions_using(act, part))


def change_revision(
    act: Act, revision: TypeRevision, changes: Iterable[Changed], *, source: str, **columns: Any
) -> tuple[str, ...]:
    """Write changes of a type revision's settings; answers as `change_part` does."""
    for changed in changes:
        _record(act, name_of(act, revision), changed, source=source)
    if columns:
        revision = act.update(revision, **columns)
    return _count(act, [revision])


def _record(act: Act, subject: str, changed: Changed, *, source: str) -> None:
    act.insert(
        SettingChange(
            subject=subject, name=changed.name, old=changed.old, new=changed.new, source=source, event_id=act.event_id
        )
    )  # fmt: skip


def _count(act: Act, revisions: Sequence[TypeRevision]) -> tuple[str, ...]:
    for revision in revisions:
        act.update(revision, settings_revision=revision.settings_revision + 1)
    return look_again(unissued_kits(act, revisions), open_jobs(act, revisions=revisions))


def revisions_using(read: Reading, part: Part) -> list[TypeRevision]:
    """The type revisions for which a rotor part is approved at some position, by id."""
    return read.select(
        TypeRevision,
        "id IN (SELECT p.type_revision_id FROM type_position p JOIN approved_part a ON a.type_position_id = p.id "
        "WHERE a.part_id = ? AND a.active = 1)",
        part.id,
    )


# ---- what is no longer proven goes on hold -----------------------------------------------------------


def sets_of(read: Reading, part: Part) -> list[RotorSet]:
    """The complete rotor sets of a part that have not left the fleet, by id."""
    found = read.select(RotorSet, "part_id = ? AND state = 'complete'", part.id)
    return [one for one in found if not _is_gone(read, one.place_id)]


def marked_pieces(read: Reading, part: Part) -> list[Piece]:
    """The blades of a part whose mark was read and that have not left the fleet, by id."""
    found = read.select(Piece, "part_id = ? AND mark <> ''", part.id)
    return [one for one in found if not _is_gone(read, slot_of_piece(read, one.id).place_id)]


def _is_gone(read: Reading, place_id: int) -> bool:
    return chain(read, place_id)[-1].kind in ENDS


def hold_all(
    act: Act, things: Sequence[RotorSet] | Sequence[Piece], *, part: Part, reason: str, source: str
) -> tuple[str, ...]:
    """Put rotor sets or blades of a part on one hold; answers with a sentence for each, with where it is."""
    if not things:
        return ()
    of_sets = isinstance(things[0], RotorSet)
    hold = act.insert(
        Hold(
            code=act.new_code(Hold, codes.Kind.HOLD), scope="rotor set" if of_sets else "piece",
            scope_text=f"{'sets' if of_sets else 'blades'} of {part.number}", reason=reason, reference=source,
            placed_event_id=act.event_id,
        )
    )  # fmt: skip
    said = []
    for one in things:
        if isinstance(one, RotorSet):
            act.insert(HoldItem(hold_id=hold.id, rotor_set_id=one.id))
            around = chain(act, one.place_id)[1:]
        else:
            act.insert(HoldItem(hold_id=hold.id, piece_id=one.id))
            around = chain(act, slot_of_piece(act, one.id).place_id)
        where = f" in {place_in_words(around[0].kind, around[0].name)}" if around else ""
        said.append(f"{one.code}{where} is on hold under {hold.code}: {reason}.")
    return tuple(said)
