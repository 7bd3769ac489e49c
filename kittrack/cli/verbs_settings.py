"""Verbs that change a versioned setting: a manager, a second person and a source (R21)."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.verb import Station, Values, Verb, option, word, words
from kittrack.domain.threads import Condition
from kittrack.domain.torque import Method
from kittrack.services import settings, settings_kit_list, settings_types
from kittrack.services.catalogue_specs import ExtraSpec, Mark
from kittrack.services.settings_types import Tightening

_PART: Final = word("part", 'part number, or "maker: number"')
_SOURCE: Final = option("source", "the maker's paper that says so", needed=True)
_TYPE: Final = (word("airframe_type", "the type's name"), word("revision", "the type revision's name"))
_POSITIONS: Final = words("positions", "positions by name, or all")
_WHO: Final = '--second "Inspector One" --by "Manager One"'
_TIGHTENING: Final = ("method", "torque_mnm", "tolerance_mnm", "condition", "text")


def read_mark(text: str) -> Mark:
    """Read "MARK=CW"."""
    mark, sense = reading.pair_of("MARK", str.strip, "CW or CCW")(text)
    return Mark(text=mark, sense=sense)


def _tightening(values: Values) -> Values:
    given = {name: values.pop(name) for name in _TIGHTENING if name in values}
    return values | {"tightening": Tightening(**given)}


def _extra(values: Values) -> Values:
    given = {name: values.pop(name) for name in ("part", "quantity", "per") if name in values}
    return values | {"extra": ExtraSpec(**given)}


VERBS: Final = (
    Verb(
        "setting marks", Station.OFFICE, "Give a blade part a new table of marks (R2).",
        f'RB-18-CW R=CW CW=CW --source "maker\'s sheet 2" {_WHO}',
        settings.change_mark_table,
        (_PART, words("marks", "MARK=CW or MARK=CCW, the whole table", read=read_mark), _SOURCE),
    ),
    Verb(
        "setting tolerance", Station.OFFICE, "Change the residual unbalance that a set of a part may have (R19).",
        f'RB-18-CW "4 g mm" --source "maker\'s sheet 2" {_WHO}',
        settings.change_tolerance,
        (_PART, word("tolerance_g_um", 'a moment, such as "4 g mm"', read=reading.moment), _SOURCE),
    ),
    Verb(
        "setting pairing", Station.OFFICE, "Say whether the supplier's own pairing is a proof of match (R19).",
        f'RB-18-CW no --source "maker\'s sheet 2" {_WHO}',
        settings.change_pairing,
        (_PART, word("suffices", "yes or no", read=reading.yes_no), _SOURCE),
    ),
    Verb(
        "setting supersession", Station.OFFICE, "Withdraw a supersession: the part may be used again.",
        f'SC-M3x8 --source "maker\'s letter" {_WHO}',
        settings.withdraw_supersession,
        (_PART, _SOURCE),
    ),
    Verb(
        "setting torque", Station.OFFICE, "Change how a hub fixing of a type revision is tightened (R18).",
        f'QA A hub --torque "0.9 N m" --condition threadlocker --source "manual 5.3" {_WHO}',
        settings_types.change_torque,
        (
            *_TYPE,
            word("fixing", "the fixing's name in that revision"),
            option("method", "how it is tightened; default torque", choices=tuple(m.value for m in Method)),
            option("torque_mnm", 'the torque, such as "0.9 N m"', read=reading.torque, flag="--torque"),
            option("tolerance_mnm", "its tolerance; left empty, that of the tool's class holds", read=reading.torque, flag="--tolerance"),
            option("condition", "the thread's condition, needed with a torque", choices=tuple(c.value for c in Condition)),
            option("text", "for the other methods, how far, in words"),
            _SOURCE,
        ),
        build=_tightening,
    ),
    Verb(
        "setting approve", Station.OFFICE, "Approve a rotor part for positions of a type revision (R6).",
        f'QA A RB-19-CW FL RR --source "bulletin 4" {_WHO}',
        settings_types.approve_part,
        (*_TYPE, _PART, _POSITIONS, _SOURCE),
    ),
    Verb(
        "setting withdraw", Station.OFFICE, "Withdraw the approval of a rotor part (R6).",
        f'QA A RB-18-CW all --source "bulletin 5" {_WHO}',
        settings_types.withdraw_part,
        (*_TYPE, _PART, _POSITIONS, _SOURCE),
    ),
    Verb(
        "setting retorque", Station.OFFICE, "Change after which time a re-torque falls due (R18).",
        f'QA A 10:00 --source "manual 5.4" {_WHO}',
        settings_types.change_retorque,
        (*_TYPE, word("minutes", "hours as h:mm, or none", read=reading.or_none(reading.minutes), called="HOURS"), _SOURCE),
    ),
    Verb(
        "setting kit-list", Station.OFFICE, "Add an extra to the kit list of a type revision, or change it (R4).",
        f'QA A "Invented Rotors: TW-1" 2 --per kit --source "manual 2" {_WHO}',
        settings_kit_list.change_kit_list,
        (
            *_TYPE,
            _PART,
            word("quantity", "pieces or a volume", read=reading.amount_only),
            option("per", "for the kit or for each hub; default kit", choices=("kit", "hub")),
            _SOURCE,
        ),
        build=_extra,
    ),
    Verb(
        "setting kit-list-off", Station.OFFICE, "Take an extra off the kit list of a type revision (R4).",
        f'QA A "Invented Rotors: TW-1" --per kit --source "bulletin 6" {_WHO}',
        settings_kit_list.end_kit_list_line,
        (
            *_TYPE,
            _PART,
            option("per", "for the kit or for each hub; default kit", choices=("kit", "hub")),
            _SOURCE,
        ),
    ),
)  # fmt: skip
