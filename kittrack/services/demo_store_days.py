"""Ordinary days in the stores, one paragraph each: kits, sets, stock put away, what came off scrapped.

Played as the single acts that they stand for; a paragraph's person does the work. Source: design A6.
"""

from collections.abc import Callable, Mapping

from kittrack.domain.ledger import PlaceKind
from kittrack.services import (
    counting,
    demo_values,
    disposing,
    drilling,
    findings,
    founding,
    holding,
    inspecting_stock,
    kitting,
    matching,
    moving,
    sealing,
)
from kittrack.services.counting import Counted
from kittrack.services.demo_reader import Entry
from kittrack.services.demo_scene import Scene, minutes_from, sets_of_place
from kittrack.services.moving import MoveSpec
from kittrack.store.records import CountLine, Part, Piece, Place, ReceiptLine, RotorSet, StockCount
from kittrack.store.stock import end_place, open_holds


def prepare_kit(scene: Scene, entry: Entry) -> None:
    """Build a kit, have another person check it, seal it and put it away."""
    times = minutes_from(entry.at)
    built = kitting.build_kit(
        scene.store,
        bench=entry.get("bench", "Bench 1"),
        revision=entry.get("revision"),
        airframe=entry.get("airframe"),
        positions=demo_values.coverage(entry.get("positions", "all")),
        job=scene.code(entry.get("job")) if entry.get("job") else "",
        by=entry.by,
        at=next(times),
    )
    kit = built.codes[0]
    scene.name(entry.names[0], kit, built.event)
    sealing.check_kit(scene.store, kit=kit, by=entry.get("checker"), at=next(times))
    sealing.seal_kit(scene.store, kit=kit, seal=entry.get("seal"), by=entry.get("checker"), at=next(times))
    if entry.get("to place"):
        sealing.put_away_kit(
            scene.store, kit=kit, to_place=entry.get("to place"), by=entry.by, at=next(times)
        )


def make_sets(scene: Scene, entry: Entry) -> None:
    """Rotor sets of blades that follow each other, named NAME-1, NAME-2 and so on."""
    times = minutes_from(entry.at, step=2)
    blades = [serial for value in entry.all("blades") for serial in demo_values.serials(value)]
    hubs = [serial for value in entry.all("hubs") for serial in demo_values.serials(value)]
    size = int(entry.get("of", "2"))
    for number, first in enumerate(range(0, len(blades), size), start=1):
        own, hub = blades[first : first + size], hubs[number - 1] if hubs else ""
        place = entry.get("at place")
        if entry.get("by") == "pairing":
            made = matching.make_set_of_pair(
                scene.store, blades=own, hub=hub, at_place=place, by=entry.by, at=next(times)
            )
        else:
            made = matching.make_set_by_measurement(
                scene.store, blades=own, hub=hub, at_place=place, one_stop=True, by=entry.by, at=next(times)
            )
        scene.name(f"{entry.names[0]}-{number}", made.codes[0], made.event)


def accept_stock(scene: Scene, entry: Entry) -> None:
    """Accept counted stock and put it away: `LINE; AMOUNT; to PLACE; class CLASS`."""
    times = minutes_from(entry.at, step=2)
    for value in entry.all("item"):
        line, amount, to, *rest = demo_values.items(value)
        code = scene.code(line)
        inspecting_stock.inspect_stock(
            scene.store,
            line=code,
            accepted=demo_values.amount(amount),
            property_class=rest[0].removeprefix("class ") if rest else "",
            by=entry.by,
            at=next(times),
        )
        moving.move_things(
            scene.store,
            things=[MoveSpec(code, demo_values.amount(amount))],
            to=to.removeprefix("to "),
            by=entry.by,
            at=next(times),
        )


def scrap_removed(scene: Scene, entry: Entry) -> None:
    """Scrap every set in the removed-parts cage that no hold keeps, before a witness."""
    with scene.store.reading() as read:
        own = sets_of_place(read, end_place(read, PlaceKind.REMOVED_CAGE).id)
        gone = [s.code for s in own if not open_holds(read, rotor_sets=[s.id])]
    disposing.scrap(
        scene.store,
        things=[MoveSpec(code) for code in gone],
        reason=entry.get("reason"),
        second=entry.get("second"),
        by=entry.by,
        at=entry.at,
    )


