"""Rows that no sound instrument gives are named and left out; what a freezer, a hive and the weather do is kept. The readings are invented."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.instruments.columns import Kind
from scheduler.instruments.reader import AsTold, MeasuredFile, measured
from scheduler.instruments.text import Unread

YARD = ZoneInfo("Europe/Ljubljana")
FIRST = datetime(2026, 8, 12, 6, 0)  # noqa: DTZ001  local time at the yard


def log(values: Sequence[object], *, minutes: int = 10, unit: str = "C") -> MeasuredFile:
    """A freezer's log, read."""
    rows = [f"{(FIRST + timedelta(minutes=minutes * row)).isoformat(timespec='minutes')},{value}" for row, value in enumerate(values)]
    return measured("\n".join([f"time,temp {unit}", *rows]), "freezer", YARD)


def cycling(rows: int) -> list[float]:
    """A freezer whose compressor comes and goes."""
    return [round(-18 + (row % 5) / 10, 1) for row in range(rows)]


def found(read: MeasuredFile) -> dict[str, tuple[int, ...]]:
    """The lines of each fault."""
    return {one.kind: one.lines for one in (*read.faults, *read.odd)}


@pytest.mark.parametrize(
    ("bad", "kind"),
    [
        (-99.9, "error code"),
        (-127, "error code"),
        (85, "error code"),
        (81, "out of range"),
        (-61, "out of range"),
        ("Err", "error word"),
        (999.9, "error code"),
    ],
)
def test_what_a_sensor_says_instead_of_a_reading_is_silence(bad: object, kind: str) -> None:
    """-127 and 85 °C are what a common digital sensor gives unplugged and at power-on; -99.9 is many loggers' "no reading"."""
    values: list[object] = [*cycling(20)]
    values[7] = bad
    read = log(values)
    assert found(read) == {kind: (9,)}
    assert len(read.rows) == 19
    assert all(-18 <= (value or 0) <= -17 for _, (value,) in read.rows)


def test_an_error_code_is_known_in_fahrenheit_too() -> None:
    """-127 °C is -196.6 °F, 85 °C is 185 °F."""
    read = log([-0.4, -0.4, -196.6, -0.5, 185, *[-0.4, -0.6] * 8], unit="F")
    assert found(read) == {"error code": (4, 6)}


def test_the_warmth_of_a_power_cut_is_kept_every_row_of_it() -> None:
    """Warming and cooling over hours is what a freezer does; a row of warm air proves nothing and counts."""
    warming = [round(-18 + 0.5 * row, 1) for row in range(60)]
    read = log([*cycling(20), *warming, *warming[::-1], *cycling(20)])
    assert found(read) == {}
    assert len(read.rows) == 160


def test_a_freezer_that_passes_zero_keeps_its_zeros() -> None:
    """Melting ice holds the air near 0 °C for an hour; the neighbours are near it too."""
    read = log([-18, -9, -4, -2, -0.5, 0, 0, 0, 0, 0, 0, 0.5, 2, 4])
    assert found(read) == {}


def test_zeros_out_of_nowhere_are_silence() -> None:
    """A logger that lost its probe writes 0.0."""
    read = log([*cycling(10), 0.0, 0.0, 0.0, 0.0, *cycling(10)])
    assert found(read) == {"exact zeros": (12, 13, 14, 15)}


def test_one_reading_far_colder_than_both_its_neighbours_is_silence() -> None:
    """-45 °C for ten minutes never was; cold that never was would prove a kill."""
    values = cycling(20)
    values[5] = -45.0
    assert found(log(values)) == {"cold spike": (7,)}


def test_cold_between_two_openings_of_the_door_is_kept() -> None:
    """The freezer's own cold is colder than the air of an open door, before it and after."""
    values = cycling(30)
    values[5] = values[9] = 2.0
    assert log(values).faults == ()


def test_a_door_that_was_opened_is_kept_as_warm() -> None:
    """Ten minutes at +2 °C count; the probe was not out, for the air came back at once."""
    values = cycling(20)
    values[5] = 2.0
    read = log(values)
    assert read.faults == ()
    assert max(value or 0 for _, (value,) in read.rows) == 2.0


def test_a_probe_taken_out_of_the_freezer_is_told_and_counts_as_warm() -> None:
    """From -18 °C to the 21 °C of a room between two rows."""
    read = log([*cycling(10), *[21.0 + row / 10 for row in range(6)], *cycling(10)])
    assert found(read) == {"probe out": (12,)}
    assert len(read.rows) == 26


def test_a_sensor_that_is_stuck_for_a_day_proves_nothing() -> None:
    """It writes tenths elsewhere; -17.9 for thirty hours is no freezer."""
    read = log([*cycling(300), *[-17.9] * 180, *cycling(20)])
    assert len(found(read)["stuck"]) >= 180
    assert len(read.rows) == 320 or len(read.rows) == 319


