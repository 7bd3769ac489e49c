"""What tests of the command line stand on."""

from pathlib import Path

import pytest


@pytest.fixture
def files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder with the files that examples name."""
    (tmp_path / "delivery.csv").write_text("part,lot,quantity,expires\n", encoding="utf-8")
    (tmp_path / "readings.csv").write_text("piece,mass,radius\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
