"""Water in honey: read, compared with the air, dried off, blended, and what ferments."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.estimates import dew, honey
from scheduler.estimates import moisture as water
from scheduler.estimates.callable_estimates import keeps_of
from scheduler.outputs.wording.sentence import METRIC, in_words
from scheduler.rules.load import load


@given(st.floats(13, 25))
def test_refractive_index_and_moisture_are_each_others_inverse(percent: float) -> None:
    assert water.water(water.index_for(percent)) == pytest.approx(percent)


@given(st.floats(73, 89))
def test_a_brix_reading_is_found_again(reading: float) -> None:
    assert water.brix(water.index_from_brix(reading)) == pytest.approx(reading, abs=1e-6)


def test_the_formula_is_not_the_misprint_and_moisture_is_not_a_hundred_less_brix() -> None:
    assert 0.17 < water.from_index(1.4915, 20.0).value < 0.19
    assert 0.198 - water.from_brix(80.2, 20.0).value == pytest.approx(0.017, abs=0.001)


def test_a_warm_reading_is_corrected_down() -> None:
    assert water.from_index(1.49, 30.0).value < water.from_index(1.49, 20.0).value


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: water.from_index(1.33, 20.0), "a refractive index of 1.33 is not that of honey"),
        (lambda: water.from_brix(40.0, 20.0), "40 °Bx is outside what honey shows"),
        (lambda: water.from_index(1.49, 80.0), "a reading at 80 °C is outside 5 to 45 °C"),
        (lambda: honey.density(0.3), "density is known for 13 to 21 % of water, not 30 %"),
        (lambda: dew.dew_point(21.0, 1.2), "a humidity of 120 % is outside 1 to 100 %"),
    ],
)
def test_readings_that_are_not_of_honey_are_refused(call: object, said: str) -> None:
    with pytest.raises(Fault, match=said):
        call()  # type: ignore[operator]


@pytest.mark.parametrize(
    ("moisture", "yeast", "word"),
    [
        (0.170, None, "safe"),
        (0.175, None, "at risk"),
        (0.175, 999, "safe"),
        (0.175, 1000, "ferments"),
        (0.185, 9, "safe"),
        (0.185, 10, "ferments"),
        (0.195, 0.5, "safe"),
        (0.195, 1, "ferments"),
        (0.205, 0, "ferments"),
        (None, None, "unknown"),
    ],
)
def test_fermentation_follows_the_table_of_1933(moisture: float | None, yeast: float | None, word: str) -> None:
    assert water.fermentation(moisture, yeast, keeps_of(load().trade)) == word


@given(st.floats(0.50, 0.80))
def test_honey_at_rest_with_air_and_air_at_rest_with_honey_agree(humidity: float) -> None:
    assert water.equilibrium_humidity(water.equilibrium_moisture(humidity)) == pytest.approx(humidity, abs=1e-4)


@given(st.floats(0.18, 0.25), st.floats(0.005, 0.02), st.floats(20, 35), st.floats(0, 1))
def test_drying_is_measured_again_early_and_never_called_ready(moisture: float, fall: float, temperature: float, capped: float) -> None:
    found = water.drying_time(moisture, moisture - fall, temperature, 0.4, capped)
    assert 0 < found.low <= found.value <= found.high < math.inf
    assert found.safe == found.low
    assert 'not "ready"' in in_words(found.basis[0], METRIC)


def test_damp_air_never_dries_honey_and_says_so() -> None:
    assert water.drying_time(0.20, 0.18, 30.0, 0.65, 0.0).refusal


def test_two_lots_mix_by_the_mass_of_their_water() -> None:
    share = water.blend(0.194, 0.168, 0.18).value
    assert share * 0.194 + (1 - share) * 0.168 == pytest.approx(0.18)
    assert water.blend(0.194, 0.188, 0.18).refusal
