"""A store at the counter: a sealed kit in a bin, an open job, and everybody's badge."""

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from kittrack.services import issuing, jobs
from kittrack.store.database import Store, open_store
from kittrack.store.records import Person
from tests import factories
from tests.factories import CLERK, TAIL, TECHNICIAN, after

SEAL = "004417"


@dataclass(frozen=True)
class World:
    """What a test scans."""

    url: str
    kit: str
    job: str
    badges: dict[str, str]
    positions: dict[str, str]
    sets: dict[str, list[str]]
    torque_tool: str

    def badge(self, name: str) -> str:
        """The badge of a person."""
        return self.badges[name]


def prepare(url: str) -> World:
    """Stock, a sealed kit and an open job in the factories' world, and the codes of everything."""
    store = open_store(url)
    try:
        factories.put_sets(store, factories.CW_BLADE, 2, at=after(1))
        factories.put_sets(store, factories.CCW_BLADE, 2, at=after(1))
        factories.put_in_stock(store, factories.SCREW, 40, at=after(1), lot_code="S-1")
        factories.put_in_stock(store, factories.WASHER, 40, at=after(1), lot_code="W-1")
        factories.put_bottle(store, volume_ul=10_000, at=after(1), expires_on="2199-12-31")
        kit = factories.sealed_kit(store, at=after(5), seal=SEAL)
        job = jobs.open_job(
            store, airframe=TAIL, purpose="change all rotors", by=TECHNICIAN, at=after(6)
        ).codes[0]
        return _codes(store, url, kit, job)
    finally:
        store.close()


def _codes(store: Store, url: str, kit: str, job: str) -> World:
    with store.reading() as read:
        places = (
            "SELECT p.name, p.code FROM position p JOIN airframe a ON a.id = p.airframe_id WHERE a.tail = ?"
        )
        sets = read.rows("SELECT sense, code FROM rotor_set ORDER BY id")
        return World(
            url, kit, job, {p.name: p.code for p in read.select(Person)}, dict(read.rows(places, TAIL)),
            {sense: [code for own, code in sets if own == sense] for sense in ("CW", "CCW")},
            read.value("SELECT code FROM tool WHERE kind = 'torque'"),
        )  # fmt: skip


@pytest.fixture(autouse=True)
def terminals_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where the scanner settings of this terminal are kept: nobody's own."""
    path = tmp_path / "terminals.toml"
    monkeypatch.setenv("KITTRACK_TERMINALS", str(path))
    monkeypatch.setenv("KITTRACK_TERMINAL", "bench 2")
    return path


@pytest.fixture
def url(sqlite_template: Path, tmp_path: Path) -> str:
    """The factories' world on SQLite."""
    path = tmp_path / "world.kittrack"
    shutil.copy(sqlite_template, path)
    return f"sqlite:///{path}"


@pytest.fixture
def world(url: str) -> World:
    """The counter's world on SQLite."""
    return prepare(url)


@pytest.fixture
def both(world_url: str) -> World:
    """The counter's world, once on each engine."""
    return prepare(world_url)


@pytest.fixture
def issued(world: World) -> World:
    """The kit is in the technician's hands."""
    store = open_store(world.url)
    issuing.issue_kit(
        store, kit=world.kit, job=world.job, seal=SEAL, receiver=TECHNICIAN, by=CLERK, at=after(7)
    )
    store.close()
    return world


@pytest.fixture
def ask(world: World) -> Callable[[str], list[tuple[object, ...]]]:
    """Rows of a query, asked beside the stations."""

    def rows(sql: str) -> list[tuple[object, ...]]:
        store = open_store(world.url)
        try:
            with store.reading() as read:
                return read.rows(sql)
        finally:
            store.close()

    return rows
