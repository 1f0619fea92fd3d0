"""Temperature logs as loggers write them: columns, units, local times and clock changes, gaps."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.estimates.temperature_log import temperature_log
from scheduler.instruments.reader import AsTold
from scheduler.quantities import say

YARD = ZoneInfo("Europe/Ljubljana")
SIX = int(datetime(2026, 8, 12, 4, 0, tzinfo=UTC).timestamp())  # 06:00 of a summer morning at the yard
EXPECTED = ((SIX, -17.9), (SIX + 600, -18.0))


@pytest.mark.parametrize(
    "text",
    [
        "time,temperature C\n2026-08-12T06:00,-17.9\n2026-08-12T06:10,-18.0\n",
        "\ufeffNo.;Datum Zeit;Temperatur (°C)\n1;12.08.2026 06:00:00;-17,9\n2;12.08.2026 06:10:00;-18,0\n",
        "Timestamp\tTemp C\tHumidity\n2026-08-12T04:00:00Z\t-17.9\t60\n2026-08-12T04:10:00Z\t-18\t61\n",
        "humidity,time,temperature [C]\n60,2026/08/12 06:00,-17.9\n61,2026/08/12 06:10,-18\n,,\n",
        "time,temperature (°F)\n2026-08-12 06:00,-0.22\n2026-08-12 06:10,-0.4\n",
    ],
    ids=["plain", "semicolons, decimal commas, day first", "tabs and UTC", "other columns, slashes", "Fahrenheit"],
)
def test_the_same_two_readings_are_read_from_every_form(text: str) -> None:
    """Separator, decimal mark, order of columns, offset and unit are seen, not asked for."""
    log = temperature_log(text, YARD)
    assert [(moment, round(value, 6)) for moment, value in log.rows] == list(EXPECTED)
    assert (log.notes, log.interval, log.gaps()) == ((), 600, ())


def test_columns_and_unit_can_be_told() -> None:
    """Of two probes the keeper says which hung in the freezer."""
    text = "when,probe 1,probe 2\n2026-08-12T06:00,70,-0.22\n2026-08-12T06:10,70,-0.4\n"
    log = temperature_log(text, YARD, AsTold(("probe 2",), ("when",), "F"))
    assert [(moment, round(value, 6)) for moment, value in log.rows] == list(EXPECTED)


def test_an_hour_that_comes_twice_is_told_apart_by_the_order_of_the_rows() -> None:
    """When summer time ends the logger writes 02:30 twice; an hour lies between them."""
    text = "time,temp C\n" + "".join(f"2026-10-25 {clock},-18\n" for clock in ("01:30", "02:00", "02:30", "02:00", "02:30", "03:00"))
    moments = [moment for moment, _ in temperature_log(text, YARD).rows]
    assert [after - before for before, after in pairwise(moments)] == [1800] * 5


def test_of_two_readings_of_one_moment_the_warmer_counts() -> None:
    """A hold is proved by the worse of two readings."""
    log = temperature_log("time,temp C\n2026-08-12T06:00,-18\n2026-08-12T06:00,-15\n2026-08-12T06:10,-18\n", YARD)
    assert log.rows[0] == (SIX, -15.0)


def test_silence_of_the_logger_is_told() -> None:
    """Where it is not known how cold it was nothing may be assumed."""
    text = "time,temp\n" + "".join(
        f"2026-08-12T{clock},{value}\n" for clock, value in [("06:00", -18), ("06:10", ""), ("06:20", -18), ("06:30", -18), ("08:00", -9), ("08:10", -9)]
    )
    log = temperature_log(text, YARD)
    assert log.gaps() == ((SIX + 1800, SIX + 7200),)
    assert log.notes == (say("no unit in the log"), say("rows without a reading", rows=1))


@given(st.lists(st.tuples(st.integers(60, 90_000), st.floats(-22, -14)), min_size=2, max_size=30))
def test_a_log_reads_back_as_it_was_written(steps: list[tuple[int, float]]) -> None:
    """Through both clock changes, whatever the intervals."""
    rows, moment = [], SIX
    for step, value in steps:
        moment += step
        rows.append((moment, value))
    text = "time,temp C\n" + "".join(f"{datetime.fromtimestamp(at, YARD).isoformat()},{value!r}\n" for at, value in rows)
    assert list(temperature_log(text, YARD).rows) == rows


def test_one_reading_is_no_log() -> None:
    """It has no interval."""
    with pytest.raises(Fault, match="two readings at least") as caught:
        temperature_log("time,temp\n2026-08-12T06:00,-18\n2026-08-12T06:10,\n", YARD)
    assert caught.value.write


def test_a_told_column_that_is_not_there_names_those_that_are() -> None:
    """With the nearest first."""
    with pytest.raises(Fault, match='no column "prob 2"') as caught:
        temperature_log("when,probe 1,probe 2\n", YARD, AsTold(("prob 2",), ("when",)))
    assert "probe 2" in caught.value.write
