"""Changes of a kit list: an extra is added, counted otherwise, or taken off. Source: design R4, R21."""

from datetime import datetime
from typing import Final

from kittrack.errors import BadInput
from kittrack.services import desk
from kittrack.services.catalogue_faults import raise_any
from kittrack.services.catalogue_parts import part_named
from kittrack.services.catalogue_specs import ExtraSpec
from kittrack.services.catalogue_types import (
    EXTRA_KINDS,
    check_extra,
    extra_part,
    name_of,
    type_revision_of,
    write_extra,
)
from kittrack.services.desk import Done
from kittrack.services.setting_changes import Changed, change_revision, require_authority
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.kit_list import end_of, kit_list
from kittrack.store.records import KitListEnd, KitListLine, Part

NONE: Final = "none"
"""What a change says in place of a quantity where the list has no such line."""


@desk.done_as(require_authority)
def change_kit_list(
    store: Store, *, airframe_type: str, revision: str, extra: ExtraSpec, source: str,
    by: str, second: str, at: datetime, key: str = "",
) -> Done:  # fmt: skip
    """Add a line to the kit list of a type revision, put one on it again, or change the quantity of one (R4)."""
    desk.require_text(source=source)
    raise_any(check_extra(extra))
    with store.act("change a kit list", by=by, at=at, second=second, reason=source, key=key) as act:
        require_authority(act, "a change of a kit list")
        found = type_revision_of(act, airframe_type, revision)
        part = extra_part(act, extra)
        known = act.find(KitListLine, type_revision_id=found.id, part_id=part.id, per=extra.per)
        off = end_of(act, known) if known else None
        if known and off is None and known.quantity == extra.quantity:
            raise BadInput(
                f"The kit list of {name_of(act, found)} says so already; nothing changes.", field="quantity"
            )
        old = str(known.quantity) if known and off is None else NONE
        if known is None:
            write_extra(act, found, extra)
        elif known.quantity != extra.quantity:
            act.update(known, quantity=extra.quantity)
        if off is not None:
            act.update(off, again_event_id=act.event_id)
        said = change_revision(
            act, found, [_changed(part, extra.per, old, str(extra.quantity))], source=source
        )
        named = name_of(act, found)
    return Done(
        act.event_id, said=(f"Kit list of {named}: {extra.quantity} of {part.number} per {extra.per}.", *said)
    )


@desk.done_as(require_authority)
def end_kit_list_line(
    store: Store, *, airframe_type: str, revision: str, part: str, per: str = "kit", source: str,
    by: str, second: str, at: datetime, key: str = "",
) -> Done:  # fmt: skip
    """Take an extra off the kit list of a type revision; kits that carry it are checked again (R4, R21).

    What an open job holds of it is settled as what any job has left: returned, scrapped or lost.

    Args:
        store: the store.
        airframe_type: the type's name.
        revision: the type revision's name.
        part: the extra, "MAKER: NUMBER" where two makers have the number.
        per: "kit" or "hub", as it stands on the list.
        source: the document that takes it off.
        by: the manager.
        second: the second person.
        at: the instant.
        key: the caller's own name for the act.

    Raises:
        Refused: not a manager, no second person (R21).
        BadInput: the list has no such line.
    """
    desk.require_text(source=source)
    with store.act(
        "take an extra off a kit list", by=by, at=at, second=second, reason=source, key=key
    ) as act:
        require_authority(act, "a change of a kit list")
        found = type_revision_of(act, airframe_type, revision)
        named = name_of(act, found)
        extra = part_named(act, part, field="part", kinds=EXTRA_KINDS)
        line = next(
            (one for one in kit_list(act, found.id) if (one.part_id, one.per) == (extra.id, per)), None
        )
        if line is None:
            raise BadInput(
                f"{extra.number} per {per} is not on the kit list of {named}; {_listed(act, found.id)}",
                field="part",
            )
        act.insert(KitListEnd(kit_list_line_id=line.id, event_id=act.event_id))
        said = change_revision(act, found, [_changed(extra, per, str(line.quantity), NONE)], source=source)
    return Done(act.event_id, said=(f"Kit list of {named}: no {extra.number} per {per} any more.", *said))


def _changed(part: Part, per: str, old: str, new: str) -> Changed:
    return Changed(f"{part.number} per {per}", old, new)


def _listed(act: Act, type_revision_id: int) -> str:
    """What stands on a kit list, for a person who named something else."""
    lines = [f"{act.get(Part, one.part_id).number} per {one.per}" for one in kit_list(act, type_revision_id)]
    return f"it lists {', '.join(lines)}" if lines else "it lists no extra"
