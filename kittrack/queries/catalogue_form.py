"""The form of a catalogue's files, for whoever writes them: each file, its fields, what stands in each.

Every field that the reader takes stands here, and no other; a test holds both together. Source: design 3, R16.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from kittrack.domain.text import either
from kittrack.errors import NotFound


@dataclass(frozen=True)
class CatalogueField:
    """A field of a catalogue file: the file or the table in it, its name, whether it is needed, what stands there."""

    file: str
    field: str
    needed: str
    holds: str


ALWAYS: Final = "yes"
_BLADE, _SCREW = "for a blade", "for a screw"
_FIXING, _POSITION, _GROUP, _EXTRA = (
    f"types/*.toml [[revision.{table}]]" for table in ("fixing", "position", "group", "extra")
)

_FORM: Final[dict[str, tuple[tuple[str, str, str], ...]]] = {
    "sites.csv": (
        ("name", ALWAYS, "the site's name"),
        ("time_zone", ALWAYS, "an IANA name such as Europe/Oslo; it says when a day ends"),
    ),
    "places.csv": (
        ("kind", ALWAYS, "bin, bench, van, goods-in, hold cage, removed-parts cage or apron"),
        ("name", ALWAYS, "the place's name"),
        ("site", ALWAYS, "the site where it stands"),
    ),
    "people.csv": (
        ("name", ALWAYS, "the person's name"),
        ("roles", ALWAYS, "clerk, technician, inspector, manager, auditor; several are parted by blanks"),
        ("script", "", "yes for an account that a program uses"),
        ("same_human_as", "", "the name of the other badge of the same human"),
    ),
    "companies.csv": (
        ("name", ALWAYS, "the company's name; a new owner of an airframe is one too"),
        ("maker", "", "yes where it makes parts"),
        ("supplier", "", "yes where it supplies parts"),
        ("lead_time", "", 'from order to delivery, such as "14 days"'),
    ),
    "papers.csv": (
        ("paper_class", ALWAYS, "a class of part, as the parts name it, such as rotor"),
        ("kind", ALWAYS, "a kind of paper that suffices for it, such as certificate of conformity; one a row"),
    ),
    "tools.csv": (
        ("name", ALWAYS, "the tool's name"),
        ("kind", ALWAYS, "torque or scale"),
        ("from", "for a torque tool", 'its least torque, such as "0.2 N m"'),
        ("to", "for a torque tool", 'its greatest torque, such as "2 N m"'),
        ("resolution", "for a scale", 'such as "1 mg"'),
        ("uncertainty", "for a scale", 'as its calibration states it, such as "2 mg"'),
        ("repeatability", "", 'of a scale, such as "1 mg"'),
        ("ruler", "", 'the uncertainty of the radius at a scale, such as "0.5 mm"'),
        ("calibrated_until", "", "the last day, such as 2027-03-31; a tool without one is not to be used"),
    ),
    "airframes.csv": (
        ("tail", ALWAYS, "the airframe's own tail"),
        ("type", ALWAYS, "the airframe type's name"),
        ("revision", ALWAYS, "the revision of the type"),
        ("hours", "", "total hours, such as 412:30; blank where unknown"),
        ("flights", "with hours", "total flights, digits only"),
        ("reading_source", "with hours", "where hours and flights were read"),
        ("verified_how", "", "the motor test that verified its senses; blank where none did"),
        ("apron", "", "the apron where it stands; blank is that of the first site"),
    ),
    "parts/*.toml [[part]], parts/*.csv": (
        ("number", ALWAYS, "the part number, as the maker writes it"),
        ("maker", ALWAYS, "a company that is a maker"),
        ("name", ALWAYS, "what it is, in words"),
        ("kind", ALWAYS, "blade, hub, fastener, consumable or other"),
        ("paper_class", ALWAYS, "the class of papers.csv that says which papers suffice"),
        ("tracking", "", "lot or serial; blank is the kind's own: serial for blades and hubs, lot for the rest"),
        ("unit", "", "pieces, or volume for a consumable that is measured; blank is pieces"),
        ("pack", "", 'what a pack holds, such as "8 pieces" or "10 mL"'),
        ("sense", _BLADE, "CW or CCW, seen from above"),
        ("marks", _BLADE, 'TOML alone: what is read on blades, such as { "R" = "CW" }'),
        ("thread_hand", "", "RH or LH, where it has a thread"),
        ("blades_per_rotor", _BLADE, "how many blades a rotor has; 1 for a rotor of one piece"),
        ("hub", "", "a blade's hub: its part number"),
        ("hub_in_set", "", "yes (TOML: true) where the hub belongs to the set"),
        ("tolerance", "for a blade that is measured", 'the residual unbalance that a set may have, such as "5 g mm"'),
        ("tolerance_source", "with tolerance", "the paper that says so"),
        ("pairing_suffices", "", "yes (TOML: true) where the supplier's own pairing is a proof of match"),
        ("pairing_source", "with pairing_suffices", "the paper that says so"),
        ("mixes_lots", "", "yes (TOML: true) where a set may be of several lots"),
        ("trim_allowed", "", "yes (TOML: true) where the maker allows trimming"),
        ("thread", _SCREW, "such as M3"),
        ("length", _SCREW, 'such as "8 mm"; a fastener without length is a washer or a nut'),
        ("head", _SCREW, "socket head, button head or countersunk head, or the maker's own word"),
        ("drive", _SCREW, "such as hex"),
        ("property_class", _SCREW, "such as A2-70"),
        ("single_use", "", "yes (TOML: true) for what is never used twice"),
        ("single_dose", "", "yes (TOML: true) where a pack of a consumable is one dose"),
        ("expiry_needed", "", "yes (TOML: true) where nothing is accepted without an expiry"),
        ("shelf_life", "", 'from making, such as "730 days"'),
        ("opened_life", "", 'of an opened bottle, such as "365 days"'),
        ("life", "", 'the life limit in hours, such as "300 h"'),
        ("life_flights", "", "the life limit in flights, digits only"),
        ("life_calendar", "", 'the life limit from the first fit, such as "1095 days"'),
        ("source", "", "the paper that all this is from"),
    ),
    "types/*.toml": (
        ("type", ALWAYS, "the airframe type's name; one type a file"),
        ("revision", ALWAYS, "tables [[revision]], one for each revision"),
    ),
    "types/*.toml [[revision]]": (
        ("name", ALWAYS, "the revision's name"),
        ("source", ALWAYS, "the maker's paper that says so"),
        ("retorque", "", 'after which time screws are torqued again, such as "10 h"'),
        ("fixing", ALWAYS, "tables [[revision.fixing]], one for each way in which a hub is fastened"),
        ("position", ALWAYS, "tables [[revision.position]], one for each rotor"),
        ("group", "", "tables [[revision.group]], one for each named group of positions"),
        ("extra", "", "tables [[revision.extra]], one for each line of the kit list beside rotors and fasteners"),
    ),
    _FIXING: (
        ("name", ALWAYS, "the fixing's name"),
        ("screw", ALWAYS, "the screw's part number"),
        ("screws_per_hub", ALWAYS, "digits only, without quotes"),
        ("washer", "", "the washer's part number"),
        ("washers_per_hub", "with washer", "digits only, without quotes"),
        ("locker", "", "the threadlocker's part number"),
        ("locker_per_screw", "with locker", 'the nominal dose, such as "20 uL"'),
        ("torque_method", "", "torque, angle or snug; left out is torque"),
        ("torque", "for method torque", 'such as "0.8 N m"'),
        ("torque_tolerance", "", 'such as "0.05 N m"'),
        ("torque_text", "for the other methods", "how far, in words"),
        ("torque_condition", "for method torque", "the thread's: dry, lubricated or threadlocker"),
        ("torque_source", ALWAYS, "the paper that says so"),
        ("stack", "", 'what lies between head and thread, such as "4 mm"'),
        ("engagement_min", "", 'the least thread that the screw may engage, such as "3 mm"'),
        ("engagement_max", "", 'the most thread that the screw may engage, such as "4.5 mm"'),
    ),
    _POSITION: (
        ("name", ALWAYS, "the position's name, such as FR"),
        ("alias", "", "another name, such as the motor's number"),
        ("arm", ALWAYS, "the arm's name, such as front right"),
        ("level", "", "single, upper or lower; left out is single"),
        ("drive", "", "tractor or pusher; left out is tractor"),
        ("sense", ALWAYS, "CW or CCW, seen from above"),
        ("angle", ALWAYS, 'clockwise from the nose, such as "-45 deg"'),
        ("radius", ALWAYS, 'from the middle of the airframe, such as "420 mm"'),
        ("fixing", ALWAYS, "the name of a fixing of this revision"),
        ("approved", ALWAYS, 'part numbers of blades, such as ["RB-18-CW"]'),
    ),
    _GROUP: (
        ("name", ALWAYS, "the group's name"),
        ("positions", ALWAYS, 'names of positions, such as ["FL", "FR"]'),
    ),
    _EXTRA: (
        ("part", ALWAYS, "the part's number"),
        ("quantity", ALWAYS, 'such as "2 pieces" or "1.5 mL"'),
        ("per", "", "kit or hub; left out is kit"),
        ("unit", "", "pieces or volume; left out is pieces"),
    ),
}  # fmt: skip


def catalogue_form(*, file: str = "") -> tuple[CatalogueField, ...]:
    """Every field of a catalogue's files, file by file, in the order in which a reader takes them.

    Args:
        file: only the files whose name begins so, such as "parts".

    Raises:
        NotFound: no file of a catalogue begins so.
    """
    found = tuple(_fields(file.strip()))
    if not found:
        firsts = either(list(dict.fromkeys(name.split("/")[0] for name in _FORM)))
        raise NotFound(f"no file of a catalogue is named {file.strip()!r}; ask for {firsts}")
    return found


def _fields(file: str) -> Iterator[CatalogueField]:
    for name, fields in _FORM.items():
        if name.startswith(file):
            yield from (CatalogueField(name, *one) for one in fields)
