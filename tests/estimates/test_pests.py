"""When to look through stored comb."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.estimates import pests
from scheduler.estimates.callable_estimates import eggs_of, looks_of
from scheduler.outputs.wording.sentence import METRIC, in_words
from scheduler.rules.load import load

LOOKS, EGGS = looks_of(load().trade), eggs_of(load().trade)


@given(st.floats(-60, 60))
def test_the_warmer_the_store_the_sooner_the_look(temperature: float) -> None:
    here, warmer = pests.inspection_interval(temperature, LOOKS, EGGS), pests.inspection_interval(min(60.0, temperature + 1), LOOKS, EGGS)
    assert warmer.value <= here.value
    assert (here.refusal is not None) == (temperature < 5)


def test_a_week_at_27_degrees_and_a_cold_month_are_counted_in_one_series() -> None:
    assert pests.inspection_from_series([27.0] * 10, LOOKS, EGGS).value == 5 * 86400
    assert pests.first_passing([5.0] * 30 + [27.0] * 5, 10.0, 85.0) == 35
    assert pests.inspection_from_series([8.0] * 20, LOOKS, EGGS).value == 42 * 86400


def test_what_is_left_before_beetle_eggs_hatch_counts_from_when_the_bees_left() -> None:
    """In the air of a warm room at 32 °C they hatch after 25 h (derived from 61 h at 21 °C and 22 h at 35 °C); bees gone a day before leave an hour of it."""
    assert pests.beetle_time_left(32.0, 0.55, 0.0, EGGS).value / 3600 == pytest.approx(24.8, abs=0.1)
    assert pests.beetle_time_left(32.0, 0.55, 24 * 3600.0, EGGS).value / 3600 == pytest.approx(0.8, abs=0.1)
    assert pests.beetle_time_left(32.0, 0.55, 48 * 3600.0, EGGS).value == 0.0


@pytest.mark.parametrize(("temperature", "humidity"), [(32.0, 0.49), (12.0, 0.8)])
def test_beetle_eggs_never_hatch_in_dry_air_or_in_the_cold(temperature: float, humidity: float) -> None:
    """Under 50 % humidity they do not (published), nor at 13.5 °C and below."""
    assert pests.beetle_time_left(temperature, humidity, 0.0, EGGS).refusal is not None


def test_a_yards_own_number_moves_the_hatching() -> None:
    """An insect of another place: the clock, its early end and the guard of the looks all follow the rule file."""
    own = {
        "moth eggs after": "40 °C d",
        "hot moth eggs after": "2 d",
        "beetle eggs after": "10 °C d",
        "beetle eggs dry under": "40 %",
        "beetle eggs sooner by": "50 %",
    }
    by = eggs_of(load(changes={"comb pests": {"parameters": own}}).trade)
    assert pests.egg_hatch_time(20.0, by).safe == 4 * 86400
    assert pests.egg_hatch_time(29.0, by).safe == 2 * 86400
    assert pests.inspection_interval(20.0, LOOKS, by).safe == 4 * 86400
    assert pests.beetle_hatch_time(23.5, by).safe == pytest.approx(86400 / 2)
    assert pests.beetle_time_left(23.5, 0.45, 0.0, by).refusal is None
    assert pests.beetle_time_left(23.5, 0.45, 0.0, EGGS).refusal is not None
    assert in_words(pests.egg_hatch_time(20.0, by).basis[0], METRIC).startswith("40 °C d above 10 °C (assumed: 2.35 days at 27 °C)")
