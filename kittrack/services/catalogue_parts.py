"""Parts and their tables of marks: what a row must say of its kind, and the writing of it inside an act.

Source: design R2 (sense and marks), R14 (class of paper), R16 (identity), R19 (proof of match).
"""

from collections import Counter
from collections.abc import Sequence

from kittrack.domain import codes
from kittrack.domain.balance import MOST_ORDERED
from kittrack.domain.fasteners import Head
from kittrack.domain.text import check_text
from kittrack.domain.threads import COARSE, PROPERTY_CLASSES
from kittrack.errors import BadInput, KittrackError, Problem
from kittrack.services import desk
from kittrack.services.catalogue_faults import choice, collecting, fault, texts
from kittrack.services.catalogue_specs import Mark, PartSpec
from kittrack.store.act import Act, Reading
from kittrack.store.records import SENSES, Company, Part, PartMark

KINDS = ("blade", "hub", "fastener", "consumable", "other")
UNITS = ("pieces", "volume_ul")
TRACKINGS = ("lot", "serial")
HANDS = ("RH", "LH")

_BLADE = ("blade",)
_LIVES = ("blade", "hub", "other")
_FASTENER = ("fastener",)
_ONLY_FOR: dict[str, tuple[str, ...]] = {
    "sense": _BLADE, "marks": _BLADE, "blades_per_rotor": _BLADE, "hub_part": _BLADE, "hub_in_set": _BLADE,
    "tolerance_g_um": _BLADE, "tolerance_source": _BLADE, "pairing_suffices": _BLADE, "pairing_source": _BLADE,
    "mixes_lots": _BLADE, "trim_allowed": _BLADE,
    "thread": _FASTENER, "length_um": _FASTENER, "head": _FASTENER, "drive": _FASTENER, "property_class": _FASTENER,
    "single_use": _FASTENER, "thread_hand": ("blade", "hub", "fastener"),
    "single_dose": ("consumable",), "opened_life_days": ("consumable",),
    "life_minutes": _LIVES, "life_flights": _LIVES, "life_days": _LIVES,
}  # fmt: skip
_COUNTED = (
    "pack_quantity", "tolerance_g_um", "length_um", "shelf_life_days", "opened_life_days",
    "life_minutes", "life_flights", "life_days",
)  # fmt: skip
_NEEDED_TEXTS = ("number", "maker", "name", "paper_class")
_OTHER_TEXTS = ("tolerance_source", "pairing_source", "thread", "head", "drive", "property_class", "source")
_SCREW_FIELDS = ("thread", "head", "drive", "property_class")


# ---- what a row says by itself -----------------------------------------------------------------


def check_part(spec: PartSpec) -> list[Problem]:
    """Every fault of a part that shows without looking into the store."""
    found = texts(spec, needed=_NEEDED_TEXTS, optional=_OTHER_TEXTS)
    kinds = choice("kind", spec.kind, KINDS)
    found += kinds + choice("unit", spec.unit, UNITS)
    found += choice("tracking", spec.tracking, TRACKINGS) if spec.tracking else []
    found += choice("thread_hand", spec.thread_hand, HANDS) if spec.thread_hand else []
    found += _check_amounts(spec)
    if kinds:
        return found
    found += _check_foreign_fields(spec)
    found += {"blade": _check_blade, "fastener": _check_fastener, "consumable": _check_consumable}.get(
        spec.kind, _check_pieces
    )(spec)
    return found


def check_marks(marks: Sequence[Mark], *, sense: str) -> list[Problem]:
    """What is wrong with the table of marks of a blade of a sense (R2)."""
    found: list[Problem] = []
    for mark in marks:
        found += check_text(mark.text, field="marks", max_length=40)
        found += choice("marks", mark.sense, SENSES)
    folded = Counter(mark.text.casefold() for mark in marks)
    for text, times in folded.items():
        if times > 1:
            found.append(
                fault("marks", f"The mark {text!r} stands {times} times, capitals or not; write it once.")
            )
    if not any(mark.sense == sense for mark in marks):
        found.append(
            fault(
                "marks",
                f"No mark means {sense}, so no such blade could be recognised (R2); read one on a blade.",
            )
        )
    return found


