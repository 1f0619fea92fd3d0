"""A freezer's own surface coefficient from readings of the core. Readings are made with a known coefficient and a thermometer's error."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.estimates import comb
from scheduler.estimates.fitted_surface import Cooling, recovery, steady_air, surface_coefficient
from scheduler.estimates.freeze import packed
from scheduler.estimates.freezer_air import STEP, of_logs
from scheduler.estimates.recorded_freeze import temperatures
from scheduler.estimates.temperature_log import TemperatureLog
from scheduler.quantities import say
from tests.estimates.practice import BY
from tests.estimates.test_recorded_freeze import HOUR, PIECE

AIR = (-12.0,) * HOUR + (-15.0,) * HOUR + (-18.0,) * (22 * HOUR)


def cooling(surface: float, hours: tuple[float, ...], *, off: float = 0.0, seed: int = 1) -> Cooling:
    """A load of eight pieces, its core read so many hours after it went in by a thermometer that is off by so much now and then."""
    chance, load = random.Random(seed), packed(8, PIECE, comb.BARE, 21.0, BY)
    _, typical, _ = comb.spread(surface=surface)
    course = list(temperatures(load.body(typical), 21.0, AIR))
    return Cooling(load, AIR, tuple((hour * 3600, course[round(hour * 3600 / STEP) - 1] + chance.uniform(-off, off)) for hour in hours))


@pytest.mark.parametrize("surface", [5.0, 8.0, 13.0])
def test_the_coefficient_that_made_the_readings_is_found_again(surface: float) -> None:
    """Within 1 % from perfect readings, and between the ends of its range."""
    found = surface_coefficient([cooling(surface, (1.0, 2.0, 3.0, 5.0))])
    assert found.value == pytest.approx(surface, rel=0.01)
    assert found.low < surface < found.high


def test_the_range_holds_the_truth_with_a_thermometer_that_is_off() -> None:
    """Of 40 fits to readings up to 0.8 K off, at least 36 ranges hold it: they are two standard errors wide."""
    fits = [surface_coefficient([cooling(8.0, (1.0, 2.0, 3.0, 5.0), off=0.8, seed=seed)]) for seed in range(40)]
    assert sum(one.low <= 8.0 <= one.high for one in fits) >= 36


@pytest.mark.parametrize("seed", range(6))
def test_air_that_swings_is_fitted_by_its_mean_and_not_by_its_peaks(seed: int) -> None:
    """Two kelvin up and down, logged every five minutes: by the peaks the load seems to cool quicker than it did, which is the unsafe side."""
    chance, begun = random.Random(seed), 1_786_000_000
    swings = [AIR[min(row // 2, len(AIR) - 1)] + chance.uniform(-2, 2) for row in range(2 * len(AIR))]
    record = of_logs([TemperatureLog(tuple((begun + 300 * row, value) for row, value in enumerate(swings)), (), 300)])
    air = record.since(begun, begun + STEP * len(AIR))
    assert air is not None
    read = cooling(8.0, (1.0, 2.0, 3.0, 5.0))
    by_means, by_peaks = (surface_coefficient([Cooling(read.load, cells, read.core)]) for cells in (record.means(begun, air), air.cells))
    assert by_means.value == pytest.approx(8.0, rel=0.06)
    assert by_means.low < 8.0 < by_means.high
    assert by_peaks.value > max(by_means.value, 8.0)


def test_more_readings_narrow_the_range() -> None:
    """Two loads tell more than one."""
    one = surface_coefficient([cooling(8.0, (1.0, 2.0, 3.0))])
    two = surface_coefficient([cooling(8.0, (1.0, 2.0, 3.0)), cooling(8.0, (1.5, 2.5, 4.0))])
    assert two.high - two.low < one.high - one.low


def test_too_few_readings_and_readings_of_a_cold_core_are_refused() -> None:
    """After a day every freezer has the same core."""
    assert surface_coefficient([cooling(8.0, (1.0, 2.0))]).refusal == say("too few readings", count=2, needed=3)
    assert surface_coefficient([cooling(8.0, (21.0, 22.0, 23.0))]).refusal == say("readings cannot tell")
    assert math.isinf(surface_coefficient([]).safe)


def test_recovery_is_counted_from_when_the_load_went_in() -> None:
    """Back within 2 K for an hour; a freezer that stays warm has not recovered."""
    assert recovery(AIR, -18.0) == 2 * 3600
    assert recovery((-9.0,) * 60, -18.0) is None


@given(st.floats(-30, -10), st.floats(0.1, 1.5), st.integers(0, 20))
def test_the_steady_air_is_that_of_the_freezer_left_alone(own: float, swing: float, warm_rows: int) -> None:
    """A door or a power cut moves neither its middle nor its ends; nine in ten of a sine lie within 0.988 of its height (sin of 81 degrees)."""
    calm = [own + swing * math.sin(row * 0.7) for row in range(200)]
    found = steady_air([*calm, *[own + 20.0] * warm_rows])
    assert found is not None
    assert found.usual == pytest.approx(own, abs=0.1 * swing)
    assert found.high - own == pytest.approx(0.988 * swing, rel=0.05)
    assert own - found.low == pytest.approx(0.988 * swing, rel=0.05)


def test_a_freezer_that_is_never_left_alone_and_a_few_rows_show_nothing_steady() -> None:
    """Nor does a log of no rows."""
    assert steady_air([-18.0, 2.0] * 100) is None
    assert steady_air([-18.0] * 47) is None
    assert steady_air([]) is None
