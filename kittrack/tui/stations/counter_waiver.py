"""The one override at the Counter: a kit that was built for another airframe (design R20)."""

from collections.abc import Awaitable, Callable
from typing import TYPE_CHECKING

from kittrack.domain.codes import Kind, looks_like_code, read_code
from kittrack.errors import BadInput
from kittrack.queries.kits import KitView
from kittrack.services.desk import Done
from kittrack.services.issuing import Waiver
from kittrack.tui.forms import Field, Form, Values

if TYPE_CHECKING:
    from kittrack.tui.station import Station


async def ask_waiver(
    station: "Station", kit: KitView, issue: Callable[[Waiver], Awaitable[Done]]
) -> Done | None:
    """Ask why, and for a third person who confirms, then issue; None where the person leaves the form."""

    async def record(values: Values) -> Done:
        waiver = _read(values)
        third = await station.app.confirm(waiver.second, what=f"that {kit.code} goes to another airframe")
        return await issue(Waiver(reason=waiver.reason, second=third.code))

    form = Form(
        f"{kit.code} was built for {kit.airframe}",
        fields=(
            Field("reason", "Why it goes to another airframe"),
            Field("second", "Badge of a third person"),
        ),
        act=record,
        symbols=station.symbols,
        notes=(
            "Giver and receiver can't confirm this; a third person scans their badge. The Office lists it.",
        ),
        scan_into=lambda text: "second" if is_badge(text) else None,
        is_override=True,
    )
    return await station.app.push_screen_wait(form)


def is_badge(text: str) -> bool:
    """Whether a scan is a person's badge."""
    if not looks_like_code(text):
        return False
    try:
        return read_code(text).kind is Kind.PERSON
    except BadInput:
        return False


def _read(values: Values) -> Waiver:
    if not values["reason"].strip():
        raise BadInput("The reason is empty; type why.", field="reason")
    if not values["second"].strip():
        raise BadInput("The third person is missing; let them scan their badge.", field="second")
    return Waiver(reason=values["reason"].strip(), second=values["second"].strip())
