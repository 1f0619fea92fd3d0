"""Degree days: three methods, two thresholds, sums over a daily table, and the day a sum is reached: by the table as far as it goes, by normals beyond it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING, Literal, NamedTuple

from scheduler.diagnostics import Fault
from scheduler.estimates import citations
from scheduler.estimates.season_marks import Mark
from scheduler.quantities import Estimate, Quantity, Statement, celsius, say, warmer

if TYPE_CHECKING:
    from scheduler.estimates.tables import DatedRow, Table  # which most plans have none of

Method = Literal["sine", "simple", "substitution"]
METHODS: dict[str, str] = {"sine": citations.SINE, "simple": citations.SIMPLE, "substitution": citations.SUBSTITUTION}
LONGEST_GAP = 366  # days; beyond it a straight line means nothing
LONGEST_FILL = 7  # days of a gap filled on the straight line between its neighbours without doubt; longer ones widen the range


def _above(low: float, high: float, threshold: float) -> float:
    """Degree days above a threshold under one sine a day."""
    mean, swing = (high + low) / 2, (high - low) / 2
    if high <= threshold:
        return 0.0
    if low >= threshold:
        return mean - threshold
    angle = math.asin((threshold - mean) / swing)
    return ((mean - threshold) * (math.pi / 2 - angle) + swing * math.cos(angle)) / math.pi


def degree_day(low: float, high: float, base: float, upper: float | None = None, method: str = "sine") -> float:
    """Degree days [°C·d] of one day from its lowest and highest temperature [°C], thresholds [°C], horizontal cutoff at `upper`.

    "sine": single sine. "simple": the average less the base. "substitution": lowest and highest set to the thresholds first.
    Raises `Fault` for a lowest above the highest, an upper not above the base, or an unknown method.
    """
    if method not in METHODS:
        raise Fault(f'"{method}" is not a method known here', f"one of: {', '.join(METHODS)}")
    if not low <= high:
        raise Fault(f"the lowest, {low:g} °C, is above the highest, {high:g} °C", "the lower of the two as the lowest")
    if upper is not None and upper <= base:
        raise Fault(f"the upper threshold, {upper:g} °C, is not above the base, {base:g} °C")
    if method == "sine":
        return max(0.0, _above(low, high, base) - (_above(low, high, upper) if upper is not None else 0.0))
    if method == "substitution":
        low, high = max(low, base), max(high, base)
        if upper is not None:
            low, high = min(low, upper), min(high, upper)
    mean = (low + high) / 2
    return max(0.0, (min(mean, upper) if upper is not None else mean) - base)


class DegreeDay(NamedTuple):
    """One day: its degree days, the sum since the start of its year, and whether its temperatures were filled in."""

    day: date
    amount: float
    total: float
    filled: bool


def _filled(table: Table) -> list[tuple[date, float, float, int]]:
    """Every day from first to last: (day, lowest, highest, length of the gap it was filled from, 0 where measured)."""
    full = [row for row in table.rows if None not in row.cells]
    if len(full) < 1:
        raise Fault("no day of the table has both a lowest and a highest temperature")
    days = [(full[0].day, *_cells(full[0]), 0)]
    for before, after in pairwise(full):
        gap = (after.day - before.day).days
        if gap > LONGEST_GAP:
            raise Fault(f"no readings from {before.day} to {after.day}, longer than {LONGEST_GAP} days", "two tables, one on each side of the gap")
        (low, high), (next_low, next_high) = _cells(before), _cells(after)
        for step in range(1, gap):
            share = step / gap
            days.append((before.day + timedelta(step), low + (next_low - low) * share, high + (next_high - high) * share, gap - 1))
        days.append((after.day, next_low, next_high, 0))
    return days


def _cells(row: DatedRow) -> tuple[float, float]:
    low, high = row.cells
    return float(low or 0.0), float(high or 0.0)


def daily_means(table: Table) -> list[float]:
    """Mean of lowest and highest [°C] of every day from the first to the last, gaps filled on the straight line."""
    return [(low + high) / 2 for _, low, high, _ in _filled(table)]


def accumulate(
    table: Table, base: float, upper: float | None = None, method: str = "sine", start: tuple[int, int] = (1, 1)
) -> tuple[list[DegreeDay], Estimate]:
    """Every day of a table with its degree days, sums starting anew on `start` (month, day) of each year; and the sum over the whole table.

    Gaps are filled on the straight line and told. Days filled from gaps longer than 7 days widen the range: at the low end they count nothing,
    at the high end twice.
    """
    rows: list[DegreeDay] = []
    total = overall = doubtful = 0.0
    filled = 0
    for day, low, high, gap in _filled(table):
        if (day.month, day.day) == start:
            total = 0.0
        amount = degree_day(low, high, base, upper, method)
        total, overall, filled = total + amount, overall + amount, filled + (gap > 0)
        doubtful += amount if gap > LONGEST_FILL else 0.0
        rows.append(DegreeDay(day, amount, total, gap > 0))
    basis = [say("counted in a table", counting=_counting(method, base, upper), days=len(rows), first=rows[0].day, last=rows[-1].day), *table.notes]
    basis += [say("days filled", days=filled)] if filled else []
    return rows, Estimate(overall, overall - doubtful, overall + doubtful, "degree days", tuple(basis), (METHODS[method],), safe_end="value")


def one_day(low: float, high: float, base: float, upper: float | None = None, method: str = "sine") -> Estimate:
    """The degree days of one day as an estimate."""
    value = degree_day(low, high, base, upper, method)
    basis = say("counted on a day", counting=_counting(method, base, upper), low=celsius(low), high=celsius(high))
    return Estimate(value, value, value, "degree days", (basis,), (METHODS[method],), safe_end="value")


def _counting(method: str, base: float, upper: float | None) -> Statement:
    if upper is None:
        return say("method", method=method, base=celsius(base))
    return say("method with a top", method=method, base=celsius(base), upper=celsius(upper))


def season_sums(rows: list[DegreeDay], start: tuple[int, int] = (1, 1)) -> tuple[dict[int, float], dict[int, float]]:
    """The sums [°C·d] of years that begin on `start`, by the year of their beginning: those the table has whole, and those it has in part."""
    whole: dict[int, float] = {}
    part: dict[int, float] = {}
    for (begins, ends), days in _seasons(rows, start):
        is_whole = days[0].day == begins and days[-1].day == ends - timedelta(1)
        (whole if is_whole else part)[begins.year] = days[-1].total
    return whole, part


def _seasons(rows: list[DegreeDay], start: tuple[int, int]) -> Iterator[tuple[tuple[date, date], list[DegreeDay]]]:
    """The rows of each year that begins on `start`, with its first day and the first of the next."""
    found: dict[date, list[DegreeDay]] = {}
    for row in rows:
        this = date(row.day.year, *start)
        found.setdefault(this if this <= row.day else date(row.day.year - 1, *start), []).append(row)
    yield from (((begins, date(begins.year + 1, *start)), days) for begins, days in found.items())


def dates_reached(rows: list[DegreeDay], total: float, start: tuple[int, int] = (1, 1)) -> dict[int, date]:
    """For each year that begins on `start`, the first day its running sum reaches `total` [°C·d].

    A year that never does is left out, and so is one whose beginning the table lacks: its sum is not known.
    """
    reached: dict[int, date] = {}
    for (begins, _), days in _seasons(rows, start):
        if days[0].day == begins and (day := next((row.day for row in days if row.total >= total), None)):
            reached[begins.year] = day
    return reached


def normal_day(reached: dict[int, date], start: tuple[int, int] = (1, 1)) -> tuple[int, int, int]:
    """Middle, earliest and latest day of the year (1 January is 1) over the years given, in the order of a year that begins on `start`.

    Raises `Fault` where there is none.
    """
    if not reached:
        raise Fault("the sum is not reached in any year of the table", "a table that has the beginning of a year, or --from with the month it begins in")
    first = date(2025, *start).timetuple().tm_yday
    days = sorted((day.timetuple().tm_yday - first) % 366 for day in reached.values())
    middle, earliest, latest = ((one + first - 1) % 366 + 1 for one in (round(median(days)), days[0], days[-1]))
    return middle, earliest, latest


SPREAD = 2.0  # K by which the weeks to come may be colder or warmer than their normals; assumed
CLOSE = 3  # d; days that are not in the table and move the date no further than this leave it firm; assumed, like the marks of a scale

Extremes = tuple[float, float]  # lowest and highest temperature of a day [°C]
Normal = Callable[[date], Extremes | None]


class Counting(NamedTuple):
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

    @property
    def says(self) -> Statement:
        """The method with its thresholds."""
        return say("method from a day", counting=_counting(self.method, self.base, self.upper), begins=date(2001, *self.start))


class SumReached(NamedTuple):
    """The day a sum is reached, the earliest and the latest it may be (None: never), and whether it is measured."""

    day: date
    earliest: date
    latest: date | None
    measured: bool


class Running(NamedTuple):
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


def reached(sums: Sequence[Running], threshold: float) -> SumReached | None:
    """The first day a running sum is at a threshold [°C·d]; None where it never is."""
    found = next((one for one in sums if one.total >= threshold), None)
    if found is None:
        return None
    earliest = next(one.day for one in sums if one.warm >= threshold)
    latest = next((one.day for one in sums if one.cold >= threshold), None)
    close = latest is not None and max(found.day - earliest, latest - found.day) <= timedelta(CLOSE)
    return SumReached(found.day, earliest, latest, found.measured and close)


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
    measured: Mapping[date, Extremes], counting: Counting, thresholds: Mapping[str, float], normal: Normal, today: date
) -> tuple[list[Mark], list[Mark]]:
    """Marks by their sums [°C·d]: those that were reached, of every year of the table; and those of the running year that are expected."""
    firm: list[Mark] = []
    expected: list[Mark] = []
    for first in sorted({counting.began(day) for day in measured}):
        sums = list(running(counting, first, measured, normal))
        so_far = [one for one in sums if one.measured]
        for name, threshold in thresholds.items():
            found = reached(sums, threshold)
            total = Quantity(threshold, "degree days")
            if found and found.measured:
                firm.append(Mark(name, found.day, say("reached by degree days", total=total, counting=counting.says)))
            elif found and so_far and first == counting.began(today):
                says = say(
                    "expected by degree days",
                    range=_range(found),
                    so_far=Quantity(so_far[-1].total, "degree days"),
                    total=total,
                    day=so_far[-1].day,
                    spread=warmer(SPREAD),
                    counting=counting.says,
                )
                expected.append(Mark(name, found.day, says))
    return firm, expected


def usual(counting: Counting, threshold: float, normal: Normal) -> SumReached | None:
    """The day a sum [°C·d] is reached in a year like the normals; None where it is not. The year of the dates means nothing."""
    return reached(list(running(counting, date(2001, *counting.start), {}, normal)), threshold)


def _range(found: SumReached) -> Statement:
    if found.latest:
        return say("between two days", earliest=found.earliest, latest=found.latest)
    return say("no sooner", earliest=found.earliest)
