"""What the label of a sealed kit says: what it is for, the senses first, its seal, its date and its two people."""

from datetime import date

from kittrack.domain import dates
from kittrack.domain.quantities import Dimension, write_quantity
from kittrack.domain.rules import Rule
from kittrack.domain.spin import Sense
from kittrack.errors import Refusal, Refused
from kittrack.printing.contents import KitLabel, NoDate, SetCount
from kittrack.services import desk
from kittrack.store.act import Reading, read_instant_text
from kittrack.store.records import Airframe, AirframeType, Kit, KitLine, Part, Person, TypeRevision

SEALING = "seal a kit"
"""The act by which a kit gets its seal, as the event log names it."""


def kit_label(read: Reading, code: str) -> KitLabel | None:
    """The label of a kit; None where there is no such kit.

    Raises:
        Refused: it is not sealed, so its label would promise what nobody has checked (R5).
    """
    kit = read.find(Kit, code=code)
    if kit is None:
        return None
    if kit.seal is None or kit.state not in ("sealed", "issued"):
        message = f"{code} is {kit.state}, and only a sealed kit carries a label; check and seal it first."
        raise Refused([Refusal(Rule.WHOLE_KIT, code, message)])
    revision = read.get(TypeRevision, kit.type_revision_id)
    lines = read.select(KitLine, "kit_id = ?", kit.id, order="rank")
    parts = {line.part_id: read.get(Part, line.part_id) for line in lines}
    return KitLabel(
        code=code,
        airframe_type=read.get(AirframeType, revision.airframe_type_id).name,
        revision=revision.name,
        positions=_positions(read, kit, revision),
        rotor_sets=tuple(
            SetCount(Sense(line.sense), line.quantity, parts[line.part_id].number)
            for line in lines
            if line.sense
        ),
        fasteners=tuple(_amount(line, parts[line.part_id]) for line in lines if not line.sense),
        seal=kit.seal,
        use_by=date.fromisoformat(kit.expires_on) if kit.expires_on else NoDate.NONE,
        built_by=read.get(Person, kit.built_by_id).name,
        checked_by=read.get(Person, kit.checked_by_id).name if kit.checked_by_id else "nobody",
        sealed_on=_sealed_on(read, kit),
        airframe=read.get(Airframe, kit.airframe_id).tail if kit.airframe_id else "",
    )


def _positions(read: Reading, kit: Kit, revision: TypeRevision) -> str:
    names = [
        row[0]
        for row in read.rows(
            "SELECT t.name FROM kit_position k JOIN type_position t ON t.id = k.type_position_id "
            "WHERE k.kit_id = ? ORDER BY t.rank",
            kit.id,
        )
    ]
    every = read.value("SELECT count(*) FROM type_position WHERE type_revision_id = ?", revision.id)
    return "all positions" if len(names) == every else ", ".join(names)


def _amount(line: KitLine, part: Part) -> str:
    if line.unit == "volume_ul":
        return f"{write_quantity(line.quantity, dimension=Dimension.VOLUME)} {part.name}"
    return f"{line.quantity} {part.name}"


def _sealed_on(read: Reading, kit: Kit) -> date:
    """The local day of the sealing: the first one of this kit after it was begun."""
    at = read.value(
        "SELECT at FROM event WHERE id > ? AND act = ? AND statements LIKE ? ORDER BY id LIMIT 1",
        kit.event_id,
        SEALING,
        f'%["update","kit",{kit.id},{{%',
    )
    return dates.local_day(read_instant_text(at), zone=desk.zone(read))
