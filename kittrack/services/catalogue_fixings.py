"""Hub fixings of a type revision: screws, washers, threadlocker, length and torque, checked and written.

Source: design R4, R7 (screw length changes with the revision), R18 (torque with source and condition), C8.
"""

from dataclasses import dataclass

from kittrack.domain.fasteners import STANDARDS, Screw, check_clamp_stack, check_length
from kittrack.domain.rules import Rule
from kittrack.domain.spin import ThreadHand
from kittrack.domain.threads import COARSE, PROPERTY_CLASSES, Condition
from kittrack.domain.torque import Method, Torque, check_torque, question_torque
from kittrack.errors import BadInput, Problem, Refusal
from kittrack.services.catalogue_faults import choice, collecting, fault, raise_any, texts
from kittrack.services.catalogue_parts import part_named
from kittrack.services.catalogue_specs import FixingSpec
from kittrack.store.act import Act, Reading
from kittrack.store.records import HubFixing, Part, TypeRevision

METHODS = tuple(m.value for m in Method)
CONDITIONS = tuple(c.value for c in Condition)

# ---- by itself -----------------------------------------------------------------------------------


def check_fixing(spec: FixingSpec) -> list[Problem]:
    """Every fault of a fixing that shows without looking into the store."""
    found = texts(
        spec, needed=("name", "screw"), optional=("washer", "locker", "torque_text", "torque_source")
    )
    if spec.screws_per_hub < 1:
        found.append(fault("screws_per_hub", "A hub is held by at least one screw; say how many."))
    for part, count, field in (
        (spec.washer, spec.washers_per_hub, "washers_per_hub"),
        (spec.locker, spec.locker_ul_per_screw, "locker_ul_per_screw"),
    ):
        if bool(part) != (count > 0):
            found.append(fault(field, "The part and its amount belong together; give both or neither."))
    return [*found, *_check_tightening(spec), *_check_lengths(spec)]


def _check_tightening(spec: FixingSpec) -> list[Problem]:
    found = choice("torque_method", spec.torque_method, METHODS)
    if not spec.torque_source.strip():
        found.append(
            fault("torque_source", "How the hub is tightened needs its source (R18); name manual and page.")
        )
    if spec.torque_method != Method.TORQUE:
        if spec.torque_mnm is not None or spec.torque_tolerance_mnm is not None:
            found.append(
                fault(
                    "torque_mnm", f"The method is {spec.torque_method}, so there is no torque; leave it out."
                )
            )
        if not spec.torque_text.strip():
            found.append(
                fault("torque_text", "Say how far it is tightened, such as snug and a quarter turn.")
            )
        return found
    found += choice("torque_condition", spec.torque_condition, CONDITIONS)
    if (spec.torque_mnm or 0) < 1:
        found.append(
            fault("torque_mnm", "The method is torque, but no torque is stated; give it with its unit.")
        )
    elif spec.torque_tolerance_mnm is not None and not 1 <= spec.torque_tolerance_mnm < (
        spec.torque_mnm or 0
    ):
        found.append(
            fault(
                "torque_tolerance_mnm", "A tolerance lies between nothing and the torque; look it up again."
            )
        )
    return found


def _check_lengths(spec: FixingSpec) -> list[Problem]:
    given = [
        n for n in ("stack_um", "engagement_min_um", "engagement_max_um") if getattr(spec, n) is not None
    ]
    if given and len(given) < 3:
        message = "Stack and both engagements belong together, or the screw's length can't be checked; give all three."
        return [fault(given[0], message)]
    if len(given) == 3 and not 0 < (spec.engagement_min_um or 0) <= (spec.engagement_max_um or 0):
        return [
            fault("engagement_min_um", "The least engagement is more than nothing and at most the greatest.")
        ]
    return []


# ---- against the parts that it names -------------------------------------------------------------


@dataclass(frozen=True)
class FixingJudgement:
    """What a fixing comes to: its parts, what the rules say against it, and warnings for the person."""

    screw: Part
    washer: Part | None
    locker: Part | None
    refusals: tuple[Refusal, ...]
    warnings: tuple[str, ...]


