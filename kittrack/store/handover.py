"""The records of one airframe in a zip that anybody can read, to go along with it to a new owner.

CSV files with the codes and names that labels show, each with its SHA-256 in the manifest. It is a copy for
reading: the store keeps everything, and nothing secret is in it. Source: design 2 (an airframe is a container).
"""

import csv
import io
import json
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from kittrack.domain.text import csv_cell
from kittrack.errors import NotFound
from kittrack.store.act import Reading, instant_text
from kittrack.store.archive import MANIFEST, README, TableFile, write_member, write_text
from kittrack.store.database import Store
from kittrack.store.fold import chain_head
from kittrack.store.private import new_file
from kittrack.store.records import Airframe
from kittrack.store.reversals import not_reversed

FORMAT: Final = "kittrack airframe records"


@dataclass(frozen=True)
class HandedOver:
    """What was written for an airframe: the rows of each file, and the head of the chain at that moment."""

    tail: str
    head: str
    rows: dict[str, int]


@dataclass(frozen=True)
class _Sheet:
    """One CSV file: its headings, and the query of its rows; {frame} stands for the airframe's id."""

    heads: tuple[str, ...]
    sql: str


# What belongs to the airframe {frame}, as parts of the queries below.
_POSITIONS: Final = "SELECT id FROM position WHERE airframe_id = {frame}"
_JOBS: Final = "SELECT id FROM job WHERE airframe_id = {frame}"
_SETS: Final = (
    f"SELECT rotor_set_id FROM fit_record WHERE position_id IN ({_POSITIONS}) "
    "UNION SELECT rotor_set_id FROM removal WHERE airframe_id = {frame} "
    "UNION SELECT s.id FROM rotor_set s JOIN containment c ON c.container_id = s.place_id "
    "JOIN position p ON p.place_id = c.inside_id WHERE p.airframe_id = {frame}"
)
_PIECES: Final = (
    "SELECT g.piece_id FROM match_reading g JOIN match_record m ON m.id = g.match_record_id "
    f"WHERE m.rotor_set_id IN ({_SETS}) "
    "UNION SELECT h.piece_id FROM holding h JOIN rotor_set s ON s.place_id = h.place_id "
    f"WHERE h.piece_id IS NOT NULL AND s.id IN ({_SETS})"
)
_LINES: Final = (
    f"SELECT receipt_line_id FROM piece WHERE id IN ({_PIECES}) "
    f"UNION SELECT h.receipt_line_id FROM holding h JOIN rotor_set s ON s.place_id = h.place_id WHERE s.id IN ({_SETS}) "
    f"UNION SELECT h.receipt_line_id FROM holding h JOIN position p ON p.place_id = h.place_id WHERE p.airframe_id = {{frame}} "
    + " ".join(
        f"UNION SELECT {column} FROM fit_record WHERE {column} IS NOT NULL AND position_id IN ({_POSITIONS})"
        for column in ("screw_line_id", "washer_line_id", "locker_line_id")
    )
)
_EVENTS: Final = (
    "SELECT event_id FROM usage_reading WHERE airframe_id = {frame} "
    "UNION SELECT event_id FROM sense_map WHERE airframe_id = {frame} "
    "UNION SELECT verified_event_id FROM sense_map WHERE airframe_id = {frame} "
    "UNION SELECT cleared_event_id FROM sense_map WHERE airframe_id = {frame} "
    "UNION SELECT event_id FROM job WHERE airframe_id = {frame} "
    "UNION SELECT closed_event_id FROM job WHERE airframe_id = {frame} "
    "UNION SELECT event_id FROM voucher WHERE airframe_id = {frame} "
    "UNION SELECT event_id FROM removal WHERE airframe_id = {frame} "
    "UNION SELECT event_id FROM finding WHERE airframe_id = {frame} "
    "UNION SELECT settled_event_id FROM finding WHERE airframe_id = {frame} "
    "UNION SELECT event_id FROM occurrence WHERE airframe_id = {frame} "
    f"UNION SELECT event_id FROM fit_record WHERE position_id IN ({_POSITIONS}) "
    f"UNION SELECT event_id FROM torque_record WHERE position_id IN ({_POSITIONS}) "
    f"UNION SELECT event_id FROM rotor_set WHERE id IN ({_SETS}) "
    f"UNION SELECT event_id FROM match_record WHERE rotor_set_id IN ({_SETS}) "
    f"UNION SELECT event_id FROM receipt_line WHERE id IN ({_LINES}) "
    f"UNION SELECT event_id FROM paper WHERE receipt_line_id IN ({_LINES})"
)

