"""Scans of all kinds: what other people published, what scanners lose, and whatever chance sends."""

import subprocess
import sys
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum import ean, gs1_128
from stdnum.iso7064 import mod_37_36

from kittrack.domain.codes import Kind, make_code, next_number
from kittrack.domain.gs1_values import check_digit, has_check_digit, read_day
from kittrack.domain.identifiers import unique_item_identifier
from kittrack.domain.keyboards import SELF_TEST, Layout, as_typed_on, layout_mismatch
from kittrack.domain.scans import Choice, Question, Scan, Standard, read_scan

TODAY = date(2026, 7, 6)
GTIN = "09521234543213"  # GS1's documentation prefix 952
FULL = f"01{GTIN}1727033110LOT7\x1d2142"  # python-stdnum encodes it so


def scan(text: str) -> Scan:
    return read_scan(text, today=TODAY)


def found(text: str) -> dict[str, object]:
    read = scan(text)
    assert not read.problems, read.problems
    return dict(read.fields.found())


# GS1 Syntax Dictionary (gs1-syntax-dictionary.txt) and gs1_ai.dat of python-stdnum 2.2: the identifier, a value
# of its greatest length, and whether a separator ends it. GTIN and SSCC are of documentation prefixes.
GS1_FORMATS = [
    ("00", "106141412345678908", False),
    ("01", GTIN, False),
    ("02", GTIN, False),
    ("10", "L" * 20, True),
    ("11", "260331", False),
    ("15", "270331", False),
    ("17", "270331", False),
    ("20", "07", False),
    ("21", "S" * 20, True),
    ("240", "P" * 30, True),
    ("241", "C" * 30, True),
    ("30", "12345678", True),
    ("37", "12345678", True),
    ("400", "O" * 30, True),
    ("8003", GTIN + "G" * 16, True),
    ("8004", "I" * 30, True),
    ("8006", f"{GTIN}0102", True),
    ("8010", "C" * 30, True),
    ("8011", "123456789012", True),
    ("90", "X" * 30, True),
    ("91", "X" * 90, True),
    ("99", "X" * 90, True),
]
LONGEST = {ai: value for ai, value, _ in GS1_FORMATS}

FULL_FIELDS = {"gtin": GTIN, "lot": "LOT7", "serial": "42", "expiry": date(2027, 3, 31)}


class TestNumbers:
    @pytest.mark.parametrize(
        ("number", "digit"),
        [
            ("730001100001", "7"),  # GS1 Sweden
            ("890400021003", "7"),  # GS1 India
            ("629104150021", "3"),  # GS1 check digit page
            ("03600024145", "7"),  # an encyclopedia's UPC-A example
            ("7351353", "7"),  # python-stdnum's documentation, this and the next two
            ("978047111709", "4"),
            ("9841234567890", "8"),
        ],
    )
    def test_published_check_digits(self, number: str, digit: str) -> None:
        assert check_digit(number) == digit

    @given(st.from_regex(r"[0-9]{2,18}", fullmatch=True))
    def test_check_digits_agree_with_another_library(self, number: str) -> None:
        assert check_digit(number) == ean.calc_check_digit(number)
        assert has_check_digit(number + check_digit(number))

    @pytest.mark.parametrize(
        ("value", "today", "day"),
        [
            # GS1 Denmark, "Application identifiers for dates", read in 2001
            ("990701", date(2001, 1, 1), date(1999, 7, 1)),
            ("990800", date(2001, 1, 1), date(1999, 8, 31)),
            ("000615", date(2001, 1, 1), date(2000, 6, 15)),
            ("011126", date(2001, 1, 1), date(2001, 11, 26)),
            # GS1 General Specifications 7.12: 49 years back to 50 ahead
            ("770101", TODAY, date(1977, 1, 1)),
            ("760101", TODAY, date(2076, 1, 1)),
            ("750101", TODAY, date(2075, 1, 1)),
            ("000101", date(2050, 1, 1), date(2100, 1, 1)),
            ("010101", date(2050, 1, 1), date(2001, 1, 1)),
            ("680101", TODAY, date(2068, 1, 1)),
            ("260101", TODAY, date(2026, 1, 1)),
            ("000101", TODAY, date(2000, 1, 1)),
            ("990101", TODAY, date(1999, 1, 1)),
            ("260200", TODAY, date(2026, 2, 28)),  # python-stdnum 2.2 reads (17)260200 so
            # PeterBrockfeld/BarcodeParser #6 and jodal/biip #31: day 00
            ("190700", TODAY, date(2019, 7, 31)),
            ("261200", TODAY, date(2026, 12, 31)),
            ("280200", TODAY, date(2028, 2, 29)),
            ("270229", TODAY, None),
            ("057072", TODAY, None),
            ("261301", TODAY, None),
            ("260001", TODAY, None),
            ("2704３1", TODAY, None),
            ("27043", TODAY, None),
        ],
    )
    def test_dates_of_six_digits(self, value: str, today: date, day: date | None) -> None:
        assert read_day(value, today=today) == day

    @given(st.dates(date(1977, 1, 1), date(2076, 12, 31)))
    def test_every_day_of_the_window_is_read(self, day: date) -> None:
        assert read_day(day.strftime("%y%m%d"), today=TODAY) == day


