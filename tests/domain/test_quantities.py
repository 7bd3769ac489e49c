"""Amounts: exact by independent constants, read in one way only, and read back as written."""

import subprocess
import sys
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from kittrack.domain.quantities import (
    Dimension,
    accepted_units,
    read_quantity,
    registry,
    stock_in_words,
    write_quantity,
    write_torque,
)
from kittrack.errors import BadInput

D = Dimension
UNITS = [(dimension, unit) for dimension in Dimension for unit in accepted_units(dimension)]


@pytest.mark.parametrize(
    ("dimension", "unit", "kept"),
    [
        # SciPy's constants in SI units, times the kept unit's share of the SI unit.
        (D.MASS, "oz", constants.oz * 1e9),
        (D.MASS, "kg", 1e9),
        (D.LENGTH, "in", constants.inch * 1e6),
        (D.LENGTH, "cm", constants.centi * 1e6),
        (D.MOMENT, "oz in", constants.oz * constants.inch * 1e9),
        (D.MOMENT, "g cm", 1e4),
        (D.VOLUME, "L", constants.liter * 1e9),
        (D.TORQUE, "lbf in", constants.lbf * constants.inch * 1e3),
        (D.TORQUE, "lbf ft", constants.lbf * constants.foot * 1e3),
        (D.TORQUE, "ozf in", constants.lbf / 16 * constants.inch * 1e3),
        (D.TORQUE, "kgf cm", constants.kgf * 0.01 * 1e3),
        (D.TORQUE, "cN m", 10),
        (D.TIME, "h", constants.hour / constants.minute),
        (D.SPEED, "rpm", 1),
    ],
)
def test_a_unit_is_worth_what_an_independent_table_says(dimension: Dimension, unit: str, kept: float) -> None:
    million = read_quantity(f"1000000 {unit}", dimension=dimension)
    assert million == pytest.approx(kept * 1e6, rel=1e-12, abs=0.5)


@pytest.mark.parametrize(
    ("text", "dimension", "kept"),
    [
        # Exact factors of the agreed pound, inch and gravity (NIST SP 811, appendix B.8, prints them to 7 figures).
        ("1000000000 lbf in", D.TORQUE, 112_984_829_028),  # 0.112984829027617 N m each
        ("1000000000 lbf ft", D.TORQUE, 1_355_817_948_331),  # 1.3558179483314 N m
        ("10000 kgf cm", D.TORQUE, 980_665),  # 0.0980665 N m
        ("1000000 ozf in", D.TORQUE, 7_061_552),  # 7.061552e-3 N m, 7 figures
        ("10 oz in", D.MOMENT, 7_200_779),  # 720.077887375 g mm
        ("0.01 oz in", D.MOMENT, 7_201),  # API 671's floor: 7.2 g mm
        ("1 oz", D.MASS, 28_349_523),  # 28.349523125 g
        ("0.1 in", D.LENGTH, 2_540),
        ("0.1 kg", D.MASS, 100_000_000),
    ],
)
def test_published_conversions(text: str, dimension: Dimension, kept: int) -> None:
    assert read_quantity(text, dimension=dimension) == kept


