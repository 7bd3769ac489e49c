"""The rights of the database role that terminals work with on PostgreSQL: to add and to read, never to erase.

The tables belong to another role, the owner, who alone makes and upgrades them. A terminal's role may add rows,
may change the columns that acts change, and nothing else: with its password, nobody rewrites the history or takes
a guard away. What an act changes is declared here, so that it is the same on both engines. Source: design R12, A4.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Any, Final

from kittrack.domain.rules import Rule
from kittrack.errors import BadInput, Refusal, Refused, StoreError
from kittrack.store.records import CACHES, TABLES

CHANGED: Final[Mapping[str, tuple[str, ...]]] = {
    "person": ("active",),
    "person_role": ("active",),
    "place": ("active", "closed"),
    "part": (
        "mark_revision",
        "pairing_source",
        "pairing_suffices",
        "revision",
        "superseded_by_id",
        "superseded_how",
        "tolerance_g_um",
        "tolerance_source",
    ),
    "paper_kind": ("active",),
    "type_revision": ("retorque_minutes", "settings_revision"),
    "hub_fixing": (
        "torque_condition",
        "torque_method",
        "torque_mnm",
        "torque_source",
        "torque_text",
        "torque_tolerance_mnm",
    ),
    "approved_part": ("active",),
    "kit_list_line": ("quantity",),
    "kit_list_end": ("again_event_id",),
    "airframe": ("flights", "minutes", "owner_id", "sense_map_id", "state", "type_revision_id"),
    "position": ("active", "type_position_id"),
    "sense_map": ("cleared_event_id", "verified_event_id"),
    "tool": ("active", "calibrated_until_on"),
    "receipt_line": ("expires_on", "expiry_kind"),
    "piece": ("expires_on", "mark", "mass_ug", "moment_g_um", "opened_on", "sense", "weighed_with_id"),
    "rotor_set": (
        "bound_position_id",
        "condition",
        "match_record_id",
        "state",
        "used_flights",
        "used_minutes",
        "used_since_on",
    ),
    "job": ("closed_event_id", "state"),
    "job_position": ("state",),
    "kit": ("checked_by_id", "expires_on", "seal", "settings_revision", "state"),
    "kit_pick": ("active",),
    "reservation": ("state",),
    "voucher": ("state",),
    "fit_record": (
        "airframe_flights",
        "airframe_minutes",
        "inspected_by_id",
        "inspection",
        "locker_line_id",
        "locker_ul",
        "screw_line_id",
        "screws",
        "state",
        "tool_id",
        "torque_method",
        "torque_mnm",
        "walked_by_id",
        "washer_line_id",
        "washers",
    ),
    "hold": ("lot_code", "release_reference", "released_event_id", "scope", "scope_text"),
    "hold_item": ("released_event_id",),
    "finding": ("settled_event_id", "settlement"),
    "stock_count": ("counted_by_id", "state"),
    "count_line": ("booked", "counted", "recounted"),
    "recall_notice": ("state", "sent_how", "sent_event_id", "answer", "answered_event_id"),
    "recall_drill": ("ended_event_id",),
    "recall_drill_line": ("found", "reported_event_id"),
    "supply_terms": ("lead_time_days", "pack_quantity", "preferred", "source", "event_id"),
    "order_line": ("cancelled_event_id",),
    "credential": (
        "method",
        "cost_n",
        "block_r",
        "parallel_p",
        "salt",
        "digest",
        "failures",
        "locked_until_at",
    ),
}
"""The columns that acts change, by table. A table that is not named here is only added to."""

_ROLE: Final = re.compile(r"[a-z_][a-z0-9_]{0,62}")
_STAMP: Final = "store_stamp"
_TERMINAL_ROLES: Final = (
    "SELECT DISTINCT r.rolname FROM pg_class c, aclexplode(c.relacl) a JOIN pg_roles r ON r.oid = a.grantee "
    "WHERE c.relname = 'event' AND c.relnamespace = current_schema()::regnamespace "
    "AND a.privilege_type = 'INSERT' AND a.grantee <> c.relowner"
)


def owns_tables(database: Any) -> bool:
    """Whether the database role that is connected owns the tables of the store."""
    row = database.execute_sql(
        "SELECT pg_has_role(current_user, relowner, 'USAGE') FROM pg_class "
        "WHERE relname = %s AND relnamespace = current_schema()::regnamespace",
        (_STAMP,),
    ).fetchone()
    return bool(row and row[0])


def give_rights(database: Any, role: str, *, password: str = "") -> bool:
    """Make a terminal's role where there is none, and give it exactly its rights, inside the caller's transaction.

    Args:
        database: the open database; connected as the owner of its tables.
        role: the name of the role.
        password: its password, where it signs on with one; it goes to the server as a SCRAM verifier only.

    Returns:
        Whether the role was made.

    Raises:
        BadInput: the name is none.
        Refused: the role owns the tables or may do everything, or who is connected does not own them.
    """
    if not _ROLE.fullmatch(role):
        raise BadInput(
            "A role's name is of small letters, digits and _, and begins with a letter.", field="role"
        )
    if not owns_tables(database):
        raise _refused(
            role, "Only the owner of the store's tables gives rights; name the owner in the store's address."
        )
    is_new = _known(database, role) is None
    if is_new:
        _make_role(database, role)
    elif _known(database, role):
        raise _refused(role, f"{role} owns the tables or may do everything on the server; take another role.")
    if password:
        verifier = database.connection().pgconn.encrypt_password(
            password.encode(), role.encode(), b"scram-sha-256"
        )
        database.execute_sql(f"""ALTER ROLE "{role}" PASSWORD '{verifier.decode("ascii")}'""")
    _grant(database, role)
    return is_new


def renew_rights(database: Any) -> None:
    """Give every terminal's role its rights anew after an upgrade, which may have made tables."""
    for (role,) in database.execute_sql(_TERMINAL_ROLES).fetchall():
        _grant(database, role)


