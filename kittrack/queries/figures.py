"""Figures that a person wants to work out before anything is recorded: permissible residuals, screws, torque tools.

Each answer shows formula, inputs, source and result, as `explain_code` does for what is in the store.
Plausibility only; the maker's figure decides. Source: design C2, C8, C9.
"""

from typing import Final

from kittrack.domain import balance, codes, explain
from kittrack.domain.explain import Explanation, Figure
from kittrack.domain.fasteners import STANDARDS, Head, key_um
from kittrack.domain.preload import preload, proof_torque_mnm
from kittrack.domain.text import clean_label
from kittrack.domain.threads import Condition, PropertyClass, Thread, coarse_thread, loads, property_class
from kittrack.domain.torque import TorqueTool, deviation_percent, passes_calibration
from kittrack.errors import BadInput, NotFound
from kittrack.queries.explaining import Asked
from kittrack.store.database import Store
from kittrack.store.records import Tool

_ENTERED: Final = "as it was entered"


def permissible_residual(*, grade_um_s: int, mass_ug: int, speed_rpm: int) -> Asked:
    """The permissible residual unbalance of a balance grade, and the force that it makes at that speed.

    Args:
        grade_um_s: the grade in µm/s, 6300 for G 6.3.
        mass_ug: the mass of the whole rotor, hub included.
        speed_rpm: its greatest speed in turns per minute.

    Raises:
        BadInput: a number that can't be one.
    """
    found = explain.explain_permissible(grade_um_s=grade_um_s, mass_ug=mass_ug, speed_rpm=speed_rpm)
    force = explain.explain_force(found.result.value * 1000, speed_rpm=speed_rpm)
    return Asked("permissible residual", (found, force))


def grade_reached(*, residual_g_um: int, mass_ug: int, speed_rpm: int) -> Asked:
    """The balance grade that a residual amounts to at a speed.

    Args:
        residual_g_um: the residual of the set, in g·µm.
        mass_ug: the mass of the whole rotor, hub included.
        speed_rpm: its speed in turns per minute.

    Raises:
        BadInput: a number that can't be one.
    """
    found = balance.grade_reached_um_s(residual_g_um=residual_g_um, mass_ug=mass_ug, speed_rpm=speed_rpm)
    grade = Explanation(
        title="Balance grade reached",
        formula="G = U w / (1000 m), w = 2 pi n / 60",
        inputs=(
            Figure("U", residual_g_um / 1000, "g mm"),
            Figure("m", mass_ug / 1e9, "kg"),
            Figure("n", speed_rpm, "rpm"),
        ),
        source="ISO 21940-11; no table gives small air propellers a grade",
        result=Figure("G", found / 1000, "mm/s"),
    )
    return Asked("balance grade", (grade, explain.explain_force(residual_g_um, speed_rpm=speed_rpm)))


def tolerance_of_masses(*, difference_ug: int, cg_radius_um: int) -> Asked:
    """The residual that a maker's greatest difference of mass amounts to, taken at the radius of gravity.

    Raises:
        BadInput: a number that can't be one.
    """
    found = balance.tolerance_from_mass(
        difference_ug=difference_ug, cg_radius_um=cg_radius_um, source=_ENTERED
    )
    told = Explanation(
        title="Tolerance from a difference of mass",
        formula="U = m r",
        inputs=(Figure("m", difference_ug / 1000, "mg"), Figure("r", cg_radius_um / 1000, "mm")),
        source="first principles, for blades with one radius of gravity; weigh moments where it differs",
        result=Figure("U", found.residual_g_um / 1000, "g mm"),
        verdict="Enter it as the part's tolerance with the maker's paper as its source.",
    )
    return Asked("tolerance", (told,))


def tolerance_of_share(*, share_ppm: int, moment_g_um: int) -> Asked:
    """The residual that a maker's greatest difference in percent amounts to, of the moment of one blade.

    Args:
        share_ppm: the share in parts per million, 1000 for 0.1 %.
        moment_g_um: the static moment of a blade, in g·µm.

    Raises:
        BadInput: a number that can't be one.
    """
    found = balance.tolerance_from_share(
        share_ppm=share_ppm, moments_g_um=[moment_g_um, moment_g_um], source=_ENTERED
    )
    told = Explanation(
        title="Tolerance from a share of the moment",
        formula="U = p M / 100",
        inputs=(Figure("p", share_ppm / 10_000, "%"), Figure("M", moment_g_um / 1000, "g mm")),
        source="the maker's percentage, read as one of static moments",
        result=Figure("U", found.residual_g_um / 1000, "g mm"),
        verdict="Enter it as the part's tolerance with the maker's paper as its source.",
    )
    return Asked("tolerance", (told,))


def screw_figures(
    *,
    thread: str,
    strength: str,
    torque_mnm: int | None = None,
    condition: str = Condition.DRY.value,
    head: str = "",
) -> Asked:
    """What a screw carries, what a torque makes of it, and which key fits its head.

    Args:
        thread: a coarse metric thread such as "M3".
        strength: its property class such as "8.8" or "A2-70".
        torque_mnm: a torque in mN m, to see its preload.
        condition: how the thread is when it is tightened: dry, lubricated or with threadlocker.
        head: the standard of its head, to see the key.

    Raises:
        BadInput: a thread, class, condition, head or torque that is not known.
    """
    form, grade = coarse_thread(thread), property_class(strength)
    if condition not in tuple(Condition):
        raise BadInput(
            f"{_shown(condition)} is no condition; choose one of: {', '.join(Condition)}.", field="condition"
        )
    found = [_carries(form, grade), _limit(form, grade)]
    if torque_mnm is not None:
        found.append(_preload(form, grade, torque_mnm, Condition(condition)))
    if head:
        found.append(_key(form, head))
    return Asked(f"{form.name} {grade.name}", tuple(found))


