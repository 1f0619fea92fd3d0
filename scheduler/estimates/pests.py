"""Clocks of comb pests: when eggs of wax moth and small hive beetle can hatch, and when to look at stored comb again."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from scheduler.diagnostics import Fault
from scheduler.estimates import citations
from scheduler.local_time import DAY
from scheduler.quantities import Estimate, Quantity, celsius, elapsed, percent, say

MOTH_BASE, MOTH_SUM = 10.0, 85.0  # °C, °C·d: 5 d at 27 °C, the quickest published pair; assumed as a guard (no degree-day study was found)
MOTH_SLOWEST = 240.0  # °C·d: 30 d at 18 °C
BEETLE_BASE, BEETLE_SUM, BEETLE_HIGH = 13.5, 19.1, 19.7  # °C published; °C·d derived from 61 h at 21 °C and 22 h at 35 °C
BEETLE_DRY = 0.5  # share of humidity under which beetle eggs do not hatch, published
_MOTH = {"total": Quantity(MOTH_SUM, "degree days"), "base": celsius(MOTH_BASE)}


class Looks(NamedTuple):
    """How often stored comb is looked through [s], by the temperature of its store [°C]: numbers of the trade, from the rule files."""

    table: tuple[tuple[float, float], ...]  # from this temperature up, the warmest first; below the last moth is at rest
    unknown: float  # where nobody knows how warm it is

    @property
    def longest(self) -> float:
        """Between two looks, in the coldest store in which moth is not at rest."""
        return self.table[-1][1]


def _check(temperature: float) -> None:
    if not -60 <= temperature <= 60:
        raise Fault(f"a store at {temperature:g} °C is outside -60 to 60 °C", '"18 °C"')


def egg_hatch_time(temperature: float) -> Estimate:
    """Seconds until the first wax moth eggs can hatch at a constant `temperature` [°C]; the plan uses the early end. Refused at 10 °C and below."""
    _check(temperature)
    if temperature <= MOTH_BASE:
        return Estimate.refused(
            "duration",
            say("eggs not taken to hatch", temperature=celsius(temperature), base=celsius(MOTH_BASE)),
            sources=(citations.EGGS,),
        )
    value = MOTH_SUM / (temperature - MOTH_BASE) * DAY
    low = min(value, 3.0 * DAY) if temperature >= 29 else value
    basis = (say("eggs by degree days", **_MOTH, quickest=celsius(27.0), temperature=celsius(temperature)),)
    return Estimate(value, low, MOTH_SLOWEST / (temperature - MOTH_BASE) * DAY, "duration", basis, (citations.EGGS, citations.EGGS_WARM), safe_end="low")


def beetle_hatch_time(temperature: float) -> Estimate:
    """Seconds until the first small hive beetle eggs hatch at a constant `temperature` [°C], published for 21 to 35 °C; refused at 13.5 °C and below."""
    _check(temperature)
    if temperature <= BEETLE_BASE:
        return Estimate.refused(
            "duration", say("beetle does not develop", temperature=celsius(temperature), base=celsius(BEETLE_BASE)), sources=(citations.BEETLE,)
        )
    value = BEETLE_SUM / (temperature - BEETLE_BASE) * DAY
    notes = () if 21 <= temperature <= 35 else (say("beyond published hatching", low=celsius(21.0), high=celsius(35.0)),)
    total, base = Quantity(BEETLE_SUM, "degree days"), celsius(BEETLE_BASE)
    basis = (say("beetle by degree days", total=total, base=base, temperature=celsius(temperature)), *notes)
    return Estimate(value, 0.9 * value, value * BEETLE_HIGH / BEETLE_SUM, "duration", basis, (citations.BEETLE,), safe_end="low")


def beetle_time_left(temperature: float, humidity: float, without_bees: float) -> Estimate:
    """Seconds from the pull until the first small hive beetle eggs hatch, the bees having left the boxes `without_bees` seconds before it.

    At a constant `temperature` [°C]; refused where it is too cold, or the air drier than half saturated (`humidity`, a share), for eggs to hatch.
    """
    if humidity < BEETLE_DRY:
        return Estimate.refused("duration", say("too dry for beetle", humidity=percent(humidity), limit=percent(BEETLE_DRY)), sources=(citations.BEETLE_DRY,))
    found = beetle_hatch_time(temperature)
    if found.refusal:
        return found
    value, low, high = (max(0.0, one - without_bees) for one in (found.value, found.low, found.high))
    basis = (*found.basis, *((say("bees left before the pull", before=elapsed(without_bees)),) if without_bees else ()))
    return found._replace(value=value, low=low, high=high, basis=basis)


def inspection_interval(temperature: float | None, looks: Looks) -> Estimate:
    """Seconds until stored comb is looked at again, in a store at a constant `temperature` [°C] (None: unknown).

    The shorter of the degree-day guard and the table of intervals; refused, as "no look due", in a store too cold for its last row.
    """
    if temperature is None:
        seconds = looks.unknown
        return Estimate(seconds, seconds, 2 * seconds, "duration", (say("store not measured"),), (citations.RECHECK,), safe_end="low")
    _check(temperature)
    table = next((seconds / DAY for floor, seconds in looks.table if temperature >= floor), None)
    if table is None:
        return Estimate.refused("duration", say("moth at rest", temperature=celsius(temperature)), sources=(citations.MOTH_STOPS,))
    guard = MOTH_SUM / (temperature - MOTH_BASE) if temperature > MOTH_BASE else math.inf
    value = min(table, guard) * DAY
    basis = (
        say("interval by the table", temperature=celsius(temperature), days=table),
        say("interval by the guard", **_MOTH, days=guard) if guard < math.inf else say("no development", base=celsius(MOTH_BASE)),
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


def inspection_from_series(daily_means: Sequence[float], looks: Looks) -> Estimate:
    """Seconds after the last look until the next, from daily mean temperatures [°C] of the store since then: the guard's sum, or the longest interval."""
    for mean in daily_means:
        _check(mean)
    due = first_passing(daily_means, MOTH_BASE, MOTH_SUM)
    gathered = sum(max(0.0, mean - MOTH_BASE) for mean in daily_means)
    longest = looks.longest / DAY
    days = min(float(due) if due is not None else math.inf, longest)
    basis = (
        say("gathered", **_MOTH, gathered=Quantity(gathered, "degree days"), days=len(daily_means)),
        say("reached on a day", day=due) if due is not None else say("not reached", days=longest),
    )
    return Estimate(days * DAY, days * DAY, max(days, longest) * DAY, "duration", basis, (citations.EGGS, citations.INTERVALS), safe_end="low")
