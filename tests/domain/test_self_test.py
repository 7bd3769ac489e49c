"""What arrives of the self-test label, each trouble by the public report that shows it, and bench moves."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kittrack.domain.codes import looks_like_code
from kittrack.domain.keyboards import SELF_TEST, Layout, as_typed_on
from kittrack.domain.moves import Move, read_move
from kittrack.domain.scanner_settings import ScannerSettings, check_settings
from kittrack.domain.scans import GS_STAND_INS, Standard, read_scan
from kittrack.domain.self_test import SelfTest, Trouble, judge_anything, judge_self_test
from kittrack.domain.text import is_unseen
from tests.factories import T0

TODAY = T0.date()
ENTER = "\r"


def judge(text: str) -> SelfTest:
    return judge_anything(text, known_stand_ins=GS_STAND_INS)


def as_alt_codes(text: str, *, width: int, key: str) -> str:
    """Each character as Alt and its number: figures as they come, after Esc, or as keys of the keypad."""
    figures = "".join(f"{ord(char):0{width}d}" for char in text)
    if key == "keypad":
        return "".join(f"\x1bO{chr(ord('p') + int(figure))}" for figure in figures)
    return "".join(f"\x1b{figure}" for figure in figures) if key == "esc" else figures


@pytest.mark.parametrize("end", ["\r", "\n", "\r\n", "\t"])
def test_a_good_scanner_is_told_so(end: str) -> None:
    # jquery-pos #6: scanners end with Tab or a line feed as well as with Enter
    judged = judge(SELF_TEST + end)
    assert judged.is_good
    assert judged.notes == ("The scanner and this computer agree; nothing needs to be set.",)
    assert judged.settings == ScannerSettings()


@pytest.mark.parametrize("layout", list(Layout))
def test_a_keyboard_layout_is_named(layout: Layout) -> None:
    # onscan.js #19, bwip-js #352, hid-barcode-scanner #385: signs change with the layout
    judged = judge(as_typed_on(SELF_TEST, layout=layout) + ENTER)
    assert judged.troubles == {Trouble.LAYOUT}
    assert layout.value in judged.faults[0].message


@pytest.mark.parametrize(
    ("change", "trouble"),
    [(str.swapcase, Trouble.CAPS_LOCK), (str.upper, Trouble.CAPITALS), (str.lower, Trouble.SMALL)],
)
def test_what_is_done_to_letters_is_told_apart(change: Callable[[str], str], trouble: Trouble) -> None:
    assert judge(change(SELF_TEST) + ENTER).troubles == {trouble}
    german = as_typed_on(SELF_TEST, layout=Layout.GERMAN)
    assert judge(change(german) + ENTER).troubles == {trouble, Trouble.LAYOUT}


def test_a_dropped_separator_is_named() -> None:
    # zxing #295: FNC1 character is suppressed
    assert judge(SELF_TEST.replace("\x1d", "") + ENTER).troubles == {Trouble.GS_DROPPED}


@pytest.mark.parametrize("sent", GS_STAND_INS)
def test_a_known_stand_in_is_well(sent: str) -> None:
    # Bark-JS #14, notepad-plus-plus #17092, flutter_barcode_listener #62: how GS shows when it is not sent
    judged = judge(SELF_TEST.replace("\x1d", sent) + ENTER)
    assert judged.is_good
    assert "taken for it" in judged.notes[0]


@pytest.mark.parametrize("sent", ["^]", "_", "¬", "[GS]"])
def test_another_stand_in_is_proposed_for_the_terminal(sent: str) -> None:
    judged = judge(SELF_TEST.replace("\x1d", sent) + ENTER)
    assert judged.troubles == {Trouble.GS_REPLACED}
    assert judged.settings.gs_stand_ins == (sent,)
    again = judge_anything(SELF_TEST.replace("\x1d", sent) + ENTER, known_stand_ins=(*GS_STAND_INS, sent))
    assert again.is_good


def test_a_letter_is_never_taken_for_the_separator() -> None:
    judged = judge(SELF_TEST.replace("\x1d", "G") + ENTER)
    assert judged.troubles == {Trouble.GS_REPLACED}
    assert judged.settings.gs_stand_ins == ()
    assert "stand-ins" not in judged.faults[0].message


@pytest.mark.parametrize("key", ["figures", "esc", "keypad"])
@pytest.mark.parametrize("width", [1, 3, 4])
def test_alt_codes_are_named(width: int, key: str) -> None:
    # unix.stackexchange 392654: a scanner that sends Alt codes
    assert judge(as_alt_codes(SELF_TEST, width=width, key=key) + ENTER).troubles == {Trouble.ALT_CODES}


@pytest.mark.parametrize("key", ["figures", "esc", "keypad"])
def test_a_separator_as_alt_code_is_named(key: str) -> None:
    sent = as_alt_codes("\x1d", width=4, key=key)
    assert judge(SELF_TEST.replace("\x1d", sent) + ENTER).troubles == {Trouble.ALT_CODES}


def test_what_stands_around_a_scan_is_proposed_as_settings() -> None:
    judged = judge("!A" + SELF_TEST + "#Z" + ENTER)
    assert judged.troubles == {Trouble.PREFIX, Trouble.SUFFIX}
    assert judged.settings == ScannerSettings(prefix="!A", suffix="#Z")
    assert judged.settings.bare("!AK000042-A#Z\r\n") == "K000042-A"
    assert judged.settings.bare("K000042-A") == "K000042-A"


@pytest.mark.parametrize(
    ("text", "note"),
    [("]C0" + SELF_TEST + ENTER, "]C0"), ("]d1" + SELF_TEST + ENTER, "]d1"), (f"\x02{SELF_TEST}\x03\r", "STX")],
)  # fmt: skip
def test_what_is_understood_is_noted_and_not_blamed(text: str, note: str) -> None:
    judged = judge(text)
    assert judged.is_good
    assert any(note in said for said in judged.notes)


def test_a_missing_end_is_named_where_the_end_can_be_known() -> None:
    assert judge(SELF_TEST).troubles == {Trouble.NO_END}
    assert judge_anything(SELF_TEST, known_stand_ins=(), is_end_known=False).is_good


def test_scans_run_together_are_named() -> None:
    assert judge(SELF_TEST + SELF_TEST + ENTER).troubles == {Trouble.TOGETHER}


@pytest.mark.parametrize(
    "text", [SELF_TEST[:9], SELF_TEST[1:], SELF_TEST[::2], SELF_TEST.replace("rac", ""), SELF_TEST[:-1]]
)
def test_lost_characters_are_counted(text: str) -> None:
    # tui-go #77, flutter #84210: scans arrive cut
    judged = judge(text + ENTER)
    assert judged.troubles == {Trouble.CUT}
    assert f"{len(text)} of {len(SELF_TEST)}" in judged.faults[0].message


@pytest.mark.parametrize("text", ["", "K000042-A", "\r", "KIT", "x" * 500, "\x1b[A"])
def test_another_scan_is_named_and_safe_to_show(text: str) -> None:
    judged = judge(text)
    assert judged.troubles == {Trouble.OTHER}
    assert judged.faults[0].message.isprintable()
    assert judge_self_test(text, known_stand_ins=()) is None


@given(st.text(max_size=30), st.text(max_size=30), st.text(max_size=10))
def test_no_scan_whatever_breaks_the_judgement(before: str, after: str, sent: str) -> None:
    for text in (before, before + SELF_TEST.replace("\x1d", sent) + after):
        judged = judge(text)
        assert judged.faults or judged.notes
        assert all(not any(map(is_unseen, fault.message)) for fault in judged.faults)
        assert all(not any(map(is_unseen, note)) for note in judged.notes)


# ---- the settings of a terminal --------------------------------------------------------------------


def test_settings_that_would_eat_codes_are_refused() -> None:
    assert not check_settings(ScannerSettings("!", "#", ("^]",)))
    for stand_in in ("", "A", "10", "-", "x" * 21):
        assert check_settings(ScannerSettings(gs_stand_ins=(stand_in,)))
    assert len(check_settings(ScannerSettings("x" * 21, "y" * 21, ("^]",) * 11))) == 3


# ---- the bench sheet's moves -----------------------------------------------------------------------


def test_moves_arrive_whole_on_every_keyboard_and_are_nothing_else() -> None:
    for move in Move:
        for layout in Layout:
            assert as_typed_on(move.value, layout=layout) == move.value
            assert as_typed_on(move.value.lower(), layout=layout) == move.value.lower()
        assert read_move(f" {move.value.lower()}\r") is move
        assert not looks_like_code(move.value)
        read = read_scan(f"]C0{move.value}\r", today=TODAY)
        assert (read.move, read.standard, read.code) == (move, Standard.BENCH, None)
        assert not read.fields.found()
    assert read_move("KITGO") is None
    assert read_scan("K000042-A", today=TODAY).move is None


def test_no_move_overrides_anything() -> None:
    assert {move.called for move in Move} == {"NEXT STATION", "GO AHEAD", "START AGAIN", "SECOND PERSON"}
