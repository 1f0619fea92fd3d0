"""Degree days and hive scales from daily tables, clean and broken."""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from vega_datasets import local_data

from scheduler.diagnostics import Fault
from scheduler.estimates import degree_days, season_marks, tables
from scheduler.quantities import say

SEATTLE = {  # base 10 °C, 2012 to 2015: computed for this project with another program
    ("simple", None): (1133.40, 1369.25, 1490.20, 1541.05),
    ("sine", None): (1201.70, 1436.26, 1559.74, 1616.11),
    ("sine", 30.0): (1198.00, 1433.50, 1555.33, 1606.94),
    ("substitution", 30.0): (1260.65, 1493.65, 1610.65, 1667.50),
}


def seattle() -> tables.Table:
    """NOAA daily temperatures as the vega-datasets package carries them."""
    frame = local_data.seattle_weather()
    lines = [f"{row.date:%Y-%m-%d},{row.temp_max},{row.temp_min}" for row in frame.itertuples()]
    return tables.daily_temperatures("\n".join(["date,temp_max (°C),temp_min (°C)", *lines]))


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


def test_a_byte_order_mark_semicolons_and_decimal_commas_are_read() -> None:
    table = tables.daily_temperatures("\ufeffDatum;Tmax;Tmin\n2025-05-01;20,5;5,5\n\n2025-05-02;21,0;6,0\n")
    assert [row.cells for row in table.rows] == [(5.5, 20.5), (6.0, 21.0)]


def test_missing_days_are_filled_and_told_and_long_gaps_widen_the_range() -> None:
    table = tables.daily_temperatures("date,tmin,tmax\n2025-05-01,10,20\n2025-05-04,10,20\n2025-05-05,,21\n2025-05-20,10,20")
    rows, found = degree_days.accumulate(table, 10.0)
    assert len(rows) == 20
    assert found.low < found.value < found.high
    assert say("days missing", days=2, first=date(2025, 5, 2)) in found.basis
    assert say("rows without a reading", rows=1) in found.basis
    assert table.missing() == 17


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        ("date,tmin,tmax\n", "no rows"),
        ("when,tmin,tmax\n2025-05-01,1,2", "no column for the date"),
        ("date,tmin\n2025-05-01,1", "no column for the highest"),
        ("date,tmin,tmax\n2025-05-01,warm,20", 'line 2: "warm" is not a number'),
        ("date,tmin,tmax\n1 May,5,20", 'line 2: "1 May" is not a date'),
        ("date,tmin,tmax\n2025-05-01,20,5", "is above the highest"),
        ("date,tmin,tmax\n2025-05-02,5,20\n2025-05-01,5,20", "line 3"),
        ("date,tmin,tmax\n2025-05-01,5", "line 2: 2 cells"),
        ("date,tmin,tmax\n2025-05-01,50,77", "not a day's temperature"),
        ("date,tmin,tmax\n2025-05-01,5,inf", "is not a reading"),
        ('date,tmin,tmax\n2025-05-01,"5,20', "can not be read"),
    ],
)
def test_a_broken_table_is_refused_with_its_line(text: str, said: str) -> None:
    with pytest.raises(Fault, match=said):
        tables.daily_temperatures(text)


def test_a_table_of_years_apart_is_refused() -> None:
    table = tables.daily_temperatures("date,tmin,tmax\n1995-05-01,5,20\n2025-05-01,5,20")
    with pytest.raises(Fault, match="longer than"):
        degree_days.accumulate(table, 10.0)


@pytest.mark.slow
def test_a_table_of_a_million_days_is_read() -> None:
    first = date(1, 1, 1)
    lines = [f"{(first + timedelta(day)).isoformat()},5,20" for day in range(1_000_000)]
    assert len(tables.daily_temperatures("\n".join(["date,tmin,tmax", *lines])).rows) == tables.MOST_ROWS


def test_a_table_longer_than_that_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tables, "MOST_ROWS", 2)
    with pytest.raises(Fault, match="more than 2 rows"):
        tables.daily_temperatures("date,tmin,tmax\n2025-05-01,5,20\n2025-05-02,5,20\n2025-05-03,5,20")


def scale_series(changes: list[float], start: float = 40.0) -> tables.Table:
    masses = np.cumsum([start, *changes])
    lines = [f"{date(2025, 6, 1) + timedelta(day)},{mass:.3f}" for day, mass in enumerate(masses)]
    return tables.hive_scale("\n".join(["date,mass kg", *lines]))


def test_flow_then_neutral_then_dearth_is_seen_through_noise_and_a_harvest() -> None:
    """Invented series: +1 kg a day for 20 days, nothing for 10, -0.25 kg for 20, noise of 0.15 kg, and 18 kg taken off."""
    noise = np.random.default_rng(5).normal(0, 0.15, 50)
    changes = np.repeat([1.0, 0.0, -0.25], [20, 10, 20]) + noise
    changes[24] -= 18.0
    days, found = season_marks.states(scale_series(list(changes)))
    assert days[15].state == "flow"
    assert days[27].state == "neutral"
    assert days[-1].state == "dearth"
    assert not any(day.state == "dearth" for day in days[:30])
    assert found.low <= found.value <= found.high
    assert any(line.kind == "manipulations" and line.get("steps") == 1 for line in found.basis)


def test_a_strong_flow_is_not_mistaken_for_manipulations() -> None:
    days, found = season_marks.states(scale_series([2.5] * 14))
    assert days[-1].state == "flow"
    assert found.value == pytest.approx(2.5)


def test_too_few_readings_give_no_word_on_flow() -> None:
    days, found = season_marks.states(scale_series([0.2] * 3))
    assert {day.state for day in days} == {"unknown"}
    assert found.refusal


def test_pounds_on_a_scale_are_kilograms_inside() -> None:
    table = tables.hive_scale("date,mass lb\n2025-06-01,100\n2025-06-02,")
    assert table.rows[0].cells == (pytest.approx(45.359237),)
    assert table.rows[1].cells == (None,)


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
