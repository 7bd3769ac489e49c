"""A terminal that goes away without a signal, as behind a connection that broke: the program ends, and says so later."""

import fcntl
import io
import os
import pty
import select
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from kittrack.cli.exits import Exit
from kittrack.store import terminal_memory
from kittrack.store.database import open_store
from kittrack.tui.terminal import CUT_SHORT

_PATIENCE_S = 60.0


@contextmanager
def behind_a_line(
    url: str, folder: Path, *, rows: int = 24, columns: int = 80
) -> Iterator[tuple[subprocess.Popen[bytes], io.FileIO]]:
    """The program on a terminal that is not its own to be told of by a signal; gives it and the other end."""
    number, near = pty.openpty()
    far = io.FileIO(number, "r+")
    fcntl.ioctl(near, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
    environment = {**os.environ, "TERM": "xterm-256color", "KITTRACK_LOG": str(folder / "log")}
    command = [sys.executable, "-m", "kittrack", "--store", url]
    program = subprocess.Popen(
        command, stdin=near, stdout=near, stderr=near, start_new_session=True, env=environment
    )
    os.close(near)
    try:
        yield program, far
    finally:
        far.close()
        program.kill()
        program.wait()


def read_on(far: io.FileIO, *, patience_s: float) -> bytes:
    """What comes within so many seconds; b"" for nothing."""
    return far.read(65536) if select.select([far], [], [], patience_s)[0] else b""


def wait_for(text: bytes, far: io.FileIO) -> None:
    seen, end = b"", time.monotonic() + _PATIENCE_S
    while text not in seen:
        assert time.monotonic() < end, seen[-2000:]
        seen += read_on(far, patience_s=1.0)


def test_the_stations_end_and_the_next_start_tells_of_it(url: str, tmp_path: Path) -> None:
    with behind_a_line(url, tmp_path) as (program, far):
        wait_for(b"nobody", far)
        far.close()
        assert program.wait(_PATIENCE_S) == CUT_SHORT
    assert not (tmp_path / "log").exists()
    store = open_store(url)
    with store.reading() as read:
        assert len(terminal_memory.left_open(read)) == 1
    store.close()


def test_the_first_start_ends_too_and_makes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "new" / "stores.kittrack"
    with behind_a_line(f"sqlite:///{path}", tmp_path) as (program, far):
        wait_for(b"demo", far)
        far.close()
        assert program.wait(_PATIENCE_S) == CUT_SHORT
    assert not path.parent.exists()


@pytest.mark.parametrize("seconds", [0.2, 0.5, 0.8, 1.2])
def test_a_terminal_that_goes_in_the_middle_of_the_start_leaves_no_program_behind(
    url: str, tmp_path: Path, seconds: float
) -> None:
    with behind_a_line(url, tmp_path) as (program, far):
        time.sleep(seconds)
        far.close()
        assert program.wait(_PATIENCE_S) in (CUT_SHORT, Exit.USAGE)


@pytest.mark.parametrize("is_founded", [True, False])
def test_a_terminal_that_tells_no_size_is_drawn_once_and_not_for_ever(
    url: str, tmp_path: Path, is_founded: bool
) -> None:
    at = url if is_founded else f"sqlite:///{tmp_path / 'none.kittrack'}"
    with behind_a_line(at, tmp_path, rows=0, columns=0) as (_, far):
        wait_for(b"nobody" if is_founded else b"demo", far)
        end = time.monotonic() + _PATIENCE_S
        while read_on(far, patience_s=1.5):
            assert time.monotonic() < end, "it draws without an end"


def test_who_ends_the_program_from_outside_gets_the_terminal_back(tmp_path: Path) -> None:
    with behind_a_line(f"sqlite:///{tmp_path / 'none.kittrack'}", tmp_path) as (program, far):
        wait_for(b"demo", far)
        program.terminate()
        wait_for(b"\x1b[?1049l", far)  # back to the screen that was there before
        assert program.wait(_PATIENCE_S) == CUT_SHORT
