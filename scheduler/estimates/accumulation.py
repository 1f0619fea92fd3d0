"""The day a sum of degree days is reached: by a daily table as far as it goes, by normals where it does not, and how sure that is.

Accuracy, by four springs of open data (Seattle, 2012 to 2015; the normals of each from the other three): the range held the day that was measured in
five of six forecasts; it is a fortnight or more either way on 1 March and a week on 1 May. See tests/estimates/test_accumulation.py.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from scheduler.estimates.marks import Mark
from scheduler.estimates.phenology import LONGEST_FILL, degree_day
from scheduler.estimates.series import Table
from scheduler.quantities import show

SPREAD = 2.0  # K by which the weeks to come may be colder or warmer than their normals; assumed
CLOSE = 3  # d; days that are not in the table and move the date no further than this leave it firm; assumed, like the marks of a scale

Extremes = tuple[float, float]  # lowest and highest temperature of a day [°C]
Normal = Callable[[date], Extremes | None]


@dataclass(frozen=True, slots=True)
class Counting:
    """How degree days are counted: method and thresholds [°C] as in `phenology.degree_day`, and the day of the year they begin (month, day)."""

    method: str
    base: float
    upper: float | None
    start: tuple[int, int]

    def of(self, extremes: Extremes, warmer: float = 0.0) -> float:
        """The degree days of one day [°C·d], `warmer` K warmer than told."""
        return degree_day(extremes[0] + warmer, extremes[1] + warmer, self.base, self.upper, self.method)

    def began(self, day: date) -> date:
        """The day on which the sum that runs on a day had begun."""
        this = date(day.year, *self.start)
        return this if this <= day else date(day.year - 1, *self.start)

    def words(self, units: str) -> str:
        """The method in words, with its thresholds in a keeper's units."""
        top = f" to {show(self.upper, 'temperature', units)}" if self.upper is not None else ""
        return f"{self.method} method, base {show(self.base, 'temperature', units)}{top}, from {self.start[1]} {date(2001, *self.start):%B}"


@dataclass(frozen=True, slots=True)
class Reached:
    """The day a sum is reached, the earliest and the latest it may be (None: never), and whether it is measured."""

    day: date
    earliest: date
    latest: date | None
    measured: bool


@dataclass(frozen=True, slots=True)
class Running:
    """The sum at the end of a day [°C·d], with the days that are not in the table colder and warmer than their normals."""

    day: date
    total: float
    cold: float
    warm: float
    measured: bool


def running(counting: Counting, first: date, measured: Mapping[date, Extremes], normal: Normal) -> Iterator[Running]:
    """The sum from its first day on, for a year, or until neither the table nor the normals know a day."""
    total = cold = warm = 0.0
    for step in range((date(first.year + 1, first.month, first.day) - first).days):
        day = first + timedelta(step)
        known = measured.get(day)
        extremes = known or normal(day)
        if extremes is None:
            return
        spread = 0.0 if known else SPREAD
        total, cold, warm = total + counting.of(extremes), cold + counting.of(extremes, -spread), warm + counting.of(extremes, spread)
        yield Running(day, total, cold, warm, known is not None)


def reached(sums: Sequence[Running], threshold: float) -> Reached | None:
    """The first day a running sum is at a threshold [°C·d]; None where it never is."""
    found = next((one for one in sums if one.total >= threshold), None)
    if found is None:
        return None
    earliest = next(one.day for one in sums if one.warm >= threshold)
    latest = next((one.day for one in sums if one.cold >= threshold), None)
    close = latest is not None and max(found.day - earliest, latest - found.day) <= timedelta(CLOSE)
    return Reached(found.day, earliest, latest, found.measured and close)


def measured_days(table: Table, until: date) -> dict[date, Extremes]:
    """The days of a table up to a day, gaps of a week at most filled on the straight line between their neighbours."""
    full = [(row.day, low, high) for row in table.rows if row.day <= until for low, high in [row.cells] if low is not None and high is not None]
    days = {day: (low, high) for day, low, high in full}
    for (before, low, high), (after, next_low, next_high) in pairwise(full):
        gap = (after - before).days
        for step in range(1, gap if gap <= LONGEST_FILL + 1 else 1):
            share = step / gap
            days[before + timedelta(step)] = (low + (next_low - low) * share, high + (next_high - high) * share)
    return days


def of_degree_days(
    measured: Mapping[date, Extremes], counting: Counting, thresholds: Mapping[str, float], normal: Normal, today: date, units: str = "metric"
) -> tuple[list[Mark], list[Mark]]:
    """Marks by their sums [°C·d]: those that were reached, of every year of the table; and those of the running year that are expected."""
    firm: list[Mark] = []
    expected: list[Mark] = []
    for first in sorted({counting.began(day) for day in measured}):
        sums = list(running(counting, first, measured, normal))
        so_far = [one for one in sums if one.measured]
        for name, threshold in thresholds.items():
            found = reached(sums, threshold)
            told = show(threshold, "degree days", units)
            if found and found.measured:
                firm.append(Mark(name, found.day, f"by degree days: {told} in the weather table, {counting.words(units)}"))
            elif found and so_far and first == counting.began(today):
                sum_so_far = show(so_far[-1].total, "degree days", units)
                words = f"expected by degree days, {_range(found)}: {sum_so_far} of {told} by {so_far[-1].day}, beyond the table by the normals"
                expected.append(Mark(name, found.day, f"{words} of the yard file and {SPREAD:g} K either way (assumed); {counting.words(units)}"))
    return firm, expected


def usual(counting: Counting, threshold: float, normal: Normal) -> Reached | None:
    """The day a sum [°C·d] is reached in a year like the normals; None where it is not. The year of the dates means nothing."""
    return reached(list(running(counting, date(2001, *counting.start), {}, normal)), threshold)


def _range(found: Reached) -> str:
    return f"{found.earliest} to {found.latest}" if found.latest else f"{found.earliest} at the earliest"
