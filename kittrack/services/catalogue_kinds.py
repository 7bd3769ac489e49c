"""The kinds of row that a catalogue folder holds: its columns, how a row is read, checked and written.

A kind turns a row into a spec, and knows the spec's own name and the names that it leans on, so that a row
whose maker could not be read is not blamed for an unknown maker. Source: design 3, R16.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Generic, TypeVar

from kittrack.domain import dates
from kittrack.domain.quantities import Dimension
from kittrack.errors import BadInput, Problem
from kittrack.services import desk, founding
from kittrack.services.airframes import AirframeSpec, check_airframe, write_airframe
from kittrack.services.catalogue_faults import choice, collecting, fault, raise_any, texts
from kittrack.services.catalogue_rows import Row
from kittrack.services.catalogue_small import (
    check_company,
    check_paper_kind,
    check_tool_row,
    write_company,
    write_paper_kind,
    write_tool,
)
from kittrack.services.catalogue_specs import CompanySpec, PaperKindSpec, ToolSpec
from kittrack.store.act import Act
from kittrack.store.records import ROLES, Person, PersonRole, Place, Site

S = TypeVar("S")
Said = tuple[str, ...]

COLUMNS_OF_SPECS: Mapping[str, str] = {
    "is_maker": "maker", "is_supplier": "supplier", "lead_time_days": "lead_time", "min_mnm": "from", "max_mnm": "to",
    "resolution_ug": "resolution", "uncertainty_ug": "uncertainty", "repeatability_ug": "repeatability",
    "ruler_um": "ruler", "calibrated_until_on": "calibrated_until", "airframe_type": "type", "minutes": "hours",
    "pack_quantity": "pack", "hub_part": "hub", "tolerance_g_um": "tolerance", "length_um": "length",
    "shelf_life_days": "shelf_life", "opened_life_days": "opened_life", "life_minutes": "life",
    "life_days": "life_calendar", "torque_mnm": "torque", "torque_tolerance_mnm": "torque_tolerance",
    "locker_ul_per_screw": "locker_per_screw", "stack_um": "stack", "engagement_min_um": "engagement_min",
    "engagement_max_um": "engagement_max", "retorque_minutes": "retorque", "angle_mdeg": "angle", "radius_um": "radius",
}  # fmt: skip
"""What the files call the fields of the specs, where it differs: people write amounts with their unit."""


@dataclass(frozen=True)
class Kind(Generic[S]):
    """One kind of row; see the module."""

    words: tuple[str, str]
    read: Callable[[Row], S]
    check: Callable[[S], list[Problem]]
    write: Callable[[Act, S], Said]
    name: Callable[[S], str]
    leans_on: Callable[[S], Iterable[str]] = lambda _: ()


# ---- sites, places, people ----------------------------------------------------------------------------


@dataclass(frozen=True)
class SiteSpec:
    """A site and its time zone."""

    name: str
    time_zone: str


@dataclass(frozen=True)
class PlaceSpec:
    """A bin, bench, van, cage or apron of a site."""

    kind: str
    name: str
    site: str


@dataclass(frozen=True)
class PersonSpec:
    """A person with roles; `same_human_as` names another badge of the same human."""

    name: str
    roles: tuple[str, ...]
    is_script: bool
    same_human_as: str


def check_site(spec: SiteSpec) -> list[Problem]:
    """Every fault of a site."""
    found = texts(spec, needed=("name",))
    with collecting(found, field="time_zone"):
        dates.local_day(datetime(2000, 1, 1, tzinfo=UTC), zone=spec.time_zone)
    return found


def _write_site(act: Act, spec: SiteSpec) -> Said:
    known = act.find(Site, name=spec.name)
    if known and known.time_zone != spec.time_zone:
        raise BadInput(
            f"The site {spec.name!r} is known with time zone {known.time_zone}; it stays so.",
            field="time_zone",
        )
    if not known:
        act.insert(Site(name=spec.name, time_zone=spec.time_zone))
    return ()


def _check_place(spec: PlaceSpec) -> list[Problem]:
    return texts(spec, needed=("name", "site")) + choice("kind", spec.kind, founding.SHELF_KINDS)


def _write_place(act: Act, spec: PlaceSpec) -> Said:
    site = act.find(Site, name=spec.site)
    if site is None:
        raise BadInput(f"There is no site {spec.site!r}; add it to sites.csv.", field="site")
    known = act.find(Place, kind=spec.kind, name=spec.name)
    if known and known.site_id != site.id:
        raise BadInput(
            f"{spec.kind} {spec.name!r} stands at another site already; take another name.", field="name"
        )
    if not known:
        founding.write_place(act, spec.kind, spec.name, site)
    return ()


def _check_person(spec: PersonSpec) -> list[Problem]:
    found = texts(spec, needed=("name",))
    if not spec.roles:
        found.append(fault("roles", f"The person has no role; give one or more of: {', '.join(ROLES)}."))
    return found + [p for role in spec.roles for p in choice("roles", role, ROLES)]


def _write_person(act: Act, spec: PersonSpec) -> Said:
    known = act.find(Person, name=spec.name)
    if known:
        held = {r.role for r in act.select(PersonRole, "person_id = ? AND active = 1", known.id)}
        if held != set(spec.roles) or bool(known.is_script) != spec.is_script:
            raise BadInput(
                f"{spec.name} is known with other roles; change them with set roles.", field="roles"
            )
        return ()
    same = None
    if spec.same_human_as:
        found: list[Problem] = []
        with collecting(found, field="same_human_as"):
            other = desk.find_person(act, spec.same_human_as)
            same = other.same_human_as_id or other.id
        raise_any(found)
    founding.write_person(act, spec.name, spec.roles, is_script=int(spec.is_script), same_human_as_id=same)
    return ()


SITE = Kind(
    ("site", "sites"),
    lambda row: SiteSpec(row.text("name"), row.text("time_zone")),
    check_site, _write_site, lambda s: f"site {s.name}",
)  # fmt: skip
PLACE = Kind(
    ("place", "places"),
    lambda row: PlaceSpec(row.text("kind"), row.text("name"), row.text("site")),
    _check_place, _write_place, lambda s: f"place {s.kind} {s.name}", lambda s: (f"site {s.site}",),
)  # fmt: skip
PERSON = Kind(
    ("person", "people"),
    lambda row: PersonSpec(row.text("name"), row.texts("roles"), row.flag("script"), row.text("same_human_as")),
    _check_person, _write_person, lambda s: f"person {s.name}", lambda s: (f"person {s.same_human_as}",),
)  # fmt: skip


# ---- the flat rows of the catalogue --------------------------------------------------------------------


def _company(row: Row) -> CompanySpec:
    return CompanySpec(
        name=row.text("name"), is_maker=row.flag("maker"), is_supplier=row.flag("supplier"),
        lead_time_days=row.days("lead_time"),
    )  # fmt: skip


def _tool(row: Row) -> ToolSpec:
    return ToolSpec(
        name=row.text("name"), kind=row.text("kind"),
        min_mnm=row.quantity("from", Dimension.TORQUE), max_mnm=row.quantity("to", Dimension.TORQUE),
        resolution_ug=row.quantity("resolution", Dimension.MASS), uncertainty_ug=row.quantity("uncertainty", Dimension.MASS),
        repeatability_ug=row.quantity("repeatability", Dimension.MASS), ruler_um=row.quantity("ruler", Dimension.LENGTH),
        calibrated_until_on=row.date("calibrated_until"),
    )  # fmt: skip


def _airframe(row: Row) -> AirframeSpec:
    return AirframeSpec(
        tail=row.text("tail"), airframe_type=row.text("type"), revision=row.text("revision"),
        minutes=row.quantity("hours", Dimension.TIME), flights=row.whole("flights"),
        reading_source=row.text("reading_source"), verified_how=row.text("verified_how"), apron=row.text("apron"),
    )  # fmt: skip


def _written(write: Callable[[Act, Any], object]) -> Callable[[Act, Any], Said]:
    def quietly(act: Act, spec: Any) -> Said:
        write(act, spec)
        return ()

    return quietly


def _with_warnings(write: Callable[[Act, Any], tuple[object, Said]]) -> Callable[[Act, Any], Said]:
    return lambda act, spec: write(act, spec)[1]


COMPANY = Kind(
    ("company", "companies"), _company, check_company, _written(write_company), lambda s: f"company {s.name}",
)  # fmt: skip
PAPER = Kind(
    ("kind of paper", "kinds of paper"),
    lambda row: PaperKindSpec(paper_class=row.text("paper_class"), kind=row.text("kind")),
    check_paper_kind, _written(write_paper_kind), lambda s: f"paper {s.paper_class} {s.kind}",
)  # fmt: skip
TOOL = Kind(
    ("tool", "tools"), _tool, check_tool_row, _with_warnings(write_tool), lambda s: f"tool {s.name}",
)  # fmt: skip
AIRFRAME = Kind(
    ("airframe", "airframes"), _airframe, check_airframe, _with_warnings(write_airframe), lambda s: f"airframe {s.tail}",
    lambda s: (f"revision {s.airframe_type} {s.revision}", f"place apron {s.apron}"),
)  # fmt: skip
