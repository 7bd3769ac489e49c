"""The mark of a paper names an event and the beginning of its hash; what does not check is refused and never repaired."""

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kittrack.domain.codes import ALPHABET, MAX_DIGITS, looks_like_code
from kittrack.domain.paper_marks import looks_like_paper_mark, make_paper_mark, read_paper_mark
from kittrack.errors import BadInput

DIGEST = hashlib.sha256(b"an event").hexdigest()
events = st.integers(0, 10**MAX_DIGITS - 1)
digests = st.binary().map(lambda told: hashlib.sha256(told).hexdigest())


@given(events, digests)
def test_what_is_made_is_read_with_and_without_hyphens_and_capitals(event: int, digest: str) -> None:
    mark = make_paper_mark(event, digest=digest)
    assert digest.startswith(mark.hash_begins)
    for text in (mark.text, mark.text.replace("-", ""), f" {mark.text.lower()}\n"):
        assert read_paper_mark(text) == mark
    assert not looks_like_code(mark.text)


@given(events, digests, st.data())
def test_every_single_wrong_character_is_found(event: int, digest: str, data: st.DataObject) -> None:
    text = make_paper_mark(event, digest=digest).text
    at = data.draw(st.integers(0, len(text) - 1))
    other = data.draw(st.sampled_from(ALPHABET).filter(lambda char: char != text[at]))
    with pytest.raises(BadInput):
        read_paper_mark(text[:at] + other + text[at + 1 :])


def test_another_event_or_hash_has_another_mark() -> None:
    marks = {make_paper_mark(7, digest=DIGEST).text, make_paper_mark(8, digest=DIGEST).text}
    assert len(marks | {make_paper_mark(7, digest=DIGEST[::-1]).text}) == 3


@pytest.mark.parametrize(
    "text",
    [
        "",
        "EV",
        "K000042-A",
        "EV000001-0000000G-A",
        "EV0000001-00000000-0",
        "EV000001-00000000",
        "ÉV000001-00000000-0",
        "EV000001-00000000-0\x00",
    ],
)
def test_what_is_no_mark_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(BadInput, match=r"paper"):
        read_paper_mark(text)


def test_a_number_with_leading_zeros_too_many_is_no_second_name_of_the_same_paper() -> None:
    text = make_paper_mark(1234567, digest=DIGEST).text
    assert looks_like_paper_mark(text)
    with pytest.raises(BadInput, match="too many digits"):
        read_paper_mark(text.replace("EV", "EV0"))


def test_what_is_no_hash_has_no_mark() -> None:
    for digest in ("", "xyz", "12345", "ABCDEF0123456789"):
        with pytest.raises(BadInput):
            make_paper_mark(1, digest=digest)
    with pytest.raises(BadInput):
        make_paper_mark(-1, digest=DIGEST)
