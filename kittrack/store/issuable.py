"""What may be picked now: sound, unreserved sets and counted stock that lie in a bin.

Source: design R6, R13; section 2 ("Reservations by a job count as not issuable to others").
"""

from collections.abc import Sequence

from kittrack.domain.kit_checks import check_reserved
from kittrack.domain.soundness import Moment, SetFact, StockFact, check_set, check_stock
from kittrack.store.act import Reading
from kittrack.store.kit_facts import marks, reservations, set_facts, stock_facts
from kittrack.store.records import RotorSet

_BINS = "SELECT id FROM place WHERE kind = 'bin' AND active = 1"


def issuable_sets(
    read: Reading,
    part_ids: Sequence[int],
    *,
    now: Moment,
    site_id: int | None = None,
    for_job_id: int | None = None,
) -> tuple[SetFact, ...]:
    """The sets of parts that may be picked, first expiry first.

    Args:
        read: the transaction.
        part_ids: rotor parts.
        now: when and where dates are judged.
        site_id: only bins of this site; of all sites where None.
        for_job_id: the job for which reserved sets count as well.
    """
    bins, params = _bins(site_id)
    found = read.select(
        RotorSet,
        f"state = 'complete' AND condition = 'serviceable' AND part_id IN ({marks(part_ids)}) AND place_id IN "
        f"(SELECT container_id FROM containment WHERE inside_id IN ({bins}))",
        *part_ids,
        *params,
    )
    reserved = reservations(read, rotor_sets=[s.id for s in found])
    kept = {r.subject for r in check_reserved(reserved, for_job_id=for_job_id, on=now.day)}
    sound = [s for s in set_facts(read, found) if s.code not in kept and not check_set(s, now=now)]
    return tuple(sorted(sound, key=lambda one: one.age))


def issuable_stock(
    read: Reading, part_ids: Sequence[int], *, now: Moment, site_id: int | None = None
) -> tuple[StockFact, ...]:
    """The stock of parts in bins that may be picked: counted stock, single doses, and bottles with their own code.

    What comes in bottles is picked as a bottle only, since the day on which it was opened counts (R13).
    """
    bins, params = _bins(site_id)
    bottled = "t.kind = 'consumable' AND t.unit = 'volume_ul' AND t.single_dose = 0"
    stock = stock_facts(
        read,
        f"t.id IN ({marks(part_ids)}) AND h.condition = 'serviceable' AND h.quantity > 0 AND h.place_id IN ({bins}) "
        f"AND (h.piece_id IS NOT NULL OR NOT ({bottled}))",
        *part_ids,
        *params,
    )
    return tuple(item for item in stock if not check_stock([item], now=now))


def _bins(site_id: int | None) -> tuple[str, tuple[int, ...]]:
    return (_BINS, ()) if site_id is None else (f"{_BINS} AND site_id = ?", (site_id,))
