"""The stations as a person gets them: the program started in a real terminal, scans typed, the screen read.

Runs in tmux, on a socket of its own, at the smallest terminal and at a large one.
"""

import os
import shlex
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from kittrack.queries.verify import verify
from kittrack.store import terminal_memory
from kittrack.store.database import open_store
from kittrack.store.engines import sqlite_path
from tests.factories import CLERK, TECHNICIAN
from tests.tui.conftest import SEAL, World

pytestmark = [
    pytest.mark.tmux,
    pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed"),
]
_PATIENCE_S = 20.0


class Terminal:
    """A tmux window with the stations in it."""

    def __init__(self, folder: Path, command: str, *, width: int, height: int) -> None:
        self._socket = str(folder / "tmux")
        environ = {
            **os.environ,
            "LC_ALL": "C.UTF-8",
            "TERM": "xterm-256color",
            "KITTRACK_LOG": str(folder / "log"),
        }
        environ.pop("TMUX", None)
        size = ["-x", str(width), "-y", str(height)]
        line = f"{command}; echo left with $?; sleep 60"
        start = ["-f", "/dev/null", "new-session", "-d", *size, "bash", "--norc", "-c", line]
        subprocess.run([*self._tmux, *start], check=True, env=environ)

    @property
    def _tmux(self) -> list[str]:
        return ["tmux", "-S", self._socket]

    def scan(self, code: str) -> None:
        """A label, as a keyboard-wedge scanner types it: all at once, with Enter."""
        self._send("-H", *(f"{byte:02x}" for byte in f"{code}\r".encode()))

    def write(self, text: str) -> None:
        """A person's typing: a key after the other."""
        for character in text:
            subprocess.run([*self._tmux, "send-keys", "-l", character], check=True)
            time.sleep(0.12)

    def key(self, name: str) -> None:
        """One key."""
        self._send(name)

    def _send(self, *what: str) -> None:
        subprocess.run([*self._tmux, "send-keys", *what], check=True)
        time.sleep(0.2)

    @property
    def screen(self) -> str:
        """The screen as it stands."""
        shown = subprocess.run([*self._tmux, "capture-pane", "-p"], check=True, capture_output=True)
        return shown.stdout.decode()

    def wait_for(self, text: str) -> str:
        """The screen once a text stands on it, be it over the end of a line."""
        end = time.monotonic() + _PATIENCE_S
        while time.monotonic() < end:
            screen = self.screen
            if text in screen or text in " ".join(screen.split()):
                return screen
            time.sleep(0.1)
        raise AssertionError(f"{text!r} does not come; the screen is:\n{self.screen}")

    def close(self) -> None:
        """End the window and its server."""
        subprocess.run([*self._tmux, "kill-server"], check=False)


@pytest.fixture(params=[(80, 24), (140, 40)], ids=["80x24", "140x40"])
def terminal(request: pytest.FixtureRequest, world: World, tmp_path: Path) -> Iterator[Terminal]:
    width, height = request.param
    command = shlex.join([sys.executable, "-m", "kittrack", "--store", world.url])
    opened = Terminal(tmp_path, command, width=width, height=height)
    yield opened
    opened.close()


def test_a_kit_is_issued_in_a_real_terminal_and_the_terminal_is_given_back(
    terminal: Terminal, world: World
) -> None:
    terminal.wait_for("nobody signed on")
    terminal.scan(world.badge(CLERK))
    terminal.wait_for("does not replace the maker's manual")
    terminal.key("F9")
    terminal.wait_for(f"signed on: {CLERK}")
    for code in (world.job, world.kit, world.badge(TECHNICIAN), SEAL):
        terminal.scan(code)
    terminal.wait_for("READY: issue the whole kit to QA-01")
    terminal.key("F9")
    terminal.wait_for(f"DONE: {world.kit} is issued, whole, to {TECHNICIAN}")
    terminal.key("F6")
    terminal.wait_for("[Aircraft]")
    terminal.key("F5")
    terminal.wait_for("[Counter]")
    terminal.key("C-q")
    assert "Goods-in >" not in terminal.wait_for("left with 0")
    store = open_store(world.url)
    with store.reading() as read:
        assert read.value("SELECT state FROM kit") == "issued"
    store.close()


def test_a_terminal_closed_after_an_issue_is_told_at_the_next_start(world: World, tmp_path: Path) -> None:
    command = shlex.join([sys.executable, "-m", "kittrack", "--store", world.url])
    opened = Terminal(tmp_path, command, width=140, height=40)
    try:
        opened.wait_for("nobody signed on")
        opened.scan(world.badge(CLERK))
        opened.wait_for("does not replace the maker's manual")
        opened.key("F9")
        opened.wait_for(f"signed on: {CLERK}")
        for code in (world.job, world.kit, world.badge(TECHNICIAN), SEAL):
            opened.scan(code)
        opened.wait_for("READY: issue the whole kit to QA-01")
        opened.key("F9")
        opened.wait_for(f"DONE: {world.kit} is issued, whole, to {TECHNICIAN}")
    finally:
        opened.close()  # the window goes away under the program
    for _ in range(100):
        if any(terminal_memory.folder().glob("*.seen.json")):
            break
        time.sleep(0.1)
    again = Terminal(tmp_path, command, width=140, height=40)
    try:
        screen = again.wait_for("was cut short here")
        assert f"kit {world.kit} to {TECHNICIAN}" in " ".join(screen.split())
        assert "Was the kit handed over?" in " ".join(screen.split())
    finally:
        again.close()


