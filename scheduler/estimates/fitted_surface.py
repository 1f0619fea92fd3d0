"""The surface coefficient of a keeper's own freezer, fitted to readings of the core of what lay in it; and how it recovers from a warm load."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median
from typing import NamedTuple

from scheduler.estimates import citations, comb
from scheduler.estimates.freeze import Load
from scheduler.estimates.freezer_air import STEP
from scheduler.estimates.recorded_freeze import temperatures
from scheduler.local_time import HOUR
from scheduler.quantities import Estimate, say, warmer

LEAST, MOST = 1.0, 60.0  # W/m²K that are searched: far beyond what still air and fans give
FEWEST = 3  # readings below which nothing is fitted
THERMOMETER = 0.5  # K a kitchen thermometer may be off: assumed; the least error of a reading
WITHIN = 2.0  # K of its own temperature at which a freezer counts as recovered: assumed
_DISTURBED = 5.0  # K from the middle of a log at which a freezer is not left alone (assumed)
_FEWEST_ROWS = 48  # that show what is steady (assumed)
_GOLDEN = (math.sqrt(5) - 1) / 2


@dataclass(frozen=True, slots=True)
class Cooling:
    """One load in recorded air: °C in each `STEP` s since it went in, and its core as read (seconds since then, °C)."""

    load: Load
    cells: tuple[float, ...]
    core: tuple[tuple[float, float], ...]


def surface_coefficient(coolings: Sequence[Cooling]) -> Estimate:
    """The surface coefficient [W/m²K] that fits the readings of the core best, by least squares, with two standard errors either way.

    The error of a reading is what the fit leaves over, and never less than a thermometer's. The load is taken at typical comb properties, so what
    is fitted stands for the freezer and what is not known of the comb together. The plan uses the low end, at which everything cools more
    slowly. Refused for fewer than three readings, and where the best lies at the end of what is searched or the readings cannot tell.
    """
    count = sum(len(one.core) for one in coolings)
    if count < FEWEST:
        return Estimate.refused("surface coefficient", say("too few readings", count=count, needed=FEWEST))

    def residuals(logarithm: float) -> list[float]:
        return [found - read for one in coolings for found, read in _pairs(one, math.exp(logarithm))]

    best = _least(lambda logarithm: sum(one * one for one in residuals(logarithm)), math.log(LEAST), math.log(MOST))
    left, around = residuals(best), residuals(best + 0.02)
    error = max(THERMOMETER, math.sqrt(sum(one * one for one in left) / max(1, count - 1)))
    steepness = math.sqrt(sum(((after - before) / 0.02) ** 2 for before, after in zip(left, around, strict=True)))
    spread = 2 * error / steepness if steepness else math.inf
    value = math.exp(best)
    if not LEAST * 1.1 < value < MOST / 1.1 or spread > 1:
        return Estimate.refused("surface coefficient", say("readings cannot tell"))
    basis = (
        say("least squares", count=count, loads=len(coolings), left=warmer(math.sqrt(sum(one * one for one in left) / count))),
        say("two standard errors", error=warmer(error)),
    )
    return Estimate(value, value * math.exp(-spread), value * math.exp(spread), "surface coefficient", basis, (citations.CONDUCTION,), safe_end="low")


def _pairs(one: Cooling, surface: float) -> list[tuple[float, float]]:
    """Computed and read temperatures of the core."""
    _, typical, _ = comb.spread(surface=surface)
    course = [one.load.start, *temperatures(one.load.body(typical), one.load.start, one.cells)]
    return [(_at(course, seconds / STEP), read) for seconds, read in one.core]


def _at(course: Sequence[float], place: float) -> float:
    number = min(int(place), len(course) - 2)
    return course[number] + (min(place, len(course) - 1.0) - number) * (course[number + 1] - course[number])


def _least(of: Callable[[float], float], low: float, high: float) -> float:
    """Where a function with one valley is least, by golden section."""
    left, right = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_left, at_right = of(left), of(right)
    while high - low > 1e-3:
        if at_left <= at_right:
            high, right, at_right = right, left, at_left
            left = high - _GOLDEN * (high - low)
            at_left = of(left)
        else:
            low, left, at_left = left, right, at_right
            right = low + _GOLDEN * (high - low)
            at_right = of(right)
    return (low + high) / 2


class Steady(NamedTuple):
    """The air of a freezer left alone [°C]: the middle of its readings, and the ends between which nine in ten lie; of how many rows."""

    usual: float
    low: float
    high: float
    rows: int


def steady_air(values: Sequence[float]) -> Steady | None:
    """What a freezer does by itself, by the rows of its log: doors, warm loads and power cuts, further than 5 K from its middle, are left out.

    None for fewer than a day's rows of every half hour, and where a quarter of them lies so far out that there is nothing steady.
    """
    middle = median(values) if values else 0.0
    near = sorted(value for value in values if abs(value - middle) <= _DISTURBED)
    if len(near) < _FEWEST_ROWS or len(near) * 4 < len(values) * 3:
        return None
    return Steady(median(near), near[len(near) // 20], near[-1 - len(near) // 20], len(near))


def recovery(cells: Sequence[float], own: float) -> float | None:
    """Seconds after a warm load went in until the air was back within 2 K of the freezer's own temperature [°C] for an hour; None where it never was."""
    hour = HOUR // STEP
    cold = [value <= own + WITHIN for value in cells]
    return next((float(number * STEP) for number in range(len(cold) - hour + 1) if all(cold[number : number + hour])), None)
