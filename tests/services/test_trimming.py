"""Trimming: what is proposed, what is recorded, and that only a weighing after the trim proves a match."""

from collections.abc import Iterator
from typing import Any

import pytest

from kittrack.errors import BadInput, NotFound, Refused
from kittrack.queries.trims import TrimProposal, trim_proposal
from kittrack.services import matching, weighing
from kittrack.services.trimming import BladeTrim, trim_blades
from kittrack.services.weighing import PieceWeighing
from kittrack.store.database import Store
from kittrack.store.records import Part, Piece, Trim
from tests.factories import (
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    MANAGER,
    after,
    assert_conserved,
    blades_on_shelf,
    sets_on_shelf,
)

SCALE = "Scale 1"


@pytest.fixture(autouse=True)
def _conserved(store: Store) -> Iterator[None]:
    yield
    assert_conserved(store)


def blades_of_mass(store: Store, *masses_mg: int, allowed: bool = True) -> tuple[str, ...]:
    """Loose blades of these masses, their centre of gravity at 100 mm; their part may be trimmed or not."""
    with store.act("change a part", by=MANAGER, at=after(1)) as act:
        part = act.find(Part, number=CW_BLADE)
        assert part is not None
        act.update(part, trim_allowed=int(allowed))
    blades = blades_on_shelf(store, CW_BLADE, len(masses_mg), at=after(2), pairs=False)
    weigh(store, *zip(blades, masses_mg, strict=True), minute=3)
    return blades


def weigh(store: Store, *readings: tuple[str, int], minute: int) -> None:
    made = [PieceWeighing(code, mg * 1000, 100_000) for code, mg in readings]
    weighing.record_weighing(store, weighings=made, scale=SCALE, by=CLERK, at=after(minute))


def proposal(store: Store, blades: tuple[str, ...], **more: Any) -> TrimProposal:
    return trim_proposal(store, blades=blades, radius_um=80_000, one_stop=True, **more)


def make_set(store: Store, blades: tuple[str, ...], *, minute: int) -> None:
    matching.make_set_by_measurement(store, blades=blades, one_stop=True, by=CLERK, at=after(minute))


def test_the_least_trim_goes_on_the_light_blade(store: Store) -> None:
    """42.000 g and 42.100 g at 100 mm differ by 10 g mm; 5 are allowed, 0.4166 are uncertain.

    So 10 - (5 - 0.4166) = 5.4166 g mm have to go on the first blade: 67.7 mg at 80 mm (first principles).
    """
    blades = blades_of_mass(store, 42_000, 42_100)
    found = proposal(store, blades)
    assert (found.residual_g_um, found.tolerance_g_um) == (10_000, 5000)
    (one,) = found.blades
    assert (one.piece, one.takes_away) == (blades[0], False)
    assert one.mass_ug == pytest.approx(67_700, rel=1e-3)
    assert found.residual_after_g_um + found.uncertainty_g_um <= found.tolerance_g_um


def test_material_is_taken_away_from_the_heavy_blade(store: Store) -> None:
    blades = blades_of_mass(store, 42_000, 42_100)
    (one,) = proposal(store, blades, take_away=True).blades
    assert (one.piece, one.takes_away) == (blades[1], True)


def test_blades_that_match_need_no_trim(store: Store) -> None:
    found = proposal(store, blades_of_mass(store, 42_000, 42_010))
    assert found.blades == ()
    assert "match as they are" in found.said


def test_a_trimmed_blade_is_matched_only_by_a_new_weighing(store: Store) -> None:
    blades = blades_of_mass(store, 42_000, 42_100)
    (one,) = proposal(store, blades).blades
    trim = BladeTrim(one.piece, one.mass_ug, one.radius_um)
    trim_blades(store, trims=[trim], reason="maker's manual, page 12", by=CLERK, at=after(4))
    with pytest.raises(Refused) as refused:
        make_set(store, blades, minute=5)
    assert refused.value.rules == {"R19"}
    assert "weigh every blade of the set first" in str(refused.value)
    weigh(store, (blades[0], 42_060), minute=6)  # 68 mg at 80 mm move the moment like 54 mg at 100 mm
    make_set(store, blades, minute=7)
    with store.reading() as read:
        (kept,) = read.select(Trim)
    assert (kept.mass_ug, kept.radius_um) == (one.mass_ug, 80_000)


def test_what_is_taken_away_is_kept_below_zero(store: Store) -> None:
    blades = blades_of_mass(store, 42_000, 42_100)
    trim = BladeTrim(blades[1], 60_000, 80_000, takes_away=True)
    trim_blades(store, trims=[trim], reason="page 12", by=INSPECTOR, at=after(4))
    with store.reading() as read:
        assert [t.mass_ug for t in read.select(Trim)] == [-60_000]


def test_a_maker_that_does_not_allow_it_is_heard(store: Store) -> None:
    blades = blades_of_mass(store, 42_000, 42_100, allowed=False)
    with pytest.raises(BadInput, match="does not allow trimming"):
        proposal(store, blades)
    with pytest.raises(Refused) as refused:
        trim_blades(store, trims=[BladeTrim(blades[0], 1000, 80_000)], reason="x", by=CLERK, at=after(4))
    assert refused.value.rules == {"R19"}


