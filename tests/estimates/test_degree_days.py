"""Degree days of a day, their sums, and the day a sum is reached: measured, or expected with a range that four springs of open data are held against."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.estimates import degree_days, tables
from scheduler.estimates.degree_days import Counting, Extremes, measured_days, of_degree_days, reached, running, usual
from scheduler.estimates.tables import daily_temperatures
from scheduler.facts.days import MONTHS
from scheduler.facts.season import MonthNormal, Normals
from scheduler.outputs.wording.sentence import METRIC, in_words
from tests.estimates.test_tables import seattle

SEATTLE = {  # base 10 °C, 2012 to 2015: computed for this project with another program
    ("simple", None): (1133.40, 1369.25, 1490.20, 1541.05),
    ("sine", None): (1201.70, 1436.26, 1559.74, 1616.11),
    ("sine", 30.0): (1198.00, 1433.50, 1555.33, 1606.94),
    ("substitution", 30.0): (1260.65, 1493.65, 1610.65, 1667.50),
}


def by_quadrature(low: float, high: float, base: float, upper: float) -> float:
    """Degree days of one sine, summed over ten thousand moments: no formula shared with ours."""
    moments = (np.arange(10_000) + 0.5) / 10_000 * 2 * math.pi
    curve = (low + high) / 2 + (high - low) / 2 * np.sin(moments)
    return float(np.mean(np.clip(curve, base, upper) - base))


@pytest.mark.parametrize(("method", "upper"), SEATTLE)
def test_sums_of_four_years_of_open_weather_agree_with_an_independent_computation(method: str, upper: float | None) -> None:
    rows, _ = degree_days.accumulate(seattle(), 10.0, upper, method)
    ends = [row.total for row in rows if (row.day.month, row.day.day) == (12, 31)]
    assert ends == pytest.approx(SEATTLE[method, upper], abs=0.006)


def test_the_day_a_sum_is_reached_has_a_range_over_the_years() -> None:
    """Single sine, 100 °C d: 12 May, 4 May, 30 April, 8 April; computed for this project with another program."""
    rows, _ = degree_days.accumulate(seattle(), 10.0)
    reached = degree_days.dates_reached(rows, 100.0)
    assert [day.isoformat() for day in reached.values()] == ["2012-05-12", "2013-05-04", "2014-04-30", "2015-04-08"]
    middle, first, last = degree_days.normal_day(reached)
    assert first == 98
    assert last == 133
    assert first <= middle <= last


def test_days_of_a_year_that_begins_in_july_are_in_its_own_order() -> None:
    """Reached between Christmas and the new year: the middle of 20 December, 28 December and 4 January is 28 December."""
    reached = {2022: date(2022, 12, 20), 2023: date(2023, 12, 28), 2024: date(2025, 1, 4)}
    assert degree_days.normal_day(reached, (7, 1)) == (362, 354, 4)


@given(st.floats(-20, 45), st.floats(0, 25), st.floats(0, 20), st.floats(0.5, 25))
def test_the_single_sine_is_the_area_under_the_curve(low: float, swing: float, base: float, above: float) -> None:
    assert degree_days.degree_day(low, low + swing, base, base + above) == pytest.approx(by_quadrature(low, low + swing, base, base + above), abs=2e-3)


@given(st.floats(-20, 45), st.floats(0, 25), st.floats(0, 20), st.sampled_from(["sine", "simple", "substitution"]))
def test_warmer_days_never_count_less_and_none_is_negative(low: float, swing: float, base: float, method: str) -> None:
    here = degree_days.degree_day(low, low + swing, base, base + 20, method)
    assert 0 <= here <= degree_days.degree_day(low + 1, low + swing + 1, base, base + 20, method) + 1e-9


def test_a_table_in_fahrenheit_gives_the_same_sum() -> None:
    celsius = tables.daily_temperatures("date,tmin,tmax\n2025-05-01,5,20\n2025-05-02,10,25")
    fahrenheit = tables.daily_temperatures("date,tmin (°F),tmax (°F)\n2025-05-01,41,68\n2025-05-02,50,77")
    assert degree_days.accumulate(celsius, 10.0)[1].value == pytest.approx(degree_days.accumulate(fahrenheit, 10.0)[1].value)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: degree_days.degree_day(5, 20, 10, 10), "the upper threshold, 10 °C, is not above the base, 10 °C"),
        (lambda: degree_days.degree_day(20, 5, 10), "the lowest, 20 °C, is above the highest, 5 °C"),
        (lambda: degree_days.degree_day(5, 20, 10, None, "guess"), '"guess" is not a method'),
        (lambda: degree_days.normal_day({}), "the sum is not reached in any year"),
    ],
)
def test_thresholds_that_contradict_each_other_are_refused(call: object, said: str) -> None:
    with pytest.raises(Fault, match=said):
        call()  # type: ignore[operator]


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
