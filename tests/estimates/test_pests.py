"""When to look through stored comb."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from scheduler.estimates import pests


@given(st.floats(-60, 60))
def test_the_warmer_the_store_the_sooner_the_look(temperature: float) -> None:
    here, warmer = pests.inspection_interval(temperature), pests.inspection_interval(min(60.0, temperature + 1))
    assert warmer.value <= here.value
    assert (here.refusal is not None) == (temperature < 5)


def test_a_week_at_27_degrees_and_a_cold_month_are_counted_in_one_series() -> None:
    assert pests.inspection_from_series([27.0] * 10).value == 5 * 86400
    assert pests.first_passing([5.0] * 30 + [27.0] * 5, 10.0, 85.0) == 35
    assert pests.inspection_from_series([8.0] * 20).value == 42 * 86400