def judge_fixing(read: Reading, spec: FixingSpec) -> FixingJudgement:
    """Hold a fixing against the parts that it names: kinds, clamp stack, torque beyond the screw's proof load.

    Raises:
        BadInput: every fault of the row itself, and every part that is unknown or of the wrong kind.
    """
    found = check_fixing(spec)
    screw: Part | None = None
    washer: Part | None = None
    locker: Part | None = None
    with collecting(found):
        screw = part_named(read, spec.screw, field="screw", kinds=("fastener",))
    if spec.washer:
        with collecting(found):
            washer = part_named(read, spec.washer, field="washer", kinds=("fastener",))
    if spec.locker:
        with collecting(found):
            locker = part_named(read, spec.locker, field="locker", kinds=("consumable",))
    if found or screw is None:
        raise BadInput(found)
    known = screw_of_part(screw)
    refusals, warnings = _judge_screw(spec, screw, known)
    if locker and spec.torque_method == Method.TORQUE and spec.torque_condition != Condition.THREADLOCKER:
        warnings.append(
            f"{spec.name}: the torque is stated {spec.torque_condition}, but the screws take threadlocker; "
            "ask the maker which it is meant for."
        )
    return FixingJudgement(screw, washer, locker, tuple(refusals), tuple(warnings))


def screw_of_part(part: Part) -> Screw | None:
    """A fastener part as the screw tables know it; None where its head, thread or class is not in them."""
    standards = {head.value: standard for standard, head in reversed(STANDARDS.items())}
    thread, strength = COARSE.get(part.thread), PROPERTY_CLASSES.get(part.property_class)
    if thread is None or strength is None or part.head not in standards or part.length_um is None:
        return None
    hand = ThreadHand(part.thread_hand) if part.thread_hand else ThreadHand.RIGHT
    return Screw(thread, part.length_um, standards[part.head], strength, hand)


def _judge_screw(spec: FixingSpec, part: Part, screw: Screw | None) -> tuple[list[Refusal], list[str]]:
    if screw is None:
        message = f"{spec.name}: {part.number} is no screw of the tables, so its length and torque are not checked here."
        return [], [message]
    refusals: list[Refusal] = []
    if spec.stack_um is not None and spec.engagement_min_um and spec.engagement_max_um:
        refusals += check_clamp_stack(
            screw, stack_um=spec.stack_um, engagement_min_um=spec.engagement_min_um,
            engagement_max_um=spec.engagement_max_um, subject=spec.name,
        )  # fmt: skip
    warnings = [p.message for p in check_length(screw)]
    if spec.torque_method == Method.TORQUE and spec.torque_mnm:
        torque = Torque(spec.torque_mnm, Condition(spec.torque_condition), spec.torque_source)
        beyond = check_torque(torque, thread=screw.thread, strength=screw.strength, subject=spec.name)
        odd = question_torque(torque, thread=screw.thread, strength=screw.strength, subject=spec.name)
        refusals += beyond
        warnings += [] if beyond else [p.message for p in odd]
    return refusals, warnings


def write_fixing(act: Act, revision: TypeRevision, spec: FixingSpec) -> tuple[HubFixing, tuple[str, ...]]:
    """Write a fixing of a type revision; answers with it and with warnings.

    Raises:
        BadInput: every fault of it, the length and torque of its screws included.
    """
    judged = judge_fixing(act, spec)
    raise_any(
        [fault("screw" if r.rule == Rule.EFFECTIVITY else "torque_mnm", r.message) for r in judged.refusals]
    )
    row = act.insert(
        HubFixing(
            type_revision_id=revision.id, name=spec.name, screw_part_id=judged.screw.id,
            screws_per_hub=spec.screws_per_hub, washer_part_id=judged.washer.id if judged.washer else None,
            washers_per_hub=spec.washers_per_hub, locker_part_id=judged.locker.id if judged.locker else None,
            locker_ul_per_screw=spec.locker_ul_per_screw, torque_method=spec.torque_method, torque_mnm=spec.torque_mnm,
            torque_tolerance_mnm=spec.torque_tolerance_mnm, torque_text=spec.torque_text,
            torque_condition=spec.torque_condition, torque_source=spec.torque_source, stack_um=spec.stack_um,
            engagement_min_um=spec.engagement_min_um, engagement_max_um=spec.engagement_max_um,
        )
    )  # fmt: skip
    return row, judged.warnings