class TestElementStrings:
    @pytest.mark.parametrize("aim", ["", "]C1", "]d2", "]Q3", "]e0", "]J1"])
    @pytest.mark.parametrize("gs", ["\x1d", "<GS>", "{GS}", "|", "~", "␝", "<FNC1>"])
    @pytest.mark.parametrize("first", ["", "gs"])
    @pytest.mark.parametrize("end", ["", "\r\n", "\t", "\x03"])
    def test_one_label_however_the_scanner_sends_it(self, aim: str, gs: str, first: str, end: str) -> None:
        text = aim + (gs if first else "") + FULL.replace("\x1d", gs) + end
        assert found(text) == FULL_FIELDS
        assert scan(text).is_sure
        assert scan(text).standard is Standard.GS1

    def test_the_label_is_what_another_library_encodes(self) -> None:
        parts = {"01": GTIN, "10": "LOT7", "21": "42", "17": "270331"}
        assert gs1_128.encode(parts, separator="\x1d") == FULL  # python-stdnum

    @pytest.mark.parametrize("text", [FULL, f"01{GTIN}10LOT7\x1d2142", f"01{GTIN}17260200"])
    def test_a_label_reads_as_another_library_reads_it(self, text: str) -> None:
        by_ai = {"01": "gtin", "10": "lot", "21": "serial", "17": "expiry"}
        oracle = gs1_128.info(text, separator="\x1d")  # python-stdnum
        assert found(f"]C1{text}") == {by_ai[ai]: value for ai, value in oracle.items()}

    def test_a_lookalike_of_a_label_that_another_library_pads_is_not_taken_for_the_label(self) -> None:
        # python-stdnum without a separator fills the lot up with blanks, which no element string holds
        padded = gs1_128.encode({"01": GTIN, "10": "LOT7", "21": "42"})
        assert "LOT7" + 16 * " " in padded
        assert scan(f"]C1{padded}").problems

    @pytest.mark.parametrize(("ai", "value", "separated"), GS1_FORMATS)
    def test_identifiers_have_the_published_lengths_and_ends(
        self, ai: str, value: str, separated: bool
    ) -> None:
        """The longest value is taken whole, and only one of fixed length may be followed at once."""
        read = scan(f"]C1{ai}{value}\x1d90X")
        assert not read.problems
        assert ("(90)", "X") in read.others or ai == "90"
        run_together = scan(f"]C1{ai}{value}99Y")
        assert bool(run_together.problems) is separated
        assert (("(99)", "Y") in run_together.others) is not separated
        if separated:
            assert scan(f"]C1{ai}{value}0").problems  # one more than the longest

    @pytest.mark.parametrize(
        ("ai", "partners"),
        [
            # GS1 Syntax Dictionary, "req": at least one of these must stand beside it
            ("10", ("01", "02", "8006", "8026")),
            ("11", ("01", "02", "8006", "8026")),
            ("15", ("01", "02", "8006", "8026")),
            ("17", ("01", "02", "8006", "8026", "255")),
            ("20", ("01", "02", "8006", "8026")),
            ("21", ("01", "8006")),
            ("240", ("01", "02", "8006", "8026")),
            ("241", ("01", "02", "8006", "8026")),
            ("30", ("01", "02")),
            ("02", ("37",)),
        ],
    )
    def test_an_identifier_without_its_partner_is_noted(self, ai: str, partners: tuple[str, ...]) -> None:
        wanted = " or ".join(f"({partner})" for partner in partners)
        value = LONGEST[ai]
        assert f"({ai}) goes with {wanted}" in " ".join(scan(f"]C1{ai}{value}").notes)
        for partner in set(partners) & LONGEST.keys():
            beside = scan(f"]C1{partner}{LONGEST[partner]}\x1d{ai}{value}")
            assert not any(f"({ai}) goes with" in note for note in beside.notes)

    def test_a_count_needs_its_shipping_unit_and_its_content(self) -> None:
        # GS1 Syntax Dictionary: 37 req=00 and 02 or 8026
        notes = scan("]C13725").notes
        assert any("(37) goes with (00)" in note for note in notes)
        assert any("(37) goes with (02) or (8026)" in note for note in notes)

    @pytest.mark.parametrize("ai", ["00", "01", "400", "8003", "8004", "8010", "90", "91", "99"])
    def test_an_identifier_of_its_own_needs_no_partner(self, ai: str) -> None:
        assert scan(f"]C1{ai}{LONGEST[ai]}").notes == ()

    @pytest.mark.parametrize(
        "text",
        [
            f"(01){GTIN}(17)270331(10)LOT7(21)42",
            f"(01) {GTIN} (17) 270331 (10) LOT7 (21) 42",
            f"[01]{GTIN}[17]270331[10]LOT7[21]42",
            f"]C1(01){GTIN}(17)270331(10)LOT7(21)42",  # brackets encoded literally: python-barcode #75
        ],
    )
    def test_brackets_as_people_type_them(self, text: str) -> None:
        assert found(text) == FULL_FIELDS

    def test_codes_stay_text(self) -> None:
        assert found(f"]C101{GTIN}17261200\x1d210042")["serial"] == "0042"
        assert found(f"]d201{GTIN}21A/7-b_c\x1d24000X9")["part_number"] == "00X9"

    def test_other_identifiers_are_kept_apart(self) -> None:
        read = scan("]C190MPT000341\x1d10R20060043")  # zxing/zxing #1324
        assert read.others == (("(90)", "MPT000341"),)
        assert read.fields.lot == "R20060043"
        assert any("(10) goes with (01)" in note for note in read.notes)

    def test_a_custom_separator_is_the_stores_choice(self) -> None:
        text = f"]C101{GTIN}10LOT7_2142"
        assert read_scan(text, today=TODAY, gs_stand_ins=("_",)).fields.serial == "42"

    def test_a_real_separator_makes_a_stand_in_ordinary(self) -> None:
        assert scan(f"]C101{GTIN}10A|B\x1d2142").problems  # | is no GS1 character

    @pytest.mark.parametrize(
        ("text", "reason"),
        [
            (f"]C101{GTIN}17270229", "no day"),
            (f"]C101{GTIN}17270231", "no day"),
            ("(01)01234567890128(15)057072", "no day"),  # python-barcode #75
            (f"]C101{GTIN}17271301", "no day"),
            ("]C10109521234543214", "check digit"),
            ("]C10109521234543214\x1d10AB", "check digit"),
            ("]C10100000000000000", "check digit"),
            ("(00)12345678901234567890", "not what GS1 wants"),  # metafloor/bwip-js #95: too many digits
            ("]C100106141412345678909", "check digit"),
            (f"]C101{GTIN}10" + "A" * 25, "not what GS1 wants"),
            (f"]C101{GTIN}1", "No GS1 identifier"),
            (f"]C101{GTIN}10", "not what GS1 wants"),
            (f"]C101{GTIN}10Ä", "outside its standard"),
            (f"]C101{GTIN}10A B", "not what GS1 wants"),
            (f"]C101{GTIN}10A\x1b[2J", "not what GS1 wants"),
            (f"]C101{GTIN}10A\x1d10B", "two different"),
            (f"(01){GTIN}(99999)1", "not what GS1 wants"),
            (f"(01){GTIN}(310)2000123", "not what GS1 wants"),
            (f"(01){GTIN}(10)Ä", "not what GS1 wants"),
            (f"(01){GTIN}(37)0", "quantity of 0"),
            ("01٠٩٥٢١٢٣٤٥٤٣٢١٣\x1d10A", "can't be seen"),
        ],
    )
    def test_a_faulty_label_is_refused(self, text: str, reason: str) -> None:
        problems = scan(text).problems
        assert any(reason in problem.message for problem in problems), problems
        assert all(str(problem).isprintable() for problem in problems)

    def test_a_wrong_field_is_not_kept_and_the_others_are(self) -> None:
        read = scan(f"]C101{GTIN}1727022910A")
        assert read.fields.expiry is None
        assert read.fields.lot == "A"
        conflict = scan(f"]C101{GTIN}10A\x1d10B")
        assert conflict.fields.lot is None

    @pytest.mark.parametrize(
        "text",
        [
            "(01)38425876095074(17)181119(37)1",  # python-stdnum's own example takes it
            f"(01){GTIN}(02){GTIN}(37)5",
            f"(01){GTIN}(21)42(235)X",
        ],
    )
    def test_pairs_that_the_dictionary_forbids(self, text: str) -> None:
        # GS1 Syntax Dictionary: 01 ex=02,255,37; 21 ex=235
        assert any("GS1 forbids" in problem.message for problem in scan(text).problems)

    def test_a_shipping_label_may_say_all_three(self) -> None:
        assert found(f"(00)106141412345678908(02){GTIN}(37)25") == {
            "sscc": "106141412345678908",
            "gtin": GTIN,
            "quantity": 25,
        }


