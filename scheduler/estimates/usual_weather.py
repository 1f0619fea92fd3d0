"""What the weather of a place usually is: from its own years, or, where there are none, from its latitude alone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import fmean, median
from typing import TYPE_CHECKING

from scheduler.estimates import citations
from scheduler.quantities import Statement, say, warmer

if TYPE_CHECKING:
    from scheduler.estimates.tables import Table

YEARS = 10  # the newest years that count
MOST_OF_A_MONTH = 25  # days with readings that make a month count (assumed)
WHOLE_YEAR = 330  # days with readings that make a year (assumed)

# Latitude, north positive, to the mean temperature [°C] of January and of July, of land and sea all round the earth (citations.ZONAL_MEANS).
_ROUND_THE_EARTH = (
    (-60.0, 2.1, -9.1),
    (-50.0, 8.1, 3.4),
    (-40.0, 15.6, 9.0),
    (-30.0, 21.9, 14.7),
    (-20.0, 25.4, 20.0),
    (-10.0, 26.3, 23.9),
    (0.0, 26.4, 25.6),
    (10.0, 25.8, 26.9),
    (20.0, 21.8, 28.0),
    (30.0, 14.5, 27.3),
    (40.0, 5.0, 24.0),
    (50.0, -7.1, 18.1),
    (60.0, -16.1, 14.1),
    (70.0, -26.3, 7.3),
)
DOUBT = 10.0  # K by which a coast or a plain inland may lie off it in its coldest month (assumed)
DAY_OR_NIGHT = 5.0  # K of a day's highest and lowest from its mean (assumed)
HIGHER_UP = 0.0065  # K less for each metre of height, of the standard atmosphere (ISO 2533)


@dataclass(frozen=True, slots=True)
class UsualMonth:
    """Usual highest and lowest temperature of a day in a month [°C], and from how many years; none is by latitude."""

    day: float
    night: float
    years: int


def by_latitude(latitude: float) -> list[UsualMonth]:
    """The twelve months at a latitude [°, north positive], by the mean of land and sea all round the earth at sea level: good to `DOUBT` at best.

    The year is a cosine with its turning points in the middle of January and July; beyond the table its last row stands.
    """
    latitude = min(max(latitude, _ROUND_THE_EARTH[0][0]), _ROUND_THE_EARTH[-1][0])
    below, above = next(pair for pair in pairwise(_ROUND_THE_EARTH) if pair[0][0] <= latitude <= pair[1][0])
    share = (latitude - below[0]) / (above[0] - below[0])
    january, july = (low + share * (high - low) for low, high in zip(below[1:], above[1:], strict=True))
    means = ((january + july) / 2 + (january - july) / 2 * math.cos(math.pi * number / 6) for number in range(12))
    return [UsualMonth(mean + DAY_OR_NIGHT, mean - DAY_OR_NIGHT, 0) for mean in means]


def basis_by_latitude(latitude: float) -> Statement:
    """What the months at a latitude rest on, and how far they may be off."""
    return say("by latitude alone", degrees=f"{latitude:.0f}", doubt=warmer(DOUBT), colder=warmer(HIGHER_UP * 100), source=citations.ZONAL_MEANS)


def of_own_years(table: Table) -> dict[int, UsualMonth]:
    """The months (1 to 12) that a daily table of (lowest, highest) [°C] knows, by the means of its newest years."""
    days: dict[tuple[int, int], list[tuple[float, float]]] = {}
    for row in table.rows:
        low, high = row.cells
        if low is not None and high is not None:
            days.setdefault((row.day.year, row.day.month), []).append((low, high))
    found = {}
    for month in range(1, 13):
        years = sorted(year for year, number in days if number == month and len(days[year, month]) >= MOST_OF_A_MONTH)[-YEARS:]
        if years:
            lows, highs = (fmean(fmean(day[column] for day in days[year, month]) for year in years) for column in (0, 1))
            found[month] = UsualMonth(highs, lows, len(years))
    return found


def usual_day(seen: Sequence[date]) -> date:
    """The day of the year in the middle of those on which a mark was seen, in the newest years; in the year 2001, which has no leap day."""
    newest = [_in_year(day, day.year) for day in sorted(seen)[-YEARS:]]
    first = newest[0]

    def off(day: date) -> int:
        return min(((day - anniversary).days for anniversary in (_in_year(first, day.year + step) for step in (-1, 0, 1))), key=abs)

    return _in_year(_in_year(first, 2001) + timedelta(round(median(off(day) for day in newest))), 2001)


def _in_year(day: date, year: int) -> date:
    """The same day of another year; a leap day counts as the day before."""
    return day.replace(year=year) if (day.month, day.day) != (2, 29) else date(year, 2, 28)


def whole_years(table: Table) -> bool:
    """Whether the last year of a table has readings for most of its days."""
    last = table.rows[-1].day
    return sum(1 for row in table.rows if (last - row.day).days < 365 and None not in row.cells) >= WHOLE_YEAR
