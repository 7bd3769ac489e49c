"""The proof of match of some rotor sets, as a screen shows it beside them."""

from collections.abc import Sequence
from dataclasses import dataclass

from kittrack.store.database import Store
from kittrack.store.kit_facts import marks


@dataclass(frozen=True)
class SetProof:
    """How a set is proved; amounts are None where it was not measured. `method` is "" for an unproved set."""

    code: str
    method: str
    residual_g_um: int | None
    tolerance_g_um: int | None


def set_proofs(store: Store, *, rotor_sets: Sequence[str]) -> tuple[SetProof, ...]:
    """The proof of each set, in the order of their codes; codes that are no sets are left out.

    Source: design R19, section 7 (the Counter shows the proof beside each line).
    """
    with store.reading() as read:
        rows = read.rows(
            "SELECT s.code, coalesce(m.method, ''), m.residual_g_um, m.tolerance_g_um FROM rotor_set s "
            f"LEFT JOIN match_record m ON m.id = s.match_record_id WHERE s.code IN ({marks(rotor_sets)}) ORDER BY s.code",
            *rotor_sets,
        )
    return tuple(SetProof(*row) for row in rows)
