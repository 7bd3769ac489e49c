"""A scanner's bytes become whole scans and nothing else; a person's keys stay a person's keys.

The bytes are those that terminals send for these characters (control characters as they are, the kitty keyboard
protocol's "CSI u" form and xterm's modifyOtherKeys for Ctrl+], ECMA-48 bracketed paste).
"""

import random
import time

import pytest
from textual.app import ComposeResult
from textual.binding import Binding
from textual.pilot import Pilot
from textual.widgets import Input

from kittrack.tui.scanner import GAP, REST, Scan, ScannerApp, split_scans
from tests.tui.screens import feed

GS, RS, EOT = "\x1d", "\x1e", "\x04"
SIXTY = "".join(chr(33 + (7 * i) % 90) for i in range(60))


class Probe(ScannerApp):
    """Notes every scan, every line that was typed, and every key binding that acted."""

    BINDINGS = [Binding(key, f"note('{key}')", key) for key in ("q", "ctrl+d", "ctrl+b", "f9")]  # noqa: RUF012

    def __init__(self) -> None:
        super().__init__()
        self.scans: list[str] = []
        self.typed: list[str] = []
        self.acted: list[str] = []
        self.slow = 0.0

    def compose(self) -> ComposeResult:
        yield Input()

    def on_scan(self, event: Scan) -> None:
        time.sleep(self.slow)
        self.scans.append(event.text)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        self.typed.append(event.value)
        event.input.value = ""

    def action_note(self, key: str) -> None:
        self.acted.append(key)


async def send(pilot: Pilot[int], data: str, *, rest: float = GAP * 2) -> None:
    feed(pilot.app, data)
    await pilot.pause(rest)
    await pilot.pause()


def line_of(pilot: Pilot[int]) -> str:
    return pilot.app.query_one(Input).value


@pytest.mark.parametrize("end", ["\r", "\n", "\r\n", "\t", "\r\t", ""])
async def test_a_burst_of_sixty_characters_is_one_scan_whatever_ends_it(end: str) -> None:
    app = Probe()
    async with app.run_test() as pilot:
        await send(pilot, SIXTY + end)
        assert app.scans == [SIXTY]
        assert (app.typed, line_of(pilot), app.acted) == ([], "", [])
        assert isinstance(app.focused, Input)


@pytest.mark.parametrize("slow", [0.0, 0.05])
async def test_scans_back_to_back_never_merge_even_where_the_screen_is_busy(slow: float) -> None:
    sent = [f"K{number:06d}-{number % 10}" for number in range(20)]
    app = Probe()
    app.slow = slow
    async with app.run_test() as pilot:
        await send(pilot, "".join(f"{code}\r" for code in sent))
        assert app.scans == sent
        assert line_of(pilot) == ""


async def test_any_scans_of_any_length_arrive_as_they_were_sent() -> None:
    chance = random.Random(20260302)  # noqa: S311 - a test's own chance, repeatable
    letters = [chr(c) for c in range(33, 127)] + [GS, RS]
    sent = ["]" + "".join(chance.choices(letters, k=chance.randint(6, 80))) for _ in range(60)]
    app = Probe()
    async with app.run_test() as pilot:
        await send(pilot, "".join(f"{code}\r" for code in sent))
        assert app.scans == sent


async def test_separators_are_kept_and_act_as_no_key() -> None:
    code = f"[)>{RS}06{GS}1PRB-18-CW{GS}1T0042{RS}{EOT}"
    app = Probe()
    async with app.run_test() as pilot:
        await send(pilot, f"{code}\r")
        assert app.scans == [code]
        assert app.acted == []


@pytest.mark.parametrize("separator", ["\x1b[93;5u", "\x1b[27;5;93~"], ids=["kitty", "modifyOtherKeys"])
async def test_a_separator_is_known_by_its_key_where_a_terminal_sends_it_as_one(separator: str) -> None:
    app = Probe()
    async with app.run_test() as pilot:
        await send(pilot, f"10ABC{separator}21987\r")
        assert app.scans == [f"10ABC{GS}21987"]


async def test_a_scan_with_the_frame_and_letters_of_key_bindings_acts_as_no_key() -> None:
    app = Probe()
    async with app.run_test() as pilot:
        await send(pilot, "\x02qqKq000q\x03\r")
        assert app.scans == ["\x02qqKq000q\x03"]
        assert app.acted == []


async def test_a_person_types_letter_by_letter_and_ends_with_enter() -> None:
    app = Probe()
    async with app.run_test() as pilot:
        for key in "K000042":
            await send(pilot, key, rest=GAP * 1.6)
        assert line_of(pilot) == "K000042"
        await send(pilot, "\r")
        assert (app.typed, app.scans) == (["K000042"], [])


async def test_a_key_that_is_held_down_is_typing_and_no_scan() -> None:
    app = Probe()
    async with app.run_test() as pilot:
        await send(pilot, "x" * 30)
        assert (app.scans, line_of(pilot)) == ([], "x" * 30)


async def test_a_short_scan_after_rest_is_not_torn_apart() -> None:
    app = Probe()
    async with app.run_test() as pilot:
        await pilot.pause(REST * 1.2)
        await send(pilot, "A-01\r")
        assert app.scans == ["A-01"]


async def test_few_fast_letters_on_a_line_that_is_being_typed_stay_on_it() -> None:
    app = Probe()
    async with app.run_test() as pilot:
        await send(pilot, "K")
        await send(pilot, "42\r")
        assert (app.typed, app.scans) == (["K42"], [])


async def test_function_keys_pass_at_once() -> None:
    app = Probe()
    async with app.run_test() as pilot:
        await send(pilot, "\x1b[20~", rest=0.0)
        assert app.acted == ["f9"]


async def test_a_paste_is_as_many_scans_as_it_has_lines() -> None:
    app = Probe()
    async with app.run_test() as pilot:
        await send(pilot, f"\x1b[200~10ABC{GS}21987\rK000042-8\n\x1b[201~")
        assert app.scans == [f"10ABC{GS}21987", "K000042-8"]
        assert line_of(pilot) == ""


def test_a_pasted_text_is_split_at_line_ends_and_never_at_separators() -> None:
    assert split_scans(f"a{GS}b\r\nc{RS}d\te\n\n") == [f"a{GS}b", f"c{RS}d", "e"]
