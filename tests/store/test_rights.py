"""The database role of terminals: what it may do, tried by raw SQL. The invented scenario is played with it too.

That test stands with the scenario (tests/services/test_demo.py).
"""

import ast
import secrets
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest
from psycopg import sql

from kittrack.errors import BadInput, Refused, StoreError
from kittrack.queries.verify import verify
from kittrack.services import signing_on
from kittrack.services.database_rights import give_terminal_rights
from kittrack.store import credentials, schema
from kittrack.store.database import Store, open_store
from kittrack.store.records import CACHES, TABLES
from kittrack.store.rights import CHANGED
from kittrack.store.tables import columns
from tests import factories, postgresql_server
from tests.factories import CLERK, MANAGER, after

pytestmark = pytest.mark.postgresql
PASSWORD = "invented, long and never shown"  # noqa: S105 - of a role that lives for one test


@pytest.fixture
def roles(postgresql_url: str) -> Iterator[tuple[str, str]]:
    """The names of an owner, who may make databases and roles, and of a terminals' role, which is not there yet."""
    owner, terminal = f"owner_{secrets.token_hex(4)}", f"terminal_{secrets.token_hex(4)}"
    with psycopg.connect(postgresql_url, autocommit=True) as connection:
        connection.execute(sql.SQL("CREATE ROLE {} LOGIN CREATEDB CREATEROLE").format(sql.Identifier(owner)))
    yield owner, terminal
    postgresql_server.drop_role(postgresql_url, terminal)
    postgresql_server.drop_role(postgresql_url, owner)


@pytest.fixture
def owned(postgresql_url: str, roles: tuple[str, str]) -> Iterator[str]:
    """The address, as its owner, of a new database."""
    url = postgresql_server.create_database(postgresql_server.as_role(postgresql_url, roles[0]))
    yield url
    postgresql_server.drop_database(postgresql_url, url)


@pytest.fixture
def terminal(owned: str, roles: tuple[str, str]) -> Iterator[Store]:
    """A store with the factories' world, open as the terminals' role."""
    owner = open_store(owned, create=True)
    factories.make_world(owner)
    give_terminal_rights(owner, role=roles[1])
    owner.close()
    opened = open_store(postgresql_server.as_role(owned, roles[1]))
    yield opened
    opened.close()


def refused(store: Store, statement: str) -> bool:
    """Whether the server itself refuses a statement for want of a right."""
    with psycopg.connect(store.url) as connection:
        try:
            connection.execute(statement.encode())
        except psycopg.errors.InsufficientPrivilege:
            return True
        except psycopg.Error:  # it was let through and failed for another reason
            return False
        finally:
            connection.rollback()
    return False


# ---- what the role may not do, by raw SQL -----------------------------------------------------------


def test_no_table_is_deleted_from_emptied_dropped_or_altered(terminal: Store) -> None:
    for table in (*TABLES, "store_stamp"):
        for statement in (
            f'DELETE FROM "{table}"',
            f'TRUNCATE "{table}" CASCADE',
            f'DROP TABLE "{table}" CASCADE',
            f'ALTER TABLE "{table}" DISABLE TRIGGER ALL',
            f'ALTER TABLE "{table}" ADD COLUMN more TEXT',
            f'CREATE TRIGGER sly BEFORE INSERT ON "{table}" FOR EACH ROW EXECUTE FUNCTION never_deleted()',
        ):
            assert refused(terminal, statement), statement


def test_only_what_acts_change_can_be_changed(terminal: Store) -> None:
    for table, record in TABLES.items():
        for column in columns(record):
            may = column in CHANGED.get(table, ())
            assert refused(terminal, f'UPDATE "{table}" SET "{column}" = NULL') is not may, (
                f"{table}.{column}"
            )
    for column in ("program", "schema_version", "is_demo", "id"):
        assert refused(terminal, f"UPDATE store_stamp SET {column} = {column}"), column


def test_the_caches_are_written_by_the_guard_alone(terminal: Store) -> None:
    for table in CACHES:
        assert refused(terminal, f'INSERT INTO "{table}" DEFAULT VALUES'), table
        assert refused(terminal, f'UPDATE "{table}" SET id = id'), table
    assert refused(terminal, "SELECT nextval('holding_ids')")


def test_no_guard_is_changed_and_nothing_of_its_own_is_made(terminal: Store) -> None:
    for statement in (
        "CREATE TABLE own (id INTEGER)",
        "CREATE FUNCTION own() RETURNS integer LANGUAGE sql AS 'SELECT 1'",
        "CREATE OR REPLACE FUNCTION never_deleted() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN OLD; END'",
        "DROP FUNCTION movement_folds() CASCADE",
        "ALTER FUNCTION movement_folds() SECURITY INVOKER",
        "SET session_replication_role = replica",
        "CREATE ROLE sly SUPERUSER",
    ):
        assert refused(terminal, statement), statement


