"""What the store is measured against: the same work as plain SQL over the bare driver, written by hand.

No act, no record classes, no query helpers: one function asks what has to be asked, in as few questions as a
careful person would write, and answers with tuples. The issue makes the same reads and writes as the service
and keeps the chain of hashes; it makes no sentences. Recall and trace answer the same questions as the queries.
"""

import hashlib
import json
import sqlite3
from datetime import UTC, datetime
from functools import cache
from typing import Any
from urllib.parse import urlsplit

from kittrack.domain import codes
from kittrack.store.database import WRITER_LOCK
from kittrack.store.engines import sqlite_path

Row = tuple[Any, ...]


@cache
def _native(sql: str, *, postgresql: bool) -> str:
    return sql.replace("?", "%s") if postgresql else sql


class Bare:
    """A connection of the bare driver, durable as the store's own."""

    def __init__(self, url: str) -> None:
        self.is_postgresql = urlsplit(url).scheme != "sqlite"
        self._driver: Any
        if self.is_postgresql:
            import psycopg

            self._driver = psycopg.connect(url, autocommit=True)
        else:
            self._driver = sqlite3.connect(sqlite_path(url), isolation_level=None)
            for pragma in (
                "journal_mode = wal",
                "synchronous = 2",
                "foreign_keys = 1",
                "busy_timeout = 5000",
            ):
                self._driver.execute(f"PRAGMA {pragma}")

    def rows(self, sql: str, *params: Any) -> list[Row]:
        """Every row of a query."""
        found: list[Row] = self.run(sql, *params).fetchall()
        return found

    def run(self, sql: str, *params: Any) -> Any:
        """The cursor of a statement."""
        return self._driver.execute(_native(sql, postgresql=self.is_postgresql), params)

    def begin(self) -> None:
        """Begin to write; one writer at a time."""
        if self.is_postgresql:
            self.run("BEGIN")
            self.run(f"SELECT pg_advisory_xact_lock({WRITER_LOCK})")
        else:
            self.run("BEGIN IMMEDIATE")

    def begin_reading(self) -> None:
        """Begin to read one moment of the store."""
        self.run("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY" if self.is_postgresql else "BEGIN")

    def commit(self) -> None:
        """End the transaction."""
        self.run("COMMIT")

    def close(self) -> None:
        """Give the connection back."""
        self._driver.close()


# ---- the issue of a kit --------------------------------------------------------------------------

_KIT = (
    "SELECT k.id, k.place_id, k.state, k.seal, k.settings_revision, k.airframe_id, r.id, r.settings_revision, "
    "t.name || ' ' || r.name, c.inside_id, p.kind FROM kit k JOIN type_revision r ON r.id = k.type_revision_id "
    "JOIN airframe_type t ON t.id = r.airframe_type_id JOIN containment c ON c.container_id = k.place_id "
    "JOIN place p ON p.id = c.inside_id WHERE k.code = ?"
)
_JOB = (
    "SELECT j.id, j.state, a.id, a.type_revision_id, a.sense_map_id, a.state FROM job j "
    "JOIN airframe a ON a.id = j.airframe_id WHERE j.code = ?"
)
_PERSON = (
    "SELECT p.id, p.active, p.same_human_as_id, r.role FROM person p "
    "LEFT JOIN person_role r ON r.person_id = p.id AND r.active = 1 WHERE p.name = ?"
)
_SETS = (
    "SELECT s.id, s.place_id, s.sense, s.state, s.condition, s.part_id, s.used_minutes, s.history_known, s.bound_position_id, "
    "t.blades_per_rotor, t.life_minutes, t.superseded_how, m.id, m.residual_g_um, m.uncertainty_g_um, m.tolerance_g_um "
    "FROM containment c JOIN rotor_set s ON s.place_id = c.container_id JOIN part t ON t.id = s.part_id "
    "LEFT JOIN match_record m ON m.id = s.match_record_id WHERE c.inside_id = ?"
)
_STOCK = (
    "SELECT h.receipt_line_id, h.piece_id, h.place_id, h.condition, h.quantity, r.expiry_kind, r.expires_on, l.code, "
    "t.superseded_how, p.sense, p.expires_on FROM holding h JOIN receipt_line r ON r.id = h.receipt_line_id "
    "JOIN lot l ON l.id = r.lot_id JOIN part t ON t.id = r.part_id LEFT JOIN piece p ON p.id = h.piece_id "
    "WHERE h.place_id IN ({0})"
)
_HOLDS = (
    "SELECT h.code FROM hold_item i JOIN hold h ON h.id = i.hold_id WHERE i.released_event_id IS NULL AND "
    "(i.receipt_line_id IN ({0}) OR i.piece_id IN ({1}) OR i.rotor_set_id IN ({2}) OR i.kit_id = ?)"
)
_PICKS = (
    "SELECT l.id, l.quantity, l.per_hub, k.quantity, k.type_position_id, r.lot_id FROM kit_line l "
    "LEFT JOIN kit_pick k ON k.kit_line_id = l.id AND k.active = 1 AND k.kit_id = l.kit_id "
    "LEFT JOIN receipt_line r ON r.id = k.receipt_line_id WHERE l.kit_id = ?"
)
_COVERED = (
    "SELECT k.type_position_id, k.sense, a.part_id FROM kit_position k LEFT JOIN approved_part a "
    "ON a.type_position_id = k.type_position_id AND a.active = 1 WHERE k.kit_id = ?"
)
_RESERVED = (
    "SELECT j.id FROM reservation v JOIN job j ON j.id = v.job_id WHERE v.state = 'active' AND j.state = 'open' "
    "AND (v.kit_id = ? OR v.rotor_set_id IN ({0}))"
)
_SERVED = (
    "SELECT p.type_position_id FROM voucher v JOIN kit k ON k.id = v.kit_id JOIN kit_position p ON p.kit_id = k.id "
    "WHERE v.job_id = ? AND v.state IN ('open', 'closed') AND k.purpose = 'full'"
)
_MAPPED = (
    "SELECT x.type_position_id, l.sense FROM sense_map_line l JOIN position x ON x.id = l.position_id "
    "WHERE l.sense_map_id = ? AND x.active = 1"
)


