"""Screws: designations, keys, lengths and what they clamp."""

from contextlib import suppress
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kittrack.domain.designations import read_screw
from kittrack.domain.fasteners import (
    STANDARDS,
    Head,
    Screw,
    check_clamp_stack,
    check_length,
    key_um,
    screw_of,
    standard_lengths_um,
)
from kittrack.domain.spin import ThreadHand
from kittrack.domain.threads import COARSE, PROPERTY_CLASSES
from kittrack.errors import BadInput

# ux.uis.no/~hirpa MetricBolts and creativefasteners.co.in agree
SOCKET_KEYS_MM = {"M1.6": 1.5, "M2": 1.5, "M2.5": 2, "M3": 2.5, "M4": 3, "M5": 4, "M6": 5, "M8": 6}


def test_keys_of_socket_heads_are_the_published_ones() -> None:
    for name, key_mm in SOCKET_KEYS_MM.items():
        assert key_um(Head.SOCKET, thread=COARSE[name]) == key_mm * 1000


def test_a_button_head_takes_a_key_one_size_smaller() -> None:
    # the same uis.no page: M3 button head 2.0 where the socket head takes 2.5
    sizes = [1500, 2000, 2500, 3000, 4000, 5000, 6000]
    assert key_um(Head.BUTTON, thread=COARSE["M3"]) == 2000
    for name in ("M3", "M4", "M5", "M6", "M8"):
        smaller = sizes[sizes.index(key_um(Head.SOCKET, thread=COARSE[name])) - 1]
        assert key_um(Head.BUTTON, thread=COARSE[name]) == smaller
        assert key_um(Head.COUNTERSUNK, thread=COARSE[name]) == smaller


@pytest.mark.parametrize(
    ("head", "name"), [(Head.SOCKET, "M3.5"), (Head.BUTTON, "M2"), (Head.COUNTERSUNK, "M2.5")]
)
def test_a_head_that_the_tables_lack_has_no_guessed_key(head: Head, name: str) -> None:
    with pytest.raises(BadInput, match=r"no key is known; measure"):
        key_um(head, thread=COARSE[name])
    assert standard_lengths_um(head, thread=COARSE[name]) == ()


@pytest.mark.parametrize(
    ("text", "designation", "key"),
    [
        ("M3 x 8 ISO 4762 A2-70", "M3 x 8 ISO 4762 A2-70", 2500),
        ("M3x8 iso4762 a270", "M3 x 8 ISO 4762 A2-70", 2500),
        ("M3×8 mm DIN 912 10.9", "M3 x 8 DIN 912 10.9", 2500),
        ("ISO 4762 - M3 x 0.5 x 8 - 10.9", "M3 x 8 ISO 4762 10.9", 2500),
        ("ISO 4762 – M5 × 20 – 12.9", "M5 x 20 ISO 4762 12.9", 4000),
        ("M2,5 x 6 ISO 4762 A4-80", "M2.5 x 6 ISO 4762 A4-80", 2000),
        ("M3 x 8 ISO 7380 10.9", "M3 x 8 ISO 7380-1 10.9", 2000),
        ("M3 x 8 ISO 7380-1 10.9", "M3 x 8 ISO 7380-1 10.9", 2000),
        ("M5-LH x 10 ISO 10642 8.8", "M5-LH x 10 ISO 10642 8.8", 3000),
        ("  M1.6 x 2.5 ISO 4762 8.8  ", "M1.6 x 2.5 ISO 4762 8.8", 1500),
    ],
)
def test_a_designation_is_read(text: str, designation: str, key: int) -> None:
    screw = read_screw(text)
    assert str(screw) == designation
    assert screw.key_um == key
    assert read_screw(str(screw)) == screw


@given(
    thread=st.sampled_from(list(COARSE.values())),
    length_um=st.integers(1, 300_000),
    standard=st.sampled_from(list(STANDARDS)),
    strength=st.sampled_from(list(PROPERTY_CLASSES.values())),
    hand=st.sampled_from(list(ThreadHand)),
)
def test_every_screw_is_read_back_from_its_designation(**fields: Any) -> None:
    screw = Screw(**fields)
    assert read_screw(str(screw)) == screw


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("", 3),
        ("M3", 4),
        ("8x3", 4),
        ("M3 x 8", 2),
        ("M3 x 8 ISO 4762", 1),
        ("M3 x 8 A2-70", 1),
        ("M3 x 8.8 ISO 4762", 1),  # 8.8 is the length here, so the class is missing
        ("M8 x 1 x 20 ISO 4762 8.8", 1),  # a fine thread
        ("M3 x 0 ISO 4762 8.8", 1),
        ("M3 x 301 ISO 4762 8.8", 1),
        ("M7 x 8 ISO 9999 5.6", 3),
        ("M3 x 8 x 9 x 10 ISO 4762 8.8", 2),
        ("M3 x 8 ISO 4762 A2 70", 2),
        ("M3 x 8 ISO 4762 8.8 and more", 1),
        ("M3 x 8 ISO 4762 8.8\x1b[2J", 1),
        ("M٣ x 8 ISO 4762 8.8", 2),  # an Arabic digit three
        ("M3 x 8 ISO 4762 8.8 8.8", 1),
        ("-M3 x -8 ISO 4762 8.8", 2),
        ("M3 x 1e3 ISO 4762 8.8", 2),
        ("M3 x nan ISO 4762 8.8", 2),
        ("M3 x 8 ISO 4762 8.8" + " " * 60 + "x", 1),
        ("9" * 100_000, 1),
    ],
)
def test_a_designation_that_cannot_be_read_says_every_fault(text: str, faults: int) -> None:
    with pytest.raises(BadInput) as raised:
        read_screw(text, field="screw")
    assert len(raised.value.problems) == faults
    assert all(problem.field == "screw" for problem in raised.value.problems)
    assert "\x1b" not in str(raised.value)


