"""Readers of scans, deliveries, catalogues and archives on any bytes: an answer, or the program's own error."""

from functools import cache

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from tests.machine.reading_bytes import READERS


@cache
def seeds(name: str) -> list[bytes]:
    return READERS[name].seeds()


@pytest.mark.parametrize("name", READERS)
def test_sound_inputs_are_taken(name: str) -> None:
    assert seeds(name)
    assert all(READERS[name].one_input(seed) for seed in seeds(name))


@pytest.mark.parametrize("name", READERS)
@settings(deadline=None, max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    content=st.one_of(
        st.binary(max_size=400), st.text(max_size=200).map(lambda t: t.encode("utf-8", "replace"))
    )
)
@example(content=b"")
@example(content=b"\x00" * 40)
def test_any_bytes_end_in_an_answer_or_a_sentence(name: str, content: bytes) -> None:
    READERS[name].one_input(content)


@pytest.mark.parametrize("name", READERS)
@settings(deadline=None, max_examples=150)
@given(data=st.data())
def test_spoilt_sound_inputs_end_in_an_answer_or_a_sentence(name: str, data: st.DataObject) -> None:
    """A piece of a sound input is put in place of another, cut out, or overwritten."""
    seed = data.draw(st.sampled_from(seeds(name)))
    start = data.draw(st.integers(0, len(seed)))
    end = data.draw(st.integers(start, min(len(seed), start + 40)))
    put = data.draw(
        st.one_of(st.binary(max_size=8), st.just(seed[:end]), st.sampled_from([b'"', b"\n", b"=", b"\x1d"]))
    )
    READERS[name].one_input(seed[:start] + put + seed[end:])
