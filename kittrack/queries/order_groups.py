"""What is ordered together: the rotor parts of types that share them, so that the senses stay level; else a part by itself.

Source: design C11 (order quantity in ship-set ratio).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from kittrack.domain.ship_set_plan import SetLine
from kittrack.queries.demand_history import History
from kittrack.queries.ship_set_lines import NO_PART, RevisionLines
from kittrack.store.records import Part


@dataclass(frozen=True)
class GroupLine:
    """Parts that serve the same need, how many of them one ship set takes, and the one that is ordered.

    Rotor parts are counted in sets. `whole` is the quantity that has to be of one lot.
    """

    parts: tuple[int, ...]
    ordered: int
    per_ship_set: int
    whole: int = 1


@dataclass(frozen=True)
class OrderGroup:
    """Lines that are brought to the same number of ship sets; `types` names the type revisions that they serve."""

    name: str
    types: tuple[str, ...]
    lines: tuple[GroupLine, ...]


def order_groups(
    revisions: Sequence[RevisionLines], parts: Mapping[int, Part], history: History
) -> tuple[OrderGroup, ...]:
    """Rotor groups first, then every other part of a ship set, by part number."""
    return (*_rotor_groups(revisions, parts, history), *_other_groups(revisions, parts))


# ---- rotor parts -----------------------------------------------------------------------------------


def _rotor_groups(
    revisions: Sequence[RevisionLines], parts: Mapping[int, Part], history: History
) -> list[OrderGroup]:
    families = _families([(at, _rotor_parts(one)) for at, one in enumerate(revisions)])
    return [_rotor_group([revisions[at] for at in family], parts, history) for family in families]


def _rotor_parts(one: RevisionLines) -> set[int]:
    return {p for line in one.lines if line.name in one.rotor_lines for p in line.parts if p != NO_PART}


def _families(members: Sequence[tuple[int, set[int]]]) -> list[list[int]]:
    """Numbers, those together whose parts meet, directly or by others; numbers without any part left out."""
    families: list[tuple[set[int], list[int]]] = []
    for number, own in members:
        if not own:
            continue
        touching = [f for f in families if f[0] & own]
        families = [f for f in families if not f[0] & own]
        families.append(
            (own.union(*(f[0] for f in touching)), sorted([*(n for f in touching for n in f[1]), number]))
        )
    return [numbers for _, numbers in families]


def _rotor_group(
    family: Sequence[RevisionLines], parts: Mapping[int, Part], history: History
) -> OrderGroup:  # fmt: skip
    lines = [
        (one, line)
        for one in family
        for line in one.lines
        if line.name in one.rotor_lines and NO_PART not in line.parts
    ]
    shared = _families([(at, set(line.parts)) for at, (_, line) in enumerate(lines)])
    made = [_rotor_line([lines[at] for at in members], parts, history) for members in shared]
    made.sort(key=lambda one: (parts[one.ordered].sense != "CW", parts[one.ordered].number))
    names = tuple(one.name for one in family)
    return OrderGroup(f"rotor sets of {', '.join(names)}", names, tuple(made))


def _rotor_line(
    members: Sequence[tuple[RevisionLines, SetLine]], parts: Mapping[int, Part], history: History
) -> GroupLine:
    """One line of a group: as many sets as the type that takes most of them needs in one ship set."""
    wanted: dict[str, int] = {}
    together: set[int] = set()
    for one, line in members:
        wanted[one.name] = wanted.get(one.name, 0) + line.quantity
        together |= set(line.parts)
    return GroupLine(
        tuple(sorted(together)), _to_order(together, parts, history), max(wanted.values())
    )  # fmt: skip


def _to_order(together: set[int], parts: Mapping[int, Part], history: History) -> int:
    """Of parts that serve the same: what was used most, of those that are not superseded."""
    current = [i for i in sorted(together) if not parts[i].superseded_how] or sorted(together)
    return max(current, key=lambda i: (sum(history.quantity.get((i, m), 0) for m in history.months), -i))


# ---- everything else -------------------------------------------------------------------------------


def _other_groups(revisions: Sequence[RevisionLines], parts: Mapping[int, Part]) -> list[OrderGroup]:
    wanted: dict[int, dict[str, int]] = {}
    whole: dict[int, int] = {}
    for one in revisions:
        for line in one.lines:
            if line.name in one.rotor_lines or NO_PART in line.parts:
                continue
            (part,) = line.parts
            own = wanted.setdefault(part, {})
            own[one.name] = own.get(one.name, 0) + line.quantity
            whole[part] = max(whole.get(part, 1), line.pure_in)
    groups = []
    for part in sorted(wanted, key=lambda i: parts[i].number):
        own_line = GroupLine((part,), part, max(wanted[part].values()), whole[part])
        name = f"{parts[part].number} ({parts[part].name})"
        groups.append(OrderGroup(name, tuple(wanted[part]), (own_line,)))
    return groups
