"""Verbs of airframes: adding, hours, type revision, sense map, leaving the fleet."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.verb import Station, Values, Verb, option, word, words
from kittrack.services import airframe_leaving, airframes, sense_maps
from kittrack.services.airframes import AirframeSpec

_AIRFRAME: Final = word("airframe", "code or tail")
_SENSE: Final = reading.pair_of("POSITION", str.strip, "CW or CCW")
_SOURCE: Final = option("source", "the paper or work that says so", needed=True)


def _spec(values: Values) -> Values:
    return {"spec": AirframeSpec(**values)}


def _senses(values: Values) -> Values:
    return values | {"senses": dict(values["senses"])}


def _seen(values: Values) -> Values:
    return values | {"seen": dict(values["seen"])}


VERBS: Final = (
    Verb(
        "airframe add", Station.OFFICE, "Add a tail; answers with its code and those of its positions.",
        'QA-03 QA A --hours 0:00 --flights 0 --reading-source new --by "Manager One"',
        airframes.add_airframe,
        (
            word("tail", "the tail number"),
            word("airframe_type", "the type's name"),
            word("revision", "the type revision's name"),
            option("minutes", "total hours as h:mm", read=reading.minutes, flag="--hours"),
            option("flights", "total flights", read=reading.whole),
            option("reading_source", "where hours and flights were read"),
            option("verified_how", "how its senses were verified by motor test"),
            option("apron", "the apron where it stands"),
        ),
        build=_spec,
    ),
    Verb(
        "airframe hours", Station.OFFICE, "Enter an airframe's total hours and flights; they never fall.",
        'QA-01 123:45 310 --source "flight log" --by "Technician One"',
        airframes.enter_usage,
        (
            _AIRFRAME,
            word("minutes", "total hours as h:mm", read=reading.minutes, called="HOURS"),
            word("flights", "total flights", read=reading.whole),
            _SOURCE,
        ),
    ),
    Verb(
        "airframe revise", Station.OFFICE, "Bring an airframe to another revision of its type (R7, R21).",
        'QA-01 B --source "modification 12" --second "Inspector One" --by "Manager One"',
        airframes.change_type_revision,
        (_AIRFRAME, word("revision", "the other revision's name"), _SOURCE),
    ),
    Verb(
        "airframe sell", Station.OFFICE, "Record that an airframe is sold to a new owner, with all that is fitted to it.",
        'QA-01 "Invented Surveys" --reason "fleet renewal" --by "Manager One"',
        airframe_leaving.sell_airframe,
        (_AIRFRAME, word("new_owner", "the new owner, a company of the catalogue; another one is added first (company add)")),
    ),
    Verb(
        "airframe write-off", Station.OFFICE, "Write an airframe off with all that is fitted to it.",
        'QA-01 --reason "lost at sea" --by "Manager One"',
        airframe_leaving.write_off_airframe,
        (_AIRFRAME,),
    ),
    Verb(
        "map revise", Station.OFFICE, "Give an airframe's sense map a new revision, not verified yet (R17, R21).",
        'QA-01 FR=CW FL=CCW --source "wiring plan 3" --second "Inspector One" --by "Manager One"',
        sense_maps.revise_sense_map,
        (_AIRFRAME, words("senses", "POSITION=CW or POSITION=CCW, each that changes", read=_SENSE), _SOURCE),
        build=_senses,
    ),
    Verb(
        "map test", Station.AIRCRAFT, "Record which way every motor turned, rotors off (R17).",
        'QA-01 FR=CCW RL=CCW FL=CW RR=CW --source "procedure 4.1" --second "Inspector One" --by "Technician One"',
        sense_maps.record_motor_test,
        (_AIRFRAME, words("seen", "POSITION=CW or POSITION=CCW for every position", read=_SENSE), _SOURCE),
        build=_seen,
    ),
    Verb(
        "map work", Station.AIRCRAFT, "Record work on a motor, wiring or speed controller: the map is not verified any more.",
        'QA-01 motor FR --reason "bearing renewed" --by "Technician One"',
        sense_maps.record_motor_work,
        (
            _AIRFRAME,
            word("work", "what was worked on", choices=sense_maps.WORK),
            words("positions", "where; none for the whole airframe", needed=False),
        ),
        build=lambda values: {"positions": ()} | values,
    ),
)  # fmt: skip
