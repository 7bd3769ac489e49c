"""The store's own numbers: against ISO 7064's published value, an independent library, and every slip."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_2, mod_37_36

from kittrack.domain.codes import (
    ALPHABET,
    LOOK_ALIKES,
    Kind,
    check_character,
    looks_like_code,
    make_code,
    near_misses,
    next_number,
    read_code,
)
from kittrack.errors import BadInput

KINDS = st.sampled_from(list(Kind))


def sample_codes() -> list[str]:
    """A few codes of every kind, at both ends of six digits and beyond."""
    starts = [0, 41, 999, 104_729, 546_813, 999_990, 1_234_567, 98_765_432]
    return [make_code(kind, next_number(kind, after=after)) for kind in Kind for after in starts]


def refused(text: str) -> bool:
    try:
        read_code(text)
    except BadInput:
        return True
    return False


def test_the_check_character_is_the_published_one() -> None:
    # ISO/IEC 7064 MOD 37-36; the value stands in python-stdnum's documentation.
    assert check_character("A12425GABC1234002") == "M"


def test_the_check_character_is_that_of_no_other_system() -> None:
    # ISO/IEC 7064 MOD 37-2 as ISBT 128 uses it gives Y here (python-stdnum's documentation); its * could not
    # be typed on every label, so the stores use the hybrid system 37-36.
    assert mod_37_2.calc_check_digit("G123489654321") == "Y"
    assert check_character("G123489654321") == mod_37_36.calc_check_digit("G123489654321") != "Y"


@given(st.text(alphabet=ALPHABET, min_size=1, max_size=20))
def test_the_check_character_agrees_with_another_library(body: str) -> None:
    assert check_character(body) == mod_37_36.calc_check_digit(body)  # python-stdnum


def test_every_single_wrong_character_is_refused() -> None:
    for code in sample_codes():
        body = code.replace("-", "")
        for at, right in enumerate(body):
            for wrong in ALPHABET:
                assert wrong == right or refused(body[:at] + wrong + body[at + 1 :]), (code, at, wrong)


def test_every_swap_of_neighbours_is_refused() -> None:
    for code in sample_codes():
        body = code.replace("-", "")
        for at in range(len(body) - 1):
            swapped = body[:at] + body[at + 1] + body[at] + body[at + 2 :]
            assert swapped == body or refused(swapped), (code, swapped)


def test_numbers_that_the_standard_cannot_tell_apart_are_never_given_out() -> None:
    # Found by exhaustion: both hold under MOD 37-36 with the same check character.
    assert mod_37_36.is_valid("K000078L")
    assert mod_37_36.is_valid("K000087L")
    for number in (78, 87):
        with pytest.raises(BadInput, match="never given out"):
            make_code(Kind.KIT, number)
        assert refused(f"K{number:06d}-L")
        assert next_number(Kind.KIT, after=number - 1) > number


@given(KINDS, st.integers(0, 10**6))
def test_the_next_number_is_the_least_that_may_be_given_out(kind: Kind, after: int) -> None:
    number = next_number(kind, after=after)
    assert make_code(kind, number)
    for skipped in range(after + 1, min(number, after + 50)):
        with pytest.raises(BadInput):
            make_code(kind, skipped)


def test_a_long_run_of_numbers_with_twins_is_skipped_at_once() -> None:
    # After A and 5 the standard does not tell 65 from 56, whatever follows; found by exhaustion.
    assert mod_37_36.calc_check_digit("A565000004") == mod_37_36.calc_check_digit("A556000004")
    assert next_number(Kind.AIRFRAME, after=565_000_003) >= 566_000_000


@pytest.mark.parametrize("kind", list(Kind))
def test_no_kind_letter_and_no_check_character_reads_as_a_digit(kind: Kind) -> None:
    assert kind.value not in LOOK_ALIKES
    number = 0
    for _ in range(500):
        number = next_number(kind, after=number)
        assert make_code(kind, number)[-1] not in LOOK_ALIKES
    assert number < 750  # about five of six numbers are given out


@given(KINDS, st.integers(0, 10**9), st.booleans(), st.booleans(), st.sampled_from(["", " ", "\t", "\r\n"]))
def test_a_code_reads_back_however_it_is_typed(
    kind: Kind, after: int, hyphen: bool, lower: bool, around: str
) -> None:
    number = next_number(kind, after=after)
    code = make_code(kind, number)
    typed = code if hyphen else code.replace("-", "")
    read = read_code(around + (typed.lower() if lower else typed) + around, expect=kind)
    assert (read.kind, read.number, read.text, str(read)) == (kind, number, code, code)
    assert looks_like_code(typed)


@given(st.text(max_size=25))
def test_whatever_is_read_as_a_code_is_one_that_is_given_out(text: str) -> None:
    try:
        code = read_code(text)
    except BadInput:
        return
    assert code.text == make_code(code.kind, code.number)


@given(st.from_regex(r"[AK][0-9]{6,8}-?[0-9A-Z]", fullmatch=True))
def test_a_shape_alone_is_never_enough(text: str) -> None:
    assert looks_like_code(text)
    if not mod_37_36.is_valid(text.replace("-", "")):
        assert refused(text)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "   ",
        "-",
        "K",
        "K000042",
        "K00042-A",
        "K0000042-A",
        "K000042-AA",
        "K-000042-A",
        "K000O42-A",
        "KO00042-A",
        "K000000-9",
        "B000042-A",
        "K000042-AK000043-8",
        "K000042–A",
        "Ｋ000042-A",
        "K٠٠٠٠٤٢-A",
        "K000042ßA",
        "K" + "0" * 500,
        "'; DROP TABLE kit; --",
        "[bold]K000042-A[/]",
    ],
)
def test_what_is_no_code_is_refused(text: str) -> None:
    assert refused(text)


@pytest.mark.parametrize("text", ["K000042\x1b[2J-A", "K000\x1d042-A", "K000042-A\x00", "K000042\u202e-A"])
def test_control_characters_are_named_and_not_repeated(text: str) -> None:
    with pytest.raises(BadInput, match="control characters") as caught:
        read_code(text)
    assert str(caught.value).isprintable()
    assert "<" in str(caught.value)


def test_another_kind_is_refused_by_name() -> None:
    with pytest.raises(BadInput) as caught:
        read_code("R000101-C", expect=Kind.KIT)
    assert str(caught.value) == "R000101-C is a rotor set; scan a kit."


def test_a_letter_for_a_digit_is_said_but_not_repaired() -> None:
    with pytest.raises(BadInput, match="letter among its digits"):
        read_code("K0O0042-A")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (" \t", "Nothing was read; scan a kit."),
        ("K00042-A", "K00042-A is too short: one of ours has 6 digits and a check character; scan it again."),
        ("K000042", "K000042 is too short: one of ours has 6 digits and a check character; scan it again."),
        ("K000042-AA", "K000042-AA is too long or has something in between; scan a kit once, by itself."),
        ("KL00042-A", "KL00042-A has a letter among its digits; scan it again, or type 0 and 1 for O and I."),
        ("KO00042-A", "KO00042-A has a letter among its digits; scan it again, or type 0 and 1 for O and I."),
        ("B000042-A", "B000042-A is not a number of this store; scan a kit."),
        ("KITCHEN", "KITCHEN is not a number of this store; scan a kit."),
        ("K0.0042", "K0.0042 is not a number of this store; scan a kit."),
        (f"K0000042-{check_character('K0000042')}", "has too many digits; scan a kit again."),
        (f"K000000-{check_character('K000000')}", "was never given out as a number; look at the label again"),
    ],
)  # fmt: skip
def test_what_is_no_code_is_told_why(text: str, said: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_code(text, expect=Kind.KIT)
    assert said in str(caught.value)


def test_two_scans_run_together_are_refused() -> None:
    with pytest.raises(BadInput, match="by itself"):
        read_code("K000042-AK000042-A")


@pytest.mark.parametrize("number", [0, -1, 10**15])
def test_a_number_out_of_range_has_no_code(number: int) -> None:
    with pytest.raises(BadInput):
        make_code(Kind.JOB, number)


def test_every_kind_has_words() -> None:
    assert len({kind.in_words for kind in Kind}) == len(Kind)
    assert Kind.AIRFRAME.with_article == "an airframe"
    assert Kind.TAG.with_article == "a removed-part tag"


@pytest.mark.parametrize(
    ("text", "candidate", "why"),
    [
        ("SN-10425", "SN-10452", "swapped"),
        ("OO123", "00123", "mistaken"),
        ("SN1234I", "SN12341", "mistaken"),
        ("A-55B", "A 558", "mistaken"),
        ("123", "00123", "zeros"),
        ("ab 12", "AB12", "capitals"),
        ("100000", "1E5", "spreadsheet"),
        ("1E5", "100000", "spreadsheet"),
    ],
)
def test_a_slip_is_suggested(text: str, candidate: str, why: str) -> None:
    found = near_misses(text, candidates=[candidate, text, "unlike-anything"])
    assert [miss.candidate for miss in found] == [candidate]
    assert why in found[0].why


@pytest.mark.parametrize(
    ("text", "other"),
    [
        ("SN1A2", "SN2A1"),  # swapped over a third one
        ("SN12", "SN43"),  # two neighbours that are others
        ("SN12", "SN31"),
        ("SN12", "SN23"),
        ("SN12", "SN123"),
        ("-", "000"),  # nothing but a sign is no zero
        ("000", "-"),
    ],
)
def test_what_no_single_slip_explains_is_no_near_miss(text: str, other: str) -> None:
    assert near_misses(text, candidates=[other]) == ()


def test_the_next_serial_of_a_sequence_is_no_near_miss() -> None:
    assert near_misses("SN0041", candidates=["SN0042", "SN0043", "SN0041", "SN00410"]) == ()


@given(st.text(max_size=12), st.lists(st.text(max_size=12), max_size=5))
def test_a_near_miss_is_never_the_text_itself(text: str, candidates: list[str]) -> None:
    found = near_misses(text, candidates=candidates)
    assert all(miss.candidate != text and miss.why for miss in found)
    assert [m.candidate for m in found] == [
        c for c in dict.fromkeys(candidates) if c in {m.candidate for m in found}
    ]
