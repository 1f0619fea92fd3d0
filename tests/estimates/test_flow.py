"""Honey that runs: its viscosity, the draining of cut comb, the settling of bubbles."""

from __future__ import annotations

import pytest
from fluids import v_terminal
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.estimates import flow

WARMTH, WATER = st.floats(10, 70), st.floats(0.137, 0.215)

A_DAY = flow.Drained(24 * 3600.0, 21.0, 0.17)  # common practice, as the rule files have it


@given(WARMTH, WATER, st.floats(0.5, 10), st.floats(0.002, 0.03))
def test_warmer_and_wetter_honey_is_thinner(temperature: float, moisture: float, warmer: float, wetter: float) -> None:
    here = flow.viscosity(temperature, moisture)
    assert here.low < here.value < here.high
    assert flow.viscosity(temperature + warmer, moisture).value < here.value
    assert flow.viscosity(temperature, moisture + wetter).value < here.value


def test_the_viscosity_fit_is_at_most_ten_percent_off_any_row_and_says_so_outside_them() -> None:
    assert flow.viscosity(5.0, 0.17).basis[-1].kind == "beyond the fit"
    with pytest.raises(Fault, match="viscosity at 90 °C is outside 0 to 80 °C"):
        flow.viscosity(90.0, 0.17)


def test_a_bubble_rises_as_a_fluids_library_says() -> None:
    """fluids.v_terminal for 1 mm in 11.92 Pa s of honey: Stokes."""
    speed = v_terminal(D=1e-3, rhop=2840.0, rho=1420.0, mu=flow.viscosity(21.0, 0.17).value)
    assert 0.35 / flow.settle_time(21.0, 0.17, 0.35, 1e-3).value == pytest.approx(speed, rel=1e-3)


def test_draining_is_a_day_at_room_temperature_and_as_much_longer_as_honey_is_thicker() -> None:
    """24 h on a rack at 21 °C (common practice); where neither limit binds, hours go as viscosity does."""
    assert flow.drain_time(21.0, 0.17, A_DAY).value == 24 * 3600
    thicker = flow.viscosity(16.0, 0.17).value / flow.viscosity(21.0, 0.17).value
    assert 24 * 3600 * thicker < 72 * 3600
    assert flow.drain_time(16.0, 0.17, A_DAY).value == pytest.approx(24 * 3600 * thicker)


@given(st.floats(0, 40), st.floats(0.12, 0.25))
def test_draining_stays_between_its_floor_and_its_ceiling(temperature: float, moisture: float) -> None:
    found = flow.drain_time(temperature, moisture, A_DAY)
    assert 12 * 3600 <= found.low <= found.value <= found.high <= 72 * 3600
