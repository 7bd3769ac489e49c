"""Questions about ship sets: by place, and together where types share parts."""

from typing import Final

from kittrack.cli.tables import Table, facts, listing
from kittrack.cli.verb import Station, Verb, option
from kittrack.queries import buildable
from kittrack.queries.buildable import BuildableAt, JointPlan


def _by_place(found: tuple[BuildableAt, ...]) -> list[Table]:
    return [
        listing(
            found, "place", ("type", lambda b: f"{b.type_name} {b.revision}"), "sealed_kits", "ship_sets",
            ("CW sets", lambda b: b.cw_sets), ("CCW sets", lambda b: b.ccw_sets), ("stranded", _stranded),
            ("one more takes", lambda b: "; ".join(b.one_more_takes)),
            nothing="no airframe type is in the catalogue",
        )
    ]  # fmt: skip


def _stranded(one: BuildableAt) -> str:
    return f"{one.stranded} {one.fuller}" if one.stranded and one.fuller else ""


def _plan(plan: JointPlan) -> list[Table]:
    return [
        facts(("from", plan.place), ("method", plan.method), ("first", plan.first), ("ship sets in all", plan.total)),
        listing(
            plan.shares, ("type", lambda s: f"{s.type_name} {s.revision}"), ("ship sets together", lambda s: s.together),
            ("alone", lambda s: s.alone), nothing="no airframe type is in the catalogue",
        ),
    ]  # fmt: skip


VERBS: Final = (
    Verb(
        "ship-sets places", Station.OFFICE, "Sealed kits and ship sets of each type, from the stores and from each van.", "",
        buildable.buildable_by_place,
        show=_by_place,
        rows=lambda found: found,
    ),
    Verb(
        "ship-sets plan", Station.OFFICE, "Share one stock out among the types that need the same parts; says if optimal.",
        '--first "QA A"',
        buildable.joint_plan,
        (
            option("place", "only from this bin or van; without it, from all bins"),
            option("first", 'a type revision that gets as many as it can, such as "QA A"; may be repeated, the first counts most', many=True),
        ),
        show=_plan,
        rows=lambda plan: plan.shares,
    ),
)  # fmt: skip
