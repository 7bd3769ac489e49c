"""Near serials: the short way of comparing them leaves out none that the long way finds."""

from hypothesis import example, given
from hypothesis import strategies as st

from kittrack.domain.codes import near_misses
from kittrack.services import serials

LIKELY = st.text(alphabet="0O1IL5SZ2AE-. ", min_size=1, max_size=7)


@given(LIKELY, LIKELY)
@example("1E5", "100000")
@example("0017", "17")
@example("AO1", "A01")
@example("A12", "A21")
def test_serials_that_are_near_have_a_shape_in_common(one: str, other: str) -> None:
    """Oracle: every pair compared by `near_misses`, whose slips are those of a published report."""
    if near_misses(one, candidates=[other]):
        assert set(serials._shapes(one)) & set(serials._shapes(other))


def test_serials_in_sequence_have_shapes_of_their_own() -> None:
    shapes = {shape for number in range(1, 10) for shape in serials._shapes(f"A00{number}")}
    assert len(shapes) == 9
