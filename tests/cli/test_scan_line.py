"""Boxes read and taken in by scans, and the scanner of a terminal judged, by lines against a store."""

import io
import os
import threading
from pathlib import Path
from types import SimpleNamespace

import pytest

from kittrack.cli import scan_input
from kittrack.cli.exits import Exit
from kittrack.cli.scan_input import read_burst, several_scans, split_scans
from kittrack.domain.keyboards import SELF_TEST, Layout, as_typed_on
from kittrack.domain.scanner_settings import ScannerSettings
from kittrack.services.terminals import keep_settings, settings_of
from kittrack.store.database import Store
from kittrack.store.records import Lot, ReceiptLine
from tests.cli.line import CommandLine
from tests.factories import CW_BLADE

GTIN = "09521234543213"  # GS1's documentation prefix 952
BOX = f"]C101{GTIN}17270331240{CW_BLADE}<GS>3010<GS>10LOT-7"


@pytest.fixture
def line(world_url: str, capsys: pytest.CaptureFixture[str]) -> CommandLine:
    return CommandLine(world_url, capsys)


@pytest.fixture(autouse=True)
def own_terminal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("KITTRACK_TERMINALS", str(tmp_path / "terminals.toml"))
    monkeypatch.setenv("KITTRACK_TERMINAL", "bench 2")


def pipe(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    """What comes through a pipe, as bytes."""
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(text.encode("utf-8"))))


# ---- reading a box ---------------------------------------------------------------------------------


def test_the_table_says_what_was_read_and_what_each_would_fill(line: CommandLine) -> None:
    rows = line.do("scan", "read", BOX, "--json").json["rows"]
    assert {(row["what"], row["value"], row["fills"]) for row in rows} == {
        ("gtin", GTIN, "nothing; it stays with the scan"),
        ("expiry", "2027-03-31", "expires"),
        ("part number", CW_BLADE, "part"),
        ("quantity", "10", "quantity"),
        ("lot", "LOT-7", "lot"),
    }
    shown = line.do("scan", "read", BOX).out
    assert "fills" in shown.splitlines()[0]
    assert "2027-03-31" in shown
    assert line.do("scan", "read", BOX, "--csv").out.startswith('"scan","standard","what","value","fills"')


def test_questions_are_asked_with_their_choices(line: CommandLine) -> None:
    ran = line.do("scan", "read", f"01{GTIN}10AB17270430")
    assert "scan 1: No separator came with this label" in ran.out
    assert "the lot is AB, the expiry is 2027-04-30" in ran.out


@pytest.mark.parametrize("layout", [Layout.GERMAN, Layout.FRENCH])
def test_a_code_that_fits_another_keyboard_is_refused_with_that_explanation(
    line: CommandLine, layout: Layout
) -> None:
    ran = line.run("scan", "read", as_typed_on("K000042-A", layout=layout))
    assert ran.code == Exit.USAGE
    assert f"this computer is set to {layout.value}" in ran.out


def test_codes_come_from_a_pipe_too(line: CommandLine, monkeypatch: pytest.MonkeyPatch) -> None:
    pipe(monkeypatch, f"]C101{GTIN}17270331\r\n]C1240{CW_BLADE}\x1d3010\x1d10LOT-7\n")
    rows = line.do("scan", "read", "--json").json["rows"]
    assert {row["scan"] for row in rows} == {1, 2}
    assert len(rows) == 5
    pipe(monkeypatch, "\n")
    ran = line.run("scan", "read")
    assert ran.code == Exit.USAGE
    assert "Nothing was scanned" in ran.err


def test_the_terminals_settings_are_used(line: CommandLine) -> None:
    keep_settings(ScannerSettings("!", "#", ("^]",)))
    rows = line.do("scan", "read", f"!01{GTIN}10LOT-7^]21S-9#", "--json").json["rows"]
    assert {row["value"] for row in rows} == {GTIN, "LOT-7", "S-9"}
    other = line.do("scan", "read", f"01{GTIN}10LOT-7", "--terminal", "counter", "--json").json["rows"]
    assert len(other) == 2


def test_what_a_label_holds_is_shown_without_steering_the_terminal(line: CommandLine) -> None:
    ran = line.run("scan", "read", "A\x1b[31mB", "C\u202eD")
    assert ran.code == Exit.USAGE
    assert "\x1b" not in ran.out
    assert "\u202e" not in ran.out


# ---- a delivery by scans ---------------------------------------------------------------------------


def test_boxes_are_taken_in_with_what_was_typed_beside_them(line: CommandLine, store: Store) -> None:
    ran = line.do(
        "delivery", "scan", BOX, "next", f"]C101{GTIN}", "with",
        "part=SC-M3x8; quantity=96; lot=unknown; expires=none; paper kind=certificate of conformity; "
        "paper number=C-1; paper issuer=Invented Rotors",
        "--supplier", "Invented Rotors", "--reference", "DN-1",
    )  # fmt: skip
    assert len(ran.codes) == 3
    with store.reading() as read:
        first, second = read.select(ReceiptLine)
        lots = [lot.lot_code for lot in read.select(Lot)]
    assert (first.quantity, first.expires_on, first.raw_scan) == (10, "2027-03-31", BOX)
    assert (second.quantity, second.expiry_kind, second.raw_scan) == (96, "none", f"]C101{GTIN}")
    assert lots == ["LOT-7", None]


