"""The demo store with a row in every table, to be filled with hostile text."""

import shutil
from pathlib import Path

import pytest

from kittrack.store.database import open_store
from tests.conftest import once_a_run
from tests.machine.filling import fill_empty_tables
from tests.machine.test_attacker import MANAGER, NOW


@pytest.fixture(scope="session")
def demo_file(demo_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its file; a test works on a copy."""

    def make(path: Path) -> None:
        shutil.copyfile(demo_template, path)
        store = open_store(f"sqlite:///{path}")
        fill_empty_tables(store, by=MANAGER, at=NOW)
        store.close()

    return once_a_run(tmp_path_factory, "filled.kittrack", make)