def tool_reading(store: Store, *, tool: str, set_mnm: int, reference_mnm: int) -> Asked:
    """Whether what a torque tool applied is within the deviation allowed to a tool of its capacity.

    Args:
        store: the store.
        tool: its code or name.
        set_mnm: what it was set to.
        reference_mnm: what the calibration device read.

    Raises:
        NotFound: no such torque tool with a range.
        BadInput: a figure that can't be one.
    """
    with store.reading() as read:
        named = (
            {"code": codes.read_code(tool).text} if codes.looks_like_code(tool) else {"name": tool.strip()}
        )
        row = read.find(Tool, **named)
    if row is None or row.kind != "torque" or not row.min_mnm or not row.max_mnm:
        raise NotFound(
            f"no torque tool with a range is known as {_shown(tool)}; look it up in the list of tools"
        )
    known = TorqueTool(row.code, row.name, row.min_mnm, row.max_mnm, None)
    passes = passes_calibration(known, set_mnm=set_mnm, reference_mnm=reference_mnm)
    shown = ", ".join(f"{point / 1000:g}" for point in known.test_points_mnm)
    return Asked(
        row.code,
        (
            Explanation(
                title=f"Deviation of {row.name}",
                formula="A = (Xa - Xr) 100 / Xr",
                inputs=(
                    Figure("Xa, set", set_mnm / 1000, "N m"),
                    Figure("Xr, read by the reference", reference_mnm / 1000, "N m"),
                    Figure("allowed, either way", known.deviation_percent, "%"),
                ),
                source="ISO 6789-1: 6 % up to 10 N m, 4 % above",
                result=Figure("A", deviation_percent(set_mnm, reference_mnm=reference_mnm), "%"),
                verdict=(
                    f"{'Within' if passes else 'NOT within'} the limit at this point; a calibration reads it at "
                    f"{shown} N m."
                ),
            ),
        ),
    )


def _carries(thread: Thread, strength: PropertyClass) -> Explanation:
    carried = loads(thread, strength=strength)
    return Explanation(
        title=f"What {thread.name} of class {strength.name} carries",
        formula="F = As x stress, As = pi/4 (d - 0.9382 P)^2",
        inputs=(
            Figure("d", thread.diameter_um / 1000, "mm"),
            Figure("P", thread.pitch_um / 1000, "mm"),
            Figure("As", thread.nominal_stress_area_mm2, "mm2"),
            Figure("proof stress", strength.proof_mpa, "MPa"),
            Figure("least tensile strength", strength.tensile_mpa, "MPa"),
        ),
        source="ISO 898-1 or ISO 3506-1",
        result=Figure("proof load", carried.proof_n, "N"),
        verdict=f"It breaks at {carried.ultimate_n:.0f} N or more.",
    )


def _limit(thread: Thread, strength: PropertyClass) -> Explanation:
    return Explanation(
        title="Torque that reaches its proof load",
        formula="T = K d F, K = 0.20",
        inputs=(
            Figure("d", thread.diameter_um / 1000, "mm"),
            Figure("F", loads(thread, strength=strength).proof_n, "N"),
        ),
        source="T = K d F; K of plain dry steel",
        result=Figure("T", proof_torque_mnm(thread, strength=strength) / 1000, "N m"),
        verdict="A stated torque beyond it is refused.",
    )


def _preload(thread: Thread, strength: PropertyClass, torque_mnm: int, condition: Condition) -> Explanation:
    found = preload(torque_mnm, thread=thread, strength=strength, condition=condition)
    return Explanation(
        title=f"Preload of {torque_mnm / 1000:g} N m, {condition.value}",
        formula="F = T / (K d), over the band of K of its condition",
        inputs=(Figure("T", torque_mnm / 1000, "N m"), Figure("d", thread.diameter_um / 1000, "mm")),
        source=found.source,
        result=Figure("F at the high end of K", found.low_n, "N"),
        verdict=(
            f"From {found.low_n:.0f} N to {found.high_n:.0f} N, that is {found.low_share:.0%} to "
            f"{found.high_share:.0%} of the proof load. A plausibility check; the maker's figure decides."
        ),
    )


def _key(thread: Thread, head: str) -> Explanation:
    named = [h for h in Head if head.casefold() in (h.value.casefold(), h.name.casefold())]
    if not named:
        raise BadInput(
            f"{_shown(head)} is no head that is known; choose one of: {', '.join(Head)}.", field="head"
        )
    return Explanation(
        title=f"Key of {named[0].value} {thread.name}",
        formula="read from the table of the standard",
        inputs=(Figure("d", thread.diameter_um / 1000, "mm"),),
        source=", ".join(name for name, form in STANDARDS.items() if form is named[0]),
        result=Figure("key", key_um(named[0], thread=thread) / 1000, "mm"),
    )


def _shown(text: str) -> str:
    return repr(clean_label(text, max_length=40))
