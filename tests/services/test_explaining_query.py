"""Explained figures: what a manager can check by hand, from a store's own records."""

import pytest

from kittrack.errors import BadInput, NotFound
from kittrack.queries.explaining import explain_code
from kittrack.store.database import Store
from kittrack.store.records import Airframe, Person, Position
from tests.factories import SCREW, TAIL, after, put_in_stock


def code_of(store: Store, record: type[Airframe | Person | Position], **equal: str) -> str:
    with store.reading() as read:
        found = read.find(record, **equal)
        assert found is not None
        return found.code


def test_an_airframes_layout_is_explained_with_balance_and_rank(store: Store) -> None:
    balance, rank = explain_code(store, code=code_of(store, Airframe, tail=TAIL)).explanations
    assert balance.result.value == 0
    assert (rank.result.value, rank.result.unit) == (4, "of 4")
    assert "FR CCW" in balance.title


def test_a_positions_torque_is_explained_against_the_proof_load(store: Store) -> None:
    """0.8 N m on M3 A2-70: R_p0.2 450 MPa times 5.03 mm2 = 2264 N (ISO 3506-1, ISO 898-1, computed)."""
    preload, limit = explain_code(store, code=code_of(store, Position, name="FR")).explanations
    assert "% of the proof load" in preload.verdict
    assert limit.inputs[0].value == pytest.approx(2264, rel=2e-3)
    assert limit.result.value == pytest.approx(0.2 * 3e-3 * 2264, rel=2e-3)


def test_a_lines_account_is_explained_and_adds_up(store: Store) -> None:
    line = put_in_stock(store, SCREW, 16, at=after(1))
    account, *_ = explain_code(store, code=line).explanations  # the samples of a fastener stand after it
    assert account.result.value == 16
    assert account.verdict == "It adds up."


def test_what_has_no_figures_is_told(store: Store) -> None:
    with pytest.raises(BadInput, match="ask about"):
        explain_code(store, code=code_of(store, Person, name="Clerk One"))
    with pytest.raises((NotFound, BadInput)):
        explain_code(store, code="R000101-C")
