"""Clocks of comb pests: when eggs of wax moth and small hive beetle can hatch, and when to look at stored comb again."""

from __future__ import annotations

import math
from collections.abc import Sequence

from scheduler.diagnostics import Fault
from scheduler.estimates import citations
from scheduler.local_time import DAY
from scheduler.quantities import Estimate

MOTH_BASE, MOTH_SUM = 10.0, 85.0  # °C, °C·d: 5 d at 27 °C, the quickest published pair; assumed as a guard (no degree-day study was found)
MOTH_SLOWEST = 240.0  # °C·d: 30 d at 18 °C
BEETLE_BASE, BEETLE_SUM, BEETLE_HIGH = 13.5, 19.1, 19.7  # °C published; °C·d derived from 61 h at 21 °C and 22 h at 35 °C
MOTH_STOPS = 5.0  # °C
INTERVALS = ((24.0, 7.0), (10.0, 21.0), (MOTH_STOPS, 42.0))  # from this temperature up, days
UNKNOWN_INTERVAL = 21.0  # days, common practice


def _check(temperature: float) -> None:
    if not -60 <= temperature <= 60:
        raise Fault(f"a store at {temperature:g} °C is outside -60 to 60 °C", '"18 °C"')


def egg_hatch_time(temperature: float) -> Estimate:
    """Seconds until the first wax moth eggs can hatch at a constant `temperature` [°C]; the plan uses the early end. Refused at 10 °C and below."""
    _check(temperature)
    if temperature <= MOTH_BASE:
        return Estimate.refused(
            "duration",
            f"wax moth eggs are not taken to hatch at {temperature:g} °C: the guard counts above {MOTH_BASE:g} °C (assumed)",
            sources=(citations.EGGS,),
        )
    value = MOTH_SUM / (temperature - MOTH_BASE) * DAY
    low = min(value, 3.0 * DAY) if temperature >= 29 else value
    basis = (f"{MOTH_SUM:g} °C d above {MOTH_BASE:g} °C (assumed: 5 days at 27 °C) at {temperature:g} °C",)
    return Estimate(value, low, MOTH_SLOWEST / (temperature - MOTH_BASE) * DAY, "duration", basis, (citations.EGGS, citations.EGGS_WARM), safe_end="low")


def beetle_hatch_time(temperature: float) -> Estimate:
    """Seconds until the first small hive beetle eggs hatch at a constant `temperature` [°C], published for 21 to 35 °C; refused at 13.5 °C and below."""
    _check(temperature)
    if temperature <= BEETLE_BASE:
        return Estimate.refused(
            "duration", f"small hive beetle eggs do not develop at {temperature:g} °C (least {BEETLE_BASE:g} °C)", sources=(citations.BEETLE,)
        )
    value = BEETLE_SUM / (temperature - BEETLE_BASE) * DAY
    notes = () if 21 <= temperature <= 35 else ("extrapolated: published for 21 to 35 °C",)
    basis = (f"{BEETLE_SUM:g} °C d above {BEETLE_BASE:g} °C (derived from two published times) at {temperature:g} °C", *notes)
    return Estimate(value, 0.9 * value, value * BEETLE_HIGH / BEETLE_SUM, "duration", basis, (citations.BEETLE,), safe_end="low")


def inspection_interval(temperature: float | None) -> Estimate:
    """Seconds until stored comb is looked at again, in a store at a constant `temperature` [°C] (None: unknown).

    The shorter of the degree-day guard and the interval table; refused, as "no look due", below 5 °C.
    """
    if temperature is None:
        seconds = UNKNOWN_INTERVAL * DAY
        return Estimate(
            seconds, seconds, 2 * seconds, "duration", ("temperature of the store unknown: every three weeks",), (citations.RECHECK,), safe_end="low"
        )
    _check(temperature)
    table = next((days for floor, days in INTERVALS if temperature >= floor), None)
    if table is None:
        return Estimate.refused(
            "duration", f"at {temperature:g} °C moth activity stops: look at the start and at the end of the cold", sources=(citations.MOTH_STOPS,)
        )
    guard = MOTH_SUM / (temperature - MOTH_BASE) if temperature > MOTH_BASE else math.inf
    value = min(table, guard) * DAY
    basis = (
        f"store at {temperature:g} °C: {table:g} days by the table",
        f"guard of {MOTH_SUM:g} °C d above {MOTH_BASE:g} °C: {guard:.1f} days" if guard < math.inf else f"no development counted at or below {MOTH_BASE:g} °C",
    )
    return Estimate(value, value, max(table * DAY, value), "duration", basis, (citations.EGGS, citations.INTERVALS), safe_end="low")


def first_passing(daily_means: Sequence[float], threshold: float, total: float) -> int | None:
    """Number of whole days (from 1) after which the sum above `threshold` [°C] first reaches `total` [°C·d]; None where the series ends before."""
    gathered = 0.0
    for number, mean in enumerate(daily_means, 1):
        gathered += max(0.0, mean - threshold)
        if gathered >= total:
            return number
    return None


def inspection_from_series(daily_means: Sequence[float]) -> Estimate:
    """Seconds after the last look until the next, from daily mean temperatures [°C] of the store since then: the guard's sum, or 42 days if sooner."""
    for mean in daily_means:
        _check(mean)
    due = first_passing(daily_means, MOTH_BASE, MOTH_SUM)
    gathered = sum(max(0.0, mean - MOTH_BASE) for mean in daily_means)
    days = min(float(due) if due is not None else math.inf, INTERVALS[-1][1])
    basis: tuple[str, ...] = (f"{gathered:.1f} of {MOTH_SUM:g} °C d above {MOTH_BASE:g} °C gathered in {len(daily_means)} days",)
    basis += (f"reached on day {due}",) if due is not None else ("not reached in the series: 42 days at most",)
    return Estimate(days * DAY, days * DAY, max(days, INTERVALS[-1][1]) * DAY, "duration", basis, (citations.EGGS, citations.INTERVALS), safe_end="low")
