"""What the weather usually is, by own years and by latitude. Tables are invented; the printed values are named."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.estimates.tables import DatedRow, Table
from scheduler.estimates.usual_weather import DAY_OR_NIGHT, UsualMonth, by_latitude, of_own_years, usual_day, whole_years


def table(first: date, last: date, *, missing: int = 0) -> Table:
    """Days that are as warm as their month is late: the lowest is the month's number, the highest ten more; every n-th day is missing."""
    days = [first + timedelta(number) for number in range((last - first).days + 1)]
    rows = [DatedRow(day, (None, None) if missing and not number % missing else (float(day.month), day.month + 10.0)) for number, day in enumerate(days)]
    return Table(tuple(rows), (), "C")


@pytest.mark.parametrize(("latitude", "january", "july"), [(50.0, -7.1, 18.1), (45.0, -1.05, 21.05), (-30.0, 21.9, 14.7)])
def test_months_by_latitude_turn_round_at_the_printed_means(latitude: float, january: float, july: float) -> None:
    """The mean of the parallel of 50° N and 30° S in January and July, as climatology textbooks print it (from memory); between two rows the line."""
    months = by_latitude(latitude)
    means = [(month.day + month.night) / 2 for month in months]
    assert (means[0], means[6]) == (pytest.approx(january), pytest.approx(july))
    assert all(month.day - month.night == pytest.approx(2 * DAY_OR_NIGHT) for month in months)


@given(st.floats(-90, 90))
def test_every_latitude_has_twelve_months(latitude: float) -> None:
    """The poles too, where nobody keeps bees; warmest in July in the north and in January in the south, but at the equator."""
    means = [month.day for month in by_latitude(latitude)]
    assert len(means) == 12
    if abs(latitude) >= 10:
        assert (max(means) == means[6]) is (latitude > 0)


def test_months_of_own_years_are_means_of_those_with_readings_for_most_of_them() -> None:
    """From the middle of March 2024 to the end of May 2025: April and May are known twice, January once, and of March 2024 too little is left."""
    found = of_own_years(table(date(2024, 3, 15), date(2025, 5, 31)))
    assert found[4] == UsualMonth(14.0, 4.0, 2)
    assert (found[1].years, found[3].years) == (1, 1)
    assert of_own_years(table(date(2024, 1, 1), date(2024, 12, 31), missing=3)) == {}


def test_the_usual_day_is_the_middle_of_the_newest_ten_years() -> None:
    """Also where a mark falls on either side of New Year; what was forty years ago is another climate."""
    assert usual_day([date(2024, 10, 4), date(2025, 10, 20), date(2026, 10, 9)]) == date(2001, 10, 9)
    assert usual_day([date(2023, 12, 30), date(2025, 1, 3), date(2026, 1, 7)]) == date(2002, 1, 3).replace(year=2001)
    assert usual_day([date(1980 + year, 11, 1) for year in range(20)] + [date(2010 + year, 11, 15) for year in range(10)]) == date(2001, 11, 15)
    assert usual_day([date(2024, 2, 29)]) == date(2001, 2, 28)


def test_a_year_is_whole_with_readings_for_most_of_its_days() -> None:
    """A summer is not; a year with a gap of a fortnight is."""
    assert not whole_years(table(date(2026, 3, 1), date(2026, 9, 30)))
    assert whole_years(table(date(2025, 9, 1), date(2026, 9, 30), missing=26))