@pytest.mark.parametrize(
    "boxes", [["next", BOX], ["with", "part=x"], [BOX, "next", "next", BOX], [BOX, "with", "colour=red"]]
)
def test_a_box_without_a_scan_or_with_unknown_words_is_refused(
    line: CommandLine, store: Store, boxes: list[str]
) -> None:
    ran = line.run("delivery", "scan", *boxes, "--supplier", "Invented Rotors", "--reference", "DN-1")
    assert ran.code == Exit.USAGE
    with store.reading() as read:
        assert not read.select(ReceiptLine)


def test_a_question_stops_the_delivery(line: CommandLine) -> None:
    ran = line.run(
        "delivery", "scan", f"01{GTIN}10AB17270430", "with", f"part={CW_BLADE}; quantity=4",
        "--supplier", "Invented Rotors", "--reference", "DN-1",
    )  # fmt: skip
    assert ran.code == Exit.USAGE
    assert "It may be: the lot is AB17270430; or the lot is AB, the expiry is 2027-04-30" in ran.err


# ---- the scanner of this terminal ------------------------------------------------------------------


def test_a_good_scanner_is_told_so(line: CommandLine, monkeypatch: pytest.MonkeyPatch) -> None:
    pipe(monkeypatch, SELF_TEST + "\r")
    ran = line.do("scanner", "test")
    assert "nothing needs to be set" in ran.out
    pipe(monkeypatch, SELF_TEST)
    assert "end mark" in line.run("scanner", "test").out


def test_each_trouble_is_named_and_the_exit_code_says_so(
    line: CommandLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    pipe(monkeypatch, as_typed_on(SELF_TEST, layout=Layout.GERMAN) + "\r")
    ran = line.run("scanner", "test", "--json")
    assert ran.code == Exit.USAGE
    assert "a German keyboard" in ran.json["faults"][0]


def test_settings_that_help_are_kept_and_then_the_test_is_good(
    line: CommandLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent = "!" + SELF_TEST.replace("\x1d", "^]") + "#\r"
    pipe(monkeypatch, sent)
    ran = line.run("scanner", "test", "--keep")
    assert ran.code == Exit.USAGE
    assert "kept for this terminal" in ran.out
    assert settings_of("bench 2") == ScannerSettings("!", "#", ("^]",))
    pipe(monkeypatch, sent)
    ran = line.do("scanner", "test")
    assert "With the settings kept for this terminal the scanner is understood." in ran.out


def test_settings_are_set_and_shown_by_hand(line: CommandLine) -> None:
    line.do("scanner", "set", "--prefix", "!", "--gs", "^]", "--gs", "_")
    line.do("scanner", "set", "--suffix", "#", "--terminal", "counter")
    found = {t["terminal"]: t for t in line.do("scanner", "show", "--json").json}
    assert found["bench 2"]["gs_stand_ins"] == ["^]", "_"]
    assert (found["bench 2"]["prefix"], found["counter"]["suffix"]) == ("!", "#")
    line.do("scanner", "set", "--prefix", "", "--gs", "")
    assert settings_of("bench 2") == ScannerSettings()
    assert line.run("scanner", "set", "--gs", "A").code == Exit.USAGE


def test_the_self_test_sheet_is_drawn(line: CommandLine, tmp_path: Path) -> None:
    into = tmp_path / "self-test.pdf"
    assert str(into) in line.do("scanner", "sheet", "--into", str(into)).out
    assert into.read_bytes().startswith(b"%PDF")
    assert line.run("scanner", "sheet", "--into", str(into)).code == Exit.USAGE
    line.do("scanner", "sheet", "--into", str(into), "--paper", "LETTER", "--force")


# ---- a real terminal -------------------------------------------------------------------------------


def test_a_terminal_hands_over_every_byte_of_a_scan() -> None:
    """Ctrl-], Ctrl-C, Ctrl-D, Ctrl-Z, Esc and both line ends arrive as they are (a terminal eats them by default)."""
    ours, theirs = os.openpty()
    sent = b"A\x1dB\x03C\x04D\x1aE\x1b[AF\x11\x13\r\n"
    timer = threading.Timer(0.1, os.write, (ours, sent))
    timer.start()
    try:
        assert read_burst(theirs, silence_s=0.3).encode() == sent
    finally:
        timer.join()
        os.close(ours)
        os.close(theirs)


def test_ctrl_c_alone_leaves() -> None:
    ours, theirs = os.openpty()
    timer = threading.Timer(0.1, os.write, (ours, b"\x03"))
    timer.start()
    try:
        with pytest.raises(KeyboardInterrupt):
            read_burst(theirs, silence_s=0.1)
    finally:
        timer.join()
        os.close(ours)
        os.close(theirs)


def test_scans_of_a_terminal_end_with_enter_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    bursts = iter(["K000042-A\r", "LOT-7\tLOT-8\r\n", "\r"])
    monkeypatch.setattr("sys.stdin", SimpleNamespace(isatty=lambda: True, fileno=lambda: 0))
    monkeypatch.setattr(scan_input, "read_burst", lambda _: next(bursts))
    assert several_scans() == ("K000042-A", "LOT-7", "LOT-8")


def test_line_ends_part_scans_and_separators_stay() -> None:
    assert split_scans("a\x1db\r\nc\td\n\n") == ["a\x1db", "c", "d"]
