"""Honey that runs: viscosity, draining of cut comb, settling of bubbles in the tank."""

from __future__ import annotations

import math
from typing import NamedTuple

from scheduler.diagnostics import Fault
from scheduler.estimates import citations
from scheduler.local_time import HOUR
from scheduler.quantities import Estimate, Quantity, Statement, celsius, elapsed, percent, say

VALID_TEMPERATURE, VALID_MOISTURE = (10.0, 70.0), (0.137, 0.215)
SCATTER = 1.4  # between honeys of one moisture and temperature: published values differ by 30 to 50 %
GRAVITY = 9.80665


class Drained(NamedTuple):
    """What is known of draining: a time [s], the slow end of practice, at a temperature [°C] and a share of water; from the rule files."""

    within: float
    temperature: float
    moisture: float


def _viscosity(temperature: float, moisture: float) -> float:
    water = 100 * moisture
    return math.exp(-7.67391 + 781.0959 / (temperature - (5.75793 - 3.62916 * water)))


def _notes(temperature: float, moisture: float) -> tuple[Statement, ...]:
    """Raise `Fault` outside what can be extrapolated (0 to 80 °C, 12 to 25 %), else say where the fit is left."""
    if not 0 <= temperature <= 80:
        raise Fault(f"viscosity at {temperature:g} °C is outside 0 to 80 °C", '"21 °C"')
    if not 0.12 <= moisture <= 0.25:
        raise Fault(f"viscosity at {moisture * 100:g} % of water is outside 12 to 25 %", '"17.4 %"')
    inside = VALID_TEMPERATURE[0] <= temperature <= VALID_TEMPERATURE[1] and VALID_MOISTURE[0] <= moisture <= VALID_MOISTURE[1]
    if inside:
        return ()
    (coldest, warmest), (driest, wettest) = VALID_TEMPERATURE, VALID_MOISTURE
    return (say("beyond the fit", coldest=celsius(coldest), warmest=celsius(warmest), driest=percent(driest), wettest=percent(wettest)),)


def viscosity(temperature: float, moisture: float) -> Estimate:
    """Viscosity of clover-like honey [Pa·s] at `temperature` [°C] and `moisture` (share of water).

    Fit (Vogel form, T0 linear in moisture) valid 10 to 70 °C and 13.7 to 21.5 %; at most 9.9 % off a row of the table it is fitted to;
    honeys differ by 30 to 50 %, which is the range. Marked extrapolated outside, refused outside 0 to 80 °C and 12 to 25 %.
    Heather honey is a gel and is not covered.
    """
    notes = _notes(temperature, moisture)
    value = _viscosity(temperature, moisture)
    basis = (say("honey at", temperature=celsius(temperature), moisture=percent(moisture)), say("honeys differ"), *notes)
    return Estimate(value, value / SCATTER, value * SCATTER, "viscosity", basis, (citations.VISCOSITY,))


def film_time(thickness: float, height: float, viscosity_pas: float, density: float = 1420.0) -> float:
    """Seconds until the film `height` [m] below the top of a wall has thinned to `thickness` [m]; the film alone, a lower bound for cut cells."""
    return viscosity_pas * height / (density * GRAVITY * thickness**2)


def drain_time(temperature: float, moisture: float, usual: Drained, least: float = 12.0 * HOUR, most: float = 72.0 * HOUR) -> Estimate:
    """Seconds cut comb drains on a rack: as long as is `usual`, scaled by viscosity, between `least` and `most` [s].

    `moisture` a share. The usual time is the slow end of practice already (12 to 24 h), so the plan uses the value itself.
    """
    notes = _notes(temperature, moisture)
    ratio = _viscosity(temperature, moisture) / _viscosity(usual.temperature, usual.moisture)
    value, low, high = (min(most, max(least, usual.within * ratio * factor)) for factor in (1.0, 0.5, SCATTER))
    bound = (say("at the least"),) if value == least else (say("at the most"),) if value == most else ()
    practice = {"anchor": elapsed(usual.within), "usual": celsius(usual.temperature), "water": percent(usual.moisture)}
    basis = (say("drained by viscosity", **practice, ratio=ratio, temperature=celsius(temperature), moisture=percent(moisture), bound=bound), *notes)
    return Estimate(value, low, high, "duration", basis, (citations.DRAIN, citations.VISCOSITY), safe_end="value")


def settle_time(temperature: float, moisture: float, depth: float, bubble: float) -> Estimate:
    """Seconds until bubbles of diameter `bubble` [m] have risen through `depth` [m] of honey, `moisture` a share.

    Stokes rise of a bubble with a rigid (dirty) surface; a clean one is 1.5 times as quick. Reynolds number under 4e-3, so it holds.
    Valid for depths of 1 cm to 3 m and bubbles of 0.02 to 5 mm.
    """
    notes = _notes(temperature, moisture)
    if not 0.01 <= depth <= 3 or not 2e-5 <= bubble <= 5e-3:
        raise Fault("a depth outside 1 cm to 3 m or a bubble outside 0.02 to 5 mm", '"35 cm" and "0.2 mm"')
    speed = bubble**2 * 1420.0 * GRAVITY / (18 * _viscosity(temperature, moisture))
    value = depth / speed
    basis = (
        say(
            "bubbles rise",
            bubble=Quantity(bubble, "length"),
            depth=Quantity(depth, "height"),
            temperature=celsius(temperature),
            moisture=percent(moisture),
        ),
        say("bubbles differ"),
        *notes,
    )
    return Estimate(value, value / SCATTER / 1.5, value * SCATTER, "duration", basis, (citations.BUBBLE, citations.VISCOSITY, citations.SETTLE))