def _refused(role: str, message: str) -> Refused:
    return Refused([Refusal(Rule.NOTHING_ERASED, role, message)])


def _known(database: Any, role: str) -> bool | None:
    """Whether a role could change everything; None where there is no such role."""
    row = database.execute_sql(
        "SELECT r.rolsuper OR pg_has_role(r.oid, c.relowner, 'MEMBER') FROM pg_roles r, pg_class c "
        "WHERE r.rolname = %s AND c.relname = %s AND c.relnamespace = current_schema()::regnamespace",
        (role, _STAMP),
    ).fetchone()
    return bool(row[0]) if row else None


def _make_role(database: Any, role: str) -> None:
    can = "SELECT rolsuper OR rolcreaterole FROM pg_roles WHERE rolname = current_user"
    if not database.execute_sql(can).fetchone()[0]:
        raise StoreError(
            f"there is no role {role}, and the owner of this database may make none; "
            f"let the server's administrator make it (createuser {role}), then give it its rights"
        )
    database.execute_sql(f'CREATE ROLE "{role}" LOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE')


def _grant(database: Any, role: str) -> None:
    schema, name = database.execute_sql("SELECT current_schema(), current_database()").fetchone()
    for statement in _statements(role, schema=_quoted(schema), name=_quoted(name)):
        database.execute_sql(statement)


def _statements(role: str, *, schema: str, name: str) -> Iterator[str]:
    to = _quoted(role)
    yield f"REVOKE ALL ON ALL TABLES IN SCHEMA {schema} FROM {to}"
    yield f"REVOKE ALL ON ALL SEQUENCES IN SCHEMA {schema} FROM {to}"
    yield f"GRANT CONNECT ON DATABASE {name} TO {to}"
    yield f"GRANT USAGE ON SCHEMA {schema} TO {to}"
    yield f"REVOKE CREATE ON SCHEMA {schema} FROM {to}, PUBLIC"
    for table in TABLES:
        adds = ", INSERT" if table not in CACHES else ""
        yield f'GRANT SELECT{adds} ON "{table}" TO {to}'
        if table in CHANGED:
            columns = ", ".join(f'"{column}"' for column in CHANGED[table])
            yield f'GRANT UPDATE ({columns}) ON "{table}" TO {to}'
    yield f"GRANT SELECT, UPDATE (number_floor) ON {_STAMP} TO {to}"
    # The caches follow the movements: the guard that folds them writes them with the owner's rights, nobody else.
    yield f"ALTER FUNCTION movement_folds() SECURITY DEFINER SET search_path = {schema}, pg_temp"


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'