_SHEETS: Final[dict[str, _Sheet]] = {
    "airframe": _Sheet(
        ("code", "tail", "type", "revision", "state", "owner", "minutes flown", "flights"),
        "SELECT a.code, a.tail, t.name, r.name, a.state, o.name, a.minutes, a.flights FROM airframe a "
        "JOIN type_revision r ON r.id = a.type_revision_id JOIN airframe_type t ON t.id = r.airframe_type_id "
        "LEFT JOIN company o ON o.id = a.owner_id WHERE a.id = {frame}",
    ),
    "positions": _Sheet(
        ("code", "position", "arm", "level", "sense seen from above", "fitted set", "in use"),
        "SELECT p.code, p.name, t.arm, t.level, l.sense, s.code, p.active FROM position p "
        "JOIN airframe a ON a.id = p.airframe_id JOIN type_position t ON t.id = p.type_position_id "
        "LEFT JOIN sense_map_line l ON l.position_id = p.id AND l.sense_map_id = a.sense_map_id "
        "LEFT JOIN containment c ON c.inside_id = p.place_id LEFT JOIN rotor_set s ON s.place_id = c.container_id "
        "WHERE p.airframe_id = {frame} ORDER BY t.rank, p.id",
    ),
    "sense_maps": _Sheet(
        ("map revision", "source", "position", "sense seen from above", "made at", "verified at", "cleared at"),
        "SELECT m.revision, m.source, p.name, l.sense, e.at, v.at, c.at FROM sense_map m "
        "JOIN sense_map_line l ON l.sense_map_id = m.id JOIN position p ON p.id = l.position_id "
        "JOIN event e ON e.id = m.event_id LEFT JOIN event v ON v.id = m.verified_event_id "
        "LEFT JOIN event c ON c.id = m.cleared_event_id WHERE m.airframe_id = {frame} ORDER BY m.revision, l.id",
    ),
    "readings": _Sheet(
        ("at", "minutes flown", "flights", "source", "entered by"),
        "SELECT e.at, u.minutes, u.flights, u.source, b.name FROM usage_reading u JOIN event e ON e.id = u.event_id "
        "JOIN person b ON b.id = e.by_id WHERE u.airframe_id = {frame} AND " + not_reversed("u.event_id") + " ORDER BY u.id",
    ),
    "jobs": _Sheet(
        ("job", "purpose", "state", "opened at", "closed at"),
        "SELECT j.code, j.purpose, j.state, e.at, c.at FROM job j JOIN event e ON e.id = j.event_id "
        "LEFT JOIN event c ON c.id = j.closed_event_id WHERE j.airframe_id = {frame} ORDER BY j.id",
    ),
    "issues": _Sheet(
        ("voucher", "kit", "seal", "job", "given by", "received by", "state", "at"),
        "SELECT v.code, k.code, k.seal, j.code, g.name, r.name, v.state, e.at FROM voucher v JOIN kit k ON k.id = v.kit_id "
        "JOIN job j ON j.id = v.job_id JOIN person g ON g.id = v.giver_id JOIN person r ON r.id = v.receiver_id "
        "JOIN event e ON e.id = v.event_id WHERE v.airframe_id = {frame} ORDER BY v.id",
    ),
    "fits": _Sheet(
        (
            "at", "job", "position", "rotor set", "sense", "mark read", "map revision", "screws", "screw line", "washers",
            "washer line", "threadlocker in uL", "threadlocker line", "method", "torque in N mm", "tool", "fitted by",
            "inspected by", "inspection", "walked by", "minutes flown", "flights", "state",
        ),
        "SELECT e.at, j.code, p.name, s.code, f.sense, f.mark, f.map_revision, f.screws, sl.code, f.washers, wl.code, "
        "f.locker_ul, ll.code, f.torque_method, f.torque_mnm, t.code, b.name, i.name, f.inspection, w.name, "
        "f.airframe_minutes, f.airframe_flights, f.state FROM fit_record f JOIN event e ON e.id = f.event_id "
        "JOIN job j ON j.id = f.job_id JOIN position p ON p.id = f.position_id JOIN rotor_set s ON s.id = f.rotor_set_id "
        "LEFT JOIN receipt_line sl ON sl.id = f.screw_line_id LEFT JOIN receipt_line wl ON wl.id = f.washer_line_id "
        "LEFT JOIN receipt_line ll ON ll.id = f.locker_line_id LEFT JOIN tool t ON t.id = f.tool_id "
        "JOIN person b ON b.id = f.fitted_by_id LEFT JOIN person i ON i.id = f.inspected_by_id "
        "LEFT JOIN person w ON w.id = f.walked_by_id WHERE p.airframe_id = {frame} ORDER BY f.id",
    ),
    "torques": _Sheet(
        ("at", "position", "purpose", "method", "torque in N mm", "tool", "minutes flown", "by"),
        "SELECT e.at, p.name, q.purpose, q.torque_method, q.torque_mnm, t.code, q.airframe_minutes, b.name "
        "FROM torque_record q JOIN event e ON e.id = q.event_id JOIN person b ON b.id = e.by_id "
        "JOIN position p ON p.id = q.position_id LEFT JOIN tool t ON t.id = q.tool_id "
        "WHERE p.airframe_id = {frame} ORDER BY q.id",
    ),
    "removals": _Sheet(
        (
            "tag", "at", "job", "position", "rotor set", "purpose", "reason", "sense found", "mark found",
            "minutes used", "flights used", "kept as evidence", "by",
        ),
        "SELECT r.code, e.at, j.code, p.name, s.code, r.purpose, r.reason, r.sense_found, r.mark_found, r.used_minutes, "
        "r.used_flights, r.is_evidence, b.name FROM removal r JOIN event e ON e.id = r.event_id "
        "JOIN person b ON b.id = e.by_id JOIN job j ON j.id = r.job_id JOIN position p ON p.id = r.position_id "
        "JOIN rotor_set s ON s.id = r.rotor_set_id WHERE r.airframe_id = {frame} ORDER BY r.id",
    ),
    "rotor_sets": _Sheet(
        ("rotor set", "part", "sense", "state", "condition", "minutes used", "flights used", "in service since", "history known"),
        "SELECT s.code, t.number, s.sense, s.state, s.condition, s.used_minutes, s.used_flights, s.used_since_on, "
        f"s.history_known FROM rotor_set s JOIN part t ON t.id = s.part_id WHERE s.id IN ({_SETS}) ORDER BY s.id",
    ),
    "match_proofs": _Sheet(
        (
            "rotor set", "at", "method", "source", "scale", "tolerance in g um", "tolerance from", "residual in g um",
            "uncertainty in g um", "tape", "place around the hub", "piece", "moment in g um",
        ),
        "SELECT s.code, e.at, m.method, m.source, w.code, m.tolerance_g_um, m.tolerance_source, m.residual_g_um, "
        "m.uncertainty_g_um, m.tape, g.slot, u.code, g.moment_g_um FROM match_record m JOIN rotor_set s ON s.id = m.rotor_set_id "
        "JOIN event e ON e.id = m.event_id LEFT JOIN tool w ON w.id = m.tool_id "
        "LEFT JOIN match_reading g ON g.match_record_id = m.id LEFT JOIN piece u ON u.id = g.piece_id "
        f"WHERE m.rotor_set_id IN ({_SETS}) ORDER BY m.id, g.slot",
    ),
    "pieces": _Sheet(
        ("piece", "serial", "part", "maker", "mark", "sense", "receipt line", "supplier's pair", "note"),
        "SELECT u.code, u.serial, t.number, m.name, u.mark, u.sense, r.code, u.pair_code, u.note FROM piece u "
        "JOIN part t ON t.id = u.part_id JOIN company m ON m.id = u.maker_id JOIN receipt_line r ON r.id = u.receipt_line_id "
        f"WHERE u.id IN ({_PIECES}) ORDER BY u.id",
    ),
    "lots": _Sheet(
        (
            "receipt line", "part", "name", "lot", "lot code", "maker", "supplier", "delivery", "delivery reference",
            "received", "unit", "expiry", "expires on", "made on", "history known",
        ),
        "SELECT r.code, t.number, t.name, l.code, l.lot_code, m.name, s.name, d.code, d.reference, r.quantity, r.unit, "
        "r.expiry_kind, r.expires_on, r.made_on, r.history_known FROM receipt_line r JOIN part t ON t.id = r.part_id "
        "JOIN lot l ON l.id = r.lot_id JOIN company m ON m.id = l.maker_id JOIN company s ON s.id = l.supplier_id "
        f"JOIN delivery d ON d.id = r.delivery_id WHERE r.id IN ({_LINES}) ORDER BY r.id",
    ),
    "papers": _Sheet(
        ("receipt line", "kind", "number", "issuer", "entered at"),
        "SELECT r.code, p.kind, p.number, p.issuer, e.at FROM paper p JOIN receipt_line r ON r.id = p.receipt_line_id "
        f"JOIN event e ON e.id = p.event_id WHERE r.id IN ({_LINES}) ORDER BY p.id",
    ),
    "findings": _Sheet(
        ("at", "position", "rotor set", "finding", "settled at", "settlement"),
        "SELECT e.at, p.name, s.code, f.text, x.at, f.settlement FROM finding f JOIN event e ON e.id = f.event_id "
        "LEFT JOIN position p ON p.id = f.position_id LEFT JOIN rotor_set s ON s.id = f.rotor_set_id "
        "LEFT JOIN event x ON x.id = f.settled_event_id WHERE f.airframe_id = {frame} ORDER BY f.id",
    ),
    "occurrences": _Sheet(
        ("happened at", "occurrence", "entered at"),
        "SELECT o.happened_at, o.text, e.at FROM occurrence o JOIN event e ON e.id = o.event_id "
        "WHERE o.airframe_id = {frame} ORDER BY o.id",
    ),
    "events": _Sheet(
        ("event", "act", "at", "by", "second person", "reason", "hash"),
        "SELECT e.id, e.act, e.at, b.name, s.name, e.reason, e.hash FROM event e JOIN person b ON b.id = e.by_id "
        f"LEFT JOIN person s ON s.id = e.second_id WHERE e.id IN ({_EVENTS}) ORDER BY e.id",
    ),
}  # fmt: skip


