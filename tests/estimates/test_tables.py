"""Tables of daily temperatures and of a hive scale, clean and broken."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from vega_datasets import local_data

from scheduler.diagnostics import Fault
from scheduler.estimates import degree_days, tables
from scheduler.estimates.temperature_log import temperature_log
from scheduler.instruments import sheet
from scheduler.instruments.text import Unread
from scheduler.quantities import say
from tests.chance import times


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


def test_a_table_of_years_apart_is_refused() -> None:
    table = tables.daily_temperatures("date,tmin,tmax\n1995-05-01,5,20\n2025-05-01,5,20")
    with pytest.raises(Fault, match="longer than"):
        degree_days.accumulate(table, 10.0)


@pytest.mark.slow
def test_a_log_of_a_million_rows_is_read() -> None:
    """A reading every minute for two years; for five weeks in a short run."""
    first, rows = datetime(2024, 1, 1, tzinfo=UTC), times(sheet.MOST_ROWS)
    lines = [f"{first + timedelta(minutes=minute):%Y-%m-%dT%H:%MZ},-18.{minute % 10}" for minute in range(rows)]
    assert len(temperature_log("\n".join(["time,temperature C", *lines]), UTC).rows) == rows


def test_a_table_longer_than_that_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheet, "MOST_ROWS", 2)
    assert len(tables.daily_temperatures("date,tmin,tmax\n2025-05-01,5,20\n2025-05-02,5,20\n").rows) == 2
    with pytest.raises(Unread, match="more than 2 rows"):
        tables.daily_temperatures("date,tmin,tmax\n2025-05-01,5,20\n2025-05-02,5,20\n2025-05-03,5,20")


def test_pounds_on_a_scale_are_kilograms_inside() -> None:
    table = tables.hive_scale("date,mass lb\n2025-06-01,100\n2025-06-02,")
    assert table.rows[0].cells == (pytest.approx(45.359237),)
    assert table.rows[1].cells == (None,)


def test_of_a_scale_read_by_the_hour_the_reading_before_dawn_counts() -> None:
    """Foragers are at home at four; the day of a reading is the yard's, whatever the zone of its stamp."""
    rows = [f"2026-07-{day:02}T{hour:02}:00Z,{40 + day - hour / 100:.2f}" for day in (10, 11, 12) for hour in range(24)]
    table = tables.hive_scale("\n".join(["time,kg", *rows]), yard=ZoneInfo("America/Denver"))
    assert [(row.day.day, row.cells) for row in table.rows] == [(day, (40 + day - 0.1,)) for day in (10, 11, 12)]  # 10:00 UTC is 04:00 there
    assert table.notes == (say("one hour of the day", hour=4),)


def test_a_scale_read_by_hand_once_a_day_counts_at_whatever_hour() -> None:
    """In the evening, never at the same minute."""
    table = tables.hive_scale("time,kg\n2026-07-10 19:20,40\n2026-07-11 20:05,41\n2026-07-12 18:59,42\n", yard=ZoneInfo("Europe/Ljubljana"))
    assert [row.cells for row in table.rows] == [(40.0,), (41.0,), (42.0,)]


def test_of_a_thermometer_read_by_the_hour_lowest_and_highest_of_full_days_count() -> None:
    """A day that lacks its night has no lowest."""
    whole = [f"2026-07-10 {hour:02}:00,{12 + abs(hour - 4)}" for hour in range(24)]
    half = [f"2026-07-11 {hour:02}:00,20" for hour in range(8, 24)]
    table = tables.daily_temperatures("\n".join(["time,temperature °C", *whole, *half]), yard=ZoneInfo("Europe/Ljubljana"))
    assert [row.cells for row in table.rows] == [(12.0, 31.0), (None, None)]
