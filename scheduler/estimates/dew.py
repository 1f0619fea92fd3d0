"""Dew point of room air (WMO form of the Magnus formula over water)."""

from __future__ import annotations

import math

from scheduler.diagnostics import Fault
from scheduler.estimates import citations
from scheduler.quantities import Estimate, celsius, percent, say


def dew_point(temperature: float, humidity: float) -> float:
    """Dew point [°C] of air at `temperature` [°C], `humidity` a share above 0 and at most 1.

    Valid -45 to 60 °C; within 0.04 K of ASHRAE's formulation for dew points at or above 0 °C. Raises `Fault` outside.
    """
    if not -45 <= temperature <= 60:
        raise Fault(f"air at {temperature:g} °C is outside -45 to 60 °C", '"21 °C"')
    if not 0.01 <= humidity <= 1:
        raise Fault(f"a humidity of {humidity * 100:g} % is outside 1 to 100 %", '"55 %"')
    gamma = math.log(humidity) + 17.62 * temperature / (243.12 + temperature)
    return 243.12 * gamma / (17.62 - gamma)


def dew(temperature: float, humidity: float) -> Estimate:
    """The dew point as an estimate; range from a hygrometer that is 5 % of humidity off (assumed)."""
    low, high = (dew_point(temperature, min(1.0, max(0.01, humidity + off))) for off in (-0.05, 0.05))
    basis = (say("dew of air", room=celsius(temperature), humidity=percent(humidity)), say("hygrometer off", error=percent(0.05)))
    return Estimate(dew_point(temperature, humidity), low, high, "temperature", basis, (citations.DEW,))