class TestLostSeparators:
    def test_a_swallowed_expiry_is_asked_and_not_stored(self) -> None:
        # biip 5.2 takes the whole as the lot, without expiry
        read = scan(f"]C101{GTIN}10AB17260430")
        assert dict(read.fields.found()) == {"gtin": GTIN}
        (question,) = read.questions
        assert not read.is_sure
        readings = [dict(choice.fields) for choice in question.choices]
        assert readings == [{"lot": "AB17260430"}, {"lot": "AB", "expiry": date(2026, 4, 30)}]
        settled = read.answered(question, choice=question.choices[1])
        assert settled.is_sure
        assert (settled.fields.lot, settled.fields.expiry) == ("AB", date(2026, 4, 30))

    @pytest.mark.parametrize(
        ("tail", "reading"),
        [
            ("10LOT72142", {"lot": "LOT7", "serial": "42"}),
            ("21SN1710LOT7", {"serial": "SN17", "lot": "LOT7"}),
            ("10A1726043021B9", {"lot": "A", "expiry": date(2026, 4, 30), "serial": "B9"}),
            ("301621429", {"quantity": 16, "serial": "429"}),
            ("10A11260400", {"lot": "A", "made_on": date(2026, 4, 30)}),
        ],
    )
    def test_every_likely_reading_is_offered(self, tail: str, reading: dict[str, object]) -> None:
        (question,) = scan(f"01{GTIN}{tail}").questions
        assert reading in [dict(choice.fields) for choice in question.choices]
        assert len(question.choices) <= 4

    @pytest.mark.parametrize(
        "text",
        [
            f"01{GTIN}\x1d10AB17260430",  # a separator arrives, so the scanner sends them
            f"01{GTIN}10AB17260430\x1d2142",
            f"(01){GTIN}(10)AB17260430",  # brackets leave no doubt
            f"01{GTIN}10AB17269930",  # no such day
            f"01{GTIN}1726043010AB17260430",  # it has its expiry
            f"01{GTIN}10ABC",
            f"01{GTIN}10AB\x1d90X17260430",
            f"01{GTIN}10AB1726043090X",  # (90) is none of what the stores look for
        ],
    )
    def test_where_there_is_no_doubt_nothing_is_asked(self, text: str) -> None:
        assert scan(text).questions == ()
        assert scan(text).fields.lot is not None

    def test_an_identifier_without_use_is_not_asked_about(self) -> None:
        read = scan(f"01{GTIN}90X17260430")
        assert read.is_sure
        assert read.others == (("(90)", "X17260430"),)

    def test_what_cannot_be_a_lot_is_refused(self) -> None:
        read = scan(f"]C101{GTIN}10AB1726043021SER0001234567890")
        assert read.problems
        assert read.fields.lot is None

    def test_a_question_takes_only_its_own_answers(self) -> None:
        read = scan(f"]C101{GTIN}10AB17260430")
        with pytest.raises(ValueError, match="no such choice"):
            read.answered(read.questions[0], choice=Choice("other", ()))
        with pytest.raises(ValueError, match="not open"):
            read.answered(Question("other", ()), choice=read.questions[0].choices[0])


