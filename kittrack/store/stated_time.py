"""The time that an act is stated for, against the clock of the computer that records it.

What was done on paper while the power was out is recorded afterwards, as of when it was done; so a time may be
stated. But shelf lives are judged at that time, and nobody may pass yesterday off as today: where the two lie
apart, the act carries both. What has not been done yet can't be stated at all. Source: design R12, R13, A7.
"""

from datetime import datetime, timedelta
from typing import Final

from kittrack.errors import BadInput
from kittrack.store.act import Act, instant_text

RECORDED: Final = "recorded at another time"
"""The name of the statement; its "clock" is what the computer's clock said."""
APART: Final = timedelta(minutes=2)  # more than a computer without a time server drifts in a month


def check_not_ahead(stated: datetime, *, clock: datetime) -> None:
    """Let a time pass that somebody stated for an act, unless it lies ahead of the computer's clock.

    Raises:
        BadInput: the time has not come yet.
    """
    if stated - clock > APART:
        now = clock.astimezone(stated.tzinfo)
        raise BadInput(
            f"{stated:%Y-%m-%d %H:%M} has not come yet, by this computer's clock it is {now:%Y-%m-%d %H:%M}; state when it was "
            "done, or leave the time away, and set the clock right first where that is wrong",
            field="--at",
        )


def keep_clock(act: Act, clock: datetime | None) -> None:
    """Make it a statement of an act when its time is not what the clock said; nothing where nobody stated one."""
    if clock is not None and abs(act.moment - clock) > APART:
        act.note(RECORDED, clock=instant_text(clock))


def recorded_at(statements: list[list[object]]) -> str:
    """What the clock said when an event was recorded, where that is not the event's own time."""
    for kind, name, *facts in statements:
        if kind == "note" and name == RECORDED and facts and isinstance(facts[0], dict):
            return str(facts[0].get("clock", ""))
    return ""
