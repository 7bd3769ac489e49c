"""Verbs of the work at an aircraft: fit, fasten, inspect, walk, remove, torque again, findings, occurrences."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.reading import Key, record
from kittrack.cli.verb import Station, Verb, option, word, words
from kittrack.domain.torque import Method
from kittrack.services import fastening, findings, fitting, issuing, occurrences, removing, torquing, walking
from kittrack.services.fastening import TakenPart
from kittrack.services.walking import Seen

_JOB: Final = word("job", "the job's code")
_POSITION: Final = word("position", "the position's code, from the tag on the arm")
_MARK: Final = option("mark", "the mark, as read on the rotor itself", needed=True)
_METHODS: Final = tuple(m.value for m in Method)


def _taken(text: str) -> TakenPart:
    """Read "CODE=QUANTITY" for screws and washers, or the code alone of a threadlocker or a bottle."""
    code, mark, quantity = text.partition("=")
    return TakenPart(code.strip(), reading.pieces(quantity) if mark else 0)


_SEEN: Final = record(Seen, position=Key("position"), mark=Key("mark"))
_TORQUE: Final = (
    option("torque_mnm", 'the torque that was set, such as "0.8 N m"', read=reading.torque, flag="--torque"),
    option("tool", "code or name of the torque tool"),
    option("method", "how it was tightened", choices=_METHODS),
)

VERBS: Final = (
    Verb(
        "open", Station.AIRCRAFT, "Break the seal of an issued kit at its aircraft; its lines pass to the job.",
        'K000042-G --seal 004417 --by "Technician One"',
        issuing.open_at_aircraft,
        (
            word("kit", "the kit's code"),
            option("seal", "the seal, as read before it is broken", needed=True),
        ),
    ),
    Verb(
        "fit", Station.AIRCRAFT, "Put a rotor set on a position: label, mark and map must agree (R3).",
        'J000031-6 X000002-R R000012-3 --mark R --by "Technician One"',
        fitting.fit_set,
        (_JOB, _POSITION, word("rotor_set", "the set's code"), _MARK),
    ),
    Verb(
        "fasten", Station.AIRCRAFT, "Fasten the set that was put on a position, with new screws and a torque.",
        'J000031-6 X000002-R Y000004-T=4 Y000005-P=4 Y000009-B --torque "0.8 N m" --tool W000001-9 --by "Technician One"',
        fastening.fasten,
        (
            _JOB,
            _POSITION,
            words("parts", "CODE=QUANTITY of screws and washers; the code alone of threadlocker or a bottle", read=_taken),
            *_TORQUE,
        ),
    ),
    Verb(
        "inspect position", Station.AIRCRAFT, "Inspect a fastened position, as another person than its fitter (R8).",
        'J000031-6 X000002-R --mark R --by "Inspector One"',
        walking.inspect_position,
        (_JOB, _POSITION, _MARK),
    ),
    Verb(
        "walk", Station.AIRCRAFT, "The last check: every position of the airframe, its mark read again.",
        'J000031-6 "position=X000002-R; mark=R" "position=X000003-P; mark=L" --by "Inspector One"',
        walking.walk_positions,
        (_JOB, words("seen", 'each position: "position=CODE; mark=.."', read=_SEEN)),
    ),
    Verb(
        "unfit", Station.AIRCRAFT, "Take an unfinished fit off again; the set goes back to the job.",
        'J000031-6 X000002-R --reason "screw dropped" --by "Technician One"',
        fitting.take_off_unfinished,
        (_JOB, _POSITION),
    ),
    Verb(
        "stopped", Station.AIRCRAFT, "Keep that a scan was stopped for its sense, for the Office to count.",
        'J000031-6 X000002-R R000017-5 --mark L --by "Technician One"',
        fitting.record_refused_scan,
        (_JOB, _POSITION, word("scanned", "what was scanned as the set"), _MARK),
    ),
    Verb(
        "remove", Station.AIRCRAFT, "Take a rotor set off, whole, for good or for transport; answers with its tag (R10).",
        'J000031-6 X000002-R --mark R --reason "300 hours reached" --screws-out 4 --by "Technician One"',
        removing.remove_set,
        (
            _JOB,
            _POSITION,
            option("mark", "the mark, as read on the rotor; empty where none can be read", needed=True, empty_ok=True),
            option("purpose", "why it comes off; default replacement", choices=removing.PURPOSES),
            option("screws_out", "how many screws came out", read=reading.whole),
            option("to_place", "for transport: the bin, van or person that carries it", flag="--to"),
        ),
    ),
    Verb(
        "refit give-up", Station.AIRCRAFT, "Send a set that was taken off for transport to the removed-parts cage.",
        'R000012-3 --reason "arm damaged" --by "Technician One"',
        removing.give_up_refit,
        (word("rotor_set", "the set's code"),),
    ),
    Verb(
        "retorque", Station.AIRCRAFT, "Record that the screws of a fitted position were torqued again (R18).",
        'X000002-R --torque "0.8 N m" --tool W000001-9 --by "Technician One"',
        torquing.record_retorque,
        (_POSITION, *_TORQUE),
    ),
    Verb(
        "finding record", Station.AIRCRAFT, "Record what was physically found; it is never refused.",
        '"rotor of the wrong sense" --position X000002-R --rotor-set R000017-5 --mark L --by "Technician One"',
        findings.record_finding,
        (
            word("text", "what was found"),
            option("position", "the position where it was found"),
            option("airframe", "the airframe, where no position is meant"),
            option("job", "the job that it blocks; by default the airframe's open one"),
            option("rotor_set", "the set that is physically there"),
            option("mark", "the mark read on that rotor"),
            option("found", "what is there instead of a set of ours", choices=(findings.STRANGER, findings.NOTHING)),
        ),
    ),
    Verb(
        "finding settle", Station.AIRCRAFT, "Settle a finding with what was done about it.",
        '3 "set taken off, right one fitted" --by "Inspector One"',
        findings.settle_finding,
        (
            word("finding", "the finding's number", read=reading.whole),
            word("text", "what was done"),
        ),
    ),
    Verb(
        "occurrence", Station.AIRCRAFT, "Record an accident or incident; the airframe's parts are held as evidence.",
        'QA-01 "hard landing, two tips broken" --happened-at 2026-03-02T14:05+01:00 --by "Technician One"',
        occurrences.record_occurrence,
        (
            word("airframe", "code or tail"),
            word("text", "what happened"),
            option("happened_at", "when it happened, with the offset, such as 2027-03-31 14:05 +02:00", read=reading.instant, needed=True),
            option("reference", "the number of a report"),
        ),
    ),
)  # fmt: skip
