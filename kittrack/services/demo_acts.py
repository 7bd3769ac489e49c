"""What the scenario's files may say that somebody did: each phrase, the act it names, and how its details read.

A detail is written as the argument of the act is called ("to place: A-05"), the unit left out of its name.
Source: design A3, A6.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from kittrack.domain import dates
from kittrack.domain.quantities import Dimension, read_quantity
from kittrack.services import (
    airframe_leaving,
    airframes,
    catalogue,
    counting,
    demo_values,
    desk,
    disposing,
    fastening,
    findings,
    fitting,
    founding,
    holding,
    inspecting,
    inspecting_sets,
    inspecting_stock,
    issuing,
    jobs,
    kitting,
    making_good,
    matching,
    moving,
    occurrences,
    opening,
    opening_fitted,
    picking,
    receiving,
    removing,
    returning,
    reversing,
    sealing,
    sense_maps,
    torquing,
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
    """A detail that may stand several times: every value makes one member."""

    read: Read


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
            if key in ("refused", "because"):
                continue
            read = self.reads.get(key)
            if read is None:
                raise entry.fault(f"{entry.act!r} has no detail {key!r}; it has: {', '.join(self.reads)}")
            argument = self.renamed.get(key, key.replace(" ", "_"))
            if isinstance(read, Each):
                given[argument] = tuple(read.read(scene, value) for value in entry.all(key))
            else:
                given[argument] = read(scene, entry.get(key))
        return self.act(scene.store, by=entry.by, at=entry.at, **given)


# ---- details that take more than one word ----------------------------------------------------------


def _taken(scene: Scene, value: str) -> fastening.TakenPart:
    what, _, quantity = value.partition(" x ")
    return fastening.TakenPart(scene.code(what), int(quantity or 0))


def _carried(scene: Scene, value: str) -> moving.MoveSpec:
    what, *rest = demo_values.items(value)
    words = dict(item.split(" ", 1) for item in rest)
    quantity = demo_values.amount(words["quantity"]) if "quantity" in words else None
    return moving.MoveSpec(scene.code(what), quantity, words.get("from", ""), words.get("condition", ""))


def _missing(scene: Scene, value: str) -> returning.Missing:
    what, _, quantity = value.partition(" x ")
    return returning.Missing(scene.code(what), int(quantity or 1))


def _leftover(scene: Scene, value: str) -> returning.Leftover:
    what, *rest = demo_values.items(value)
    thing, _, quantity = what.partition(" x ")
    return returning.Leftover(scene.code(thing), int(quantity or 1), bag_closed="bag closed" in rest)


def _extend(scene: Scene, entry: Entry) -> Done:
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


def _seen(scene: Scene, value: str) -> walking.Seen:
    position, mark = demo_values.paired(value)
    return walking.Seen(scene.code(position), mark)


def _counted(scene: Scene, value: str) -> counting.Counted:
    what, *rest = demo_values.items(value)
    thing, quantity = demo_values.paired(what)
    return counting.Counted(scene.code(thing), int(quantity), condition=rest[0] if rest else "serviceable")


def _senses(entry: Entry, key: str) -> dict[str, str]:
    return dict(demo_values.paired(value) for value in entry.all(key))


def _inspect(scene: Scene, entry: Entry) -> Done:
    return inspecting.inspect_pieces(
        scene.store,
        line=scene.code(entry.get("line")),
        pieces=tuple(spec for value in entry.all("piece") for spec in demo_values.inspected(value)),
        place=entry.get("place"),
        by=entry.by,
        at=entry.at,
    )


def _weigh(scene: Scene, entry: Entry) -> Done:
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


def _issue(scene: Scene, entry: Entry) -> Done:
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


def _motor_test(scene: Scene, entry: Entry) -> Done:
    return sense_maps.record_motor_test(
        scene.store,
        airframe=entry.get("airframe"),
        seen=_senses(entry, "seen"),
        source=entry.get("source"),
        second=entry.get("second"),
        by=entry.by,
        at=entry.at,
    )


def _revise_map(scene: Scene, entry: Entry) -> Done:
    return sense_maps.revise_sense_map(
        scene.store,
        airframe=entry.get("airframe"),
        senses=_senses(entry, "sense"),
        source=entry.get("source"),
        second=entry.get("second"),
        by=entry.by,
        at=entry.at,
    )


def _open_shelf(scene: Scene, entry: Entry) -> Done:
    found = [value.rpartition("; in ") for value in entry.all("line")]
    return opening.open_shelf(
        scene.store,
        lines=[opening.ShelfSpec(demo_values.receipt_line(line), place) for line, _, place in found],
        supplier=entry.get("supplier"),
        by=entry.by,
        at=entry.at,
    )


def _open_fitted(scene: Scene, entry: Entry) -> Done:
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


def _hold(scene: Scene, entry: Entry) -> Done:
    ends = entry.get("serials").partition(" to ")
    scope = holding.Scope(
        code=scene.code(entry.get("thing")) if entry.get("thing") else "",
        lot_code=entry.get("lot code"),
        maker=entry.get("maker"),
        supplier=entry.get("supplier"),
        part=entry.get("part"),
        serials=(ends[0], ends[2]) if entry.get("serials") else None,
    )
    return holding.place_hold(
        scene.store,
        scope=scope,
        reason=entry.get("reason"),
        reference=entry.get("reference"),
        is_recall=entry.get("recall") == "yes",
        by=entry.by,
        at=entry.at,
    )


def _reverse(scene: Scene, entry: Entry) -> Done:
    return reversing.reverse_event(
        scene.store,
        event=scene.events[entry.get("event of")],
        reason=entry.get("reason"),
        second=entry.get("second"),
        by=entry.by,
        at=entry.at,
    )


_DAY, _AMOUNT, _WHERE = plain(dates.read_date), plain(demo_values.amount), plain(demo_values.coverage)
_LIST, _EXPIRY = plain(demo_values.listed), plain(demo_values.expiry)

DEEDS: Mapping[str, Call] = {
    # ---- people and catalogue
    "let a person go": Deed(founding.let_person_go, {"person": text}),
    "declare alone": Deed(
        founding.declare_alone,
        {"person": text, "from": _DAY, "until": _DAY, "reason": text, "job": code},
        {"from": "from_on", "until": "until_on"},
    ),
    "calibrate a tool": Deed(catalogue.calibrate_tool, {"tool": text, "until": _DAY, "source": text}),
    "acknowledge the cautions": Deed(founding.acknowledge_cautions, {}),
    "open the books: shelf": _open_shelf,
    "open the books: fitted": _open_fitted,
    # ---- goods-in
    "receive a delivery": Deed(
        receiving.receive,
        {"supplier": text, "reference": text, "line": Each(plain(demo_values.receipt_line))},
        {"line": "lines"},
    ),
    "attach a paper": Deed(receiving.attach_paper, {"line": code, "paper": plain(demo_values.paper)}),
    "accept without paper": Deed(receiving.accept_without_paper, {"line": code, "reason": text}),
    "record a shelf life": Deed(receiving.record_expiry, {"line": code, "expiry": _EXPIRY, "source": text}),
    "inspect pieces": _inspect,
    "inspect stock": Deed(
        inspecting_stock.inspect_stock,
        {
            "line": code,
            "accepted": _AMOUNT,
            "held": _AMOUNT,
            "rejected": _AMOUNT,
            "note": text,
            "property class": text,
            "place": text,
            "condition": text,
        },
    ),
    "inspect pieces again": Deed(
        inspecting.reinspect_pieces,
        {"piece": Each(lambda scene, value: demo_values.finding(scene.code, value))},
        {"piece": "findings"},
    ),
    "open a bottle": Deed(inspecting_stock.open_bottle, {"line": code, "place": text}),
    "move": Deed(moving.move_things, {"thing": Each(_carried), "to": text}, {"thing": "things"}),
    "scrap": Deed(
        disposing.scrap, {"thing": Each(_carried), "reason": text, "second": text}, {"thing": "things"}
    ),
    "return to the supplier": Deed(
        disposing.return_to_supplier,
        {"thing": Each(_carried), "reference": text, "reason": text},
        {"thing": "things"},
    ),
    "extend a shelf life": _extend,
    "inspect a set": Deed(
        inspecting_sets.inspect_set,
        {"set": code, "mark": text, "note": text, "result": text, "to place": text},
        {"set": "rotor_set"},
    ),
    # ---- matching
    "weigh blades": _weigh,
    "make a set by pairing": Deed(
        matching.make_set_of_pair,
        {"blades": _LIST, "hub": text, "at place": text, "tape": text},
    ),
    "make a set by measurement": Deed(
        matching.make_set_by_measurement,
        {"blades": _LIST, "hub": text, "at place": text, "tape": text, "one stop": plain("yes".__eq__)},
    ),
    "prove a set": Deed(
        matching.prove_set, {"set": code, "one stop": plain("yes".__eq__)}, {"set": "rotor_set"}
    ),
    "break a set": Deed(
        matching.break_set,
        {"set": code, "reason": text, "damaged": Each(code)},
        {"set": "rotor_set"},
    ),
    # ---- kits
    "build a kit": Deed(
        kitting.build_kit,
        {"bench": text, "revision": text, "airframe": text, "positions": _WHERE, "job": code},
    ),
    "build a make-good kit": Deed(making_good.build_make_good, {"job": code, "bench": text}),
    "pick what is missing": Deed(picking.pick_missing, {"kit": code, "job": code}),
    "swap a pick": Deed(
        picking.swap_pick, {"kit": code, "out": code, "take": code, "reason": text, "to bin": text}
    ),
    "check a kit": Deed(sealing.check_kit, {"kit": code}),
    "seal a kit": Deed(sealing.seal_kit, {"kit": code, "seal": text}),
    "put a kit away": Deed(sealing.put_away_kit, {"kit": code, "to place": text}),
    "dissolve a kit": Deed(kitting.dissolve_kit, {"kit": code, "reason": text, "to bin": text}),
    # ---- counter
    "open a job": Deed(jobs.open_job, {"airframe": text, "purpose": text, "positions": _WHERE}),
    "reserve": Deed(jobs.reserve, {"job": code, "thing": code, "until": _DAY}),
    "release a reservation": Deed(jobs.release_reservation, {"thing": code, "reason": text}),
    "issue a kit": _issue,
    "take back a kit unopened": Deed(
        returning.return_unopened, {"kit": code, "seal": text, "to place": text}
    ),
    "take back an opened kit": Deed(
        returning.return_opened,
        {"kit": code, "reason": text, "missing": Each(_missing), "closed bag": Each(code)},
        {"closed bag": "closed_bags"},
    ),
    "open a kit outside its aircraft": Deed(
        returning.open_kit,
        {"kit": code, "reason": text, "missing": Each(_missing), "closed bag": Each(code)},
        {"closed bag": "closed_bags"},
    ),
    "return leftovers": Deed(
        returning.return_leftovers, {"job": code, "item": Each(_leftover)}, {"item": "items"}
    ),
    "lose": Deed(jobs.lose, {"job": code, "thing": code, "quantity": plain(int), "reason": text}),
    "close a job": Deed(jobs.close_job, {"job": code, "reason": text}),
    # ---- at the aircraft
    "open a kit at the aircraft": Deed(issuing.open_at_aircraft, {"kit": code, "seal": text}),
    "take off a set": Deed(
        removing.remove_set,
        {
            "job": code,
            "position": code,
            "mark": text,
            "reason": text,
            "purpose": text,
            "screws out": plain(int),
            "to place": text,
        },
    ),
    "give up a refit": Deed(removing.give_up_refit, {"set": code, "reason": text}, {"set": "rotor_set"}),
    "fit a set": Deed(
        fitting.fit_set,
        {"job": code, "position": code, "set": code, "mark": text, "second": text, "reason": text},
        {"set": "rotor_set"},
    ),
    "keep a refused scan": Deed(
        fitting.record_refused_scan, {"job": code, "position": code, "scanned": code, "mark": text}
    ),
    "take off an unfinished fit": Deed(
        fitting.take_off_unfinished, {"job": code, "position": code, "reason": text}
    ),
    "fasten": Deed(
        fastening.fasten,
        {
            "job": code,
            "position": code,
            "part": Each(_taken),
            "torque": plain(demo_values.torque),
            "tool": text,
        },
        {"part": "parts", "torque": "torque_mnm"},
    ),
    "inspect a position": Deed(walking.inspect_position, {"job": code, "position": code, "mark": text}),
    "walk": Deed(walking.walk_positions, {"job": code, "seen": Each(_seen)}),
    "torque again": Deed(
        torquing.record_retorque,
        {"position": code, "torque": plain(demo_values.torque), "tool": text},
        {"torque": "torque_mnm"},
    ),
    "record a finding": Deed(
        findings.record_finding,
        {
            "text": text,
            "position": code,
            "airframe": text,
            "job": code,
            "set": code,
            "mark": text,
            "found": text,
        },
        {"set": "rotor_set"},
    ),
    "record an occurrence": Deed(
        occurrences.record_occurrence,
        {"airframe": text, "text": text, "happened at": plain(dates.read_instant), "reference": text},
    ),
    "record a motor test": _motor_test,
    "record motor work": Deed(
        sense_maps.record_motor_work,
        {"airframe": text, "work": text, "positions": _LIST, "reason": text},
    ),
    "revise a sense map": _revise_map,
    # ---- holds, counts, oversight
    "place a hold": _hold,
    "release a hold": Deed(
        holding.release_hold, {"hold": code, "reference": text, "reason": text, "only": Each(code)}
    ),
    "open a count": Deed(counting.open_count, {"place": text}),
    "enter a count": Deed(
        counting.enter_count, {"count": code, "counted": Each(_counted)}, {"counted": "entries"}
    ),
    "settle a count": Deed(counting.settle_count, {"count": code, "reason": text, "second": text}),
    "reverse an event": _reverse,
    "sell an airframe": Deed(
        airframe_leaving.sell_airframe, {"airframe": text, "new owner": text, "reason": text}
    ),
    "change the type revision": Deed(
        airframes.change_type_revision, {"airframe": text, "revision": text, "source": text, "second": text}
    ),
}
"""Every single act that the scenario knows, by its words."""
