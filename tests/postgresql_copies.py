"""Copies of one PostgreSQL database for tests: given to one test, then put back as they were and given to the next.

Making a database costs the server some 0.4 s of computing, putting its rows back less than a tenth of that. A copy of
which more than rows was changed (a trigger, a table, a right, a setting) is dropped.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

import psycopg
from psycopg import sql

from tests import postgresql_server

USES = 50
"""After so many tests a copy is made anew: what was deleted stays in the files, and is read over."""

CATALOGUES = (
    "pg_attrdef", "pg_attribute", "pg_class", "pg_constraint", "pg_default_acl", "pg_depend", "pg_event_trigger",
    "pg_extension", "pg_index", "pg_namespace", "pg_policy", "pg_proc", "pg_rewrite", "pg_trigger", "pg_type",
)  # fmt: skip


@dataclass
class _Copy:
    url: str
    shape: str
    uses: int = 0


@dataclass
class Copies:
    """The copies of one database."""

    server_url: str
    template: str
    _rows: dict[str, bytes] = field(default_factory=dict)
    _sequences: list[tuple[str, int, bool]] = field(default_factory=list)
    _free: list[_Copy] = field(default_factory=list)
    _taken: dict[str, _Copy] = field(default_factory=dict)

    def __post_init__(self) -> None:
        with psycopg.connect(self.template) as connection:
            for table in _tables(connection):
                self._rows[table] = _copied_out(connection, table)
            names = connection.execute("SELECT sequencename FROM pg_sequences WHERE schemaname = 'public'")
            for (name,) in names.fetchall():
                asked = sql.SQL("SELECT last_value, is_called FROM {}").format(sql.Identifier(name))
                self._sequences.extend((name, *row) for row in connection.execute(asked).fetchall())

    def take(self) -> str:
        """The URL of a copy that nobody else has."""
        if not self._free:
            url = postgresql_server.create_database(self.server_url, template=self.template)
            with psycopg.connect(url) as connection:
                self._free.append(_Copy(url, _shape(connection)))
        copy = self._free.pop()
        copy.uses += 1
        self._taken[copy.url] = copy
        return copy.url

    def give_back(self, url: str) -> None:
        """Put the rows back, for the next who takes one."""
        copy = self._taken.pop(url)
        if copy.uses < USES and self._put_back(copy):
            self._free.append(copy)
        else:
            postgresql_server.drop_database(self.server_url, copy.url)

    def close(self) -> None:
        """Drop the copies that nobody has."""
        while self._free:
            postgresql_server.drop_database(self.server_url, self._free.pop().url)

    def _put_back(self, copy: _Copy) -> bool:
        """Whether it is now as it was made."""
        try:
            with psycopg.connect(copy.url) as connection:
                connection.execute(
                    "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                    "WHERE datname = current_database() AND pid <> pg_backend_pid()"
                )
                if _shape(connection) != copy.shape:
                    return False
                # No guard and no foreign key asks while this is on.
                connection.execute("SET session_replication_role = replica")
                every = [sql.SQL("DELETE FROM {}").format(sql.Identifier(table)) for table in self._rows]
                connection.execute(sql.SQL("; ").join(every))
                for table, rows in self._rows.items():
                    if rows:
                        _copied_in(connection, table, rows)
                for name, last, called in self._sequences:
                    connection.execute("SELECT setval(%s, %s, %s)", (name, last, called))
        except psycopg.Error:  # the test left nothing that could be put back
            return False
        return True


def copies_of(server_url: str, template: str) -> Iterator[Copies]:
    """Copies for as long as a fixture lives."""
    copies = Copies(server_url, template)
    yield copies
    copies.close()


def _tables(connection: psycopg.Connection) -> list[str]:
    asked = "SELECT tablename FROM pg_tables WHERE schemaname = 'public' ORDER BY tablename"
    return [str(row[0]) for row in connection.execute(asked).fetchall()]


def _copied_out(connection: psycopg.Connection, table: str) -> bytes:
    statement = sql.SQL("COPY {} TO STDOUT").format(sql.Identifier(table))
    with connection.cursor().copy(statement) as copy:
        return b"".join(bytes(part) for part in copy)


def _copied_in(connection: psycopg.Connection, table: str, rows: bytes) -> None:
    with connection.cursor().copy(sql.SQL("COPY {} FROM STDIN").format(sql.Identifier(table))) as copy:
        copy.write(rows)


def _shape(connection: psycopg.Connection) -> str:
    """What changes as soon as anything but a row of a table is changed: the transactions that wrote the catalogues."""
    count = "SELECT '{0}' AS name, count(*)::text || ':' || coalesce(sum(xmin::text::bigint), 0)::text AS told FROM {0}"
    parts = [count.format(catalogue) for catalogue in CATALOGUES]
    parts.append("SELECT 'database', xmin::text FROM pg_database WHERE datname = current_database()")
    parts.append(
        "SELECT 'settings', count(*)::text FROM pg_db_role_setting "
        "WHERE setdatabase = (SELECT oid FROM pg_database WHERE datname = current_database())"
    )
    asked = f"SELECT string_agg(name || ' ' || told, ' ' ORDER BY name) FROM ({' UNION ALL '.join(parts)}) AS told_of"
    found = connection.execute(asked.encode()).fetchone()
    assert found is not None
    return str(found[0])
