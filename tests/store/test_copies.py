"""The copies of a database that tests are given hold nothing of the test before."""

from typing import Any

import psycopg
import pytest

from kittrack.queries.verify import verify
from kittrack.store.database import open_store
from kittrack.store.records import TABLES
from tests import factories
from tests.factories import after
from tests.postgresql_copies import Copies

pytestmark = pytest.mark.postgresql


def everything(url: str) -> dict[str, list[tuple[Any, ...]]]:
    store = open_store(url)
    try:
        assert verify(store).faults == ()
        with store.reading() as read:
            return {name: sorted(read.rows(f'SELECT * FROM "{name}"'), key=repr) for name in TABLES}
    finally:
        store.close()


def work_on(url: str) -> None:
    store = open_store(url)
    factories.put_in_stock(store, factories.SCREW, 40, at=after(1), lot_code="S-1")
    store.close()


def test_a_copy_is_given_out_again_as_it_was_made(postgresql_worlds: Copies) -> None:
    url = postgresql_worlds.take()
    before = everything(url)
    work_on(url)
    assert everything(url) != before
    hanging = psycopg.connect(url)
    hanging.execute("LOCK TABLE event")
    postgresql_worlds.give_back(url)
    with pytest.raises(psycopg.OperationalError):
        hanging.execute("SELECT 1")
    hanging.close()
    assert postgresql_worlds.take() == url
    assert everything(url) == before
    work_on(url)
    postgresql_worlds.give_back(url)


@pytest.mark.parametrize(
    "change",
    [
        "ALTER TABLE event DISABLE TRIGGER USER",
        "ALTER TABLE event ALTER COLUMN reason DROP NOT NULL",
        "DROP TABLE label_print CASCADE",
        "CREATE TABLE loot (taken text)",
        "GRANT DELETE ON event TO PUBLIC",
        "CREATE OR REPLACE FUNCTION never_changed() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RETURN NEW; END $$",
        "CREATE RULE quiet AS ON INSERT TO event DO INSTEAD NOTHING",
        "CREATE SCHEMA elsewhere",
    ],
)  # fmt: skip
def test_a_copy_of_which_more_than_rows_was_changed_is_given_to_nobody(
    postgresql_worlds: Copies, change: str
) -> None:
    url = postgresql_worlds.take()
    with psycopg.connect(url) as connection:
        connection.execute(change.encode())
    postgresql_worlds.give_back(url)
    with pytest.raises(psycopg.OperationalError):
        psycopg.connect(url)


def test_a_setting_of_the_database_goes_with_its_copy(postgresql_worlds: Copies) -> None:
    url = postgresql_worlds.take()
    with psycopg.connect(url, autocommit=True) as connection:
        name = connection.info.dbname
        connection.execute(f"ALTER DATABASE {name} SET work_mem = '1MB'".encode())
    postgresql_worlds.give_back(url)
    with pytest.raises(psycopg.OperationalError):
        psycopg.connect(url)