def issue(bare: Bare, *, kit: str, job: str, seal: str, giver: str, receiver: str, at: datetime) -> str:
    """Issue a sealed kit, checked and chained as the service does it; answers with the voucher's code."""
    bare.begin()
    ((last_event, last_at, previous),) = bare.rows("SELECT id, at, hash FROM event ORDER BY id DESC LIMIT 1")
    gives, takes = bare.rows(_PERSON, giver), bare.rows(_PERSON, receiver)
    kit_row, job_row = bare.rows(_KIT, kit)[0], bare.rows(_JOB, job)[0]
    found = _facts_of_issue(bare, kit_row, job_row)
    assert _may_be_issued(kit_row, job_row, gives, takes, found, seal=seal, at=at, last_at=last_at)
    voucher = _write_issue(bare, kit_row, job_row, (gives[0][0], takes[0][0]), at, (last_event, previous))
    bare.commit()
    return voucher


def _facts_of_issue(bare: Bare, kit: Row, job: Row) -> dict[str, list[Row]]:
    sets = bare.rows(_SETS, kit[1])
    places, ids, proofs = [kit[1], *(s[1] for s in sets)], [s[0] for s in sets], [s[12] for s in sets]
    stock = bare.rows(_STOCK.format(_marks(places)), *places)
    lines, pieces = sorted({s[0] for s in stock}), [s[1] for s in stock if s[1]]
    held = _HOLDS.format(_marks(lines), _marks(pieces), _marks(ids))
    return {
        "sets": sets,
        "stock": stock,
        "read": bare.rows(f"SELECT match_record_id, piece_id FROM match_reading WHERE match_record_id IN ({_marks(proofs)})", *proofs),
        "holds": bare.rows(held, *lines, *pieces, *ids, kit[0]),
        "picks": bare.rows(_PICKS, kit[0]),
        "covered": bare.rows(_COVERED, kit[0]),
        "reserved": bare.rows(_RESERVED.format(_marks(ids)), kit[0], *ids),
        "positions": bare.rows("SELECT x.type_position_id FROM job_position j JOIN position x ON x.id = j.position_id WHERE j.job_id = ?", job[0]),
        "served": bare.rows(_SERVED, job[0]),
        "mapped": bare.rows(_MAPPED, job[4]),
        "zone": bare.rows("SELECT time_zone FROM site ORDER BY id LIMIT 1"),
    }  # fmt: skip


