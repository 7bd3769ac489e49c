"""A store that could not be founded leaves nothing behind that looks like one."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from kittrack.__main__ import main
from kittrack.cli.exits import Exit
from kittrack.errors import Refused, StoreError
from kittrack.queries.chain import chain_head
from kittrack.services import founding
from kittrack.store.database import Store, open_store
from kittrack.store.making import making_store
from tests.factories import after

FOUND = ["--site", "Home", "--time-zone", "Europe/Oslo", "--manager", "Manager Fennel"]
NOBODY = 65534


def found(store: Store) -> None:
    founding.found_store(store, site="Home", time_zone="Europe/Oslo", manager="Manager Fennel", at=after(0))


def test_what_is_founded_stands_alone_and_private_in_its_place(tmp_path: Path) -> None:
    path = tmp_path / "new" / "stores.kittrack"
    with making_store(f"sqlite:///{path}") as store:
        found(store)
    assert list(path.parent.iterdir()) == [path]
    assert (path.stat().st_mode & 0o777, path.parent.stat().st_mode & 0o777) == (0o600, 0o700)
    with making_store(f"sqlite:///{path}") as store:
        assert chain_head(store).event == 1


@pytest.mark.parametrize("wrong", [["--site", " "], ["--time-zone", "Europe/Nowhere"], ["--manager", ""]])
def test_a_name_that_can_not_be_read_leaves_no_file(
    tmp_path: Path, wrong: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "stores.kittrack"
    assert main(["found", "--store", f"sqlite:///{path}", *FOUND, *wrong]) == Exit.USAGE
    assert list(tmp_path.iterdir()) == []
    assert main(["found", "--store", f"sqlite:///{path}", *FOUND]) == Exit.DONE
    assert main(["verify", "--store", f"sqlite:///{path}"]) == Exit.DONE


def test_of_two_who_found_at_once_one_is_told_and_overwrites_nothing(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'stores.kittrack'}"

    def both() -> None:
        with making_store(url) as slow:
            found(slow)
            with making_store(url) as quick:
                founding.found_store(
                    quick, site="Quick", time_zone="Europe/Oslo", manager="Manager Gorse", at=after(0)
                )

    with pytest.raises(Refused):
        both()
    store = open_store(url)
    with store.reading() as read:
        assert read.value("SELECT name FROM site") == "Quick"
    store.close()
    assert [p.name for p in tmp_path.iterdir()] == ["stores.kittrack"]


def test_a_folder_that_can_not_be_made_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("no folder", encoding="utf-8")
    path = tmp_path / "file" / "stores.kittrack"
    assert main(["found", "--store", f"sqlite:///{path}", *FOUND]) == Exit.STORE
    assert "can't be written" in capsys.readouterr().err


def test_a_folder_that_may_not_be_looked_into_is_told(tmp_path: Path) -> None:
    folder = tmp_path / "locked"
    folder.mkdir(mode=0o000)
    with _as_nobody(), pytest.raises(StoreError, match="rights of its folder"):
        open_store(f"sqlite:///{folder / 'stores.kittrack'}")


@contextmanager
def _as_nobody() -> Iterator[None]:
    """Somebody to whom a folder can be closed; to root none is."""
    real = os.geteuid()
    if real == 0:
        os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(real)