@pytest.mark.parametrize(
    ("text", "dimension", "kept"),
    [
        ("1,5 mm", D.LENGTH, 1500),
        ("1.500 mm", D.LENGTH, 1500),
        ("1,5000 mm", D.LENGTH, 1500),
        ("3mm", D.LENGTH, 3000),
        (" 12.5 g ", D.MASS, 12_500_000),
        ("0 g", D.MASS, 0),
        ("7 µg", D.MASS, 7),
        ("7 μg", D.MASS, 7),
        ("2.4 g·mm", D.MOMENT, 2400),
        ("2.4 g*mm", D.MOMENT, 2400),
        ("2.4 gmm", D.MOMENT, 2400),
        ("0.2 mL", D.VOLUME, 200),
        ("1 l", D.VOLUME, 1_000_000),
        ("2.5 N·m", D.TORQUE, 2500),
        ("25 cNm", D.TORQUE, 250),
        ("250 mN m", D.TORQUE, 250),
        ("20 in-lbf", D.TORQUE, 2260),
        ("5200 rpm", D.SPEED, 5200),
        ("12:30", D.TIME, 750),
        ("12:30 h", D.TIME, 750),
        ("12.5 h", D.TIME, 750),
        ("1.33 h", D.TIME, 80),
        ("90 min", D.TIME, 90),
        ("16", D.PIECES, 16),
        ("16 pcs", D.PIECES, 16),
        ("1 piece", D.PIECES, 1),
    ],
)
def test_an_amount_is_read(text: str, dimension: Dimension, kept: int) -> None:
    assert read_quantity(text, dimension=dimension) == kept


@pytest.mark.parametrize(
    ("text", "dimension", "reason"),
    [
        ("1,500 mm", D.LENGTH, "two ways"),
        ("0,125 mm", D.LENGTH, "two ways"),
        ("1 000 mm", D.LENGTH, "inside its number"),
        ("1'000 mm", D.LENGTH, "inside its number"),
        ("1,500.5 mm", D.LENGTH, "inside its number"),
        ("1.000,5 mm", D.LENGTH, "inside its number"),
        ("9**9**9 mm", D.LENGTH, "inside its number"),
        ("1/2 in", D.LENGTH, "inside its number"),
        ("3", D.LENGTH, "add mm, cm, m, um or in"),
        ("0", D.MASS, "no unit"),
        ("25 degC", D.LENGTH, "no unit of length"),
        ("3 MM", D.LENGTH, "no unit of length"),
        ("3 g", D.LENGTH, "no unit of length"),
        ("3 mm mm", D.LENGTH, "no unit of length"),
        ("20 oz in", D.TORQUE, "no torque"),
        ("20 lb in", D.TORQUE, "no torque"),
        ("20 ozf in", D.MOMENT, "is a torque"),
        ("2 N m", D.MOMENT, "is a torque"),
        ("NaN g", D.MASS, "plain number"),
        ("inf g", D.MASS, "plain number"),
        ("∞ g", D.MASS, "plain number"),
        ("½ g", D.MASS, "plain number"),
        ("١٢ g", D.MASS, "plain number"),
        (".5 g", D.MASS, "plain number"),
        ("+5 g", D.MASS, "plain number"),
        ("0x10 g", D.MASS, "no unit of mass"),
        ("1_0 g", D.MASS, "inside its number"),
        ("1E5", D.PIECES, "exponent"),
        ("1e-5 g", D.MASS, "exponent"),
        ("-5 g", D.MASS, "negative"),
        ("−5 g", D.MASS, "negative"),
        ("0", D.PIECES, "at least 1"),
        ("16.0", D.PIECES, "whole pieces"),
        ("1,5", D.PIECES, "whole pieces"),
        ("1,000", D.PIECES, "two ways"),
        ("0.0000005 g", D.MASS, "finer"),
        ("0.5 mN m", D.TORQUE, "finer"),
        ("0.5 min", D.TIME, "finer"),
        ("12:60", D.TIME, "inside its number|plain number"),
        ("9999999999999999999 kg", D.MASS, "too large"),
        ("1" * 41 + " g", D.MASS, "too long"),
        ("1" * 100_000, D.PIECES, "too long"),
        ("", D.MASS, "number and its unit"),
        ("5 \x1b[2J", D.MASS, "no unit|inside"),
        ("5 g\u202e", D.MASS, "no unit"),
    ],
)
def test_an_amount_that_could_be_another_is_refused(text: str, dimension: Dimension, reason: str) -> None:
    with pytest.raises(BadInput, match=reason) as caught:
        read_quantity(text, dimension=dimension, field="amount")
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 250
    assert caught.value.problems[0].field == "amount"


