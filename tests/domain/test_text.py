"""Untrusted text on a terminal line, in a spreadsheet and in the store."""

import csv
import io
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kittrack.domain.text import check_text, clean_label, csv_cell, either, single_line

ANY_TEXT = st.text(alphabet=st.characters(exclude_categories=()))  # lone surrogates too


@given(ANY_TEXT)
def test_nothing_shown_steers_a_terminal(text: str) -> None:
    for shown in (clean_label(text), single_line(text)):
        assert not {unicodedata.category(char) for char in shown} & {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}
        assert shown.encode("utf-8") or not text.strip()


@given(st.text(alphabet=st.characters(min_codepoint=32, max_codepoint=126)))
def test_plain_text_is_shown_as_it_is(text: str) -> None:
    assert clean_label(text) == text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b[2Jlot", "<ESC>[2Jlot"),
        ("10AB\x1d17", "10AB<GS>17"),
        ("a\u202eb", "a<RLO>b"),  # "Trojan Source", CVE-2021-42574
        ("a\u200bb", "a<ZWSP>b"),
        ("a\x9b31m", "a<CSI>31m"),
        ("a\x7fb\x81", "a<DEL>b<U+0081>"),
        ("\U000e0041", "<U+E0041>"),
        ("\ud800", "<U+D800>"),
        ("\u3164", "<U+3164>"),
        ("Łódź µ · 螺丝", "Łódź µ · 螺丝"),
    ],
)
def test_what_cannot_be_seen_is_named(text: str, shown: str) -> None:
    assert clean_label(text) == shown


@given(ANY_TEXT, st.integers(3, 50))
def test_a_label_keeps_to_its_length(text: str, length: int) -> None:
    assert len(clean_label(text, max_length=length)) <= length
    assert len(single_line(text, max_length=length)) <= length


def test_a_note_becomes_one_line() -> None:
    assert single_line("  worn\r\n\tat the root \n") == "worn at the root"
    assert single_line("ten characters", max_length=6) == "ten..."


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", " =", "\n@", "＝", "－"])
def test_a_spreadsheet_gets_no_formula(start: str) -> None:
    # OWASP, "CSV Injection"
    text = f"{start}cmd|' /C calc'!A0"
    assert csv_cell(text) == f"'{text}"


@given(st.text(alphabet=st.characters(exclude_categories=["Cs"], exclude_characters="\0\r")))
def test_a_cell_survives_the_csv_module(text: str) -> None:
    written = io.StringIO()
    csv.writer(written).writerow([csv_cell(text), "end"])
    (row,) = csv.reader(io.StringIO(written.getvalue(), newline=""))
    assert row[0] in {text, f"'{text}"}
    assert not row[0].lstrip().startswith(("=", "+", "-", "@"))


@pytest.mark.parametrize("text", ["K000042-A", "00123", "1E5", "M3 x 8", "résumé", "a=b"])
def test_ordinary_text_is_left_alone(text: str) -> None:
    assert csv_cell(text) == text
    assert check_text(text, field="lot") == ()


@pytest.mark.parametrize(
    "text", ["", "  ", "a\nb", "a\x1bb", "a\u200bb", "\u202eab", "e\u0301", " a", "a ", "x" * 201, "\ud800"]
)
def test_a_text_with_a_fault_is_named(text: str) -> None:
    problems = check_text(text, field="lot")
    assert problems
    assert all(p.field == "lot" and "lot" in p.message and str(p).isprintable() for p in problems)


def test_every_fault_is_found() -> None:
    assert len(check_text(" e\u0301\x1b" + "x" * 300, field="serial")) == 4


def test_the_longest_text_is_the_callers_choice() -> None:
    assert check_text("x" * 20, field="name", max_length=20) == ()
    assert check_text("x" * 21, field="name", max_length=20) != ()


def test_words_to_choose_from_are_read_as_one_choice() -> None:
    assert [either(words) for words in ((), ("a",), ("a", "b"), ("a", "b", "c"))] == [
        "",
        "a",
        "a or b",
        "a, b or c",
    ]
