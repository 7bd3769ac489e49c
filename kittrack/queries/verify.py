"""`verify`: folds the ledger again, checks the chain, and every rule that data can show; names what is wrong."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from kittrack.errors import KittrackError
from kittrack.queries.integrity import set_integrity
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.fold import Difference, Progress, against_head, chain_head, differences


@dataclass(frozen=True)
class Verdict:
    """What `verify` found. `faults` is empty for a store that is sound.

    `open_points` are honest gaps that nobody hides (unproved sets from before day one), not faults. `head` is
    the number and hash of the last event, to be kept outside the store.
    """

    events: int
    head: str
    faults: tuple[Difference, ...]
    open_points: tuple[Difference, ...]


def verify(store: Store, *, expected_head: str = "", progress: Progress | None = None) -> Verdict:
    """Check the whole store against its own history and against the rules.

    Args:
        store: the store.
        expected_head: "number:hash" as a voucher or a backup's note shows it; a store cut off before that
            event, or rewritten, is found by it.
        progress: called with (events done, events in all).

    Raises:
        BadInput: the expected head is none.
    """
    with store.reading() as read:
        faults = list(differences(read, progress=progress))
        number, digest = chain_head(read)
        faults += against_head(read, expected_head)
        faults += [
            Difference("pages", "file", f"the file is damaged: {said}")
            for said in store.page_faults(with_indexes=True)
        ]
        faults += _judged(lambda: _broken_rules(read), broken=bool(faults))
    points: list[Difference] = []
    for found in _judged(lambda: _breaches(store), broken=bool(faults)):
        (points if found.message.endswith(_HONEST_GAP) else faults).append(found)
    return Verdict(number, f"{number}:{digest}", tuple(faults), tuple(points))


def _judged(judge: Callable[[], Iterator[Difference]], *, broken: bool) -> list[Difference]:
    """What a rule finds; in a store that is not its own history, also that the rule can't be judged."""
    try:
        return list(judge())
    except (LookupError, TypeError, ValueError, KittrackError):
        if not broken:
            raise
        message = "a rule can't be judged while rows are missing or forged; restore the last backup"
        return [Difference("rules", "store", message)]


_HONEST_GAP: Final = "history unknown, not proved"


_RULE_OF_BREACH: Final = {"not whole": "R1", "mixed parts": "R2", "mixed senses": "R2", "mixed lots": "R2"}
"""What is not one of these says that a set is not proved."""


def _breaches(store: Store) -> Iterator[Difference]:
    """Every breach of a rotor set, and what is open about one from before day one."""
    for one in set_integrity(store).sets:
        for breach in one.breaches:
            rule = _RULE_OF_BREACH.get(breach, "R19")
            yield Difference(rule, one.code, f"rotor set {one.code}: {breach}")


_RULES: tuple[tuple[str, str, str], ...] = (
    (
        "R3",
        "a set sits on a position that the map gives another sense",
        "SELECT s.code || ' at ' || a.tail || ' ' || p.name FROM containment c JOIN rotor_set s ON s.place_id = c.container_id "
        "JOIN position p ON p.place_id = c.inside_id JOIN airframe a ON a.id = p.airframe_id "
        "JOIN sense_map_line l ON l.position_id = p.id AND l.sense_map_id = a.sense_map_id WHERE l.sense <> s.sense "
        "AND NOT EXISTS (SELECT 1 FROM finding f WHERE f.position_id = p.id AND f.settled_event_id IS NULL)",
    ),
    (
        "R3",
        "a position holds more than one set",
        "SELECT a.tail || ' ' || p.name FROM containment c JOIN rotor_set s ON s.place_id = c.container_id "
        "JOIN position p ON p.place_id = c.inside_id JOIN airframe a ON a.id = p.airframe_id GROUP BY a.tail, p.name HAVING count(*) > 1",
    ),
    (
        "R5",
        "a sealed or issued kit is not closed",
        "SELECT k.code FROM kit k JOIN place p ON p.id = k.place_id WHERE k.state IN ('checked', 'sealed', 'issued') AND p.closed = 0",
    ),
    (
        "R1",
        "a complete set is not closed",
        "SELECT s.code FROM rotor_set s JOIN place p ON p.id = s.place_id WHERE s.state = 'complete' AND p.closed = 0",
    ),
    (
        "R5",
        "an issued kit is in nobody's hands",
        "SELECT k.code FROM kit k JOIN containment c ON c.container_id = k.place_id JOIN place p ON p.id = c.inside_id "
        "WHERE k.state = 'issued' AND p.kind <> 'hands'",
    ),
    (
        "R8",
        "builder and checker of a kit are one person",
        "SELECT k.code FROM kit k WHERE k.checked_by_id = k.built_by_id AND NOT EXISTS "
        "(SELECT 1 FROM alone_declaration d WHERE d.person_id = k.built_by_id)",
    ),
    (
        "R8",
        "giver and receiver of an issue are one person",
        "SELECT v.code FROM voucher v WHERE v.giver_id = v.receiver_id AND NOT EXISTS "
        "(SELECT 1 FROM alone_declaration d WHERE d.person_id = v.giver_id)",
    ),
    (
        "R8",
        "fitter and inspector of a position are one person, and it is not recorded as a re-inspection",
        "SELECT s.code FROM fit_record f JOIN rotor_set s ON s.id = f.rotor_set_id "
        "WHERE f.inspected_by_id = f.fitted_by_id AND f.inspection <> 're-inspection'",
    ),
    (
        "R9",
        "fasteners or single-use stock came back from a position",
        "SELECT DISTINCT r.code FROM movement m JOIN place f ON f.id = m.from_place_id JOIN place t ON t.id = m.to_place_id "
        "JOIN receipt_line r ON r.id = m.receipt_line_id JOIN part p ON p.id = r.part_id "
        "WHERE f.kind = 'position' AND t.kind IN ('bin', 'van', 'kit', 'job') "
        "AND (p.kind = 'fastener' OR p.single_use = 1)",
    ),
    (
        "R11",
        "a closed job still owes something",
        "SELECT j.code FROM job j WHERE j.state = 'closed' AND (EXISTS (SELECT 1 FROM holding h WHERE h.place_id = j.place_id) "
        "OR EXISTS (SELECT 1 FROM containment c "
        "JOIN place p ON p.id = c.container_id WHERE c.inside_id = j.place_id AND p.active = 1))",
    ),
    (
        "R14",
        "stock is serviceable without a paper",
        "SELECT DISTINCT r.code FROM holding h JOIN receipt_line r ON r.id = h.receipt_line_id "
        "JOIN delivery d ON d.id = r.delivery_id WHERE h.condition = 'serviceable' AND d.is_opening = 0 "
        "AND NOT EXISTS (SELECT 1 FROM paper p WHERE p.receipt_line_id = r.id)",
    ),
    (
        "R16",
        "two lots have one identity",
        "SELECT min(code) FROM lot WHERE lot_code IS NOT NULL GROUP BY part_id, maker_id, supplier_id, lot_code HAVING count(*) > 1",
    ),
)


def _broken_rules(read: Reading) -> Iterator[Difference]:
    for rule, what, sql in _RULES:
        for subject in sorted(row[0] for row in read.rows(sql)):
            yield Difference(rule, subject, f"{what}: {subject}")