def settle_findings(scene: Scene, entry: Entry) -> None:
    """Settle every open finding of an airframe, the oldest first."""
    for at, finding in zip(
        minutes_from(entry.at, step=1), scene.open_findings(entry.get("airframe")), strict=False
    ):
        findings.settle_finding(scene.store, finding=finding, text=entry.get("text"), by=entry.by, at=at)


def release_holds(scene: Scene, entry: Entry) -> None:
    """Release every open hold on a rotor set, with one reference."""
    with scene.store.reading() as read:
        one = read.find(RotorSet, code=scene.code(entry.get("set")))
        held = open_holds(read, rotor_sets=[one.id]) if one else []
    for at, code in zip(
        minutes_from(entry.at, step=1), dict.fromkeys(h.hold_code for h in held), strict=False
    ):
        holding.release_hold(
            scene.store,
            hold=code,
            reference=entry.get("reference"),
            reason=entry.get("reason"),
            by=entry.by,
            at=at,
        )


def read_cautions(scene: Scene, entry: Entry) -> None:
    """Several people acknowledge the cautions."""
    times = minutes_from(entry.at)
    for person in (entry.by, *entry.all("and")):
        founding.acknowledge_cautions(scene.store, by=person, at=next(times))


def count_places(scene: Scene, entry: Entry) -> None:
    """Count places one after another, blind, and settle each; `short: PART = NUMBER` is not there, and is counted twice."""
    times = minutes_from(entry.at, step=7)
    short = dict(demo_values.paired(value) for value in entry.all("short"))
    for place in entry.all("place"):
        count = counting.open_count(scene.store, place=place, by=entry.by, at=next(times)).codes[0]
        seen, is_short = _seen(scene, count, short)
        for person in (entry.by, entry.get("second")) if is_short else (entry.by,):
            counting.enter_count(scene.store, count=count, entries=seen, by=person, at=next(times))
        counting.settle_count(
            scene.store, count=count, reason=entry.get("reason") if is_short else "as planned",
            second=entry.get("second"), by=entry.by, at=next(times),
        )  # fmt: skip


def _seen(scene: Scene, count: str, short: dict[str, str]) -> tuple[list[Counted], bool]:
    """What lies in a place that is counted: what is on record, without what is not there."""
    seen, is_short = [], False
    with scene.store.reading() as read:
        sheet = read.find(StockCount, code=count)
        for line in read.select(CountLine, "stock_count_id = ?", sheet.id if sheet else 0):
            if line.container_id is not None:
                seen.append(Counted(read.get(Place, line.container_id).code, 1))
            elif line.piece_id is not None:
                seen.append(Counted(read.get(Piece, line.piece_id).code, 1))
            else:
                own = read.get(ReceiptLine, line.receipt_line_id or 0)
                gone = int(short.pop(read.get(Part, own.part_id).number, "0"))
                is_short = is_short or bool(gone)
                seen.append(Counted(own.code, line.booked - gone, line.condition or "serviceable"))
    return seen, is_short


def report_drill(scene: Scene, entry: Entry) -> None:
    """What was seen at each entry of a drill, one after another: `seen: ENTRY = COUNT`."""
    for at, value in zip(minutes_from(entry.at, step=4), entry.all("seen"), strict=False):
        line, found = demo_values.paired(value)
        drilling.report_drill(
            scene.store,
            drill=scene.code(entry.get("drill")),
            line=int(line),
            found=int(found),
            by=entry.by,
            at=at,
        )


STORE_DAYS: Mapping[str, Callable[[Scene, Entry], None]] = {
    "prepare a kit": prepare_kit,
    "scrap what came off": scrap_removed,
    "make sets": make_sets,
    "accept and put away": accept_stock,
    "settle all findings": settle_findings,
    "release every hold on a set": release_holds,
    "read the cautions": read_cautions,
    "count places": count_places,
    "report what a drill saw": report_drill,
}
"""Every phrase that stands for a day's work in the stores, by its words."""