@given(st.text(max_size=45), st.sampled_from(list(Dimension)))
def test_whatever_is_typed_gives_a_kept_number_or_a_refusal(text: str, dimension: Dimension) -> None:
    try:
        kept = read_quantity(text, dimension=dimension)
    except BadInput:
        return
    assert 0 <= kept < 2**63


@given(st.sampled_from(UNITS), st.integers(0, 2**63 - 1))
def test_what_is_written_reads_back(pair: tuple[Dimension, str], value: int) -> None:
    dimension, unit = pair
    value = max(value, 1) if dimension is D.PIECES else value
    assert read_quantity(write_quantity(value, dimension=dimension, unit=unit), dimension=dimension) == value
    if dimension is not D.TIME or value < 60 * 10**7:
        assert read_quantity(write_quantity(value, dimension=dimension), dimension=dimension) == value


@given(st.sampled_from(UNITS), st.decimals(0, 10**6, places=3), st.booleans())
def test_point_and_comma_mean_the_same_where_both_are_taken(
    pair: tuple[Dimension, str], number: Decimal, two_places: bool
) -> None:
    dimension, unit = pair
    text = f"{number:.2f}" if two_places else f"{number:.1f}"

    def outcome(typed: str) -> int | str:
        try:
            return read_quantity(typed, dimension=dimension)
        except BadInput:
            return "refused"

    assert outcome(f"{text} {unit}") == outcome(f"{text.replace('.', ',')} {unit}")


@pytest.mark.parametrize(
    ("value", "dimension", "unit", "text"),
    [
        (12_500_000, D.MASS, None, "12.5 g"),
        (100, D.LENGTH, None, "0.1 mm"),
        (2400, D.MOMENT, None, "2.4 g mm"),
        (-2400, D.MOMENT, None, "-2.4 g mm"),
        (800, D.VOLUME, None, "0.8 mL"),
        (2500, D.TORQUE, "cN m", "250 cN m"),
        (5200, D.SPEED, None, "5200 rpm"),
        (750, D.TIME, None, "12:30"),
        (-90, D.TIME, None, "-1:30"),
        (750, D.TIME, "h", "12.5 h"),
        (1, D.PIECES, None, "1 piece"),
        (0, D.PIECES, None, "0 pieces"),
        (28_349_523, D.MASS, "oz", "1 oz"),
        (10**15, D.MASS, "kg", "1000000 kg"),
    ],
)
def test_an_amount_is_written(value: int, dimension: Dimension, unit: str | None, text: str) -> None:
    assert write_quantity(value, dimension=dimension, unit=unit) == text


def test_a_torque_is_shown_in_two_units() -> None:
    # 1 N m = 8.850745791327 lbf in (reciprocal of the exact factor)
    assert write_torque(1000) == "1 N m (8.85 lbf in)"
    assert write_torque(2500, second="kgf cm") == "2.5 N m (25.49 kgf cm)"
    assert pytest.approx(2.5 * 10.197162129779, abs=0.005) == 25.49


def test_an_unknown_unit_is_not_written() -> None:
    with pytest.raises(BadInput):
        write_quantity(1, dimension=D.MASS, unit="stone")


def test_the_registry_is_one_and_keeps_mass_and_force_apart() -> None:
    from pint import DimensionalityError

    assert registry() is registry()
    with pytest.raises(DimensionalityError):
        registry().convert(Decimal(1), "ounce * inch", "newton * metre")


def test_the_unit_library_stays_out_of_the_start() -> None:
    code = "import sys, kittrack.domain.quantities; sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_an_amount_of_stock_is_said_with_its_unit() -> None:
    said = [stock_in_words(1, "pieces"), stock_in_words(4, "pieces"), stock_in_words(320, "volume_ul")]
    assert said == ["1 piece", "4 pieces", "0.32 mL"]