def test_what_is_changed_is_on_no_table_of_the_history() -> None:
    assert set(CHANGED) <= set(TABLES)
    for table, names in CHANGED.items():
        assert not TABLES[table].shape.once, table
        assert not set(names) & {"id", "code", "name", "number", "person_id", "hash"}, table
    assert {"event", "movement", *CACHES}.isdisjoint(CHANGED)


def test_every_column_that_an_act_changes_is_declared() -> None:
    """Every keyword of `update` in the services is a changed column of some table."""
    declared = {column for names in CHANGED.values() for column in names} | {"source"}
    folder = Path(signing_on.__file__).parent
    for file in sorted(folder.glob("*.py")):
        for call in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if not isinstance(call, ast.Call) or not isinstance(call.func, ast.Attribute | ast.Name):
                continue
            name = ast.unparse(call.func)
            if name in ("act.update", "change_part", "change_revision"):
                used = {k.arg for k in call.keywords if k.arg}
                assert used <= declared, f"{file.name}: declare {used - declared} in store/rights.py"


# ---- the program works with it ----------------------------------------------------------------------


def test_people_sign_on_with_the_rights_of_a_terminal(
    terminal: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(credentials, "COST_N", 2**4)
    signing_on.set_pin(terminal, person=CLERK, pin="482915", by=MANAGER, at=after(1))
    with pytest.raises(Refused):
        signing_on.sign_on(terminal, who=CLERK, pin="482916", at=after(2))
    assert signing_on.sign_on(terminal, who=CLERK, pin="482915", at=after(3)).has_pin
    signing_on.set_pin(terminal, person=CLERK, pin="715924", by=CLERK, at=after(4))
    assert not verify(terminal).faults


def test_an_upgrade_takes_the_owner_and_renews_the_rights(
    owned: str, roles: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    owner = open_store(owned, create=True)
    factories.make_world(owner)
    give_terminal_rights(owner, role=roles[1])
    owner.close()
    newest = schema.newest_version("postgresql")
    more = (
        *schema.migrations("postgresql"),
        (newest + 1, "CREATE INDEX person_by_nothing ON person (active)"),
    )
    monkeypatch.setattr(schema, "migrations", lambda _engine: more)
    with pytest.raises(StoreError, match="open it once as the owner"):
        open_store(postgresql_server.as_role(owned, roles[1]))
    raw = psycopg.connect(owned, autocommit=True)
    raw.execute(sql.SQL("REVOKE ALL ON company FROM {}").format(sql.Identifier(roles[1])))
    raw.close()
    open_store(owned).close()
    store = open_store(postgresql_server.as_role(owned, roles[1]))
    factories.put_in_stock(store, factories.SCREW, 3, at=after(1))
    store.close()


# ---- giving rights ----------------------------------------------------------------------------------


def test_a_role_is_made_with_a_password_that_the_server_never_sees(
    owned: str, roles: tuple[str, str], postgresql_url: str
) -> None:
    owner = open_store(owned, create=True)
    made = give_terminal_rights(owner, role=roles[1], password=PASSWORD)
    assert made.codes == (roles[1],)
    assert PASSWORD not in " ".join(made.said)
    again = give_terminal_rights(owner, role=roles[1])
    assert "was there" in again.said[0]
    owner.close()
    with psycopg.connect(postgresql_url) as connection:
        row = connection.execute(
            "SELECT rolpassword, rolsuper FROM pg_authid WHERE rolname = %s", (roles[1],)
        )
        kept, is_super = row.fetchone() or ("", True)
    assert kept.startswith("SCRAM-SHA-256$")
    assert not is_super


def test_an_owner_a_superuser_and_a_name_that_is_none_get_no_rights(
    owned: str, roles: tuple[str, str], terminal: Store
) -> None:
    owner = open_store(owned)
    for role in (roles[0], "postgres"):
        with pytest.raises(Refused, match="may do everything"):
            give_terminal_rights(owner, role=role)
    for name in ("", "two words", 'x"; DROP TABLE event; --', "Capital"):
        with pytest.raises(BadInput):
            give_terminal_rights(owner, role=name)
    owner.close()
    with pytest.raises(Refused, match="Only the owner"):
        give_terminal_rights(terminal, role=roles[1])


def test_an_owner_who_may_make_no_roles_is_told_how(
    owned: str, roles: tuple[str, str], postgresql_url: str
) -> None:
    with psycopg.connect(postgresql_url, autocommit=True) as connection:
        connection.execute(sql.SQL("ALTER ROLE {} NOCREATEROLE").format(sql.Identifier(roles[0])))
    owner = open_store(owned, create=True)
    with pytest.raises(StoreError, match=f"createuser {roles[1]}"):
        give_terminal_rights(owner, role=roles[1])
    owner.close()


def test_a_sqlite_store_has_no_roles(tmp_path: Path) -> None:
    store = open_store(f"sqlite:///{tmp_path / 'new'}", create=True)
    with pytest.raises(BadInput, match="no database roles"):
        give_terminal_rights(store, role="kittrack_terminal")
    store.close()
