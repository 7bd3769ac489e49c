"""Verbs of the counter: issue and return."""

from typing import Final

from kittrack.cli.verb import Station, Values, Verb, option, word
from kittrack.errors import BadInput
from kittrack.services import issuing
from kittrack.services.issuing import Waiver


def _waiver(values: Values) -> Values:
    """The override takes a reason and a second person, or neither is given."""
    given = [values.pop(name, "") for name in ("override", "second")]
    if any(given) and not all(given):
        raise BadInput("An override takes a reason and a second person; give --override and --second.")
    return values | ({"waiver": Waiver(*given)} if all(given) else {})


VERBS: Final = (
    Verb(
        "issue", Station.COUNTER, "Hand a sealed kit over, whole, for a job; answers with the voucher.",
        'K000042-G J000031-6 --seal 004417 --to "Technician One" --by "Clerk One"',
        issuing.issue_kit,
        (
            word("kit", "the kit's code"),
            word("job", "the job's code"),
            option("seal", "the seal, as read on the kit at the counter", needed=True),
            option("receiver", "badge or name of who takes it", flag="--to", needed=True),
            option("airframe", "the airframe as scanned; by default the job's"),
            option("override", "why a kit built for another airframe is issued to this one (R20)"),
            option("second", "badge or name of who confirms the override"),
        ),
        build=_waiver,
    ),
)  # fmt: skip
