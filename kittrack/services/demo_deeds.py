"""How one paragraph of the scenario becomes one act: its details are read into the act's arguments.

A detail is written as the argument of the act is called ("to place: A-05"), the unit left out of its name.
Source: design A3, A6.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from kittrack.domain import dates
from kittrack.domain.quantities import Dimension, read_quantity
from kittrack.services import (
    counting,
    demo_values,
    desk,
    disposing,
    drilling,
    fastening,
    holding,
    inspecting,
    issuing,
    moving,
    opening,
    opening_fitted,
    returning,
    reversing,
    walking,
    weighing,
)
from kittrack.services.demo_reader import Entry
from kittrack.services.demo_scene import Scene
from kittrack.services.desk import Done

Read = Callable[[Scene, str], Any]
Call = Callable[[Scene, Entry], Done]


def text(_scene: Scene, value: str) -> str:
    """The value as it is written."""
    return value


def code(scene: Scene, value: str) -> str:
    """What a reference means now."""
    return scene.code(value)


def plain(read: Callable[[str], Any]) -> Read:
    """A reader that needs no scene."""
    return lambda _scene, value: read(value)


@dataclass(frozen=True)
class Each:
    """A detail that may stand several times: every value makes one member of a tuple, or of a mapping."""

    read: Read
    into: Callable[[Iterator[Any]], Any] = tuple


@dataclass(frozen=True)
class Deed:
    """An act with the readers of its details; `renamed` gives the arguments that are not called as written."""

    act: Callable[..., Done]
    reads: Mapping[str, Read | Each]
    renamed: Mapping[str, str] = field(default_factory=dict)

    def __call__(self, scene: Scene, entry: Entry) -> Done:
        """Do the act of a paragraph."""
        given: dict[str, Any] = {}
        for key in dict.fromkeys(key for key, _ in entry.details):
            if key in ("refused", "because", "was typed", "was scanned"):
                continue
            read = self.reads.get(key)
            if read is None:
                raise entry.fault(f"{entry.act!r} has no detail {key!r}; it has: {', '.join(self.reads)}")
            argument = self.renamed.get(key, key.replace(" ", "_"))
            if isinstance(read, Each):
                given[argument] = read.into(read.read(scene, value) for value in entry.all(key))
            else:
                given[argument] = read(scene, entry.get(key))
        return self.act(scene.store, by=entry.by, at=entry.at, **given)


# ---- details that take more than one word ----------------------------------------------------------


def taken(scene: Scene, value: str) -> fastening.TakenPart:
    """`PART x COUNT`: what is taken for a hub; of a bottle without a count."""
    what, _, quantity = value.partition(" x ")
    return fastening.TakenPart(scene.code(what), int(quantity or 0))


def carried(scene: Scene, value: str) -> moving.MoveSpec:
    """`THING; quantity AMOUNT; from PLACE; condition CONDITION`."""
    what, *rest = demo_values.items(value)
    words = dict(item.split(" ", 1) for item in rest)
    quantity = demo_values.amount(words["quantity"]) if "quantity" in words else None
    return moving.MoveSpec(scene.code(what), quantity, words.get("from", ""), words.get("condition", ""))


def missing(scene: Scene, value: str) -> returning.Missing:
    """`THING x COUNT`: what an opened kit lacks."""
    what, _, quantity = value.partition(" x ")
    return returning.Missing(scene.code(what), int(quantity or 1))


def leftover(scene: Scene, value: str) -> returning.Leftover:
    """`THING x COUNT; bag closed`: what a job gives back."""
    what, *rest = demo_values.items(value)
    thing, _, quantity = what.partition(" x ")
    return returning.Leftover(scene.code(thing), int(quantity or 1), bag_closed="bag closed" in rest)


def extend(scene: Scene, entry: Entry) -> Done:
    """Extend a shelf life by a test."""
    return disposing.extend_shelf_life(
        scene.store,
        line=scene.code(entry.get("line")),
        expires_on=dates.read_date(entry.get("until")),
        test=demo_values.paper(entry.get("test")),
        reason=entry.get("reason"),
        second=entry.get("second"),
        by=entry.by,
        at=entry.at,
    )


def seen(scene: Scene, value: str) -> walking.Seen:
    """`POSITION = MARK`, as it was read on the walk."""
    position, mark = demo_values.paired(value)
    return walking.Seen(scene.code(position), mark)


def counted(scene: Scene, value: str) -> counting.Counted:
    """`THING = COUNT; CONDITION`."""
    what, *rest = demo_values.items(value)
    thing, quantity = demo_values.paired(what)
    return counting.Counted(scene.code(thing), int(quantity), condition=rest[0] if rest else "serviceable")


def inspect(scene: Scene, entry: Entry) -> Done:
    """Inspect pieces, a range of serials in one detail."""
    return inspecting.inspect_pieces(
        scene.store,
        line=scene.code(entry.get("line")),
        pieces=tuple(spec for value in entry.all("piece") for spec in demo_values.inspected(value)),
        place=entry.get("place"),
        by=entry.by,
        at=entry.at,
    )


def weigh(scene: Scene, entry: Entry) -> Done:
    """Weigh blades, all at one radius."""
    radius = read_quantity(entry.get("radius"), dimension=Dimension.LENGTH)
    return weighing.record_weighing(
        scene.store,
        weighings=[
            w for value in entry.all("masses") for w in demo_values.weighings(value, radius_um=radius)
        ],
        scale=entry.get("scale"),
        by=entry.by,
        at=entry.at,
    )


def issue(scene: Scene, entry: Entry) -> Done:
    """Issue a kit; a `reason` and a `second` are the override for another airframe."""
    waiver = issuing.Waiver(entry.get("reason"), entry.get("second")) if entry.get("reason") else None
    return issuing.issue_kit(
        scene.store,
        kit=scene.code(entry.get("kit")),
        job=scene.code(entry.get("job")),
        seal=entry.get("seal"),
        receiver=entry.get("receiver"),
        airframe=entry.get("airframe"),
        waiver=waiver,
        by=entry.by,
        at=entry.at,
    )


def open_shelf(scene: Scene, entry: Entry) -> Done:
    """Take into the books what lies in places: `RECEIPT LINE; in PLACE`."""
    found = [value.rpartition("; in ") for value in entry.all("line")]
    return opening.open_shelf(
        scene.store,
        lines=[opening.ShelfSpec(demo_values.receipt_line(line), place) for line, _, place in found],
        supplier=entry.get("supplier"),
        by=entry.by,
        at=entry.at,
    )


def open_fitted(scene: Scene, entry: Entry) -> Done:
    """Take into the books what is fitted."""
    return opening_fitted.open_fitted(
        scene.store,
        fitted=[spec for value in entry.all("rotors") for spec in _fitted(scene, value)],
        supplier=entry.get("supplier"),
        by=entry.by,
        at=entry.at,
    )


def _fitted(scene: Scene, value: str) -> Iterator[opening_fitted.FittedSpec]:
    """`TAIL; POSITION POSITION = PART, MARK; ...`: blades without serials, hubs too."""
    tail, *groups = demo_values.items(value)
    for group in groups:
        positions, what = demo_values.paired(group)
        number, mark = demo_values.listed(what)
        with scene.store.reading() as read:
            blades = desk.find_part(read, number).blades_per_rotor or 1
        for name in positions.split():
            yield opening_fitted.FittedSpec(scene.code(f"{tail} {name}"), number, mark, (None,) * blades)


def scope(scene: Scene, entry: Entry) -> holding.Scope:
    """What a paragraph holds, recalls or plays to be recalled."""
    ends = entry.get("serials").partition(" to ")
    return holding.Scope(
        code=scene.code(entry.get("thing")) if entry.get("thing") else "",
        lot_code=entry.get("lot code"),
        maker=entry.get("maker"),
        supplier=entry.get("supplier"),
        part=entry.get("part"),
        serials=(ends[0], ends[2]) if entry.get("serials") else None,
    )


def hold(scene: Scene, entry: Entry) -> Done:
    """Place a hold on a thing, a lot code, serials, a supplier or a maker."""
    return holding.place_hold(
        scene.store,
        scope=scope(scene, entry),
        reason=entry.get("reason"),
        reference=entry.get("reference"),
        is_recall=entry.get("recall") == "yes",
        by=entry.by,
        at=entry.at,
    )


def drill(scene: Scene, entry: Entry) -> Done:
    """Start a recall drill of a thing, a lot code, serials, a supplier or a maker."""
    return drilling.start_drill(
        scene.store, scope=scope(scene, entry), reason=entry.get("reason"), by=entry.by, at=entry.at
    )


def reverse(scene: Scene, entry: Entry) -> Done:
    """Reverse the event that gave a name."""
    return reversing.reverse_event(
        scene.store,
        event=scene.events[entry.get("event of")],
        reason=entry.get("reason"),
        second=entry.get("second"),
        by=entry.by,
        at=entry.at,
    )