class TestLinks:
    @pytest.mark.parametrize(
        ("text", "fields"),
        [
            # biip's documentation
            (
                "https://id.gs1.org/01/614141123452/lot/ABC1/ser/12345?exp=180426",
                {"gtin": "00614141123452", "lot": "ABC1", "serial": "12345", "expiry": date(2018, 4, 26)},
            ),
            (
                "https://id.gs1.org/00/106141412345678908?02=00614141123452&37=25&10=ABC123",
                {"sscc": "106141412345678908", "gtin": "00614141123452", "quantity": 25, "lot": "ABC123"},
            ),
            (f"https://example.com/a/b/01/{GTIN}/10/A%2FB?linkType=all", {"gtin": GTIN, "lot": "A/B"}),
            (f"HTTPS://EXAMPLE.COM/01/{GTIN}", {"gtin": GTIN}),
            (f"]Q1https://example.com/gtin/{GTIN}/", {"gtin": GTIN}),
        ],
    )
    def test_a_link_is_read(self, text: str, fields: dict[str, object]) -> None:
        assert found(text) == fields
        assert scan(text).standard is Standard.GS1_LINK

    @pytest.mark.parametrize(
        "text",
        [
            "https://id.gs1.org/01/09521234543214",
            f"https://id.gs1.org/01/{GTIN}/10",
            f"https://id.gs1.org/01/{GTIN}?10=A&10=B",
            f"https://id.gs1.org/01/{GTIN}?17=270229",
            f"https://id.gs1.org/01/{GTIN}?9999=1",
            f"https://id.gs1.org/01/{GTIN}/colour/red",
            f"http://[/01/{GTIN}",
        ],
    )
    def test_a_faulty_link_is_refused(self, text: str) -> None:
        assert scan(text).problems

    @pytest.mark.parametrize("text", ["https://example.com/x", "http://example.com/parts/77", "https://"])
    def test_another_address_is_plain_text(self, text: str) -> None:
        assert scan(text).standard is Standard.PLAIN


