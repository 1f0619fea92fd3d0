"""Tables of daily temperatures and of a hive scale, clean and broken."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from vega_datasets import local_data

from scheduler.diagnostics import Fault
from scheduler.estimates import degree_days, tables
from scheduler.quantities import say


def seattle() -> tables.Table:
    """NOAA daily temperatures as the vega-datasets package carries them."""
    frame = local_data.seattle_weather()
    lines = [f"{row.date:%Y-%m-%d},{row.temp_max},{row.temp_min}" for row in frame.itertuples()]
    return tables.daily_temperatures("\n".join(["date,temp_max (°C),temp_min (°C)", *lines]))


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


def test_pounds_on_a_scale_are_kilograms_inside() -> None:
    table = tables.hive_scale("date,mass lb\n2025-06-01,100\n2025-06-02,")
    assert table.rows[0].cells == (pytest.approx(45.359237),)
    assert table.rows[1].cells == (None,)
