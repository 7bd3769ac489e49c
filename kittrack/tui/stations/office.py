"""The Office: what a manager should not have to hear from somebody else."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from kittrack.domain.ledger import Condition
from kittrack.queries.integrity import Integrity, Orphan, SetState, set_integrity
from kittrack.queries.log import LogEntry, event_log
from kittrack.tui import pictures, rows
from kittrack.tui.list_station import ListStation
from kittrack.tui.listing import PAGE, Ask, Listing, Page, Record, Step
from kittrack.tui.lists import Drawn, OfQuestion, Paged
from kittrack.tui.order_list import HEADS, ON_ORDER, to_order
from kittrack.tui.trends import accuracy_by_month, sets_by_month
from kittrack.tui.widgets.plots import Bar
from kittrack.tui.writing import SAVE

_LOOKED_THROUGH = 5_000  # events that a filter looks through for one page
_LOAD = Step("catalogue load", "load a catalogue folder")


_SETS = Step("sets", "show every set")


async def _integrity(ask: Ask, _at: datetime) -> Page:
    """How many sets are proved, and for each kind of what is wrong the things that it is wrong with."""
    found: Integrity = await ask(set_integrity)
    if not (found.sets or found.broken):
        return Page(())
    told = [
        ("sets are whole and proved", found.sound, (), _SETS),
        *(
            (f"sets: {breach}", count, tuple(map(_set_told, found.with_breach(breach))), _SETS)
            for breach, count in found.by_breach
        ),
        ("sets were broken", len(found.broken), found.broken, _SETS),
        ("blades are orphaned", len(found.orphans), tuple(map(_orphan_told, found.orphans)), _ORPHANS),
    ]
    records = [Record(name, (str(count), name), detail, step=step) for name, count, detail, step in told]
    bars = [Bar(name, count, str(count)) for name, count, *_ in told]
    return pictures.picture_page(records, bars, title="rotor sets", heads=("count", "of what"))


_ORPHANS = Step("set orphans", "who could re-match them")


def _set_told(one: SetState) -> str:
    return f"{one.sense} {one.code} {one.part} in {one.where}"


def _orphan_told(one: Orphan) -> str:
    return f"{one.sense} {one.code} {one.part}, was in {one.set_it_was_in}, in {one.where}: {one.condition}"


@dataclass(frozen=True)
class _Log:
    """The event log, newest first, paged by the number of the event."""

    title: str = "event log"
    asks: str = "who did what, and when"
    heads: tuple[str, ...] = ("event", "at (UTC)", "by", "act", "reason")
    empty: str = "no event is recorded yet."
    first: Step | None = None
    paper: str = ""

    async def page(self, ask: Ask, *, after: str, text: str, at: datetime) -> Page:  # noqa: ARG002 - every list's signature
        """Events before the one with a number; a filter looks through the newest of them."""
        before = int(after) if after else None
        if not text:
            found: Sequence[LogEntry] = await ask(event_log, before=before, limit=PAGE)
            return Page(tuple(map(_of_event, found)), more=len(found) == PAGE)
        return await self._filtered(ask, before, text)

    async def _filtered(self, ask: Ask, before: int | None, text: str) -> Page:
        matching: list[Record] = []
        seen = 0
        while seen < _LOOKED_THROUGH and len(matching) < PAGE:
            found: Sequence[LogEntry] = await ask(event_log, before=before, limit=1000)
            matching += [record for record in map(_of_event, found) if record.matches(text)]
            seen += len(found)
            if len(found) < 1000:
                return Page(tuple(matching[:PAGE]), more=len(matching) > PAGE, note=f"{len(matching)} found")
            before = found[-1].event
        note = f"{len(matching)} found in {seen} events; F10 log looks through all"
        return Page(tuple(matching[:PAGE]), more=len(matching) > PAGE, note=note)


def _of_event(entry: LogEntry) -> Record:
    """An event of the log."""
    second = f" with {entry.second}" if entry.second else ""
    detail = (
        f"event {entry.event}: {entry.act}, by {entry.by}{second}, {entry.at}",
        *([f"recorded at {entry.recorded} by the clock of the computer"] if entry.recorded else []),
        *([f"reason: {entry.reason}"] if entry.reason else []),
        *([f"codes given: {', '.join(entry.codes)}"] if entry.codes else []),
        f"{entry.moved} movements; {entry.hash}",
    )
    number = str(entry.event)
    cells = (number, entry.at[:16], entry.by, entry.act, entry.reason)
    return Record(number, cells, detail, step=Step("reverse", "reverse it", (("event", number),)))


class Office(ListStation):
    """Stock, integrity, what is due and open, people and settings."""

    mode = "office"
    about = (
        "Ship sets and what limits them, senses side by side, what expires, what was used; holds, counts, people.",
        "F8 shows another list, F9 does what comes next for what is in hand, F10 everything a manager does.",
    )
    CSS_PATH = "office.tcss"
    asks_at_once = True
    lists: ClassVar[tuple[Listing, ...]] = (
        Drawn("ship sets", "what can be built, and what stops one more",
              ("type",), "no type is in the catalogue yet: load one, or type it in (F10).", pictures.ship_sets, _LOAD,
              "print ship-sets"),
        OfQuestion("ship sets by place", "what can be built at the stores and in each van",
                   "ship-sets places", "no type is in the catalogue yet."),
        Drawn("senses side by side", "is one spin sense short beside the other",
              ("type",), "no type is in the catalogue yet.", pictures.senses, _LOAD, "print ship-sets"),
        Drawn("expiry by month", "how much expires in which month",
              ("month",), "nothing expires within a year.", pictures.expiry_by_month, None, "print expiry"),
        Drawn("usage by month", "what was used in the last twelve months",
              ("month",), "nothing was used in the last twelve months.", pictures.usage),
        Drawn("integrity", "which sets are proved and which are not, what is broken or orphaned",
              ("count",), "no set is made yet.", _integrity, None, "print matched-sets"),
        OfQuestion("orphaned blades", "which single blades could be matched again, and with which",
                   "set orphans", "no blade is orphaned.", about="blade"),
        OfQuestion("scales of sets", "which scale proved which set; first those whose scale is in doubt",
                   "set scales", "no set was proved on a scale.", words="explain its match", step="explain",
                   about="rotor set"),
        OfQuestion("matched again", "which sets come back to be matched again and again",
                   "set rebalanced", "no set was matched again and again.", words="trace it", step="trace"),
        Drawn("sets by month", "are there more whole and proved sets than before, or fewer",
              ("month",), "no set is made yet.", sets_by_month),
        OfQuestion("open jobs", "how far every open job is, and what it still owes",
                   "job list", "no job is open.", words="show the job", step="job show:job"),
        OfQuestion("kits not fitted", "which kits went out longer than a shift ago and are not all fitted",
                   "oversight kits", "no kit is out for longer than a shift.", words="show the kit", step="kit show"),
        OfQuestion("open findings", "what was found on an aircraft and is not settled",
                   "finding list", "no finding is open.", words="settle it", step="finding settle:finding"),
        OfQuestion("re-torque due", "which rotors are to be torqued again",
                   "retorques", "no re-torque is due.", words="record a re-torque", step="retorque"),
        OfQuestion("rotor lives", "which fitted sets come to the end of their life",
                   "lives", "no set comes to the end of its life.", words="trace it", step="trace"),
        OfQuestion("tools due", "which scale or torque tool has to be calibrated",
                   "tools-due", "no tool falls due.", words="record a calibration", step="tool calibrate"),
        Paged("on hold", "what is stopped, and why",
              ("kind", "hold", "what", "why", "reference"), "nothing is under a hold.", "holds", rows.of_hold),
        OfQuestion("recalls", "how far each recall is, and what is still open under it",
                   "recall-case list", "no recall is open."),
        OfQuestion("notices", "who was told of a recall, and who answered",
                   "notice list", "no notice is written."),
        OfQuestion("drills", "how fast a lot was found in each drill",
                   "drill list", "no recall drill was held.", words="show it", step="drill show"),
        Paged("lots", "where is all of a lot: take one, F9 accounts for it",
              ("sense", "part", "lot", "code", "maker", "supplier"), "no lot came in yet.", "lots", rows.of_lot),
        Paged("on the shelf", "what lies where", ("sense", "part", "how many", "code", "place", "condition", "lot", "expiry"),
              "the shelf is empty; take a delivery in at Goods-in (F2).", "shelf", rows.of_shelf),
        OfQuestion("expiring", "what is expired, expires soon, or has no known expiry",
                   "expiring", "nothing expires within 90 days."),
        OfQuestion("will expire unused", "what will expire unused at the pace at which it is asked for",
                   "waste", "nothing will expire unused at the pace at which it is asked for."),
        OfQuestion("unserviceable", "what lies in the stores and may not fly",
                   "unserviceable", "nothing unserviceable lies in the stores.", words="scrap it", step="scrap",
                   about="thing", when=("condition", (Condition.UNSERVICEABLE, Condition.UNSALVAGEABLE))),
        Drawn("re-order", "what is to be ordered, and why",
              HEADS, "nothing is to be ordered now.", to_order, None, "print reorder"),
        OfQuestion("suppliers", "from whom each part is got, how fast and in which packs",
                   "supply list", "no part is known yet.", words="place an order", step="order place",
                   fills=(("supplier", "supplier"), ("part", "part"))),
        OfQuestion("how suppliers deliver", "which supplier delivers late, without paper, or what is rejected",
                   "supply record", "nothing came in within a year, and nothing was expected."),
        ON_ORDER,
        OfQuestion("to count", "which places are due to be counted",
                   "count due", "every place was counted in time.", words="count it", step="count open:place",
                   about="place", begun="open count"),
        Paged("counts", "what was counted, and what is still to be settled",
              ("count", "place", "state", "counted by", "opened"), "no place was counted yet.", "counts", rows.of_count,
              Step("count open", "count a place")),
        Drawn("accuracy of counts", "how far the record can be trusted",
              ("month",), "no place was counted yet.", accuracy_by_month),
        Paged("overrides", "who overrode which rule, and why",
              ("day", "kind", "what", "why", "by", "with"), "no override was used.", "overrides", rows.of_override),
        Paged("alone", "who was declared to be alone and checked their own work again",
              ("days", "who", "job", "why", "declared by"), "nobody was declared to be alone.", "alone", rows.of_alone),
        OfQuestion("wrong senses stopped", "which rotors of the wrong sense were stopped at their position",
                   "oversight stopped", "no wrong sense was stopped in the last 30 days."),
        OfQuestion("typed, not scanned", "who types numbers instead of scanning them",
                   "oversight typed", "nothing was typed instead of scanned in the last 30 days."),
        OfQuestion("printed again", "which labels and papers were printed again",
                   "oversight reprints", "nothing was printed again in the last 30 days."),
        Paged("people", "who may do what",
              ("name", "badge", "roles", "state", "kind"), "nobody is known.", "people", rows.of_person),
        Paged("places", "every bin, bench, cage, van and apron",
              ("kind", "code", "name", "site"), "no place is known.", "places", rows.of_place,
              Step("place add", "add a place")),
        Paged("airframes", "every airframe with its hours; those sold or written off too",
              ("tail", "code", "type", "state", "hours", "flights", "map"), "no airframe is known yet.", "airframes",
              rows.of_airframe, Step("airframe add", "add an airframe")),
        Paged("parts", "every part number with its tolerance",
              ("sense", "part", "kind", "name", "maker", "tolerance", ""), "no part is known yet.", "parts", rows.of_part, _LOAD),
        Paged("tools", "every scale and torque tool with its calibration",
              ("name", "kind", "code", "calibration", "state"), "no tool is known yet.", "tools", rows.of_tool,
              Step("tool add", "add a tool")),
        Paged("settings changed", "who changed a torque, a tolerance, a mark or another setting, and by which source",
              ("day", "of", "what", "from -> to", "by"), "no setting was changed.", "changes", rows.of_change),
        Paged("vouchers", "what was handed to whom",
              ("voucher", "kit", "job", "airframe", "from, to", "state"), "no kit was issued yet.", "vouchers",
              rows.of_voucher),
        _Log(),
    )  # fmt: skip

    def keys_in_words(self) -> Sequence[str]:
        """As at every list, and that it is printed from here."""
        *words, last = super().keys_in_words()
        return (*words, f"{SAVE.shown} print", last)