def envelope(kind: str, *parts: str) -> str:
    """ISO/IEC 15434: [)> RS format GS data GS data RS EOT."""
    return f"[)>\x1e{kind}\x1d" + "\x1d".join(parts) + "\x1e\x04"


class TestIdentifiers:
    @pytest.mark.parametrize(
        ("text", "fields"),
        [
            # MIL-STD-130 example quoted by a marking vendor from a DoD guide
            (
                envelope("12", "MFR 0CVA5", "SER 786950"),
                {"maker_code": "0CVA5", "serial": "786950", "uii": "D0CVA5786950"},
            ),
            (
                envelope("06", "12V194532636", "1P1234", "S786950"),
                {
                    "maker_code": "194532636",
                    "part_number": "1234",
                    "serial": "786950",
                    "uii": "UN1945326361234786950",
                },
            ),
            (envelope("DD", "CAG 0CVA5", "PNO 1234", "SEQ 7"), {
                "maker_code": "0CVA5", "part_number": "1234", "serial": "7", "uii": "D0CVA512347",
            }),
            (envelope("06", "18S0CVA5786950"), {"maker_code": "0CVA5", "serial": "786950", "uii": "D0CVA5786950"}),
            (envelope("06", "1TLOT7", "Q100", "14D20270331", "16D20260401"), {
                "lot": "LOT7", "quantity": 100, "expiry": date(2027, 3, 31), "made_on": date(2026, 4, 1),
            }),
            (envelope("06", "15D31032027", "17D01042026", "25D20270101", "POUR-1", "KPO9"), {
                "expiry": date(2027, 3, 31), "made_on": date(2026, 4, 1), "best_before": date(2027, 1, 1),
                "customer_part": "OUR-1", "order_number": "PO9",
            }),
            (
                envelope("06", "17V0CVA5", "1P1234", "S786950"),
                {"maker_code": "0CVA5", "part_number": "1234", "serial": "786950", "uii": "D0CVA51234786950"},
            ),
            (envelope("06", "25SUN194532636786950"), {"serial": "UN194532636786950", "uii": "UN194532636786950"}),
            (envelope("06", "1P4711", "30P4711-B"), {"part_number": "4711"}),
            (envelope("06", "30P4711-B"), {"part_number": "4711-B"}),
            (envelope("06", "1T007"), {"lot": "007"}),
            (f"[)>\x1e05\x1d{FULL}\x1e\x04", FULL_FIELDS),
            (f"[)>\x1e05\x1d01{GTIN}\x1e06\x1d1TL7\x1e\x04", {"gtin": GTIN, "lot": "L7"}),
            ("SER 786950", {"serial": "786950"}),
            ("LOT  7B", {"lot": "7B"}),
            ("1P4711\x1d1TLOT7\x1dS42", {"part_number": "4711", "lot": "LOT7", "serial": "42"}),
        ],
    )  # fmt: skip
    def test_a_label_is_read(self, text: str, fields: dict[str, object]) -> None:
        assert found(text) == fields
        assert scan(text).is_sure

    @pytest.mark.parametrize("aim", ["", "]d1", "]L0", "]Q1"])
    def test_an_envelope_through_stand_ins(self, aim: str) -> None:
        text = aim + "[)><RS>06<GS>1TLOT7<GS>S42<RS><EOT>"
        assert found(text) == {"lot": "LOT7", "serial": "42"}

    def test_a_lost_end_mark_is_noted(self) -> None:
        assert scan("[)>\x1e06\x1d1TLOT7").notes
        assert scan(envelope("06", "1TLOT7")).notes == ()

    @pytest.mark.parametrize(
        ("text", "reason"),
        [
            ("[)>061TLOT7S42", "separators"),  # control characters left out on the way
            ("[)>", "separators"),
            (envelope("06", "1TA", "1TB"), "two different"),
            (envelope("06", "14D20270231"), "no day"),
            (envelope("06", "14D270331"), "no day"),
            (envelope("06", "Q0"), "number of pieces"),
            (envelope("06", "Q1E5"), "number of pieces"),
            (envelope("06", "17V12345678"), "CAGE"),
            (envelope("06", "18S0CV"), "CAGE"),
            (envelope("06", "1T"), "does not begin"),
            (envelope("06", "lot7"), "does not begin"),
            (envelope("06", "1Ta\x1bb"), "does not begin"),
            (envelope("12", "SER786950"), "does not begin"),
            (envelope("07", "anything"), "format 07"),
        ],
    )
    def test_a_faulty_label_is_refused(self, text: str, reason: str) -> None:
        assert any(reason in problem.message for problem in scan(text).problems), scan(text).problems

    @pytest.mark.parametrize(
        ("text", "reading"),
        [
            ("1P4711-08", {"part_number": "4711-08"}),
            ("1TLOT7", {"lot": "LOT7"}),
            ("S000123", {"serial": "000123"}),
            ("Q100", {"quantity": 100}),
            ("14D20270331", {"expiry": date(2027, 3, 31)}),
            ("9521234543213", {"gtin": GTIN}),
        ],
    )
    def test_a_lone_bar_code_that_may_be_two_things_is_asked(
        self, text: str, reading: dict[str, object]
    ) -> None:
        read = scan(text)
        assert read.fields.found() == ()
        (question,) = read.questions
        assert [dict(choice.fields) for choice in question.choices] == [reading, {}]
        assert read.answered(question, choice=question.choices[1]).is_sure

    @pytest.mark.parametrize(
        "text", ["SN-0042", "PROP-15-CCW", "QC-157", "14D20270231", "17V123", "M3x8", "00123", "1E5"]
    )
    def test_a_plain_number_is_left_alone(self, text: str) -> None:
        read = scan(text)
        assert read.is_sure
        assert (read.standard, read.text, read.fields.found()) == (Standard.PLAIN, text, ())

    @pytest.mark.parametrize(
        ("elements", "identifier"),
        [
            # MIL-STD-130N with change 1, table A-II, construct 1
            ({"18S": "0CVA5786950"}, "D0CVA5786950"),
            ({"25S": "UN194532636786950"}, "UN194532636786950"),
            # the DoD "UID 101" as technifor.com quotes it (there with the zero printed as O)
            ({"MFR": "0CVA5", "SER": "786950"}, "D0CVA5786950"),
            ({"12V": "194532636", "1P": "1234", "S": "786950"}, "UN1945326361234786950"),
            # construct 2, part by part
            ({"17V": "0CVA5", "1P": "1234", "S": "786950"}, "D0CVA51234786950"),
            ({"3V": "0952123", "1P": "1234", "S": "786950"}, "09521231234786950"),
            ({"7L": "ABC123", "1P": "1234", "S": "786950"}, "LDABC1231234786950"),
            ({"18V": "LHABC", "1P": "1234", "S": "786950"}, "LHABC1234786950"),
            # the lot form: 1T in place of 1P
            ({"12V": "194532636", "1T": "L1", "S": "9"}, "UN194532636L19"),
            # the current part number never enters it
            ({"17V": "0CVA5", "30P": "1234-B", "S": "786950"}, ""),
            # text elements: MIL-STD-130 page 36 notes and bradyid.com "Data Qualifiers"
            ({"CAG": "0CVA5", "UCN": "786950"}, "D0CVA5786950"),
            ({"SPL": "0CVA5", "SER": "786950"}, "D0CVA5786950"),
            ({"DUN": "194532636", "SER": "786950"}, "UN194532636786950"),
            ({"EUC": "0952123", "SER": "786950"}, "0952123786950"),
            ({"CAG": "0CVA5", "PNO": "1234", "SEQ": "7"}, "D0CVA512347"),
            ({"CAG": "0CVA5", "LTN": "L1", "SEQ": "7"}, "D0CVA5L17"),
            ({"CAG": "0CVA5", "LOT": "L1", "SEQ": "7"}, "D0CVA5L17"),
        ],
    )
    def test_unique_item_identifiers_are_derived_as_published(
        self, elements: dict[str, str], identifier: str
    ) -> None:
        assert unique_item_identifier(elements) == identifier

    @pytest.mark.parametrize(
        ("text", "kept"),
        [
            # data identifiers of vehicles and electronics that the stores have no field for
            (envelope("06", "I1ABCD23EFGH456789", "22S12345678"), (("I", "1ABCD23EFGH456789"), ("22S", "12345678"))),
            (envelope("12", "BII X1", "LTN L1"), (("BII", "X1"),)),
        ],
    )  # fmt: skip
    def test_identifiers_without_a_field_are_kept_apart(
        self, text: str, kept: tuple[tuple[str, str], ...]
    ) -> None:
        read = scan(text)
        assert not read.problems
        assert read.others == kept

    def test_an_identifier_needs_all_its_parts(self) -> None:
        assert unique_item_identifier({"17V": "0CVA5", "S": "1"}) == ""
        assert unique_item_identifier({"1P": "1234", "S": "1"}) == ""
        assert unique_item_identifier({"25S": "UN1945326361234"}) == "UN1945326361234"
        assert unique_item_identifier({"7L": "ABC123", "1T": "L1", "S": "9"}) == "LDABC123L19"


