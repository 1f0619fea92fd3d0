"""Honey itself, by its water."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.estimates.honey import GRAVITY_20, conductivity, density, heat_capacity

WATER = st.floats(0.13, 0.21)


def test_a_percent_in_the_table_is_as_the_table_says() -> None:
    """Specific gravity 20/20 °C of 1.4237 at 17 % and 1.4171 at 18 % (published), times water at 20 °C of 998.2 kg/m³."""
    assert density(0.17) == pytest.approx(1421.1, abs=0.1)
    assert density(0.18) == pytest.approx(1414.5, abs=0.1)
    assert [density(percent / 100) for percent in GRAVITY_20] == sorted((density(percent / 100) for percent in GRAVITY_20), reverse=True)


@given(WATER, WATER)
def test_more_water_is_lighter_and_takes_more_heat(one: float, other: float) -> None:
    """Between the rows of the table too."""
    dry, wet = sorted((one, other))
    assert density(dry) >= density(wet)
    assert heat_capacity(dry).value <= heat_capacity(wet).value
    assert 2260 <= heat_capacity(dry).value <= 2510  # published ends


def test_between_two_rows_the_density_lies_on_the_straight_line() -> None:
    """Halfway in water is halfway in weight."""
    assert density(0.175) == pytest.approx((density(0.17) + density(0.18)) / 2)


@pytest.mark.parametrize("moisture", [0.129, 0.2101, 0.0, 1.0])
def test_outside_the_table_nothing_is_said(moisture: float) -> None:
    """Of none of the three."""
    for known in (density, heat_capacity, conductivity):
        with pytest.raises(Fault, match="density is known for 13 to 21 % of water"):
            known(moisture)


def test_the_safe_conductivity_is_the_low_one() -> None:
    """Published values differ by nearly two; what conducts badly takes longer to cool, and that is the safe end."""
    found = conductivity(0.17)
    assert found.safe == found.low < found.value < found.high
