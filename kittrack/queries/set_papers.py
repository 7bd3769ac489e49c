"""The paper of matched sets: which ones hold together and are proved, which do not, and every orphaned blade."""

from datetime import datetime
from typing import Final

from kittrack.printing.documents import Document, Table
from kittrack.queries.integrity import Integrity, set_integrity
from kittrack.queries.paper import GENERAL, SENSES, Stores, moment
from kittrack.store.database import Store


def matched_sets_document(store: Store, *, at: datetime) -> Document:
    """Every matched set of the fleet with its proof, those with a breach first, to be reviewed and signed.

    Args:
        store: the store.
        at: the instant of asking.
    """
    found = set_integrity(store)
    with store.reading() as read:
        stores = Stores(read, at=at)
    return Document(
        "Matched sets",
        stores.mark,
        facts=(
            ("Sound", f"{found.sound} of {len(found.sets)}"),
            ("Breaches", ", ".join(f"{count} {kind}" for kind, count in found.by_breach) or "none"),
            ("Broken so far", str(len(found.broken))),
        ),
        tables=(_breach_table(found), _orphan_table(found), _sound_table(found), _proof_table(found)),
        cautions=(SENSES, GENERAL),
        signatures=("Reviewed by",),
        footer=stores.foot,
    )


def _breach_table(found: Integrity) -> Table:
    return Table(
        "Sets that are not sound", ("Sense", "Set", "Part", "Breach", "Proof", "Condition", "Where", "Blades"),
        tuple(
            (s.sense, s.code, s.part, "; ".join(s.breaches), s.proof, s.condition, s.where, " ".join(s.blades))
            for s in found.sets
            if s.breaches
        ),
        empty="every set holds together and is proved",
    )  # fmt: skip


def _orphan_table(found: Integrity) -> Table:
    return Table(
        "Orphaned blades", ("Sense", "Blade", "Part", "Serial", "Was in", "Condition", "Where"),
        tuple((o.sense, o.code, o.part, o.serial, o.set_it_was_in, o.condition, o.where) for o in found.orphans),
        empty="no blade of a broken set is in the stores",
    )  # fmt: skip


def _sound_table(found: Integrity) -> Table:
    numbers = _proofs(found)
    return Table(
        "Sound sets with their proof", ("Sense", "Set", "Part", "Residual", "Uncertainty", "Tolerance", "Proof", "Where"),
        tuple(
            (s.sense, s.code, s.part, moment(s.residual_g_um), moment(s.uncertainty_g_um), moment(s.tolerance_g_um), _numbered(s.proof, numbers), s.where)
            for s in found.sets
            if not s.breaches
        ),
        right=frozenset({"Residual", "Uncertainty", "Tolerance"}), empty="no set is proved",
    )  # fmt: skip


_PAIR: Final = "; pair "
"""What stands in a proof between its source, which many sets share, and the supplier's pair, which is one set's own."""


def _proofs(found: Integrity) -> dict[str, int]:
    """The sources of the proofs of sound sets, each with its number, in the order in which they are met."""
    sources = dict.fromkeys(s.proof.partition(_PAIR)[0] for s in found.sets if not s.breaches)
    return {source: number for number, source in enumerate(sources, start=1)}


def _numbered(proof: str, numbers: dict[str, int]) -> str:
    source, _, pair = proof.partition(_PAIR)
    return f"{numbers[source]}, pair {pair}" if pair else str(numbers[source])


def _proof_table(found: Integrity) -> Table:
    """The sources of proofs in full, once each."""
    rows = tuple((str(number), source) for source, number in _proofs(found).items())
    return Table("Proofs by their number", ("Proof", "Source"), rows, empty="no set is proved")