def _may_be_issued(
    kit: Row, job: Row, gives: list[Row], takes: list[Row], found: dict[str, list[Row]], *, seal: str, at: datetime, last_at: str
) -> bool:  # fmt: skip
    """Whether nothing stands against it: one condition after the other, without a word on which."""
    today = at.date().isoformat()
    mapped: dict[Any, Any] = dict(found["mapped"])
    people = (
        gives[0][0] != takes[0][0]
        and "clerk" in [p[3] for p in gives]
        and "technician" in [p[3] for p in takes]
    )
    whole = all(
        len([h for h in found["stock"] if h[2] == s[1]]) == s[9] and s[3] == "complete" and s[4] == "serviceable"
        and s[13] + s[14] <= s[15] and s[6] < s[10] and {r[1] for r in found["read"] if r[0] == s[12]} == {h[1] for h in found["stock"] if h[2] == s[1]}
        for s in found["sets"]
    )  # fmt: skip
    good = all(
        h[3] == "serviceable" and h[5] != "unknown" and (h[6] is None or h[6] >= today)
        for h in found["stock"]
    )
    picked: dict[int, int] = {}
    for line, _, _, quantity, _, _ in found["picks"]:
        picked[line] = picked.get(line, 0) + (quantity or 0)
    complete = all(picked[line] == needed for line, needed, *_ in found["picks"])
    one_lot = len({(p[0], p[4], p[5]) for p in found["picks"] if p[4]}) == len(
        {(p[0], p[4]) for p in found["picks"] if p[4]}
    )
    suits = all(mapped[position] == sense for position, sense, _ in found["covered"]) and kit[6] == job[3]
    free = not found["holds"] and not found["reserved"] and not found["served"] and kit[4] == kit[7]
    return bool(
        people and whole and good and complete and one_lot and suits and free and kit[2] == "sealed" and kit[3] == seal
        and kit[10] in ("bin", "van", "bench") and job[1] == "open" and job[5] == "active" and last_at <= _instant(at)
    )  # fmt: skip


def _write_issue(
    bare: Bare, kit: Row, job: Row, people: tuple[int, int], at: datetime, last: tuple[int, str]
) -> str:
    event, previous = last[0] + 1, last[1]
    ((hands,),) = bare.rows("SELECT id FROM place WHERE kind = 'hands' AND person_id = ?", people[1])
    ((movement,),) = bare.rows("SELECT max(id) + 1 FROM movement")
    ((floor,),) = bare.rows("SELECT number_floor FROM store_stamp")
    ((voucher, last_code),) = bare.rows("SELECT id + 1, code FROM voucher ORDER BY id DESC LIMIT 1") or [
        (1, "")
    ]
    after = max(codes.read_code(last_code).number if last_code else 0, floor)
    code = codes.make_code(codes.Kind.VOUCHER, codes.next_number(codes.Kind.VOUCHER, after=after))
    moved = (movement, event, None, kit[0 + 1], 1, kit[9], "", None, hands, "", None)
    bare.run(f"INSERT INTO movement VALUES ({_marks(moved)})", *moved)
    bare.run("UPDATE kit SET state = 'issued' WHERE id = ?", kit[0])
    given = {
        "id": voucher, "code": code, "kit_id": kit[0], "job_id": job[0], "airframe_id": job[2], "giver_id": people[0],
        "receiver_id": people[1], "state": "open", "event_id": event,
    }  # fmt: skip
    bare.run(f"INSERT INTO voucher ({', '.join(given)}) VALUES ({_marks(given)})", *given.values())
    statements = [
        ["update", "kit", kit[0], {"state": "issued"}, {"state": "sealed"}], ["insert", "voucher", given],
    ]  # fmt: skip
    content = {
        "id": event, "act": "issue a kit", "at": _instant(at), "offset_minutes": 0, "by_id": people[0],
        "second_id": people[1], "reason": "", "key": f"event {event}", "statements": _canonical(statements),
        "previous_hash": previous,
    }  # fmt: skip
    digest = hashlib.sha256(_canonical({**content, "movements": [moved]}).encode()).hexdigest()
    row = {**content, "hash": digest}
    bare.run(f"INSERT INTO event ({', '.join(row)}) VALUES ({_marks(row)})", *row.values())
    return code


def _marks(values: Any) -> str:
    return ", ".join("?" * len(values)) or "NULL"


def _instant(at: datetime) -> str:
    return at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def _canonical(value: Any) -> str:
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