class TestOurs:
    @pytest.mark.parametrize(
        "text", ["K000042-A", "k000042a", "]C0K000042-A", " K000042-A\r", "\x02K000042-A\x03"]
    )
    def test_our_label_is_read(self, text: str) -> None:
        read = scan(text)
        assert read.code is not None
        assert (read.code.text, read.standard, read.is_sure) == ("K000042-A", Standard.OURS, True)

    @pytest.mark.parametrize("text", ["K000042-B", "K000024-A", "]C1K000042-B", "A1234567"])
    def test_a_wrong_check_character_is_nothing_else(self, text: str) -> None:
        read = scan(text)
        assert read.code is None
        assert read.problems
        assert read.fields.found() == ()

    @pytest.mark.parametrize("text", ["K000042-AK000042-A", "K000042AR000101C", "k000042-aK000042-A"])
    def test_two_scans_run_together_are_refused(self, text: str) -> None:
        assert scan(text).problems
        assert scan(text).code is None


class TestKeyboards:
    @given(st.sampled_from(list(Kind)), st.integers(0, 10**7))
    def test_a_code_typed_for_another_keyboard_is_refused_and_the_layout_named(
        self, kind: Kind, after: int
    ) -> None:
        code = make_code(kind, next_number(kind, after=after))
        for layout in (Layout.GERMAN, Layout.FRENCH):
            typed = as_typed_on(code, layout=layout)
            assert typed != code
            assert layout_mismatch(typed) is layout
            read = scan(typed)
            assert read.code is None
            assert any(layout.value in problem.message for problem in read.problems)
        assert as_typed_on(code, layout=Layout.BRITISH) == code

    def test_published_mix_ups(self) -> None:
        assert as_typed_on("QC-157", layout=Layout.GERMAN) == "QCß157"  # axenox/onscan.js #19 shows the like
        assert as_typed_on("12345", layout=Layout.FRENCH) == "&é\"'("
        assert as_typed_on('"', layout=Layout.BRITISH) == "@"

    @pytest.mark.parametrize("layout", list(Layout))
    def test_the_self_test_label_tells_every_layout(self, layout: Layout) -> None:
        typed = as_typed_on(SELF_TEST, layout=layout)
        assert layout_mismatch(typed) is layout
        assert any(layout.value in problem.message for problem in scan(typed).problems)

    def test_the_self_test_label_tells_how_the_separator_comes(self) -> None:
        assert scan(SELF_TEST).is_sure
        assert scan(SELF_TEST).notes
        assert scan(SELF_TEST.replace("\x1d", "<GS>")).is_sure
        assert "drops" in scan(SELF_TEST.replace("\x1d", "")).problems[0].message
        assert "^]" in scan(SELF_TEST.replace("\x1d", "^]")).problems[0].message

    @pytest.mark.parametrize("text", ["K000042-A", "QC-157", "", "SN-0042"])
    def test_an_ordinary_text_blames_no_keyboard(self, text: str) -> None:
        assert layout_mismatch(text) is None