@given(st.text(alphabet="Mm3x×8 .,-ISODN4762A0\x1b\u202e½", max_size=40))
def test_any_text_is_read_or_refused(text: str) -> None:
    with suppress(BadInput):
        screw = read_screw(text)
        assert read_screw(str(screw)) == screw


def test_the_hand_is_read_and_never_a_sense() -> None:
    assert read_screw("M5-LH x 10 ISO 4762 8.8").hand is ThreadHand.LEFT
    assert read_screw("M5-RH x 10 ISO 4762 8.8").hand is ThreadHand.RIGHT
    for sense in ("CW", "CCW"):
        with pytest.raises(BadInput):
            read_screw(f"M5-{sense} x 10 ISO 4762 8.8")


def test_standard_lengths_of_an_m3_socket_head_go_from_5_to_30_mm() -> None:
    lengths = standard_lengths_um(Head.SOCKET, thread=COARSE["M3"])
    assert [um // 1000 for um in lengths] == [5, 6, 8, 10, 12, 16, 20, 25, 30]  # bd-warehouse 0.4.0


def test_an_odd_length_is_questioned_with_the_nearest_ones() -> None:
    assert check_length(read_screw("M3 x 8 ISO 4762 A2-70")) == ()
    (problem,) = check_length(read_screw("M3 x 7 ISO 4762 A2-70"))
    assert "6 and 8 mm" in problem.message
    (problem,) = check_length(read_screw("M3 x 68 ISO 4762 A2-70"))
    assert "25 and 30 mm" in problem.message
    (problem,) = check_length(read_screw("M2 x 8 ISO 7380-1 A2-70"))
    assert "none of this thread" in problem.message


# oscarliang.com: a 3 mm arm takes a 5 mm screw, a 4 mm arm a 6 mm screw, and a longer one touches the winding
@pytest.mark.parametrize(
    ("length_mm", "arm_mm", "fault"),
    [
        (5, 3, ""),
        (6, 4, ""),
        (6, 3, ""),
        (5, 4, "too short"),
        (8, 4, "too long"),
        (8, 3, "too long"),
        (3, 4, "too short"),
    ],
)
def test_a_screw_must_suit_the_arm(length_mm: int, arm_mm: int, fault: str) -> None:
    screw = screw_of(thread="M3", length_um=length_mm * 1000, standard="ISO 4762", strength="12.9")
    refusals = check_clamp_stack(
        screw, stack_um=arm_mm * 1000, engagement_min_um=2000, engagement_max_um=3000, subject="hub of arm 1"
    )
    assert [refusal.rule for refusal in refusals] == (["R7"] if fault else [])
    for refusal in refusals:
        assert fault in refusal.message
        assert f"{arm_mm + 2} to {arm_mm + 3} mm" in refusal.message


@given(
    length=st.integers(1, 300_000),
    stack=st.integers(0, 300_000),
    ends=st.tuples(*[st.integers(1, 300_000)] * 2),
)
def test_exactly_the_screws_within_both_limits_suit(length: int, stack: int, ends: tuple[int, int]) -> None:
    least, most = sorted(ends)
    screw = screw_of(thread="M3", length_um=length, standard="ISO 4762", strength="8.8")
    refusals = check_clamp_stack(
        screw, stack_um=stack, engagement_min_um=least, engagement_max_um=most, subject="hub"
    )
    assert bool(refusals) == (not stack + least <= length <= stack + most)


@pytest.mark.parametrize(
    "changed",
    [
        {"stack_um": -1},
        {"stack_um": 10**12},
        {"stack_um": float("nan")},
        {"engagement_min_um": 0},
        {"engagement_min_um": 4000},
        {"engagement_max_um": float("inf")},
        {"engagement_max_um": True},
    ],
)
def test_a_stack_that_cannot_be_is_refused(changed: dict[str, Any]) -> None:
    figures: dict[str, Any] = {"stack_um": 3000, "engagement_min_um": 2000, "engagement_max_um": 3000}
    with pytest.raises(BadInput):
        check_clamp_stack(read_screw("M3 x 6 ISO 4762 8.8"), **(figures | changed), subject="hub")


@pytest.mark.parametrize(
    "changed",
    [
        {"length_um": 0},
        {"length_um": 300_001},
        {"length_um": 1.5},
        {"thread": "M9"},
        {"standard": "ISO 1580"},
        {"standard": "\x1b[2J"},
        {"strength": "4.8"},
    ],
)
def test_a_screw_that_cannot_be_is_refused(changed: dict[str, Any]) -> None:
    fields: dict[str, Any] = {"thread": "M3", "length_um": 8000, "standard": "ISO 4762", "strength": "8.8"}
    with pytest.raises(BadInput):
        screw_of(**(fields | changed))
