"""What the scenario's files may say that somebody did: each phrase, the act it names, and how its details read.

Source: design A3, A6.
"""

from collections.abc import Mapping

from kittrack.domain import dates
from kittrack.services import (
    airframe_leaving,
    airframes,
    arrivals,
    catalogue,
    counting,
    demo_values,
    disposing,
    fastening,
    findings,
    fitting,
    founding,
    handing_over,
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
    ordering,
    picking,
    recalling,
    receiving,
    removing,
    returning,
    sealing,
    sense_maps,
    torquing,
    walking,
)
from kittrack.services.demo_deeds import (
    Call,
    Deed,
    Each,
    carried,
    code,
    counted,
    drill,
    extend,
    hold,
    inspect,
    issue,
    leftover,
    missing,
    open_fitted,
    open_shelf,
    plain,
    reverse,
    seen,
    taken,
    text,
    weigh,
)

_DAY, _AMOUNT, _WHERE = plain(dates.read_date), plain(demo_values.amount), plain(demo_values.coverage)
_LIST, _EXPIRY = plain(demo_values.listed), plain(demo_values.expiry)
_SENSES = Each(plain(demo_values.paired), dict)

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
    "open the books: shelf": open_shelf,
    "open the books: fitted": open_fitted,
    # ---- orders
    "place an order": Deed(
        ordering.place_order,
        {"supplier": text, "reference": text, "line": Each(plain(demo_values.order_line))},
        {"line": "lines"},
    ),
    "cancel an order": Deed(
        ordering.cancel_order, {"order": code, "part": Each(text), "reason": text}, {"part": "parts"}
    ),
    "book an arrival to an order": Deed(arrivals.record_arrival, {"line": code, "order": code}),
    "set how a supplier delivers": Deed(
        ordering.set_supply_terms,
        {
            "part": text,
            "supplier": text,
            "source": text,
            "lead time days": plain(int),
            "pack quantity": plain(int),
            "preferred": plain(demo_values.yes_or_no),
        },
        {"preferred": "is_preferred"},
    ),
    # ---- goods-in
    "receive a delivery": Deed(
        receiving.receive,
        {"supplier": text, "reference": text, "line": Each(plain(demo_values.receipt_line))},
        {"line": "lines"},
    ),
    "attach a paper": Deed(receiving.attach_paper, {"line": code, "paper": plain(demo_values.paper)}),
    "accept without paper": Deed(receiving.accept_without_paper, {"line": code, "reason": text}),
    "record a shelf life": Deed(receiving.record_expiry, {"line": code, "expiry": _EXPIRY, "source": text}),
    "inspect pieces": inspect,
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
    "move": Deed(moving.move_things, {"thing": Each(carried), "to": text}, {"thing": "things"}),
    "scrap": Deed(
        disposing.scrap, {"thing": Each(carried), "reason": text, "second": text}, {"thing": "things"}
    ),
    "return to the supplier": Deed(
        disposing.return_to_supplier,
        {"thing": Each(carried), "reference": text, "reason": text},
        {"thing": "things"},
    ),
    "extend a shelf life": extend,
    "inspect a set": Deed(
        inspecting_sets.inspect_set,
        {"set": code, "mark": text, "note": text, "result": text, "to place": text},
        {"set": "rotor_set"},
    ),
    # ---- matching
    "weigh blades": weigh,
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
    "issue a kit": issue,
    "take back a kit unopened": Deed(
        returning.return_unopened, {"kit": code, "seal": text, "to place": text}
    ),
    "take back an opened kit": Deed(
        returning.return_opened,
        {"kit": code, "reason": text, "missing": Each(missing), "closed bag": Each(code)},
        {"closed bag": "closed_bags"},
    ),
    "open a kit outside its aircraft": Deed(
        returning.open_kit,
        {"kit": code, "reason": text, "missing": Each(missing), "closed bag": Each(code)},
        {"closed bag": "closed_bags"},
    ),
    "return leftovers": Deed(
        returning.return_leftovers, {"job": code, "item": Each(leftover)}, {"item": "items"}
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
            "part": Each(taken),
            "torque": plain(demo_values.torque),
            "tool": text,
        },
        {"part": "parts", "torque": "torque_mnm"},
    ),
    "inspect a position": Deed(walking.inspect_position, {"job": code, "position": code, "mark": text}),
    "walk": Deed(walking.walk_positions, {"job": code, "seen": Each(seen)}),
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
    "record a motor test": Deed(
        sense_maps.record_motor_test,
        {"airframe": text, "seen": _SENSES, "source": text, "second": text},
    ),
    "record motor work": Deed(
        sense_maps.record_motor_work,
        {"airframe": text, "work": text, "positions": _LIST, "reason": text},
    ),
    "revise a sense map": Deed(
        sense_maps.revise_sense_map,
        {"airframe": text, "sense": _SENSES, "source": text, "second": text},
        {"sense": "senses"},
    ),
    # ---- holds, counts, oversight
    "place a hold": hold,
    "release a hold": Deed(
        holding.release_hold, {"hold": code, "reference": text, "reason": text, "only": Each(code)}
    ),
    "write the notices of a recall": Deed(recalling.write_notices, {"recall": code}, {"recall": "hold"}),
    "send a notice": Deed(recalling.mark_notice_sent, {"notice": code, "how": text}),
    "keep an answer": Deed(recalling.record_notice_answer, {"notice": code, "answer": text}),
    "start a recall drill": drill,
    "hand the shift over": Deed(handing_over.hand_over_shift, {"text": text, "to": text}, {"to": "second"}),
    "open a count": Deed(counting.open_count, {"place": text}),
    "enter a count": Deed(
        counting.enter_count, {"count": code, "counted": Each(counted)}, {"counted": "entries"}
    ),
    "settle a count": Deed(counting.settle_count, {"count": code, "reason": text, "second": text}),
    "reverse an event": reverse,
    "sell an airframe": Deed(
        airframe_leaving.sell_airframe, {"airframe": text, "new owner": text, "reason": text}
    ),
    "change the type revision": Deed(
        airframes.change_type_revision, {"airframe": text, "revision": text, "source": text, "second": text}
    ),
}
"""Every single act that the scenario knows, by its words."""
