"""Numbers that cannot be: every public function of the domain refuses each of them by BadInput.

A figure that comes out of NaN, of an endless or a negative mass, or of a speed of zero looks like any other
figure. So each function that takes numbers is called once as it should be, and then once for each of its
numbers (inside lists, tables and dataclasses as well) with each hostile value in its place. A function that
is added without a row here fails the last test.
"""

import importlib
import inspect
import pkgutil
import typing
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from datetime import date
from math import isfinite
from typing import Any

import pytest

import kittrack.domain
from kittrack.domain import (
    balance,
    bounds,
    buildable,
    codes,
    counting,
    cutting,
    dates,
    demand,
    explain,
    fasteners,
    fit,
    fixing,
    forecasts,
    grouping,
    kits,
    layout,
    lives,
    lots,
    matching,
    measurement,
    paper_marks,
    poisson,
    preload,
    quantities,
    rare_demand,
    sampling,
    severity,
    ship_set_plan,
    threads,
    torque,
    trimming,
)
from kittrack.domain.spin import Drive, Level, Sense
from kittrack.errors import BadInput

TODAY, LATER = date(2027, 1, 1), date(2027, 2, 1)
NEVER = [float("nan"), float("inf"), float("-inf"), 1e300, -1e300, 10**400, True, "7", None]

BLADES = [balance.Blade("a", 1000), balance.Blade("b", 1002), balance.Blade("c", 1003)]
WEIGHINGS = [measurement.Weighing(60_000_000, 250_000), measurement.Weighing(60_004_000, 250_000)]
SCALE, RULER = measurement.ScaleSpec(1000, 2000, 1000), measurement.RulerSpec(500)
SETUP = measurement.Setup(SCALE, RULER, one_radius=False)
M3, STEEL = threads.COARSE["M3"], threads.PROPERTY_CLASSES["8.8"]
SCREW = fasteners.screw_of(thread="M3", length_um=8000, standard="ISO 4762", strength="8.8")
BAND = preload.believable_torque(M3, strength=STEEL)
STATED = torque.Torque(1300, threads.Condition.DRY, "invented manual")
TOOL = torque.TorqueTool("T000001", "driver", 200, 2000, TODAY)
OFFERS = [lots.Offer(1, "L1", 10, 1, TODAY), lots.Offer(2, "L2", 20, 2)]
TALLIES = [counting.Tally("bin", "screw", 100, 99, tolerance_percent=1)]
LOT = sampling.plan_lot(1000, kind="fastener", aql="2.5")
PLAN = sampling.single_plan("F", aql="0.65")
LIMIT, USED = dates.LifeLimit(6000, 400, 730), dates.LifeUsed(3000, 100, TODAY)
FIXING = kits.Fixing(1, 4, 2, 4, kits.Locker(3, 5, single_dose=True, pack_ul=50))
COVERED = [kits.Covered(1, "1", Sense.CW, 7, FIXING), kits.Covered(2, "2", Sense.CCW, 8, FIXING)]
LINES = [kits.KitLineState(kits.Demand(kits.LineKind.EXTRA, 1, 4), "P", (kits.Picked(4, "L1"),), 4)]
POSITIONS = [
    layout.LayoutPosition(str(i), angle, 300_000, Level.SINGLE, Drive.TRACTOR, sense)
    for i, (angle, sense) in enumerate(
        [(45_000, Sense.CCW), (225_000, Sense.CCW), (315_000, Sense.CW), (135_000, Sense.CW)]
    )
]
A, B = counting.CountClass.A, counting.CountClass.B
CUT = cutting.Cut((1,), 4)
SET_LINES = [
    ship_set_plan.SetLine("rotor", (1, 2), 2, pure_in=2, tops_up=True),
    ship_set_plan.SetLine("screw", (3,), 16, pure_in=4),
]
STOCK = {1: [4], 2: [3], 3: [40, 10]}


@dataclass(frozen=True)
class Call:
    """One right call of a function, and which of its numbers may be what others may not.

    `signed` and `optional` name numbers that may be negative or None, `positive` those that may not be 0.
    """

    function: Callable[..., object]
    given: Mapping[str, Any]
    signed: frozenset[str] = frozenset()
    optional: frozenset[str] = frozenset()
    positive: frozenset[str] = frozenset()


