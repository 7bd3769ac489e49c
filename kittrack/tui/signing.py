"""Who is signed on at these stations, and the cautions that each person reads once."""

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Final

from kittrack.errors import Refusal, Refused
from kittrack.queries.people import Who, who_is
from kittrack.services import founding

if TYPE_CHECKING:
    from kittrack.tui.store_thread import StoreThread

CAUTIONS: Final = (
    "kittrack records and checks; it does not replace the maker's manual, the operator's procedures, local "
    "rules, or the judgement of the licensed or authorised person who releases the aircraft.",
    "A sense check by scan never replaces reading the mark on the rotor and a motor-direction test with "
    "rotors off.",
    "Computed torque and balance figures are plausibility checks; the maker's figure decides.",
)
"""What each person reads before the first act. Source: design 9."""


def now() -> datetime:
    """The instant of an act, with the local offset; the one place where the stations look at the clock."""
    return datetime.now(UTC).astimezone()


async def sign_on(store: "StoreThread", who: str) -> Who:
    """The person who signs on by badge or exact name.

    Raises:
        NotFound: nobody is known so.
        Refused: the person has left.
    """
    found = await store.ask(who_is, who=who)
    if not found.is_here:
        message = f"{found.name} has left and can't sign on; scan the badge of somebody who is here."
        raise Refused([Refusal("R8", found.code, message)])
    return found


def has_read_cautions(who: Who) -> bool:
    """Whether the person has acknowledged the cautions as they read now."""
    return founding.CAUTIONS in who.acknowledged


async def acknowledge(store: "StoreThread", who: Who, *, at: datetime) -> Who:
    """Keep that the person has read the cautions; answers with the person as known then."""
    await store.ask(founding.acknowledge_cautions, by=who.code, at=at)
    return await store.ask(who_is, who=who.code)
