"""After how many idle minutes the stations lock themselves."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from kittrack.domain.rules import require
from kittrack.errors import BadInput
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import SettingChange

DEFAULT_MINUTES: Final = 15
"""Minutes after which a session is locked where no manager said otherwise. From memory: PCI DSS 4.0,
requirement 8.2.8, asks for a new sign-on after 15 idle minutes; no source of the trade."""
MOST_MINUTES: Final = 480
"""A shift: a lock that comes later is none."""

_SUBJECT: Final = "stores"
_SETTING: Final = "stations lock after idle minutes"


@dataclass(frozen=True)
class IdleLock:
    """The minutes without a key or a scan after which the stations lock; 0 where they never do."""

    minutes: int


def idle_lock(store: Store) -> IdleLock:
    """When the stations lock."""
    with store.reading() as read:
        return IdleLock(_minutes(read))


def _minutes(read: Reading) -> int:
    last = read.value(
        "SELECT new FROM setting_change WHERE subject = ? AND name = ? ORDER BY id DESC LIMIT 1", _SUBJECT, _SETTING
    )  # fmt: skip
    return DEFAULT_MINUTES if last is None else int(last)


@desk.done_by("manager")
def lock_when_idle(
    store: Store, *, minutes: int, reason: str, second: str, by: str, at: datetime, key: str = ""
) -> Done:
    """Say after how many minutes without a key or a scan the stations lock; 0 says never.

    Raises:
        BadInput: fewer than 0 minutes, or more than a shift has.
        Refused: no manager, or no second person.
    """
    desk.require_text(reason=reason)
    if not 0 <= minutes <= MOST_MINUTES:
        message = (
            f"{minutes} minutes is not from 0, which is never, to {MOST_MINUTES}; choose another number."
        )
        raise BadInput(message, field="minutes")
    with store.act("say when the stations lock", by=by, at=at, second=second, reason=reason, key=key) as act:
        require(
            desk.check_done_by(act, lock_when_idle),
            desk.check_second(first=act.by, second=act.second, what="changing when the stations lock"),
        )
        act.insert(
            SettingChange(
                subject=_SUBJECT, name=_SETTING, old=str(_minutes(act)), new=str(minutes),
                source=reason.strip(), event_id=act.event_id,
            )
        )  # fmt: skip
    said = f"The stations lock after {minutes} idle minutes." if minutes else "The stations never lock."
    return Done(act.event_id, said=(said, "Stations that are open take it over at the next sign-on."))
