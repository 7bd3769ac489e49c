"""The demo store with a row in every table, to be filled with hostile text."""

from pathlib import Path

import pytest

from kittrack.__main__ import main
from kittrack.cli.exits import Exit
from kittrack.store.database import open_store
from tests.machine.filling import fill_empty_tables
from tests.machine.test_attacker import MANAGER, NOW


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its file; a test works on a copy."""
    path = tmp_path_factory.mktemp("hostile") / "demo.kittrack"
    assert main(["demo", "--into", f"sqlite:///{path}"]) == Exit.DONE
    store = open_store(f"sqlite:///{path}")
    fill_empty_tables(store, by=MANAGER, at=NOW)
    store.close()
    return path
