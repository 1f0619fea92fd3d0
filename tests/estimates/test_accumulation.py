"""The day a sum of degree days is reached: measured, or expected with a range that four springs of open data are held against."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.estimates.degree_days import Counting, Extremes, measured_days, of_degree_days, reached, running, usual
from scheduler.estimates.tables import daily_temperatures
from scheduler.facts.days import MONTHS
from scheduler.facts.season import MonthNormal, Normals
from scheduler.outputs.wording.sentence import METRIC, in_words
from tests.estimates.test_phenology import seattle

SINE = Counting("sine", 10.0, None, (1, 1))
YEARS = (2012, 2013, 2014, 2015)


def never(day: date) -> None:
    """A yard without normals."""


def normals_without(year: int) -> Callable[[date], Extremes]:
    """Seattle's usual night and day in the other three years, by the month, as a yard file would have them."""
    months = {}
    for number, name in enumerate(MONTHS, 1):
        nights, days = zip(*(row.cells for row in seattle().rows if row.day.month == number and row.day.year != year), strict=True)
        months[name] = MonthNormal(day=f"{sum(days) / len(days):.1f} °C", night=f"{sum(nights) / len(nights):.1f} °C")
    normals = Normals(**months)
    return lambda day: (normals.on(day)[1], normals.on(day)[0])


def test_the_methods_of_a_yard_file_are_those_that_are_known() -> None:
    """Two lists in two rooms, kept the same here."""
    from scheduler.estimates import degree_days

    assert set(degree_days.METHODS) == set(degree_days.METHODS)


def test_the_days_of_four_springs_are_those_of_an_independent_computation() -> None:
    """Single sine above 10 °C, 100 °C d: 12 May, 4 May, 30 April, 8 April; computed for this project with another program."""
    firm, expected = of_degree_days(measured_days(seattle(), date(2015, 12, 31)), SINE, {"spring bloom": 100.0}, never, date(2015, 12, 31))
    assert [str(mark.day) for mark in firm] == ["2012-05-12", "2013-05-04", "2014-04-30", "2015-04-08"]
    assert in_words(firm[0].says, METRIC) == "by degree days: 100 °C d in the weather table, sine method, base 10 °C, from 1 January"
    assert expected == []


def test_the_range_by_normals_holds_the_day_in_five_forecasts_of_six() -> None:
    """Four sums, asked on four days of four springs; each spring's normals are those of the other three years."""
    held = []
    for year in YEARS:
        normal = NORMALS[year]
        whole = list(running(SINE, date(year, 1, 1), measured_days(seattle(), date(year, 12, 31)), never))
        for asked in (date(year, 1, 1), date(year, 3, 1), date(year, 4, 1), date(year, 5, 1)):
            sums = list(running(SINE, date(year, 1, 1), measured_days(seattle(), asked), normal))
            for threshold in (50.0, 100.0, 200.0, 300.0):
                found, true = reached(sums, threshold), reached(whole, threshold)
                assert found is not None
                assert true is not None
                assert found.latest is not None
                if not found.measured:
                    held.append(found.earliest <= true.day <= found.latest)
    assert len(held) > 50
    assert 5 / 6 <= sum(held) / len(held) < 1


NORMALS = {year: normals_without(year) for year in YEARS}


@given(st.sampled_from(YEARS), st.floats(40, 400), st.integers(0, 250))
def test_what_is_firm_stays_as_it_is(year: int, threshold: float, length: int) -> None:
    """Four more months are measured: a date that was firm does not move."""
    normal = NORMALS[year]
    until = date(year, 1, 1) + timedelta(length)
    short, longer = (
        reached(list(running(SINE, date(year, 1, 1), measured_days(seattle(), day), normal)), threshold) for day in (until, until + timedelta(120))
    )
    if short and short.measured:
        assert longer == short


def test_a_gap_of_a_week_is_filled_and_a_longer_one_is_not() -> None:
    """A fortnight without the thermometer in April leaves the date open; the same in January moves it by hardly a day."""
    rows = [(day, low, high) for day, (low, high) in measured_days(seattle(), date(2012, 12, 31)).items()]

    def without(first: date, days: int) -> list[tuple[date, bool]]:
        kept = [f"{day},{low},{high}" for day, low, high in rows if not first <= day < first + timedelta(days)]
        measured = measured_days(daily_temperatures("\n".join(["date,tmin C,tmax C", *kept])), date(2012, 12, 31))
        found = reached(list(running(SINE, date(2012, 1, 1), measured, NORMALS[2012])), 100.0)
        return [(found.day, found.measured)] if found else []

    assert without(date(2012, 4, 10), 7)[0][1]
    assert not without(date(2012, 4, 5), 21)[0][1]
    [(day, firm)] = without(date(2012, 1, 5), 14)
    assert firm
    assert abs((day - date(2012, 5, 12)).days) <= 1


def test_without_normals_nothing_is_expected() -> None:
    """The sum stands where the table ends."""
    measured = measured_days(seattle(), date(2015, 3, 1))
    firm, expected = of_degree_days({day: one for day, one in measured.items() if day.year == 2015}, SINE, {"spring bloom": 100.0}, never, date(2015, 3, 1))
    assert (firm, expected) == ([], [])


def test_days_still_to_come_are_not_measured() -> None:
    """A table that holds a forecast makes nothing firm before its day."""
    assert max(measured_days(seattle(), date(2015, 3, 1))) == date(2015, 3, 1)


@pytest.mark.parametrize(("threshold", "there"), [(100.0, True), (5000.0, False)])
def test_a_usual_day_is_there_where_a_usual_year_reaches_the_sum(threshold: float, there: bool) -> None:
    """No year comes to 5000 °C d above 10 °C in Seattle."""
    assert (usual(SINE, threshold, NORMALS[2012]) is not None) == there


def test_sums_may_begin_on_any_day() -> None:
    """South of the equator they begin on 1 July: the same weather half a year later gives the same sum."""
    south = Counting("sine", 10.0, None, (7, 1))
    north = {day: one for day, one in measured_days(seattle(), date(2013, 12, 31)).items() if day.year == 2013}
    moved = {date(2013, 7, 1) + (day - date(2013, 1, 1)): one for day, one in north.items()}
    firm, _ = of_degree_days(moved, south, {"spring bloom": 100.0}, never, date(2014, 7, 1))
    assert [mark.day - date(2013, 7, 1) for mark in firm] == [date(2013, 5, 4) - date(2013, 1, 1)]
    assert south.began(date(2014, 6, 30)) == date(2013, 7, 1)
    assert south.began(date(2014, 7, 1)) == date(2014, 7, 1)
