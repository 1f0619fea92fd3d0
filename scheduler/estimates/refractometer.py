"""Water of honey from a refractive index or a Brix reading, corrected for temperature.

The published formula is often printed with 1.73190, which is old bar notation for -0.26810; typed literally it gives some 905 %.
"""

from __future__ import annotations

import math

from scheduler.diagnostics import Fault
from scheduler.estimates import citations
from scheduler.quantities import Estimate

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


def _estimate(index: float, temperature: float, basis: str, *sources: str) -> Estimate:
    if not 5 <= temperature <= 45:
        raise Fault(f"a reading at {temperature:g} °C is outside 5 to 45 °C", '"20 °C"')
    corrected = index + PER_DEGREE * (temperature - 20)
    if not 1.47 <= corrected <= 1.51:
        raise Fault(f"a refractive index of {index:g} is not that of honey", "between 1.474 and 1.5044")
    low, high = VALID_INDEX
    notes = () if low - 1e-9 <= corrected <= high + 1e-9 else ("extrapolated: the table covers 13 to 25 % of water",)
    value, least, most = (water(corrected + off) / 100 for off in (0.0, READING, -READING))
    at_20 = f"refractive index at 20 °C {corrected:.5f} ({PER_DEGREE} for each °C)"
    return Estimate(value, least, most, "share", (basis, at_20, *notes), (citations.REFRACTOMETER, *sources))


def from_index(index: float, temperature: float) -> Estimate:
    """Share of water from a refractive index read at `temperature` [°C]; range from a reading 0.0005 off."""
    return _estimate(index, temperature, f"refractive index {index:g} read at {temperature:g} °C")


def from_brix(reading: float, temperature: float) -> Estimate:
    """Share of water from °Bx read at `temperature` [°C] on a scale not corrected for it. It is not 100 less Brix: that is 1.6 to 1.9 % too much."""
    return _estimate(index_from_brix(reading), temperature, f"{reading:g} °Bx read at {temperature:g} °C, not 100 less Brix", citations.BRIX)
