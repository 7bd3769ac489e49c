"""Verbs that add to the catalogue: companies, kinds of paper, tools, airframe types and whole folders."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.reading import Key, record
from kittrack.cli.tables import Table, listing
from kittrack.cli.verb import Station, Values, Verb, option, switch, word, words
from kittrack.domain.torque import Method
from kittrack.queries import catalogue_form
from kittrack.queries.catalogue_form import CatalogueField
from kittrack.services import catalogue, catalogue_files
from kittrack.services.catalogue_small import TOOL_KINDS
from kittrack.services.catalogue_specs import (
    CompanySpec,
    ExtraSpec,
    FixingSpec,
    GroupSpec,
    PositionSpec,
    ToolSpec,
    TypeRevisionSpec,
)
from kittrack.store.private import path_named

_TOOL: Final = word("tool", "code or name of the tool")
_PAPER: Final = (
    word("paper_class", "the class of part, as the parts name it"),
    word("kind", "the kind of paper"),
)
_FIXING: Final = record(
    FixingSpec, name=Key("name"), screw=Key("screw"), screws=Key("screws_per_hub", reading.whole), washer=Key("washer"),
    washers=Key("washers_per_hub", reading.whole), locker=Key("locker"), dose=Key("locker_ul_per_screw", reading.volume),
    method=Key("torque_method"), torque=Key("torque_mnm", reading.torque),
    tolerance=Key("torque_tolerance_mnm", reading.torque), text=Key("torque_text"), condition=Key("torque_condition"),
    source=Key("torque_source"), stack=Key("stack_um", reading.length), engagement_min=Key("engagement_min_um", reading.length),
    engagement_max=Key("engagement_max_um", reading.length),
)  # fmt: skip
_POSITION: Final = record(
    PositionSpec, name=Key("name"), arm=Key("arm"), sense=Key("sense"), angle=Key("angle_mdeg", reading.angle),
    radius=Key("radius_um", reading.length), fixing=Key("fixing"), approved=Key("approved", reading.listed),
    alias=Key("alias"), level=Key("level"), drive=Key("drive"),
)  # fmt: skip
_EXTRA: Final = record(
    ExtraSpec, part=Key("part"), quantity=Key("quantity", reading.amount_only), per=Key("per")
)
_GROUP: Final = reading.pair_of("GROUP", reading.listed, "POSITION,POSITION")


def _company(values: Values) -> Values:
    return {"spec": CompanySpec(**values)}


def _tool(values: Values) -> Values:
    return {"spec": ToolSpec(**values)}


def _revision(values: Values) -> Values:
    groups = tuple(GroupSpec(name=name, positions=positions) for name, positions in values.pop("groups", ()))
    return {"spec": TypeRevisionSpec(groups=groups, **values)}


def _form(found: tuple[CatalogueField, ...]) -> list[Table]:
    files = dict.fromkeys(one.file for one in found)
    return [
        listing([one for one in found if one.file == file], "field", "needed", "holds", title=file)
        for file in files
    ]


VERBS: Final = (
    Verb(
        "catalogue load", Station.OFFICE, "Load a whole catalogue from a folder of text files: all of it or nothing.",
        'my-catalogue/ --by "Manager One"',
        catalogue_files.load_catalogue,
        (word("folder", "the folder; `catalogue form` tells its files and their fields", read=path_named),),
    ),
    Verb(
        "catalogue form", Station.OFFICE, "The files of a catalogue, their fields, and what stands in each.",
        "parts",
        catalogue_form.catalogue_form,
        (word("file", "only the files whose name begins so", needed=False),),
        show=_form,
        rows=lambda fields: fields,
        opens_store=False,
    ),
    Verb(
        "company add", Station.OFFICE, "Add a maker, a supplier or a new owner.",
        '"Invented Rotors" --maker --supplier --lead-time 14 --by "Manager One"',
        catalogue.add_company,
        (
            word("name", "the company's name"),
            switch("is_maker", "it makes parts"),
            switch("is_supplier", "it supplies parts"),
            option("lead_time_days", "days from order to delivery", read=reading.whole, flag="--lead-time"),
        ),
        build=_company,
    ),
    Verb(
        "paper allow", Station.OFFICE, "Say that a kind of paper suffices for a class of part (R14).",
        'rotor "certificate of conformity" --by "Manager One"',
        catalogue.add_paper_kind,
        _PAPER,
    ),
    Verb(
        "paper withdraw", Station.OFFICE, "Say that a kind of paper does not suffice any more (R14).",
        'rotor "delivery note" --reason "audit of March" --by "Manager One"',
        catalogue.withdraw_paper_kind,
        _PAPER,
    ),
    Verb(
        "tool add", Station.OFFICE, "Add a torque tool or a scale; answers with its code.",
        '"Torque driver 2" torque --from "0.5 N m" --to "5 N m" --calibrated-until 2027-01-31 --by "Manager One"',
        catalogue.add_tool,
        (
            word("name", "the tool's name"),
            word("kind", "what it is", choices=TOOL_KINDS),
            option("min_mnm", "least torque", read=reading.torque, flag="--from"),
            option("max_mnm", "greatest torque", read=reading.torque, flag="--to"),
            option("resolution_ug", "a scale's resolution", read=reading.mass, flag="--resolution"),
            option("uncertainty_ug", "a scale's uncertainty", read=reading.mass, flag="--uncertainty"),
            option("repeatability_ug", "a scale's repeatability", read=reading.mass, flag="--repeatability"),
            option("ruler_um", "the uncertainty of the radius", read=reading.length, flag="--ruler"),
            option("calibrated_until_on", "last day of the calibration", read=reading.day_text, flag="--calibrated-until"),
        ),
        build=_tool,
    ),
    Verb(
        "tool calibrate", Station.OFFICE, "Record a new calibration of a tool.",
        'W000001-9 2028-01-31 --source "certificate 88" --by "Manager One"',
        catalogue.calibrate_tool,
        (
            _TOOL,
            word("until", "last day of the calibration", read=reading.day),
            option("source", "the certificate that says so", needed=True),
        ),
    ),
    Verb(
        "tool retire", Station.OFFICE, "Take a tool out of use; its records stay.",
        'W000001-9 --reason "dropped" --by "Manager One"',
        catalogue.retire_tool,
        (_TOOL,),
    ),
    Verb(
        "type add", Station.OFFICE, "Add a design of airframe; its revisions follow.",
        'QB --by "Manager One"',
        catalogue.add_airframe_type,
        (word("name", "the type's name"),),
    ),
    Verb(
        "type revise", Station.OFFICE, "Add a revision of an airframe type: positions, fixings, approved parts, kit list.",
        'QB A --source "manual 1" --fixing "name=hub; screw=SC-M3x8; screws=4; torque=0.8 N m; condition=dry; source=manual 5" '
        '--position "name=FR; arm=FR; sense=CCW; angle=45; radius=300 mm; fixing=hub; approved=RB-18-CCW" --by "Manager One"',
        catalogue.add_type_revision,
        (
            word("airframe_type", "the type's name"),
            word("name", "the revision's name"),
            option(
                "fixings", "a hub fixing: name=, screw=, screws=, washer=, washers=, locker=, dose= (for each screw), torque=, "
                f"tolerance=, condition=, source=, method= ({', '.join(m.value for m in Method)}), text=, stack=, engagement min=, "
                "engagement max=", read=_FIXING, flag="--fixing", many=True, needed=True,
            ),
            option(
                "positions", "a position: name=, arm=, sense=, angle= (degrees clockwise from the nose), radius=, fixing=, "
                "approved=PART,PART, alias=, level= (single, upper, lower), drive= (tractor, pusher)",
                read=_POSITION, flag="--position", many=True, needed=True,
            ),
            option("groups", "a group of positions: GROUP=POSITION,POSITION", read=_GROUP, flag="--group", many=True, parted=";"),
            option("extras", "an extra of the kit list: part=, quantity=, per= (kit or hub)", read=_EXTRA, flag="--extra", many=True),
            option("retorque_minutes", "hours after which a re-torque falls due", read=reading.minutes, flag="--retorque"),
            option("source", "the maker's paper that says so", needed=True),
        ),
        build=_revision,
    ),
    Verb(
        "type group", Station.OFFICE, "Name a group of positions of a type revision.",
        'QA A front FL FR --by "Manager One"',
        catalogue.add_position_group,
        (
            word("airframe_type", "the type's name"),
            word("revision", "the type revision's name"),
            word("name", "the group's name"),
            words("positions", "its positions"),
        ),
    ),
)  # fmt: skip
