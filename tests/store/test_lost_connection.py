"""A server's connection that is lost: it comes back, and an act in doubt is settled and never done twice."""

from collections.abc import Callable
from typing import Any

import peewee
import psycopg
import pytest

from kittrack.errors import StoreError
from kittrack.queries.log import event_log, event_with_key
from kittrack.queries.verify import verify
from kittrack.store.act import Act
from kittrack.store.database import ConnectionLost, Store, open_store
from kittrack.store.records import Company
from tests.factories import CLERK, after

pytestmark = pytest.mark.postgresql


@pytest.fixture
def server_store(fresh_postgresql_world: str) -> Any:
    opened = open_store(fresh_postgresql_world)
    yield opened
    opened.close()


def cut(store: Store) -> None:
    """End the store's connection from the server's side, as a restart or a firewall does."""
    backend = store._database.connection().info.backend_pid
    with psycopg.connect(store.url, autocommit=True) as other:
        other.execute("SELECT pg_terminate_backend(%s)", (backend,))
        while other.execute("SELECT 1 FROM pg_stat_activity WHERE pid = %s", (backend,)).fetchone():
            pass


def write(act: Act) -> None:
    act.insert(Company(name=f"made by event {act.event_id}"))


def made(store: Store) -> int:
    with store.reading() as read:
        return int(read.value("SELECT count(*) FROM company WHERE name LIKE 'made by event%'"))


def test_a_connection_lost_between_acts_comes_back_unseen(server_store: Store) -> None:
    with server_store.act("before", by=CLERK, at=after(1)) as act:
        write(act)
    cut(server_store)
    assert event_log(server_store, limit=1)[0].act == "before"
    cut(server_store)
    with server_store.act("after", by=CLERK, at=after(2)) as act:
        write(act)
    assert made(server_store) == 2
    assert verify(server_store).faults == ()


def test_a_connection_lost_in_the_middle_of_an_act_leaves_nothing_and_it_can_be_done_again(
    server_store: Store,
) -> None:
    def deed(*, is_cut: bool) -> None:
        with server_store.act("deed", by=CLERK, at=after(1), key="terminal 1, act 1") as act:
            write(act)
            if is_cut:
                cut(server_store)
            act.note("more", text="x")
            act.value("SELECT 1")

    with pytest.raises(ConnectionLost, match="nothing of this act was recorded: do it again"):
        deed(is_cut=True)
    assert event_with_key(server_store, key="terminal 1, act 1") is None
    deed(is_cut=False)
    assert made(server_store) == 1
    assert verify(server_store).faults == ()


def commits_that(monkeypatch: pytest.MonkeyPatch, *steps: Callable[[Store], None], store: Store) -> None:
    """Let the next commit go through some steps, and every later one go as it should."""
    plain = peewee.Database.commit
    left = [steps]

    def commit(self: Any) -> None:
        if self is store._database and left:
            for step in left.pop():
                step(store)
            self.cursor().execute("SELECT 1")
            return
        plain(self)

    monkeypatch.setattr(peewee.Database, "commit", commit)


def commit_now(store: Store) -> None:
    store._database.connection().execute("COMMIT")


@pytest.mark.parametrize("key", ["", "terminal 1, act 1"])
def test_an_act_recorded_just_before_the_connection_went_is_done_and_not_done_twice(
    server_store: Store, monkeypatch: pytest.MonkeyPatch, key: str
) -> None:
    commits_that(monkeypatch, commit_now, cut, store=server_store)
    with server_store.act("deed", by=CLERK, at=after(1), key=key) as act:
        write(act)
    assert made(server_store) == 1
    assert event_log(server_store, limit=1)[0].act == "deed"
    assert verify(server_store).faults == ()


def test_an_act_not_recorded_when_the_connection_went_is_told_so(
    server_store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    commits_that(monkeypatch, cut, store=server_store)
    with (
        pytest.raises(ConnectionLost, match="nothing of this act was recorded: do it again"),
        server_store.act("deed", by=CLERK, at=after(1)) as act,
    ):
        write(act)
    assert made(server_store) == 0
    assert verify(server_store).faults == ()


def test_another_act_that_took_the_number_is_not_taken_for_the_lost_one(
    server_store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = open_store(server_store.url)

    def another(_: Store) -> None:
        with other.act("another", by=CLERK, at=after(1)) as act:
            write(act)

    commits_that(monkeypatch, cut, another, store=server_store)
    with (
        pytest.raises(ConnectionLost, match="nothing of this act was recorded"),
        server_store.act("deed", by=CLERK, at=after(1)) as act,
    ):
        write(act)
    assert [e.act for e in event_log(server_store, limit=1)] == ["another"]
    other.close()


def test_an_act_in_doubt_while_the_server_is_away_is_told_with_what_to_look_for(
    server_store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    def go_away(store: Store) -> None:
        store._database.connect_params["port"] = 1

    commits_that(monkeypatch, commit_now, go_away, cut, store=server_store)
    port = server_store._database.connect_params["port"]
    with (
        pytest.raises(StoreError, match=r"kittrack log, at 2026-03-02T07:01.*key 'terminal 1, act 1'"),
        server_store.act("deed", by=CLERK, at=after(1), key="terminal 1, act 1") as act,
    ):
        write(act)
    server_store._database.connect_params["port"] = port
    found = event_with_key(server_store, key="terminal 1, act 1")
    assert found is not None
    assert found.act == "deed"


def test_acts_that_stand_or_fall_together_fall_with_the_connection(server_store: Store) -> None:
    with (
        pytest.raises(ConnectionLost, match="nothing of this act was recorded"),
        server_store.all_or_nothing(),
    ):
        with server_store.act("first", by=CLERK, at=after(1)) as act:
            write(act)
        cut(server_store)
        with server_store.act("second", by=CLERK, at=after(1)) as act:
            write(act)
    assert made(server_store) == 0
    with server_store.act("later", by=CLERK, at=after(2)) as act:
        write(act)
    assert verify(server_store).faults == ()