class TestPlain:
    @pytest.mark.parametrize("text", ["", "  \r\n", "A\x1bB", "A\u202eB", "x" * 201, "9" * 8000])
    def test_what_cannot_be_a_label_is_refused(self, text: str) -> None:
        read = scan(text)
        assert read.problems
        assert all(str(problem).isprintable() for problem in read.problems)
        assert read.raw == text

    @pytest.mark.parametrize(
        "text", ["134676256887129983", "NMI00001/2018/01/00000102", "!zhj4=D*7W=!", "SIP-4-1"]
    )
    def test_published_plain_scans_arrive_whole(self, text: str) -> None:
        # tui-go #77, android-vision #398, hid-barcode-scanner #385, unix.stackexchange 392654
        assert scan(text).text == text
        assert scan(text).is_sure

    @pytest.mark.parametrize(
        ("text", "gtin"),
        [
            ("]E09521234543213", GTIN),
            ("]E473513537", "00000073513537"),
            ("]E05901234123457", "05901234123457"),  # biip's documentation, as the next
            ("]I198765432109213", "98765432109213"),
        ],
    )
    def test_a_trade_item_number_by_its_symbol(self, text: str, gtin: str) -> None:
        assert found(text) == {"gtin": gtin}
        assert scan(text).standard is Standard.GTIN
        assert scan(text[:-1] + ("1" if text[-1] != "1" else "2")).problems

    @pytest.mark.parametrize(
        ("symbol", "standard"),
        [
            # GS1 General Specifications, figure 5.1.2-2, and ISO/IEC 15424:2008, as biip cites them; those with
            # element strings: C1, e0, d2, Q3, J1. C0 and d1 (no GS1) from memory.
            ("C1", Standard.GS1),
            ("e0", Standard.GS1),
            ("d2", Standard.GS1),
            ("Q3", Standard.GS1),
            ("J1", Standard.GS1),
            ("C0", Standard.PLAIN),
            ("d1", Standard.PLAIN),
            ("A0", Standard.PLAIN),
            ("L0", Standard.PLAIN),
            ("z0", Standard.PLAIN),
        ],
    )
    def test_the_symbol_decides_between_an_element_string_and_plain_text(
        self, symbol: str, standard: Standard
    ) -> None:
        # 90X1 is an internal element in a GS1 symbol and a plain number in any other.
        assert scan(f"]{symbol}90X1").standard is standard

    def test_the_heavy_library_stays_out_of_ordinary_scans(self) -> None:
        code = (
            "import sys, datetime; from kittrack.domain.scans import read_scan\n"
            "for t in ('K000042-A', 'SN-0042', '[)>\\x1e06\\x1d1TL\\x1e\\x04'): read_scan(t, today=datetime.date(2026, 1, 1))\n"
            "sys.exit('biip' in sys.modules)"
        )
        assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


