"""Clocks of comb pests: when eggs of wax moth and small hive beetle can hatch, and when to look at stored comb again."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from scheduler.diagnostics import Fault
from scheduler.estimates import citations
from scheduler.local_time import DAY
from scheduler.quantities import Estimate, Quantity, celsius, elapsed, percent, say

HATCHING_PUBLISHED = (21.0, 35.0)  # °C between which hatching of small hive beetle was watched
TOLD_AT = 27.0  # °C at which the sum of wax moth is told in days


class Eggs(NamedTuple):
    """When eggs hatch, in degree days [°C d] above a temperature [°C]: numbers of the trade, from the rule files."""

    moth_base: float
    moth_sum: float  # the first hatch
    moth_slowest: float  # the last have hatched
    hot: float  # °C from which moth eggs may hatch within `hot_within` [s]
    hot_within: float
    beetle_base: float
    beetle_sum: float
    beetle_slowest: float
    beetle_early: float  # share of the time by which the first may hatch sooner
    beetle_dry: float  # relative humidity under which beetle eggs do not hatch

    @property
    def moth(self) -> dict[str, Quantity]:
        """The sum of wax moth, for a statement."""
        return {"total": Quantity(self.moth_sum, "degree days"), "base": celsius(self.moth_base)}


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


def egg_hatch_time(temperature: float, by: Eggs) -> Estimate:
    """Seconds until the first wax moth eggs can hatch at a constant `temperature` [°C]; the plan uses the early end. Refused at its base and below."""
    _check(temperature)
    if temperature <= by.moth_base:
        return Estimate.refused(
            "duration",
            say("eggs not taken to hatch", temperature=celsius(temperature), base=celsius(by.moth_base)),
            sources=(citations.EGGS,),
        )
    value = by.moth_sum / (temperature - by.moth_base) * DAY
    low = min(value, by.hot_within) if temperature >= by.hot else value
    days = by.moth_sum / max(TOLD_AT - by.moth_base, 1.0)
    basis = (say("eggs by degree days", **by.moth, days=days, quickest=celsius(TOLD_AT), temperature=celsius(temperature)),)
    return Estimate(value, low, by.moth_slowest / (temperature - by.moth_base) * DAY, "duration", basis, (citations.EGGS, citations.EGGS_WARM), safe_end="low")


def beetle_hatch_time(temperature: float, by: Eggs) -> Estimate:
    """Seconds until the first small hive beetle eggs hatch at a constant `temperature` [°C], published for 21 to 35 °C; refused at its base and below."""
    _check(temperature)
    if temperature <= by.beetle_base:
        return Estimate.refused(
            "duration", say("beetle does not develop", temperature=celsius(temperature), base=celsius(by.beetle_base)), sources=(citations.BEETLE,)
        )
    value = by.beetle_sum / (temperature - by.beetle_base) * DAY
    first, last = HATCHING_PUBLISHED
    notes = () if first <= temperature <= last else (say("beyond published hatching", low=celsius(first), high=celsius(last)),)
    total, base = Quantity(by.beetle_sum, "degree days"), celsius(by.beetle_base)
    basis = (say("beetle by degree days", total=total, base=base, temperature=celsius(temperature)), *notes)
    return Estimate(value, (1 - by.beetle_early) * value, value * by.beetle_slowest / by.beetle_sum, "duration", basis, (citations.BEETLE,), safe_end="low")


def beetle_time_left(temperature: float, humidity: float, without_bees: float, by: Eggs) -> Estimate:
    """Seconds from the pull until the first small hive beetle eggs hatch, the bees having left the boxes `without_bees` seconds before it.

    At a constant `temperature` [°C]; refused where it is too cold, or the air too dry (`humidity`, a share), for eggs to hatch.
    """
    if humidity < by.beetle_dry:
        return Estimate.refused(
            "duration", say("too dry for beetle", humidity=percent(humidity), limit=percent(by.beetle_dry)), sources=(citations.BEETLE_DRY,)
        )
    found = beetle_hatch_time(temperature, by)
    if found.refusal:
        return found
    value, low, high = (max(0.0, one - without_bees) for one in (found.value, found.low, found.high))
    basis = (*found.basis, *((say("bees left before the pull", before=elapsed(without_bees)),) if without_bees else ()))
    return found._replace(value=value, low=low, high=high, basis=basis)


def inspection_interval(temperature: float | None, looks: Looks, by: Eggs) -> Estimate:
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
    guard = by.moth_sum / (temperature - by.moth_base) if temperature > by.moth_base else math.inf
    value = min(table, guard) * DAY
    basis = (
        say("interval by the table", temperature=celsius(temperature), days=table),
        say("interval by the guard", **by.moth, days=guard) if guard < math.inf else say("no development", base=celsius(by.moth_base)),
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


def inspection_from_series(daily_means: Sequence[float], looks: Looks, by: Eggs) -> Estimate:
    """Seconds after the last look until the next, from daily mean temperatures [°C] of the store since then: the guard's sum, or the longest interval."""
    for mean in daily_means:
        _check(mean)
    due = first_passing(daily_means, by.moth_base, by.moth_sum)
    gathered = sum(max(0.0, mean - by.moth_base) for mean in daily_means)
    longest = looks.longest / DAY
    days = min(float(due) if due is not None else math.inf, longest)
    basis = (
        say("gathered", **by.moth, gathered=Quantity(gathered, "degree days"), days=len(daily_means)),
        say("reached on a day", day=due) if due is not None else say("not reached", days=longest),
    )
    return Estimate(days * DAY, days * DAY, max(days, longest) * DAY, "duration", basis, (citations.EGGS, citations.INTERVALS), safe_end="low")
