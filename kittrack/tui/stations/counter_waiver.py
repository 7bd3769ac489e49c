"""The one override at the Counter: a kit that was built for another airframe (design R20)."""

from collections.abc import Awaitable, Callable
from typing import TYPE_CHECKING, Final

from kittrack.domain.codes import Kind
from kittrack.queries.kits import KitView
from kittrack.services.desk import Done
from kittrack.services.issuing import Waiver
from kittrack.tui import doing
from kittrack.tui.deeds import Ask, Values

if TYPE_CHECKING:
    from kittrack.tui.station import Station


async def ask_waiver(
    station: "Station", kit: KitView, issue: Callable[[Waiver], Awaitable[Done]]
) -> Done | None:
    """Ask why, and for a third person who confirms, then issue; None where the person leaves the form."""

    async def record(values: Values) -> Done:
        third = await station.app.confirm(values["second"], what=f"that {kit.code} goes to another airframe")
        return await issue(Waiver(reason=values["reason"], second=third.code))

    return await doing.ask_for(
        station, f"{kit.code} was built for {kit.airframe}", asks=_ASKS, act=record,
        notes=("Giver and receiver can't confirm this; a third person scans their badge. The Office lists it.",),
    )  # fmt: skip


_ASKS: Final = (
    Ask("reason", "Why it goes to another airframe"),
    Ask(
        "second", "Third person", help="badge of somebody else than giver and receiver", scans=(Kind.PERSON,)
    ),
)
