"""Honey itself: density, heat capacity and conductivity with their published spread."""

from __future__ import annotations

from scheduler.diagnostics import Fault
from scheduler.estimates import citations
from scheduler.quantities import Estimate, Quantity, say

WATER_DENSITY = 998.2  # kg/m³ at 20 °C
GRAVITY_20 = {13: 1.4457, 14: 1.4404, 15: 1.4350, 16: 1.4295, 17: 1.4237, 18: 1.4171, 19: 1.4101, 20: 1.4027, 21: 1.3950}  # from memory; 17 and 18 published


def density(moisture: float) -> float:
    """Density [kg/m³] at 20 °C for a share of water, 13 to 21 %, interpolated in the specific gravity table (20/20 °C); raises `Fault` outside."""
    percent = 100 * moisture
    if not 13 <= percent <= 21:
        raise Fault(f"density is known for 13 to 21 % of water, not {percent:g} %", '"17.4 %"')
    below = min(int(percent + 1e-9), 20)
    gravity = GRAVITY_20[below] + (percent - below) * (GRAVITY_20[below + 1] - GRAVITY_20[below])
    return gravity * WATER_DENSITY


def heat_capacity(moisture: float) -> Estimate:
    """Heat capacity [J/kgK] of liquid honey, 13 to 21 % of water: 2260 to 2510, more with more water."""
    density(moisture)  # the same limits
    value = 2260 + (moisture - 0.13) / 0.08 * 250
    low, high = (Quantity(end, "heat capacity") for end in (2260.0, 2510.0))
    return Estimate(value, low.value, high.value, "heat capacity", (say("heat capacity of honey", low=low, high=high),), (citations.OLD_CONDUCTIVITY,))


def conductivity(moisture: float) -> Estimate:
    """Conductivity [W/mK] of liquid honey: the composition model (low, safe) against older tables (high)."""
    density(moisture)
    return Estimate(
        0.28,
        0.265,
        0.55,
        "conductivity",
        (say("conductivity of honey"),),
        (citations.FOOD_CONDUCTIVITY, citations.OLD_CONDUCTIVITY),
        safe_end="low",
    )