def call(
    function: Callable[..., object], *, signed: str = "", optional: str = "", positive: str = "", **given: Any
) -> Call:
    return Call(
        function, given, frozenset(signed.split()), frozenset(optional.split()), frozenset(positive.split())
    )


CALLS = (
    call(balance.angular_speed, speed_rpm=3000, positive="speed_rpm"),
    call(balance.best_order, blades=BLADES),
    call(balance.checked_moments, moments_g_um=[1000, 1002]),
    call(balance.force_n, residual_g_um=2400, speed_rpm=3000, positive="speed_rpm"),
    call(balance.g_mm, moment_g_um=2400, signed="moment_g_um"),
    call(
        balance.grade_reached_um_s, residual_g_um=2400, mass_ug=10**9, speed_rpm=3000,
        positive="mass_ug speed_rpm",
    ),
    call(
        balance.permissible_g_um, grade_um_s=6300, mass_ug=10**9, speed_rpm=3000,
        positive="grade_um_s mass_ug speed_rpm",
    ),
    call(balance.slot_directions, count=2, angles_mdeg=[0, 180_000], signed="angles_mdeg", positive="count"),
    call(
        balance.static_moment_g_um, mass_ug=60_000_000, cg_radius_um=250_000, positive="mass_ug cg_radius_um"
    ),
    call(
        balance.tolerance_from_grade, grade_um_s=6300, mass_ug=10**9, speed_rpm=3000, source="manager",
        positive="grade_um_s mass_ug speed_rpm",
    ),
    call(balance.tolerance_from_maker, residual_g_um=2400, source="maker"),
    call(
        balance.tolerance_from_mass, difference_ug=100_000, cg_radius_um=250_000, source="maker",
        positive="cg_radius_um",
    ),
    call(balance.tolerance_from_share, share_ppm=1000, moments_g_um=[1000, 1002], source="maker"),
    call(
        balance.unbalance_of, moments_g_um=[1000, 1002], angles_mdeg=[0, 180_000],
        tapes=[balance.Tape(1000, 2000, 0)], signed="angles_mdeg angle_mdeg",
    ),
    call(bounds.moment, value=1, of="blade"),
    call(bounds.quantity, value=1, of="stock"),
    call(bounds.real, value=1.5, name="figure", low=1, high=2, positive="value"),
    call(bounds.tolerance, value=1),
    call(bounds.whole, value=1, name="figure", low=1, high=2, positive="value"),
    call(
        buildable.sense_balance, have={Sense.CW: 4, Sense.CCW: 3}, need={Sense.CW: 2, Sense.CCW: 2}
    ),
    call(buildable.ship_sets, needs=[buildable.Need("screw", 16, (40, 10), 4)], positive="quantity pure_in"),
    call(codes.make_code, kind=codes.Kind.KIT, number=42, positive="number"),
    call(codes.next_number, kind=codes.Kind.KIT, after=41),
    call(counting.count_classes, issues={"screw": 100, "glue": 3}),
    call(counting.counts_a_year, items={A: 10, B: 5}, times={A: 12, B: 4}),
    call(counting.daily_counts, items={A: 10, B: 5}, every={A: 20, B: 60}, positive="every"),
    call(counting.record_accuracy, tallies=TALLIES),
    call(counting.variances, tallies=TALLIES),
    call(counting.variances_by_sense, tallies=TALLIES),
    call(cutting.fits, heaps=[(1, 10), (1, 7)], wanted={CUT: 3}),
    call(dates.check_service_life, limit=LIMIT, used=USED, subject="set", on=TODAY, optional="minutes flights days"),
    call(dates.opened_until, opened_on=TODAY, life_days=365, positive="life_days"),
    call(dates.remaining, limit=LIMIT, used=USED, on=TODAY, optional="minutes flights days"),
    call(demand.cover_days, issuable=12, issued=6, in_days=90, positive="in_days"),
    call(demand.expected_failures, units=4, hours=500, mtbf_hours=1000, positive="mtbf_hours"),
    call(demand.normal_quantile, service=0.95, positive="service"),
    call(
        demand.propose_order, lines=[demand.OrderLine("rotor", 2, 3, 4)], expected=1, service=0.95, further=2,
        positive="per_ship_set pack_quantity further",
    ),
    call(demand.reorder_point, expected=2, service=0.95),
    call(demand.safety_stock, z=1.65, sd_daily=40, lead_days=9),
    call(demand.safety_stock_varying, z=1.65, daily=10, sd_daily=40, lead_days=9, sd_lead_days=2),
    call(demand.service_reached, stock=4, expected=2),
    call(demand.waste_forecast, offers=OFFERS, daily=1, today=TODAY, positive="quantity"),
    call(explain.explain_force, residual_g_um=2400, speed_rpm=3000, positive="speed_rpm"),
    call(
        explain.explain_permissible, grade_um_s=6300, mass_ug=10**9, speed_rpm=3000,
        positive="grade_um_s mass_ug speed_rpm",
    ),
    call(
        explain.explain_residual, blades=BLADES, tapes=[balance.Tape(1000, 2000, 0)], signed="angle_mdeg"
    ),
    call(
        explain.explain_uncertainty, weighings=WEIGHINGS, setup=SETUP,
        positive="mass_ug radius_um resolution_ug resolution_um readings roundings coverage_factor",
    ),
    call(
        fasteners.check_clamp_stack, screw=SCREW, stack_um=5000, engagement_min_um=2000,
        engagement_max_um=4000, subject="hub",
        positive="diameter_um pitch_um length_um engagement_min_um engagement_max_um",
    ),
    call(fasteners.check_length, screw=SCREW, positive="diameter_um pitch_um length_um"),
    call(fasteners.key_um, head=fasteners.Head.SOCKET, thread=M3, positive="diameter_um pitch_um"),
    call(fasteners.millimetres, length_um=8000),
    call(
        fasteners.screw_of, thread="M3", length_um=8000, standard="ISO 4762", strength="8.8",
        positive="length_um",
    ),
    call(fasteners.standard_lengths_um, head=fasteners.Head.SOCKET, thread=M3, positive="diameter_um pitch_um"),
    call(fit.time_in_service, used=600, at_fit=100, now=160, optional="used at_fit now"),
    call(
        fixing.check_fixings, position="1", needs=[fixing.Need("screw", 4, one_lot=True)],
        taken=[fixing.Taken("screw", "L1", 4)],
    ),
    call(
        fixing.check_tightening, position="1",
        stated=fixing.StatedTightening(torque.Method.TORQUE, 1300, 100),
        applied=fixing.Applied(torque.Method.TORQUE, 1300, TOOL), on=TODAY,
        optional="torque_mnm tolerance_mnm", positive="min_mnm max_mnm",
    ),
    call(
        fixing.is_still_as_stated, stated=fixing.StatedTightening(torque.Method.TORQUE, 1300, 100),
        method=torque.Method.TORQUE, torque_mnm=1300, optional="torque_mnm tolerance_mnm",
    ),
    call(fixing.retorque, interval=600, torqued_at=100, now=160, optional="interval torqued_at now"),
    call(forecasts.forecast, history=[0, 3, 0]),
    call(
        grouping.match_sets, blades=BLADES, blades_per_rotor=3, tolerance_g_um=10, positive="blades_per_rotor"
    ),
    call(grouping.window_factor, blades_per_rotor=3, positive="blades_per_rotor"),
    call(kits.check_complete, lines=LINES, subject="K", positive="pack_quantity"),
    call(
        kits.kit_demand, positions=COVERED, extras=[kits.Extra(9, 1)], optional="pack_ul", positive="pack_ul"
    ),
    call(kits.packs_for, quantity=16, pack_quantity=8, positive="pack_quantity"),
    call(layout.check_layout, positions=POSITIONS, signed="angle_mdeg"),
    call(
        layout.LayoutPosition.from_xy, name="1", forward_um=3000, right_um=-4000, level=Level.SINGLE,
        drive=Drive.TRACTOR, sense=Sense.CW, signed="forward_um right_um",
    ),
    call(layout.rank_of, rows=[[1.0, -0.5], [0.5, 1.0]], negligible=0.01, signed="rows"),
    call(lives.pace_of, readings=[lives.Reading(TODAY, 600, 10), lives.Reading(LATER, 900, 14)], since=TODAY),
    call(lives.replacements_within, days=[TODAY], today=TODAY, horizon=30),
    call(lots.allocate, quantity=5, offers=OFFERS),
    call(lots.allocate_by_hub, needed=[(1, 4), (2, 4)], offers=OFFERS),
    call(lots.complete_hubs, needed=[(1, 4)], own=OFFERS, shelf=OFFERS, positive="own shelf"),
    call(lots.first_out, offers=OFFERS, positive="quantity"),
    call(lots.whole_for, quantity=5, offers=OFFERS),
    call(matching.pair_blades, blades=BLADES, tolerance_g_um=10),
    call(matching.sorted_blades, blades=BLADES),
    call(paper_marks.make_paper_mark, event=42, digest="0" * 64),
    call(
        measurement.expanded_g_um, weighings=WEIGHINGS, setup=SETUP,
        positive="mass_ug radius_um resolution_ug resolution_um readings roundings coverage_factor",
    ),
    call(measurement.judge_match, residual_g_um=1000, expanded_g_um=100, tolerance_g_um=2400),
    call(
        measurement.moment_uncertainty_g_um, weighing=WEIGHINGS[0], scale=SCALE, ruler=RULER,
        positive="mass_ug radius_um resolution_ug resolution_um readings roundings",
    ),
    call(
        measurement.needed_resolution_ug, weighings=WEIGHINGS, setup=SETUP, room_g_um=10**6,
        positive="mass_ug radius_um resolution_ug resolution_um readings roundings coverage_factor",
    ),
    call(
        measurement.prove_match, weighings=WEIGHINGS, setup=SETUP, tolerance_g_um=2400,
        positive="mass_ug radius_um resolution_ug resolution_um readings roundings coverage_factor",
    ),
    call(
        measurement.residual_uncertainty_g_um, uncertainties_g_um=[1.0, 2.0], angles_mdeg=[0, 180_000],
        signed="angles_mdeg",
    ),
    call(poisson.at_most, limit=3, mean=2),
    call(poisson.least_covering, share=0.95, mean=2),
    call(
        preload.assembly_torque, thread=M3, strength=STEEL, friction=0.12, bearing_um=(5070, 3400),
        positive="diameter_um pitch_um friction bearing_um proof_mpa yield_mpa tensile_mpa",
    ),
    call(
        preload.believable_torque, thread=M3, strength=STEEL,
        positive="diameter_um pitch_um proof_mpa yield_mpa tensile_mpa",
    ),
    call(preload.force_n, torque_mnm=1300, diameter_um=3000, nut_factor=0.2, positive="diameter_um nut_factor"),
    call(preload.newton_metres, torque_mnm=1300),
    call(
        preload.preload, torque_mnm=1300, thread=M3, strength=STEEL, condition=threads.Condition.DRY,
        positive="diameter_um pitch_um proof_mpa yield_mpa tensile_mpa",
    ),
    call(
        preload.proof_torque_mnm, thread=M3, strength=STEEL,
        positive="diameter_um pitch_um proof_mpa yield_mpa tensile_mpa",
    ),
    call(
        preload.torque_mnm_for, preload_n=3000, diameter_um=3000, nut_factor=0.2,
        positive="diameter_um nut_factor",
    ),
    call(
        preload.typical_torque_mnm, thread=M3, strength=STEEL,
        positive="diameter_um pitch_um proof_mpa yield_mpa tensile_mpa",
    ),
    call(preload.unit_slips, torque_mnm=50_000, band=BAND),
    call(quantities.stock_in_words, quantity=1300, unit="pieces", signed="quantity"),
    call(quantities.stock_in_words, quantity=1300, unit="volume_ul", signed="quantity"),
    call(quantities.write_quantity, value=1300, dimension=quantities.Dimension.TORQUE, signed="value"),
    call(quantities.write_torque, torque_mnm=1300, signed="torque_mnm"),
    call(rare_demand.rare_demand, history=[0, 3, 0], alpha=0.5, beta=0.2, positive="alpha beta"),
    call(sampling.acceptance_probability, plan=PLAN, faults_per_hundred=1),
    call(sampling.code_letter, lot_size=100, positive="lot_size"),
    call(sampling.inspect_count, lot_size=100, kind="fastener", aql="2.5", positive="lot_size"),
    call(sampling.plan_lot, lot_size=100, kind="fastener", aql="2.5", positive="lot_size"),
    call(severity.check_sample, plan=LOT, faulty=1, stopped=False, subject="line"),
    call(severity.standing_after, history=[severity.LotResult(LOT, 1)]),
    call(ship_set_plan.plan_together, types=[SET_LINES, SET_LINES], stock=STOCK, first=[1], positive="quantity pure_in"),
    call(ship_set_plan.ship_sets_of, lines=SET_LINES, stock=STOCK, positive="quantity pure_in"),
    call(
        threads.loads, thread=M3, strength=STEEL,
        positive="diameter_um pitch_um proof_mpa yield_mpa tensile_mpa",
    ),
    call(torque.check_tool, tool=TOOL, torque_mnm=1300, on=TODAY, positive="torque_mnm min_mnm max_mnm"),
    call(
        torque.check_torque, torque=STATED, thread=M3, strength=STEEL, subject="hub",
        positive="torque_mnm diameter_um pitch_um proof_mpa yield_mpa tensile_mpa",
    ),
    call(torque.deviation_percent, set_mnm=1300, reference_mnm=1250, positive="reference_mnm"),
    call(
        torque.passes_calibration, tool=TOOL, set_mnm=1300, reference_mnm=1250,
        positive="reference_mnm min_mnm max_mnm",
    ),
    call(
        torque.question_torque, torque=STATED, thread=M3, strength=STEEL, subject="hub",
        positive="torque_mnm diameter_um pitch_um proof_mpa yield_mpa tensile_mpa",
    ),
    call(
        trimming.trim_plan, moments_g_um=[1_000_000, 1_004_000], within_g_um=0, radius_um=200_000,
        positive="radius_um",
    ),
)  # fmt: skip