def hand_over(store: Store, path: Path, *, tail: str, at: datetime) -> HandedOver:
    """Write the records of one airframe to a new private file.

    Args:
        tail: the tail, or the airframe's code.

    Raises:
        NotFound: there is no such airframe.
        Refused: there is a file already.
    """
    with store.reading() as read:
        frame = read.find(Airframe, tail=tail.strip()) or read.find(Airframe, code=tail.strip().upper())
        if frame is None:
            raise NotFound(f"there is no airframe {tail.strip()!r}; give its tail or its code")
        number, digest = chain_head(read)
        with new_file(path) as part, zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as archive:
            told = {}
            for name, sheet in _SHEETS.items():
                lines = _lines(read, sheet, frame.id)
                told[name] = write_member(archive, f"{name}.csv", lines, sheet.heads)
            write_text(archive, README, _readme(frame.tail))
            write_text(archive, MANIFEST, _manifest(frame, at=at, head=f"{number}:{digest}", told=told))
    return HandedOver(frame.tail, f"{number}:{digest}", {name: f.rows - 1 for name, f in told.items()})


def _lines(read: Reading, sheet: _Sheet, frame_id: int) -> Iterator[bytes]:
    yield _line(sheet.heads)
    for row in read.rows(sheet.sql.replace("{frame}", str(frame_id))):
        yield _line(row)