def _check_amounts(spec: PartSpec) -> list[Problem]:
    found = []
    for field in _COUNTED:
        value = getattr(spec, field)
        if value is not None and value < 1:
            found.append(fault(field, f"The {field} is {value}; give at least 1 or leave it out."))
    return found


def _check_foreign_fields(spec: PartSpec) -> list[Problem]:
    return [
        fault(field, f"A part of kind {spec.kind!r} has no {field.replace('_', ' ')}; leave it out.")
        for field, kinds in _ONLY_FOR.items()
        if getattr(spec, field) and spec.kind not in kinds
    ]


def _check_pieces(spec: PartSpec) -> list[Problem]:
    if spec.unit == "pieces":
        return []
    return [fault("unit", f"A {spec.kind} is counted in pieces; only a consumable is measured.")]


def _check_blade(spec: PartSpec) -> list[Problem]:
    found = _check_pieces(spec) + choice("sense", spec.sense, SENSES)
    if spec.sense in SENSES:
        found += check_marks(spec.marks, sense=spec.sense)
    if spec.tracking == "lot":
        found.append(fault("tracking", "Blades are tracked one by one; write serial or leave it out."))
    if not 1 <= (spec.blades_per_rotor or 0) <= MOST_ORDERED:
        found.append(
            fault("blades_per_rotor", f"A rotor has 1 to {MOST_ORDERED} blades; say how many of this part.")
        )
    if spec.hub_in_set and not spec.hub_part:
        found.append(
            fault("hub_part", "The hub belongs to the set, but none is named; name the hub's part number.")
        )
    return found + _check_proof(spec)


def _check_proof(spec: PartSpec) -> list[Problem]:
    found = []
    if spec.tolerance_g_um is None and not spec.pairing_suffices:
        found.append(
            fault(
                "tolerance_g_um",
                "Without a tolerance no set can be proven (R19); give the maker's, "
                "or say with its source that the supplier's pairing suffices.",
            )
        )
    for field, is_set in (
        ("tolerance_source", spec.tolerance_g_um is not None),
        ("pairing_source", spec.pairing_suffices),
    ):
        if is_set and not getattr(spec, field).strip():
            found.append(fault(field, "This rests on a source (R19); name the maker's sheet or manual."))
    return found


def _check_fastener(spec: PartSpec) -> list[Problem]:
    found = _check_pieces(spec)
    if spec.tracking == "serial":
        found.append(fault("tracking", "Fasteners are tracked by lot; write lot or leave it out."))
    if spec.length_um is not None:
        for field in _SCREW_FIELDS:
            if not getattr(spec, field):
                found.append(
                    fault(field, f"A screw with a length needs its {field.replace('_', ' ')}; add it.")
                )
    return found


def _check_consumable(spec: PartSpec) -> list[Problem]:
    found = []
    if spec.tracking == "serial":
        found.append(fault("tracking", "Consumables are tracked by lot; write lot or leave it out."))
    if spec.single_dose and spec.opened_life_days:
        found.append(
            fault(
                "opened_life_days", "A single dose is used up when it is opened; leave the opened life out."
            )
        )
    return found


# ---- what the store says to it, and the writing --------------------------------------------------


def maker_of(read: Reading, name: str) -> Company:
    """The company of a name, which must be a maker.

    Raises:
        BadInput: nobody is known so, or it makes nothing.
    """
    found = read.find(Company, name=name.strip())
    if found is None:
        raise BadInput(f"There is no company {name!r}; add it first.", field="maker")
    if not found.is_maker:
        raise BadInput(f"{found.name} is not known as a maker; mark it as one first.", field="maker")
    return found


def part_named(read: Reading, number: str, *, field: str, kinds: Sequence[str] = KINDS) -> Part:
    """The part of a number ("maker: number" where two makers use it), which must be of one of the kinds.

    Raises:
        BadInput: none, several, or one of another kind.
    """
    try:
        found = desk.find_part(read, number)
    except KittrackError as why:
        raise BadInput(str(why), field=field) from None
    if found.kind not in kinds:
        raise BadInput(
            f"{found.number} is a {found.kind}, and here stands a {' or '.join(kinds)}.", field=field
        )
    return found


