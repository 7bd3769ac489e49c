"""Parts and airframe types as kinds of row: TOML tables with marks, positions, fixings, groups and extras in them."""

from collections.abc import Iterator
from dataclasses import replace

from kittrack.domain.quantities import Dimension
from kittrack.domain.text import check_text
from kittrack.errors import Problem
from kittrack.services.catalogue_faults import collecting, raise_any
from kittrack.services.catalogue_kinds import Kind, Said
from kittrack.services.catalogue_parts import check_part, write_part
from kittrack.services.catalogue_rows import Row
from kittrack.services.catalogue_specs import (
    ExtraSpec,
    FixingSpec,
    GroupSpec,
    Mark,
    PartSpec,
    PositionSpec,
    TypeRevisionSpec,
)
from kittrack.services.catalogue_types import check_type_revision, write_type, write_type_revision
from kittrack.store.act import Act

_UNITS = {"": "pieces", "pieces": "pieces", "volume": "volume_ul"}


# ---- parts -----------------------------------------------------------------------------------------------


def read_part(row: Row) -> PartSpec:
    """A part from a table of a TOML file, or from a row of a CSV file."""
    unit = row.text("unit")
    if unit not in _UNITS:
        row.fault("unit", f"{unit!r} is no unit of stock; write pieces or volume.")
    by_volume = unit == "volume"
    pack = row.quantity("pack", Dimension.VOLUME if by_volume else Dimension.PIECES)
    return PartSpec(
        number=row.text("number"), maker=row.text("maker"), name=row.text("name"), kind=row.text("kind"),
        paper_class=row.text("paper_class"), tracking=row.text("tracking"), unit=_UNITS.get(unit, "pieces"),
        pack_quantity=1 if pack is None else pack, sense=row.text("sense"),
        marks=tuple(Mark(text=text, sense=sense) for text, sense in row.pairs("marks")),
        thread_hand=row.text("thread_hand"), blades_per_rotor=row.whole("blades_per_rotor"), hub_part=row.text("hub"),
        hub_in_set=row.flag("hub_in_set"), tolerance_g_um=row.quantity("tolerance", Dimension.MOMENT),
        tolerance_source=row.text("tolerance_source"), pairing_suffices=row.flag("pairing_suffices"),
        pairing_source=row.text("pairing_source"), mixes_lots=row.flag("mixes_lots"), trim_allowed=row.flag("trim_allowed"),
        thread=row.text("thread"), length_um=row.quantity("length", Dimension.LENGTH), head=row.text("head"),
        drive=row.text("drive"), property_class=row.text("property_class"), single_use=row.flag("single_use"),
        single_dose=row.flag("single_dose"), expiry_needed=row.flag("expiry_needed"),
        shelf_life_days=row.days("shelf_life"), opened_life_days=row.days("opened_life"),
        life_minutes=row.quantity("life", Dimension.TIME), life_flights=row.whole("life_flights"),
        life_days=row.days("life_calendar"), source=row.text("source"),
    )  # fmt: skip


def _write_part(act: Act, spec: PartSpec) -> Said:
    return write_part(act, spec)[1]


def _name_in(number: str) -> str:
    """The part that a reference means, whether its maker stands in front or not."""
    return f"part {number.rpartition(': ')[2]}"


PART = Kind(
    ("part", "parts"), read_part, check_part, _write_part, lambda s: f"part {s.number}",
    lambda s: (f"company {s.maker}", _name_in(s.hub_part)),
)  # fmt: skip
PART_COLUMNS = (
    "number", "maker", "name", "kind", "paper_class", "tracking", "unit", "pack", "sense", "thread_hand",
    "blades_per_rotor", "hub", "hub_in_set", "tolerance", "tolerance_source", "pairing_suffices", "pairing_source",
    "mixes_lots", "trim_allowed", "thread", "length", "head", "drive", "property_class", "single_use", "single_dose",
    "expiry_needed", "shelf_life", "opened_life", "life", "life_flights", "life_calendar", "source",
)  # fmt: skip
PART_COLUMNS_NEEDED = ("number", "maker", "name", "kind", "paper_class")


# ---- airframe types ----------------------------------------------------------------------------------------


def read_type_name(row: Row) -> str:
    """The name of the airframe type of a file."""
    return row.text("type")


