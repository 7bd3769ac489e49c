"""What every test may ask for: an empty store address on either engine, and a run in which nothing is skipped.

KITTRACK_TEST_POSTGRESQL   URL of a server on which databases may be made and dropped; without it a
                           throw-away server is started where one is installed.
KITTRACK_NO_SKIPS=1        a session with a skipped test fails and names it. CI sets it.
"""

import fcntl
import os
import secrets
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from kittrack.__main__ import main
from kittrack.cli.exits import Exit
from kittrack.store.database import Store, open_store
from tests import factories, postgresql_server
from tests.postgresql_copies import Copies, copies_of

# Speed is measured where a test says so, never by how long one example takes on a busy machine.
settings.register_profile("untimed", deadline=None)
# A run of CI tries the same examples each time.
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "untimed")

_skipped = pytest.StashKey[list[str]]()


def pytest_configure(config: pytest.Config) -> None:
    config.stash[_skipped] = []
    config.pluginmanager.register(_SkipWatch(config), "kittrack-skip-watch")


class _SkipWatch:
    """Counts what was skipped, and fails the session for it when KITTRACK_NO_SKIPS is 1."""

    def __init__(self, config: pytest.Config) -> None:
        self._config = config
        self._skips = config.stash[_skipped]

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.skipped and not hasattr(report, "wasxfail"):
            self._skips.append(report.nodeid)

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.skipped:
            self._skips.append(report.nodeid)

    @pytest.hookimpl(tryfirst=True)
    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        if self._refuses and session.exitstatus == pytest.ExitCode.OK:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        if self._refuses:
            terminalreporter.write_line(
                f"KITTRACK_NO_SKIPS: {len(self._skips)} skipped, none may be: {', '.join(self._skips)}",
                red=True,
            )

    @property
    def _refuses(self) -> bool:
        return os.environ.get("KITTRACK_NO_SKIPS") == "1" and bool(self._skips)


@pytest.fixture(autouse=True)
def own_memory(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each test is a computer of its own: it remembers no store of another test, nor this computer's."""
    folder = tmp_path_factory.getbasetemp() / f"memory-{secrets.token_hex(6)}"  # made when something is kept
    monkeypatch.setenv("KITTRACK_STATE", str(folder))


@pytest.fixture(scope="session")
def postgresql_url() -> Iterator[str]:
    """The URL of a server's maintenance database; skips where there is no server."""
    given = os.environ.get("KITTRACK_TEST_POSTGRESQL")
    if given:
        yield given
        return
    if postgresql_server.binaries() is None:
        pytest.skip("no PostgreSQL: KITTRACK_TEST_POSTGRESQL is not set and no server is installed")
    folder = postgresql_server.temporary_folder()
    try:
        yield postgresql_server.start(folder)
    finally:
        postgresql_server.stop(folder)


@pytest.fixture
def terminal_role(postgresql_url: str) -> Iterator[str]:
    """The name of a database role that is not there yet; dropped after the databases of the test."""
    role = f"terminal_{secrets.token_hex(4)}"
    yield role
    postgresql_server.drop_role(postgresql_url, role)


@pytest.fixture
def fresh_postgresql_url(postgresql_url: str) -> Iterator[str]:
    """The URL of a new, empty PostgreSQL database, dropped after the test."""
    url = postgresql_server.create_database(postgresql_url)
    yield url
    postgresql_server.drop_database(postgresql_url, url)


@pytest.fixture(
    params=[
        pytest.param("sqlite", id="sqlite"),
        pytest.param("postgresql", id="postgresql", marks=pytest.mark.postgresql),
    ]
)
def store_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a store that does not exist yet, once on each engine."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'store.kittrack'}"
    url: str = request.getfixturevalue("fresh_postgresql_url")
    return url


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A founded store with the small invented world of the factories, to be copied."""
    path = tmp_path_factory.mktemp("template") / "world.kittrack"
    _make_world(f"sqlite:///{path}")
    return path


@pytest.fixture(scope="session")
def demo_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo store as `kittrack demo --into` writes it, to be copied; made once for all processes of a run."""

    def make(path: Path) -> None:
        assert main(["demo", "--into", f"sqlite:///{path}"]) == Exit.DONE

    return once_a_run(tmp_path_factory, "demo.kittrack", make)


def once_a_run(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], None]) -> Path:
    """A file that the first process which asks for it makes, for every process of the run."""
    own = factory.getbasetemp()
    folder = own.parent if os.environ.get("PYTEST_XDIST_WORKER") else own
    path = folder / name
    with (folder / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not path.exists():
            make(path.with_name(f"making-{name}"))
            path.with_name(f"making-{name}").rename(path)
    return path


@pytest.fixture(scope="session")
def postgresql_template(postgresql_url: str) -> Iterator[str]:
    """The same on PostgreSQL, as a database to be copied."""
    url = postgresql_server.create_database(postgresql_url)
    _make_world(url)
    yield url
    postgresql_server.drop_database(postgresql_url, url)


@pytest.fixture(scope="session")
def postgresql_worlds(postgresql_url: str, postgresql_template: str) -> Iterator[Copies]:
    """Copies of it."""
    yield from copies_of(postgresql_url, postgresql_template)


def _make_world(url: str) -> None:
    store = open_store(url, create=True)
    factories.make_world(store)
    store.close()


@pytest.fixture(
    params=[
        pytest.param("sqlite", id="sqlite"),
        pytest.param("postgresql", id="postgresql", marks=pytest.mark.postgresql),
    ]
)
def world_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a store that holds the factories' world, once on each engine."""
    if request.param == "sqlite":
        path = tmp_path / "world.kittrack"
        shutil.copyfile(request.getfixturevalue("sqlite_template"), path)
        path.chmod(0o600)
        return f"sqlite:///{path}"
    url: str = request.getfixturevalue("fresh_postgresql_world")
    return url


@pytest.fixture
def fresh_postgresql_world(postgresql_worlds: Copies) -> Iterator[str]:
    """The address of a PostgreSQL store that holds the factories' world."""
    url = postgresql_worlds.take()
    yield url
    postgresql_worlds.give_back(url)


@pytest.fixture
def store(world_url: str) -> Iterator[Store]:
    """An open store with the factories' world, once on each engine."""
    opened = open_store(world_url)
    yield opened
    opened.close()
