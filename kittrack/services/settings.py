"""Changing what is versioned of a part: its table of marks, tolerance, proof of match, supersession (R21).

Each change takes a manager, a second person and a source, is kept as old and new, and answers which open kits
and jobs have to be checked again. What a change leaves without proof goes on hold at once. Settings of a type
revision are changed in settings_types.py. Source: design R2, R6, R19, R21.
"""

from collections.abc import Sequence
from datetime import datetime

from kittrack.domain.quantities import Dimension, write_quantity
from kittrack.errors import BadInput
from kittrack.services import desk
from kittrack.services.catalogue_faults import raise_any
from kittrack.services.catalogue_parts import check_marks, part_named, write_marks
from kittrack.services.catalogue_specs import Mark
from kittrack.services.desk import Done
from kittrack.services.setting_changes import (
    Changed,
    change_part,
    hold_all,
    marked_pieces,
    require_authority,
    sets_of,
)
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import MatchRecord, PartMark, RotorSet


@desk.done_as(require_authority)
def change_mark_table(
    store: Store,
    *,
    part: str,
    marks: Sequence[Mark],
    source: str,
    by: str,
    second: str,
    at: datetime,
    key: str = "",
) -> Done:
    """Give a blade part a new revision of its whole table of marks (R2).

    Blades whose mark now means another sense, or nothing, go on hold.
    """
    desk.require_text(source=source)
    with store.act("change a table of marks", by=by, at=at, second=second, reason=source, key=key) as act:
        require_authority(act, "a change of a table of marks")
        found = part_named(act, part, field="part", kinds=("blade",))
        raise_any(check_marks(marks, sense=found.sense or ""))
        old = act.select(
            PartMark, "part_id = ? AND revision = ?", found.id, found.mark_revision, order="mark"
        )
        before, after = {m.mark: m.sense for m in old}, {m.text: m.sense for m in marks}
        if before == after:
            raise BadInput(f"The table of {found.number} says so already; nothing changes.", field="marks")
        changed = Changed("table of marks", _table(before), _table(after))
        write_marks(act, found, marks, revision=found.mark_revision + 1)
        said = change_part(act, found, changed, source=source, mark_revision=found.mark_revision + 1)
        doubtful = [p for p in marked_pieces(act, found) if after.get(p.mark) != p.sense]
        held = hold_all(
            act, doubtful, part=found, reason="its mark means something else by the new table", source=source
        )
    return Done(act.event_id, said=(f"{found.number}: the marks are now {changed.new}.", *held, *said))


def _table(marks: dict[str, str]) -> str:
    return ", ".join(f"{mark} = {sense}" for mark, sense in sorted(marks.items()))


@desk.done_as(require_authority)
def change_tolerance(
    store: Store,
    *,
    part: str,
    tolerance_g_um: int,
    source: str,
    by: str,
    second: str,
    at: datetime,
    key: str = "",
) -> Done:
    """Change the residual unbalance that a rotor set of a part may have (R19).

    Measured sets that are not within the new one go on hold.
    """
    desk.require_text(source=source)
    if tolerance_g_um < 1:
        raise BadInput("A tolerance is more than nothing; give the maker's figure.", field="tolerance_g_um")
    with store.act("change a tolerance", by=by, at=at, second=second, reason=source, key=key) as act:
        require_authority(act, "a change of a tolerance")
        found = part_named(act, part, field="part", kinds=("blade",))
        changed = Changed("tolerance", _tolerance(found.tolerance_g_um), _tolerance(tolerance_g_um))
        said = change_part(
            act, found, changed, source=source, tolerance_g_um=tolerance_g_um, tolerance_source=source.strip()
        )
        beyond = [s for s in sets_of(act, found) if _is_beyond(_proof(act, s), tolerance_g_um)]
        held = hold_all(act, beyond, part=found, reason="not within the new tolerance", source=source)
    return Done(
        act.event_id,
        said=(f"{found.number}: the tolerance is now {changed.new} (before: {changed.old}).", *held, *said),
    )


def _tolerance(value: int | None) -> str:
    return "none" if value is None else write_quantity(value, dimension=Dimension.MOMENT)


def _proof(read: Reading, rotor_set: RotorSet) -> MatchRecord | None:
    return read.find(MatchRecord, id=rotor_set.match_record_id) if rotor_set.match_record_id else None


def _is_beyond(proof: MatchRecord | None, tolerance_g_um: int) -> bool:
    if proof is None or proof.method != "measured" or proof.residual_g_um is None:
        return False
    return proof.residual_g_um + (proof.uncertainty_g_um or 0) > tolerance_g_um


@desk.done_as(require_authority)
def change_pairing(
    store: Store, *, part: str, suffices: bool, source: str, by: str, second: str, at: datetime, key: str = ""
) -> Done:
    """Say whether the supplier's own pairing suffices as a proof of match for a part (R19).

    Where it no longer does, the sets that rest on it go on hold until they are measured.
    """
    desk.require_text(source=source)
    with store.act("change what proves a match", by=by, at=at, second=second, reason=source, key=key) as act:
        require_authority(act, "a change of what proves a match")
        found = part_named(act, part, field="part", kinds=("blade",))
        if bool(found.pairing_suffices) == suffices:
            raise BadInput(f"{found.number} says so already; nothing changes.", field="suffices")
        if not suffices and found.tolerance_g_um is None:
            raise BadInput(
                f"{found.number} has no tolerance, so nothing would prove a match; give one first.",
                field="suffices",
            )
        words = ("has to be measured", "the supplier's pairing suffices")
        changed = Changed("proof of match", words[not suffices], words[suffices])
        said = change_part(
            act, found, changed, source=source, pairing_suffices=int(suffices), pairing_source=source.strip()
        )
        unproven = [] if suffices else [s for s in sets_of(act, found) if _is_paired(_proof(act, s))]
        held = hold_all(
            act, unproven, part=found, reason="the supplier's pairing no longer suffices", source=source
        )
    return Done(act.event_id, said=(f"{found.number}: {changed.new}.", *held, *said))


def _is_paired(proof: MatchRecord | None) -> bool:
    return proof is not None and proof.method == "supplier pairing"


@desk.done_as(require_authority)
def withdraw_supersession(
    store: Store, *, part: str, source: str, by: str, second: str, at: datetime, key: str = ""
) -> Done:
    """Say that a part is not superseded after all: its stock may be used again."""
    desk.require_text(source=source)
    with store.act("withdraw a supersession", by=by, at=at, second=second, reason=source, key=key) as act:
        require_authority(act, "the withdrawal of a supersession")
        found = part_named(act, part, field="part")
        if not found.superseded_how:
            raise BadInput(f"{found.number} is not superseded; nothing changes.", field="part")
        changed = Changed("supersession", found.superseded_how, "none")
        said = change_part(act, found, changed, source=source, superseded_how="", superseded_by_id=None)
    return Done(act.event_id, said=(f"{found.number} is not superseded any more.", *said))
