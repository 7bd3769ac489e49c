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

from kittrack.store import terminal_memory
from kittrack.store.database import open_store
from kittrack.tui.terminal import CUT_SHORT

_PATIENCE_S = 60.0


@contextmanager
def behind_a_line(url: str, folder: Path) -> Iterator[tuple[subprocess.Popen[bytes], io.FileIO]]:
    """The program on a terminal that is not its own to be told of by a signal; gives it and the other end."""
    number, near = pty.openpty()
    far = io.FileIO(number, "r+")
    fcntl.ioctl(near, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
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


def wait_for(text: bytes, far: io.FileIO) -> None:
    seen, end = b"", time.monotonic() + _PATIENCE_S
    while text not in seen:
        assert time.monotonic() < end, seen[-2000:]
        if select.select([far], [], [], 1.0)[0]:
            seen += far.read(65536)


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
