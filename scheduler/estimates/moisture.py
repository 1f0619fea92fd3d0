"""Water in honey: read by refractive index or Brix, what it means for fermentation, how it dries, and what two lots give when blended."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from scheduler.diagnostics import Fault
from scheduler.estimates import citations
from scheduler.local_time import DAY
from scheduler.quantities import Estimate, Statement, celsius, percent, say

OFFSET, SLOPE = -0.26810, 0.002243
PER_DEGREE = 0.00023  # refractive index for 1 °C above 20 °C
VALID_INDEX = (1.4740, 1.5044)  # rows of the table: 25.0 to 13.0 %
READING = 0.0005  # what a hand refractometer can be read to: assumed
_BRIX = (11758.74, -88885.21, 270177.93, -413145.80, 318417.95, -99127.4536)


def water(index: float) -> float:
    """Percent of water for a refractive index at 20 °C; within 0.022 % of the published table."""
    return (OFFSET - math.log10(index - 1)) / SLOPE


def index_for(percent: float) -> float:
    """Refractive index at 20 °C of honey with that percentage of water."""
    return 1 + 10 ** (OFFSET - SLOPE * percent)


def brix(index: float) -> float:
    """Degrees Brix for a refractive index at 20 °C."""
    total = 0.0
    for coefficient in _BRIX:
        total = total * index + coefficient
    return total


def index_from_brix(reading: float) -> float:
    """Refractive index at 20 °C of a Brix reading, by halving; raises `Fault` outside 73 to 89 °Bx."""
    if not 73 <= reading <= 89:
        raise Fault(f"{reading:g} °Bx is outside what honey shows, 73 to 89", "80.2")
    low, high = 1.45, 1.52
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if brix(middle) < reading else (low, middle)
    return (low + high) / 2


def _estimate(index: float, temperature: float, basis: Statement, *sources: str) -> Estimate:
    if not 5 <= temperature <= 45:
        raise Fault(f"a reading at {temperature:g} °C is outside 5 to 45 °C", '"20 °C"')
    corrected = index + PER_DEGREE * (temperature - 20)
    if not 1.47 <= corrected <= 1.51:
        raise Fault(f"a refractive index of {index:g} is not that of honey", "between 1.474 and 1.5044")
    low, high = VALID_INDEX
    notes = () if low - 1e-9 <= corrected <= high + 1e-9 else (say("beyond the table of water", driest=percent(0.13), wettest=percent(0.25)),)
    value, least, most = (water(corrected + off) / 100 for off in (0.0, READING, -READING))
    at_20 = say("refractive index at the standard", standard=celsius(20.0), index=corrected, slope=PER_DEGREE)
    return Estimate(value, least, most, "share", (basis, at_20, *notes), (citations.REFRACTOMETER, *sources))


def from_index(index: float, temperature: float) -> Estimate:
    """Share of water from a refractive index read at `temperature` [°C]; range from a reading 0.0005 off."""
    return _estimate(index, temperature, say("refractive index read", index=index, temperature=celsius(temperature)))


def from_brix(reading: float, temperature: float) -> Estimate:
    """Share of water from °Bx read at `temperature` [°C] on a scale not corrected for it. It is not 100 less Brix: that is 1.6 to 1.9 % too much."""
    return _estimate(index_from_brix(reading), temperature, say("brix read", brix=reading, temperature=celsius(temperature)), citations.BRIX)


SAFE_STORE = 10.0  # °C: no fermentation at or below (published about 11 °C; rounded to be safe)
UNCAPPED_RATE, CAPPED_RATE = (0.13, 0.25), (0.04, 0.05)  # a day: typical and quick; assumed
WARMEST, DRIEST_AIR = 35.0, 0.50


class Keeps(NamedTuple):
    """With how much water honey keeps: under `always` in any case, up to each row of the table with fewer yeasts per g; from the rule files."""

    always: float
    table: tuple[tuple[float, float], ...]  # share of water, yeasts per g


def fermentation(moisture: float | None, yeast: float | None, keeps: Keeps) -> str:
    """ "safe", "at risk" (depends on yeast that was not counted), "ferments" or "unknown" for a share of water and yeasts per g (None: not read)."""
    if moisture is None:
        return "unknown"
    if moisture < keeps.always:
        return "safe"
    for limit, most in keeps.table:
        if moisture <= limit:
            if yeast is None:
                return "at risk"
            return "safe" if yeast < most else "ferments"
    return "ferments"


def equilibrium_moisture(humidity: float) -> float:
    """Share of water of honey at rest with air of `humidity` (share). Within 0.23 % of water of two tables for 50 to 81 %; below 50 % by water activity."""
    if not 0.1 <= humidity <= 0.85:
        raise Fault(f"a humidity of {humidity * 100:g} % is outside 10 to 85 %", '"45 %"')
    percent = 100 * humidity
    if percent >= 50:
        return (0.0157840 * percent**2 - 1.480343 * percent + 50.39072) / 100
    low, high = 0.0, 0.171
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if _activity(middle) < humidity else (low, middle)
    return (low + high) / 2


def _activity(moisture: float) -> float:
    solids, water = (1 - moisture) / 223.35, moisture / 18.015
    share = solids / (solids + water)
    return (1 - share) * math.exp(-3.2507 * share**2)


def equilibrium_humidity(moisture: float) -> float:
    """Humidity (share) of the air honey of a share of water is at rest with, 15.7 to 34 % of water: above it honey takes up water."""
    if not 0.157 <= moisture <= 0.34:
        raise Fault(f"{moisture * 100:g} % of water is outside 15.7 to 34 %", '"18 %"')
    return (1.480343 + math.sqrt(1.480343**2 - 0.063136 * (50.39072 - 100 * moisture))) / 0.031568 / 100


def approach_time(moisture: float, target: float, equilibrium: float, rate: float) -> float:
    """Seconds for moisture to fall from one share to another towards `equilibrium` at `rate` a day: dW/dt = -rate (W - W_eq)."""
    return math.log((moisture - equilibrium) / (target - equilibrium)) / rate * DAY


def drying_time(moisture: float, target: float, temperature: float, humidity: float, capped: float = 0.0) -> Estimate:
    """Seconds until it is worth measuring comb honey again that dries from one share of water to `target`; never "ready".

    `temperature` [°C] of the room at most 35 (assumed: half as quick for each 10 °C below), `humidity` and `capped` shares. The rate through
    cappings is a guess. The plan uses the early end: a measurement too many costs little. Refused where the air is too damp to get there.
    """
    if not (0.10 <= moisture <= 0.30 and 0.10 <= target <= 0.30 and 0 <= capped <= 1 and 0 <= temperature <= WARMEST + 10):
        raise Fault("drying is estimated for 10 to 30 % of water, 0 to 45 °C and a capped share of 0 to 100 %")
    if moisture <= target:
        return Estimate(0.0, 0.0, 0.0, "duration", (say("dry enough already"),), (citations.DRYING,), safe_end="low")
    rest = equilibrium_moisture(humidity)
    if rest > target - 0.003:
        return Estimate.refused(
            "duration",
            say("air too damp to dry", humidity=percent(humidity), rest=percent(rest), goal=percent(target)),
            sources=(citations.HUMIDITY,),
        )
    slowed = 2.0 ** ((min(temperature, WARMEST) - WARMEST) / 10)
    rates = [slowed * (capped * shut + (1 - capped) * open_) for open_, shut in zip(UNCAPPED_RATE, CAPPED_RATE, strict=True)]
    value, quick = (approach_time(moisture, target, rest, rate) for rate in rates)
    notes = [say("too hot for comb", limit=celsius(WARMEST))] if temperature > WARMEST else []
    notes += [say("dry the air", limit=percent(DRIEST_AIR))] if humidity > DRIEST_AIR else []
    basis = (
        say("dries towards", moisture=percent(moisture), rest=percent(rest), humidity=percent(humidity), capped=percent(capped)),
        *notes,
    )
    return Estimate(value, quick, 3 * value, "duration", basis, (citations.DRYING, citations.HUMIDITY), safe_end="low")


def mixed(masses: Sequence[float], shares: Sequence[float]) -> float:
    """The share of water in a mixture of honeys of these masses [kg] and shares of water: the mass of water is kept."""
    return sum(mass * share for mass, share in zip(masses, shares, strict=True)) / sum(masses)


def blend(first: float, second: float, target: float) -> Estimate:
    """Mass share of the first lot in a mixture of two moistures (shares) that comes to `target`; refused where the target lies outside the two."""
    if not min(first, second) <= target <= max(first, second) or first == second:
        return Estimate.refused("share", say("not between the two", first=percent(first), second=percent(second), goal=percent(target)))
    value = (target - second) / (first - second)
    return Estimate(
        value,
        value,
        value,
        "share",
        (say("blended", share=percent(value), first=percent(first), second=percent(second)),),
    )
