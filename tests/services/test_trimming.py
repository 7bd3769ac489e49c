"""Trimming: what is proposed, what is recorded, and that only a weighing after the trim proves a match."""

from collections.abc import Iterator
from typing import Any

import pytest

from kittrack.errors import BadInput, Refused
from kittrack.queries.trims import TrimProposal, trim_proposal
from kittrack.services import matching, weighing
from kittrack.services.trimming import BladeTrim, trim_blades
from kittrack.services.weighing import PieceWeighing
from kittrack.store.database import Store
from kittrack.store.records import Part, Trim
from tests.factories import (
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
