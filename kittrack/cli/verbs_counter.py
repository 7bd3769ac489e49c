"""Verbs of the counter: jobs, reservations, issue and return."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.positions import POSITIONS, with_coverage
from kittrack.cli.verb import Station, Values, Verb, option, word, words
from kittrack.domain.codes import Kind
from kittrack.errors import BadInput
from kittrack.services import issuing, jobs, leaving_out, returning
from kittrack.services.issuing import Waiver
from kittrack.services.returning import Leftover, Missing

_KIT: Final = word("kit", "the kit's code")
_JOB: Final = word("job", "the job's code")
_CLOSED: Final = "closed"


def _waiver(values: Values) -> Values:
    """The override takes a reason and a second person, or neither is given."""
    given = [values.pop(name, "") for name in ("override", "second")]
    if any(given) and not all(given):
        raise BadInput("An override takes a reason and a second person; give --override and --second.")
    return values | ({"waiver": Waiver(*given)} if all(given) else {})


def _missing(text: str) -> Missing:
    """Read "CODE" or "CODE=QUANTITY"."""
    code, mark, quantity = text.partition("=")
    return Missing(code.strip(), reading.amount_only(quantity) if mark else 1)


def _leftover(text: str) -> Leftover:
    """Read "CODE", "CODE=QUANTITY" or either with ":closed"."""
    rest, mark, closed = text.partition(":")
    if mark and closed.strip() != _CLOSED:
        raise BadInput(f"After the colon stands {_CLOSED!r} or nothing; write CODE=QUANTITY:{_CLOSED}.")
    found = _missing(rest)
    return Leftover(found.code, found.quantity, bag_closed=bool(mark))


_OPENED: Final = (
    _KIT,
    option("missing", "what is not there any more: CODE or CODE=QUANTITY", read=_missing, many=True),
    option(
        "closed_bags",
        "a receipt line or bottle whose own bag is still closed",
        flag="--closed-bag",
        many=True,
    ),
)

VERBS: Final = (
    Verb(
        "job open", Station.COUNTER, "Open a job for positions of an airframe; answers with its code.",
        'QA-01 "rotor change at 300 hours" --group front --by "Technician One"',
        jobs.open_job,
        (word("airframe", "code or tail"), word("purpose", "why the work is done"), *POSITIONS),
        build=with_coverage,
    ),
    Verb(
        "job lose", Station.AIRCRAFT, "Record that something issued to a job is lost, such as a dropped screw.",
        'J000031-6 Y000004-T --quantity 1 --reason "dropped into the grass" --by "Technician One"',
        jobs.lose,
        (
            _JOB,
            word("thing", "the receipt line, bottle or rotor set"),
            option("quantity", "how much of a receipt line", read=reading.amount_only),
        ),
    ),
    Verb(
        "job leave-out", Station.AIRCRAFT, "Leave positions out of an open job at which nothing was begun.",
        'J000031-6 X000028-7 X000029-5 --reason "these blades are sound" --by "Technician One"',
        leaving_out.leave_out,
        (_JOB, words("positions", "the positions that stay as they are", scans=(Kind.POSITION,))),
    ),
    Verb(
        "job close", Station.AIRCRAFT, "Close a job whose work is done and settled (R11).",
        'J000031-6 --by "Inspector One"',
        jobs.close_job,
        (_JOB,),
    ),
    Verb(
        "reserve", Station.COUNTER, "Keep a kit or a rotor set for a job until the end of a day.",
        'J000031-6 K000042-G 2026-03-06 --by "Clerk One"',
        jobs.reserve,
        (
            _JOB,
            word("thing", "the kit's or the set's code"),
            word("until", "the last day", read=reading.day),
        ),
    ),
    Verb(
        "unreserve", Station.COUNTER, "End a reservation before its day.",
        'K000042-G --reason "job put off" --by "Clerk One"',
        jobs.release_reservation,
        (word("thing", "the kit's or the set's code"),),
    ),
    Verb(
        "issue", Station.COUNTER, "Hand a sealed kit over, whole, for a job; answers with the voucher.",
        'K000042-G J000031-6 --seal 004417 --to "Technician One" --by "Clerk One"',
        issuing.issue_kit,
        (
            _KIT,
            _JOB,
            option("seal", "the seal, as read on the kit at the counter", needed=True),
            option("receiver", "badge or name of who takes it", flag="--to", needed=True),
            option("airframe", "the airframe as scanned; by default the job's"),
            option("override", "why a kit built for another airframe is issued to this one (R20)"),
            option("second", "badge or name of who confirms the override"),
        ),
        build=_waiver,
    ),
    Verb(
        "return unopened", Station.COUNTER, "Take an issued kit back with its seal intact.",
        'K000042-G A-02 --seal 004417 --by "Clerk One"',
        returning.return_unopened,
        (
            _KIT,
            word("to_place", "the bin, van or hold cage where it goes"),
            option("seal", "the seal, as read on the kit", needed=True),
        ),
    ),
    Verb(
        "return opened", Station.COUNTER, "Take an issued kit back that was opened elsewhere; its number is dead.",
        'K000042-G --missing Y000004-T=3 --closed-bag Y000005-P --reason "bag torn in the van" --by "Clerk One"',
        returning.return_opened,
        _OPENED,
    ),
    Verb(
        "return leftovers", Station.COUNTER, "Take back what a job has left (R9, R11).",
        'J000031-6 Y000004-T=4 Y000005-P=4:closed R000012-3 --by "Clerk One"',
        returning.return_leftovers,
        (
            _JOB,
            words("items", "CODE or CODE=QUANTITY, with :closed where its own bag was never opened", read=_leftover),
        ),
    ),
    Verb(
        "kit open", Station.KITTING, "Record that a sealed kit was opened that nobody had been issued; its number is dead.",
        'K000042-G --reason "seal found broken" --by "Clerk One"',
        returning.open_kit,
        _OPENED,
    ),
)  # fmt: skip