# Numbers that are no figures: whose row it is, where in a list something stands, which bound the caller set.
NO_FIGURES = frozenset({"key", "kind", "received", "low", "high", "taken", "first", "parts", "hubs"})
# Lists of pairs that begin with whose quantity it is.
PAIRS = frozenset({"needed", "heaps"})
# Values that the domain works out itself, from figures that were refused or taken where they came in.
WORKED_OUT = (kits.Demand, sampling.LotPlan, sampling.Plan, preload.TorqueBand)

EXEMPT = {
    # facts that a query read: whole numbers of STRICT columns, and ids
    "boxes": "",
    "kit_checks": "",
    "soundness": "",
    # what was read from a label: texts whose digits are checked one by one (tests/domain/test_scans.py)
    "gs1": "",
    "identifiers": "",
    # the longest text that a caller shows
    "text": "",
    # which of two persons somebody is
    "fit": "check_inspector inspection_kind",
    # keys only, and parts of a turn; the moments and angles are checked beside it
    "balance": "refuse_doubles direction",
    # blades in the order of `sorted_blades`, which checks them
    "matching": "explain_singles",
    # values that the domain worked out
    "explain": "explain_tolerance explain_verdict",
    "lives": "runs_out",
}


def numbers_in(value: Any, *, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The way to each number: names of parameters and fields, places in lists, keys of tables."""
    name = next((step for step in reversed(path) if isinstance(step, str)), "")
    if name in NO_FIGURES or name.endswith("_id") or isinstance(value, (bool, *WORKED_OUT)):
        return
    if isinstance(value, int | float):
        yield path
    elif is_dataclass(value):
        for field in fields(value):
            yield from numbers_in(getattr(value, field.name), path=(*path, field.name))
    elif isinstance(value, Mapping):
        for key in value:
            yield from numbers_in(value[key], path=(*path, key if isinstance(key, str) else _Key(key)))
    elif isinstance(value, list | tuple):
        whose = isinstance(value, tuple) and name in PAIRS
        for place, each in list(enumerate(value))[whose:]:
            yield from numbers_in(each, path=(*path, place))


@dataclass(frozen=True)
class _Key:
    """A key of a table on the way to a number."""

    key: Any


def spoiled(value: Any, path: tuple[Any, ...], hostile: object) -> Any:
    """A copy of a value with something hostile at the end of a path; dataclasses check what they are made of."""
    if not path:
        return hostile
    step, rest = path[0], path[1:]
    if isinstance(step, _Key):
        return {**value, step.key: spoiled(value[step.key], rest, hostile)}
    if isinstance(step, int):
        changed = [spoiled(each, rest, hostile) if at == step else each for at, each in enumerate(value)]
        return type(value)(changed)
    if isinstance(value, Mapping):
        return {**value, step: spoiled(value[step], rest, hostile)}
    return replace(value, **{step: spoiled(getattr(value, step), rest, hostile)})


def hostile_to(one: Call, path: tuple[Any, ...]) -> list[object]:
    """What may not stand at a place."""
    names = {step for step in path if isinstance(step, str)}
    values = [value for value in NEVER if value is not None or not names & one.optional]
    values += [] if names & one.signed else [-1]
    return [*values, 0] if names & one.positive else values


@pytest.mark.parametrize(
    "one", CALLS, ids=lambda one: f"{one.function.__module__.split('.')[-1]}.{one.function.__name__}"
)
def test_no_number_that_cannot_be_is_taken(one: Call) -> None:
    one.function(**one.given)
    places = list(numbers_in(one.given))
    assert places
    taken = []
    for path in places:
        for hostile in hostile_to(one, path):
            try:
                answer = one.function(**spoiled(one.given, path, hostile))
            except BadInput:
                continue
            except Exception as fault:  # noqa: BLE001  # whatever it is, it is the finding
                answer = fault
            taken.append((path, hostile, repr(answer)))
    assert taken == []


@pytest.mark.parametrize(
    "one", CALLS, ids=lambda one: f"{one.function.__module__.split('.')[-1]}.{one.function.__name__}"
)
def test_a_right_call_answers_with_finite_numbers(one: Call) -> None:
    answer = one.function(**one.given)
    found = [_at(answer, path) for path in numbers_in(answer)]
    assert all(isfinite(number) for number in found)


def _at(value: Any, path: tuple[Any, ...]) -> Any:
    for step in path:
        if isinstance(value, Mapping):
            value = value[step.key if isinstance(step, _Key) else step]
        else:
            value = value[step] if isinstance(step, int) else getattr(value, step)
    return value


def takes_numbers(hint: Any, *, above: tuple[Any, ...] = ()) -> bool:
    """Whether a type is a number or holds one."""
    if hint in (int, float):
        return True
    if hint in above:
        return False
    if is_dataclass(hint):
        return any(takes_numbers(each, above=(*above, hint)) for each in typing.get_type_hints(hint).values())
    return any(takes_numbers(each, above=above) for each in typing.get_args(hint))


def public_functions() -> Iterator[tuple[str, str, Callable[..., object]]]:
    for found in pkgutil.iter_modules(kittrack.domain.__path__):
        module = importlib.import_module(f"kittrack.domain.{found.name}")
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ == module.__name__ and not name.startswith("_"):
                yield found.name, name, function


def test_every_public_function_that_takes_numbers_stands_above() -> None:
    called = {one.function for one in CALLS}
    missing = [
        f"{module}.{name}"
        for module, name, function in public_functions()
        if any(
            takes_numbers(hint)
            for parameter, hint in typing.get_type_hints(function).items()
            if parameter != "return"
        )
        and function not in called
        and EXEMPT.get(module) != ""
        and name not in EXEMPT.get(module, "").split()
    ]
    assert missing == []