def test_a_blade_in_a_set_is_not_trimmed(store: Store) -> None:
    blades_of_mass(store, 42_000)
    sets_on_shelf(store, CW_BLADE, 1, at=after(4), lot_code="7")
    with store.reading() as read:
        code = read.value("SELECT p.code FROM match_reading m JOIN piece p ON p.id = m.piece_id LIMIT 1")
    with pytest.raises(Refused) as refused:
        trim_blades(store, trims=[BladeTrim(code, 1000, 80_000)], reason="x", by=CLERK, at=after(5))
    assert refused.value.rules == {"R1"}


def test_every_bad_row_is_told(store: Store) -> None:
    blades = blades_of_mass(store, 42_000, 42_100)
    rows = [
        BladeTrim(blades[0], 0, 80_000),
        BladeTrim("no such", 5, 80_000),
        *[BladeTrim(blades[1], 5, 8000)] * 2,
    ]
    with pytest.raises(BadInput) as told:
        trim_blades(store, trims=rows, reason="x", by=CLERK, at=after(4))
    assert [p.row for p in told.value.problems] == [1, 2, 4]
    with pytest.raises(BadInput):
        trim_blades(store, trims=[], reason="x", by=CLERK, at=after(4))


@pytest.mark.parametrize("count", [1, 3])
def test_a_proposal_takes_the_blades_of_one_rotor(store: Store, count: int) -> None:
    blades = blades_of_mass(store, *[42_000] * count)
    with pytest.raises(BadInput, match="has 2 blades"):
        proposal(store, blades)


def change_part(store: Store, **changes: Any) -> None:
    with store.act("change a part", by=MANAGER, at=after(20)) as act:
        part = act.find(Part, number=CW_BLADE)
        assert part is not None
        act.update(part, **changes)


def change_pieces(store: Store, *pieces: str, **changes: Any) -> None:
    with store.act("change blades", by=MANAGER, at=after(21)) as act:
        for code in pieces:
            one = act.find(Piece, code=code)
            assert one is not None
            act.update(one, **changes)


def test_blades_are_named_by_their_serials_where_one_blade_has_it(store: Store) -> None:
    blades = blades_of_mass(store, 42_000, 42_100)
    for number, code in enumerate(blades):
        change_pieces(store, code, serial=f"00{number}")
    (one,) = proposal(store, ("000 ", blades[1])).blades
    assert (one.piece, one.serial) == (blades[0], "000")
    with pytest.raises(NotFound, match="no piece has the code or serial '7'; scan the blade's own label"):
        proposal(store, ("7", blades[1]))
    change_pieces(store, blades[1], serial="000", maker_id=2)
    with pytest.raises(NotFound, match="several pieces have the code or serial '000'"):
        proposal(store, ("000", blades[1]))


def test_a_proposal_for_blades_of_several_parts_or_one_blade_twice_is_refused(store: Store) -> None:
    blades = blades_of_mass(store, 42_000, 42_100)
    other = blades_on_shelf(store, CCW_BLADE, 1, at=after(5), pairs=False)
    with pytest.raises(BadInput, match="of several parts"):
        proposal(store, (blades[0], *other))
    with pytest.raises(BadInput, match="scan each of them once"):
        proposal(store, (blades[0], blades[0]))


def test_a_proposal_needs_a_tolerance_and_blades_weighed_on_one_scale(store: Store) -> None:
    blades = blades_of_mass(store, 42_000, 42_100)
    change_part(store, tolerance_g_um=None)
    with pytest.raises(BadInput, match="has no tolerance; a manager enters the maker's figure first"):
        proposal(store, blades)
    change_part(store, tolerance_g_um=5000)
    change_pieces(store, blades[1], weighed_with_id=1)
    with pytest.raises(BadInput, match="weighed on several scales"):
        proposal(store, blades)
    change_pieces(store, blades[1], moment_g_um=None)
    with pytest.raises(BadInput, match=f": {blades[1]} is not weighed; weigh it first"):
        proposal(store, blades)
    change_pieces(store, blades[0], mass_ug=None)
    with pytest.raises(BadInput, match=f": {blades[0]}, {blades[1]} are not weighed; weigh them first"):
        proposal(store, blades)


def test_what_the_scale_leaves_of_the_tolerance_is_for_the_blades(store: Store) -> None:
    """Blades read one by one with a ruler of 0.5 mm are uncertain by 24.3 g mm, at one stop by 0.4."""
    blades = blades_of_mass(store, 42_000, 42_100)
    with pytest.raises(BadInput, match=r"uncertain by 24\.281 g mm of 5 g mm; weigh on a finer one"):
        trim_proposal(store, blades=blades, radius_um=80_000)
    change_part(store, tolerance_g_um=30_000)
    found = trim_proposal(store, blades=blades, radius_um=80_000)
    assert found.uncertainty_g_um == pytest.approx(24_300, abs=60)
    (one,) = found.blades  # 10 g mm, of which 5.7 may stay
    assert one.mass_ug == pytest.approx((10_000 - (30_000 - found.uncertainty_g_um)) / 0.08, rel=1e-3)