PIECES = st.sampled_from(
    [
        "01" + GTIN,
        "10",
        "17",
        "21",
        "30",
        "37",
        "270331",
        "\x1d",
        "\x1e",
        "\x04",
        "<GS>",
        "|",
        "[)>",
        "06",
        "05",
        "12",
        "1P",
        "1T",
        "S",
        "Q",
        "18S",
        "MFR ",
        "SER ",
        "]C1",
        "]d2",
        "(01)",
        "(10)",
        "[17]",
        "https://",
        "/01/",
        "?10=",
        "K000042-A",
        "K00004",
        "ß",
        "\x1b",
        "\u202e",
        "٣",
        "a",
        "-",
        " ",
        "%",
        "&",
        "7003",
        "8008",
        "3103",
        "3910",
        "00",
    ]
)
SCANS = st.one_of(
    st.text(),
    st.lists(PIECES, max_size=12).map("".join),
    st.binary(max_size=60).map(lambda b: b.decode("latin-1")),
)


@given(SCANS, st.dates(date(1990, 1, 1), date(2090, 1, 1)))
def test_no_scan_whatever_is_more_than_it_says(text: str, today: date) -> None:
    read = read_scan(text, today=today)
    assert read.raw == text
    assert all(str(problem).isprintable() for problem in read.problems)
    assert all(note.isprintable() for note in read.notes)
    assert all(
        q.message.isprintable() and len(q.choices) >= 2 and all(c.words.isprintable() for c in q.choices)
        for q in read.questions
    )
    if read.code is not None:
        assert mod_37_36.is_valid(read.code.text.replace("-", ""))
        assert read.code.text == make_code(read.code.kind, read.code.number)
        assert read.text.upper().replace("-", "") == read.code.text.replace("-", "")
    if read.fields.gtin is not None:
        assert ean.is_valid(read.fields.gtin)
    asked = {name for question in read.questions for choice in question.choices for name, _ in choice.fields}
    assert not asked & {name for name, _ in read.fields.found()}


@given(st.sampled_from(list(Kind)), st.integers(0, 10**9), st.text(alphabet="0123456789KRA-", max_size=3))
def test_a_code_with_anything_added_is_never_that_code(kind: Kind, after: int, extra: str) -> None:
    code = make_code(kind, next_number(kind, after=after))
    read = scan(code + extra)
    if extra.replace("-", ""):
        assert read.code is None or mod_37_36.is_valid(read.text.replace("-", "").upper())
    assert read.code is None or read.code.text.replace("-", "") == read.text.replace("-", "")