def _line(cells: tuple[Any, ...]) -> bytes:
    out = io.StringIO()
    quiet = [c if isinstance(c, int) else "" if c is None else csv_cell(str(c)) for c in cells]
    csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_NONNUMERIC).writerow(quiet)
    return out.getvalue().encode("utf-8", "backslashreplace")


def _manifest(frame: Airframe, *, at: datetime, head: str, told: dict[str, TableFile]) -> str:
    files = {
        f"{n}.csv": {"rows": f.rows - 1, "bytes": f.bytes, "sha256": f.sha256, "columns": f.columns}
        for n, f in told.items()
    }
    content = {
        "format": FORMAT,
        "tail": frame.tail,
        "made_at": instant_text(at),
        "head": head,
        "files": files,
    }
    return json.dumps(content, indent=1) + "\n"


def _readme(tail: str) -> str:
    return f"""\
The records of airframe {tail}, as its stores kept them. Every file is CSV in UTF-8 with one line of headings;
a spreadsheet or a text editor opens it. An apostrophe in front of a cell only keeps spreadsheets from running it.

{chr(10).join(f"{name}.csv" for name in _SHEETS)}
{MANIFEST}   rows, size and SHA-256 of each file, and the head of the store's chain of events: the number and
                the hash of the last event when this was written

Times are UTC, days are those of the stores. Empty means that nobody recorded it: unknown hours are not zero.
lots.csv and papers.csv tell of every delivery whose pieces, screws, washers or threadlocker are or were on it.
events.csv lists the acts behind these records with their hashes, which the store can show again.
To check this zip against the note beside it: kittrack archive check FILE

These records do not replace the maker's manual or the judgement of whoever releases the airframe to fly.
"""