def write_part(act: Act, spec: PartSpec) -> tuple[Part, tuple[str, ...]]:
    """Write a part with its table of marks.

    Returns:
        The part, and warnings for the person.

    Raises:
        BadInput: every fault of the row, by itself and against the store.
    """
    found = check_part(spec)
    maker: Company | None = None
    hub: Part | None = None
    with collecting(found):
        maker = maker_of(act, spec.maker)
    if spec.hub_part:
        with collecting(found):
            hub = part_named(act, spec.hub_part, field="hub_part", kinds=("hub",))
    if maker is not None and act.find(Part, maker_id=maker.id, number=spec.number):
        found.append(
            fault("number", f"{maker.name} has a part {spec.number!r} already; a part number stands once.")
        )
    if found or maker is None:
        raise BadInput(found)
    warnings = _near_numbers(act, spec, maker) + _unknown_to_tables(spec) + _crossed_marks(spec)
    part = act.insert(_row(spec, maker, hub))
    write_marks(act, part, spec.marks, revision=part.mark_revision)
    return part, tuple(warnings)


def write_marks(act: Act, part: Part, marks: Sequence[Mark], *, revision: int) -> None:
    """Write one revision of a part's table of marks."""
    for mark in marks:
        act.insert(PartMark(part_id=part.id, revision=revision, mark=mark.text, sense=mark.sense))


def _row(spec: PartSpec, maker: Company, hub: Part | None) -> Part:
    usual = "serial" if spec.kind in {"blade", "hub"} else "lot"
    return Part(
        number=spec.number, maker_id=maker.id, name=spec.name, kind=spec.kind, tracking=spec.tracking or usual,
        unit=spec.unit, paper_class=spec.paper_class, mark_revision=int(bool(spec.marks)),
        pack_quantity=spec.pack_quantity, sense=spec.sense or None, thread_hand=spec.thread_hand or None,
        blades_per_rotor=spec.blades_per_rotor, hub_part_id=hub.id if hub else None, hub_in_set=int(spec.hub_in_set),
        tolerance_g_um=spec.tolerance_g_um, tolerance_source=spec.tolerance_source,
        pairing_suffices=int(spec.pairing_suffices), pairing_source=spec.pairing_source,
        mixes_lots=int(spec.mixes_lots), trim_allowed=int(spec.trim_allowed),
        thread=spec.thread, length_um=spec.length_um, head=spec.head, drive=spec.drive,
        property_class=spec.property_class, single_use=int(spec.single_use), single_dose=int(spec.single_dose),
        expiry_needed=int(spec.expiry_needed), shelf_life_days=spec.shelf_life_days,
        opened_life_days=spec.opened_life_days, life_minutes=spec.life_minutes, life_flights=spec.life_flights,
        life_days=spec.life_days, source=spec.source,
    )  # fmt: skip


def _near_numbers(read: Reading, spec: PartSpec, maker: Company) -> list[str]:
    known = [p.number for p in read.select(Part, "maker_id = ?", maker.id)]
    return [
        f"{spec.number} is near {near.candidate} of the same maker ({near.why}); look whether they are one part."
        for near in codes.near_misses(spec.number, candidates=known)
    ]


def _unknown_to_tables(spec: PartSpec) -> list[str]:
    """Where the screw tables can't help: it is a screw all the same, and its maker's figures decide."""
    if spec.length_um is None:
        return []
    return [
        f"{spec.number}: the tables know no {what} {value!r} (they know {', '.join(table)}), so length and torque are not "
        "checked for it."
        for what, value, table in (
            ("thread", spec.thread, [*COARSE]),
            ("head", spec.head, [head.value for head in Head]),
            ("property class", spec.property_class, [*PROPERTY_CLASSES]),
        )
        if value not in table
    ]


def _crossed_marks(spec: PartSpec) -> list[str]:
    return [
        f"{spec.number}: the mark {mark.text} is said to mean {mark.sense}; look at a blade from above once more."
        for mark in spec.marks
        if mark.text.upper() in SENSES and mark.text.upper() != mark.sense
    ]