def test_a_logger_of_whole_or_half_degrees_may_show_the_same_for_days() -> None:
    """Its steps are coarser than the freezer's swing."""
    assert found(log([-18] * 400)) == {}
    assert found(log([-18.5] * 400)) == {}


@pytest.mark.parametrize("year", [1970, 1980, 2000])
def test_a_clock_that_fell_back_to_its_first_day_tells_no_time(year: int) -> None:
    """The battery was changed; the rows after it are of no known hour until it was set again."""
    rows = ["time,temp C", *(f"2026-08-12T{hour:02}:00,-18.{hour % 10}" for hour in range(12))]
    rows += [f"{year}-01-01T{hour:02}:00,-17.{hour}" for hour in range(3)] + [f"2026-08-13T{hour:02}:00,-18.{hour % 10}" for hour in range(12)]
    read = measured("\n".join(rows), "freezer", YARD)
    assert found(read)["clock reset"] == (14, 15, 16)
    assert len(read.rows) == 24


def test_hours_that_stand_twice_with_other_readings_are_of_no_certain_time() -> None:
    """The clock was set back by three hours: six hours of rows may be of either."""
    rows = [
        "time,temp C",
        *(f"2026-08-12T{hour:02}:00,-18.{hour % 10}" for hour in range(12)),
        *(f"2026-08-12T{hour:02}:00,-12.{hour % 7}" for hour in range(9, 20)),
    ]
    read = measured("\n".join(rows), "freezer", YARD)
    assert set(found(read)) == {"clock set back"}
    kept = {datetime.fromtimestamp(at, YARD).hour for at, _ in read.rows}
    assert kept == {*range(9), *range(12, 20)}


def test_two_exports_pasted_together_are_one_log() -> None:
    """The rows they share agree, so no clock was set; each counts once."""
    rows = [f"2026-08-12T{hour:02}:00,-18.{hour % 10}" for hour in range(20)]
    read = measured("\n".join(["time,temp C", *rows[:14], *rows[6:]]), "freezer", YARD)
    assert len(read.rows) == 20
    assert read.repeated == 8
    assert read.faults == ()


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("freezer", "time,temp C\n" + "".join(f"2026-08-12T{hour:02}:00,{-127 if hour % 2 else -18}\n" for hour in range(24))),
        ("freezer", "time,temp C\n" + "".join(f"2026-08-12T{hour:02}:00,Err\n" for hour in range(24))),
        ("scale", "date,kg\n" + "".join(f"2026-08-{day:02},0\n" for day in range(1, 29))),
        ("weather", "date,tmin C,tmax C\n" + "".join(f"2026-08-{day:02},0.0,0.0\n" for day in range(1, 29))),
        ("weather", "date,tmin C,tmax C\n" + "".join(f"2026-08-{day:02},50,{55 + day}\n" for day in range(1, 12))),
    ],
)
def test_a_file_that_is_mostly_faults_is_refused(kind: Kind, text: str) -> None:
    """Also a summer in °F that says it is °C: too many of its days cannot be."""
    with pytest.raises(Unread, match=r"cannot be readings|out of the range") as refused:
        measured(text, kind, YARD)
    assert "--unit" in refused.value.write


def test_a_scale_never_reads_zero_under_a_hive() -> None:
    """Nor a ton."""
    text = "date,kg\n" + "".join(f"2026-08-{day:02},{0 if day == 5 else 1e6 if day == 6 else 40 + day}\n" for day in range(1, 29))
    assert found(measured(text, "scale", YARD)) == {"exact zero": (6,), "out of range": (7,)}


FAULTS: list[Callable[[float], object]] = [lambda _: "Err", lambda _: -127, lambda _: 85.0, lambda _: "--", lambda _: -99.9, lambda value: value - 40]


@given(st.lists(st.tuples(st.integers(3, 90), st.sampled_from(FAULTS)), max_size=9))
def test_faults_only_ever_take_rows_away(bad: list[tuple[int, Callable[[float], object]]]) -> None:
    """Whatever is broken, no row that is left says what the freezer did not do."""
    sound = cycling(100)
    values: list[object] = [*sound]
    for row, fault in bad:
        values[row] = fault(sound[row])
    left = dict(log(values).rows)
    whole = dict(log(sound).rows)
    assert left.items() <= whole.items()
    assert len(left) >= len(whole) - len(bad)


def test_what_an_older_version_kept_is_not_taken_for_stuck() -> None:
    """Its plan stays as it was."""
    rows = [f"{(FIRST + timedelta(minutes=10 * row)).isoformat(timespec='minutes')},{-17.9 if row > 20 else -18.1}" for row in range(300)]
    assert measured("\n".join(["time,temp C", *rows]), "freezer", YARD, AsTold(lenient=True)).faults == ()