@pytest.mark.parametrize("end", [signal.SIGHUP, signal.SIGKILL])
def test_what_was_typed_into_a_form_outlives_its_terminal(
    world: World, tmp_path: Path, end: signal.Signals
) -> None:
    mark = tmp_path / "pid"
    command = f"{shlex.join([sys.executable, '-m', 'kittrack', '--store', world.url])} & echo $! > {mark}; fg"
    for is_again in (False, True):
        folder = tmp_path / str(is_again)  # the socket of the first may still be in use
        folder.mkdir()
        opened = Terminal(folder, f"set -m; {command}", width=80, height=24)
        try:
            opened.wait_for("nobody signed on")
            opened.scan(world.badge(CLERK))
            if not is_again:
                opened.wait_for("does not replace the maker's manual")
                opened.key("F9")
            opened.wait_for(f"signed on: {CLERK}")
            if is_again:
                opened.wait_for("Left unfinished on")
            opened.key("C-p")
            opened.wait_for("filter >")
            opened.write("kit diss")
            opened.wait_for("filter > kit diss")
            opened.key("Enter")
            opened.wait_for("F9 record")
            if is_again:
                screen = opened.wait_for("TAKEN FROM THE FORM LEFT UNFINISHED")
                assert "wrong" in screen
                assert world.kit in screen
            else:
                opened.scan(world.kit)
                opened.key("Down")
                opened.write("wrong")
                if end is signal.SIGKILL:
                    time.sleep(2)  # what was typed in the last second is lost to a kill
                os.kill(int(mark.read_text().split()[0]), end)
                assert "Goods-in >" not in opened.wait_for("left with")
        finally:
            opened.close()


def test_a_kill_leaves_the_terminal_usable(world: World, tmp_path: Path) -> None:
    mark = tmp_path / "pid"
    command = f"{shlex.join([sys.executable, '-m', 'kittrack', '--store', world.url])} & echo $! > {mark}; fg"
    opened = Terminal(tmp_path, f"set -m; {command}", width=80, height=24)
    try:
        opened.wait_for("nobody signed on")
        os.kill(int(mark.read_text().split()[0]), 15)
        assert "Goods-in >" not in opened.wait_for("left with")
    finally:
        opened.close()


def test_a_newcomer_founds_a_store_and_is_led_on(tmp_path: Path) -> None:
    missing = f"sqlite:///{tmp_path / 'first.kittrack'}"
    command = shlex.join([sys.executable, "-m", "kittrack", "--store", missing])
    opened = Terminal(tmp_path, command, width=80, height=24)
    try:
        opened.wait_for("There is no store yet at")
        opened.wait_for("look at the demo")
        opened.key("Enter")
        opened.wait_for("Make a store: its first site")
        for text in ("Home", "Europe/Oslo", "Manager One"):
            opened.write(text)
            opened.key("Enter")
        opened.key("F9")
        opened.wait_for("[Office]")
        opened.wait_for("F9: load a catalogue folder")
        opened.key("C-q")
        opened.wait_for("left with 0")
    finally:
        opened.close()
    store = open_store(missing)
    with store.reading() as read:
        assert read.value("SELECT name FROM person") == "Manager One"
    store.close()


def test_a_store_that_can_t_be_opened_leaves_the_terminal_untouched(tmp_path: Path) -> None:
    other = tmp_path / "none.kittrack"
    other.write_text("this is no database, and long enough that nobody takes it for an empty one" * 20)
    command = shlex.join([sys.executable, "-m", "kittrack", "--store", f"sqlite:///{other}"])
    opened = Terminal(tmp_path, command, width=80, height=24)
    try:
        assert "is not a kittrack store" in opened.wait_for("left with 4").replace("\n", "")
    finally:
        opened.close()


def test_a_terminal_that_is_closed_in_the_middle_of_an_act_leaves_no_half_of_it(
    world: World, tmp_path: Path
) -> None:
    mark = tmp_path / "pid"
    command = f"{shlex.join([sys.executable, '-m', 'kittrack', '--store', world.url])} & echo $! > {mark}; fg"
    opened = Terminal(tmp_path, f"set -m; {command}", width=80, height=24)
    other = sqlite3.connect(sqlite_path(world.url), isolation_level=None)
    try:
        opened.wait_for("nobody signed on")
        opened.scan(world.badge(CLERK))
        opened.wait_for("does not replace the maker's manual")
        opened.key("F9")
        for code in (world.job, world.kit, world.badge(TECHNICIAN), SEAL):
            opened.scan(code)
        opened.wait_for("READY: issue the whole kit to QA-01")
        other.execute("BEGIN IMMEDIATE")  # the act waits for its turn while the terminal goes away
        opened.key("F9")
        os.kill(int(mark.read_text().split()[0]), signal.SIGHUP)
        time.sleep(0.5)
        other.execute("ROLLBACK")
        assert "Goods-in >" not in opened.wait_for("left with")
    finally:
        other.close()
        opened.close()
    store = open_store(world.url)
    assert not verify(store).faults
    with store.reading() as read:
        states = read.rows("SELECT state, (SELECT count(*) FROM voucher) FROM kit")
    store.close()
    assert states in ([("sealed", 0)], [("issued", 1)])