def _write_type(act: Act, name: str) -> Said:
    found: list[Problem] = []
    with collecting(found):
        write_type(act, name)
    raise_any([replace(problem, field="type") for problem in found])
    return ()


TYPE = Kind(
    ("airframe type", "airframe types"), read_type_name, lambda name: list(check_text(name, field="type")), _write_type,
    lambda name: f"type {name}",
)  # fmt: skip


def read_revision(row: Row, airframe_type: str) -> TypeRevisionSpec:
    """A type revision from its table, with the tables in it."""
    return TypeRevisionSpec(
        airframe_type=airframe_type, name=row.text("name"), source=row.text("source"),
        retorque_minutes=row.quantity("retorque", Dimension.TIME),
        fixings=tuple(_fixing(one) for one in _finished(row, "fixing")),
        positions=tuple(_position(one) for one in _finished(row, "position")),
        groups=tuple(
            GroupSpec(name=one.text("name"), positions=one.texts("positions")) for one in _finished(row, "group")
        ),
        extras=tuple(_extra(one) for one in _finished(row, "extra")),
    )  # fmt: skip


def _finished(row: Row, name: str) -> Iterator[Row]:
    """Nested tables, each held to have been read whole before the next."""
    for one in row.tables(name):
        yield one
        one.done()


def _fixing(row: Row) -> FixingSpec:
    return FixingSpec(
        name=row.text("name"), screw=row.text("screw"), screws_per_hub=row.whole("screws_per_hub") or 0,
        washer=row.text("washer"), washers_per_hub=row.whole("washers_per_hub") or 0, locker=row.text("locker"),
        locker_ul_per_screw=row.quantity("locker_per_screw", Dimension.VOLUME) or 0,
        torque_method=row.text("torque_method") or "torque", torque_mnm=row.quantity("torque", Dimension.TORQUE),
        torque_tolerance_mnm=row.quantity("torque_tolerance", Dimension.TORQUE), torque_text=row.text("torque_text"),
        torque_condition=row.text("torque_condition"), torque_source=row.text("torque_source"),
        stack_um=row.quantity("stack", Dimension.LENGTH),
        engagement_min_um=row.quantity("engagement_min", Dimension.LENGTH),
        engagement_max_um=row.quantity("engagement_max", Dimension.LENGTH),
    )  # fmt: skip


def _position(row: Row) -> PositionSpec:
    return PositionSpec(
        name=row.text("name"), alias=row.text("alias"), arm=row.text("arm"), level=row.text("level") or "single",
        drive=row.text("drive") or "tractor", sense=row.text("sense"), angle_mdeg=row.angle_mdeg("angle"),
        radius_um=row.quantity("radius", Dimension.LENGTH) or 0, fixing=row.text("fixing"), approved=row.texts("approved"),
    )  # fmt: skip


def _extra(row: Row) -> ExtraSpec:
    unit = row.text("unit")
    if unit not in _UNITS:
        row.fault("unit", f"{unit!r} is no unit of stock; write pieces or volume.")
    dimension = Dimension.VOLUME if unit == "volume" else Dimension.PIECES
    return ExtraSpec(
        part=row.text("part"), quantity=row.quantity("quantity", dimension) or 0, per=row.text("per") or "kit",
        unit=_UNITS.get(unit, "pieces"),
    )  # fmt: skip


def _write_revision(act: Act, spec: TypeRevisionSpec) -> Said:
    return write_type_revision(act, spec)[1]


def _leaning(spec: TypeRevisionSpec) -> Iterator[str]:
    yield f"type {spec.airframe_type}"
    for fixing in spec.fixings:
        yield from (_name_in(number) for number in (fixing.screw, fixing.washer, fixing.locker))
    for position in spec.positions:
        yield from map(_name_in, position.approved)
    for extra in spec.extras:
        yield _name_in(extra.part)


def revision_kind(airframe_type: str) -> Kind[TypeRevisionSpec]:
    """The kind of the revisions of one airframe type's file."""
    return Kind(
        ("type revision", "type revisions"), lambda row: read_revision(row, airframe_type), check_type_revision,
        _write_revision, lambda s: f"revision {s.airframe_type} {s.name}", _leaning,
    )  # fmt: skip
