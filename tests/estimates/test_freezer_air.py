"""What the air of a freezer was, from logs and single readings: the warmest it can have been."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from scheduler.estimates.freezer_air import SILENT, STEP, AirRecord, of_logs, with_readings
from scheduler.estimates.recorded_freeze import reached
from scheduler.estimates.temperature_log import TemperatureLog
from tests.estimates.practice import BY
from tests.estimates.test_recorded_freeze import piece

BEGUN = 1_786_000_000
HOURS = 3600
NO_LOG = AirRecord((), ())


def log(values: list[float], *, begins: int = BEGUN, interval: int = STEP) -> TemperatureLog:
    """A log without gaps."""
    return TemperatureLog(tuple((begins + number * interval, value) for number, value in enumerate(values)), (), interval)


def without(whole: TemperatureLog, first: int, count: int) -> TemperatureLog:
    """The log without some rows in its middle."""
    return TemperatureLog(whole.rows[:first] + whole.rows[first + count :], (), whole.interval)


def test_between_two_rows_the_warmer_counts() -> None:
    """Nobody knows when within the ten minutes the door was shut again."""
    air = of_logs([log([-18.0, -10.0, -18.0])]).since(BEGUN, BEGUN + HOURS)
    assert air is not None
    assert air.cells == (-10.0, -10.0)
    assert (air.rows, air.coldest, air.warmest, air.silent) == (3, -18.0, -10.0, 0)


def test_where_the_logger_was_silent_the_air_counts_as_a_warm_room() -> None:
    """An hour without a row may be the hour without power."""
    air = of_logs([without(log([-18.0] * 60), 20, 6)]).since(BEGUN, BEGUN + 20 * HOURS)
    assert air is not None
    assert air.silent == 7 * STEP
    assert air.cells.count(SILENT) == 7


def test_a_logger_started_long_after_the_load_went_in_leaves_the_beginning_unknown() -> None:
    """The first two hours count as warm; the half hour before the first row is the logger's own beat."""
    air = of_logs([log([-18.0] * 60, begins=BEGUN + 2 * HOURS)]).since(BEGUN, BEGUN + 20 * HOURS)
    assert air is not None
    assert air.cells.count(SILENT) == 9


def test_a_log_that_ended_before_the_load_went_in_says_nothing() -> None:
    """Nor does one that begins after it came out."""
    record = of_logs([log([-18.0] * 10)])
    assert record.since(BEGUN + 3 * HOURS, BEGUN + 5 * HOURS) is None
    assert record.since(BEGUN - 50 * HOURS, BEGUN - 40 * HOURS) is None


def test_two_logs_that_follow_each_other_are_one_record() -> None:
    """Read out on Saturday and again on Sunday, some rows in both."""
    record = of_logs([log([-18.0] * 12), log([-17.0] * 12, begins=BEGUN + 10 * STEP)])
    air = record.since(BEGUN, BEGUN + 20 * HOURS)
    assert air is not None
    assert (air.silent, len(air.cells), air.cells[-1]) == (0, 21, -17.0)


def test_of_single_readings_the_warmer_of_two_neighbours_counts_between_them() -> None:
    """-18 in the evening and -9 in the morning: the night counts as -9."""
    air = with_readings(NO_LOG, [(BEGUN - 60, -18.0), (BEGUN + 12 * HOURS, -9.0)]).since(BEGUN, BEGUN + 24 * HOURS)
    assert air is not None
    assert set(air.cells) == {-9.0}
    assert len(air.cells) * STEP == 12 * HOURS


def test_single_readings_do_not_speak_where_a_log_does() -> None:
    """They add what came after it was read out."""
    record = with_readings(of_logs([log([-18.0] * 7)]), [(BEGUN + 600, 4.0), (BEGUN + 3 * HOURS, -16.0)])
    air = record.since(BEGUN, BEGUN + 24 * HOURS)
    assert air is not None
    assert air.cells[:6] == (-18.0,) * 6
    assert len(air.cells) * STEP == 3 * HOURS


def test_the_floor_runs_only_while_the_freezer_is_cold() -> None:
    """48 h with six hours of power cut in them are 54 h; after the record it counts as cold."""
    air = of_logs([log([-18.0] * 60 + [-2.0] * 36 + [-18.0] * 60)]).since(BEGUN, BEGUN + 400 * HOURS)
    assert air is not None
    assert air.lasting(5 * HOURS, BY.mildest) == 5 * HOURS
    assert air.lasting(48 * HOURS, BY.mildest) == 48 * HOURS + 37 * STEP  # 36 rows, and the ten minutes before the first of them


values = st.lists(st.floats(-30, 25), min_size=8, max_size=80)


@given(values, st.data())
def test_a_longer_gap_never_ends_a_hold_earlier(read: list[float], data: st.DataObject) -> None:
    """Rows lost from the middle of a log, three and more of them, which is silence: nothing gets proved by knowing less."""
    first = data.draw(st.integers(1, len(read) - 4))
    longer = data.draw(st.integers(3, len(read) - 1 - first))
    short = data.draw(st.sampled_from([0, *range(3, longer + 1)]))
    ends = []
    for count in (short, longer):
        air = of_logs([without(log(read, interval=1200), first, count)]).since(BEGUN, BEGUN + 400 * HOURS)
        assert air is not None
        ends.append((reached(piece(), 21.0, air.cells, -18.0, BY).seconds, air.lasting(24 * HOURS, BY.mildest)))
    assert ends[1][0] >= ends[0][0] - 1e-6
    assert ends[1][1] >= ends[0][1]


@given(values, st.data())
def test_a_warmer_record_never_ends_a_hold_earlier(read: list[float], data: st.DataObject) -> None:
    """Whichever rows are warmer, neither the exposure nor the floor is over sooner."""
    warmer = [value + data.draw(st.floats(0, 10)) for value in read]
    colder_air, warmer_air = (of_logs([log(one)]).since(BEGUN, BEGUN + 400 * HOURS) for one in (read, warmer))
    assert colder_air is not None
    assert warmer_air is not None
    assert reached(piece(), 21.0, warmer_air.cells, -18.0, BY).seconds >= reached(piece(), 21.0, colder_air.cells, -18.0, BY).seconds - 1e-6
    assert warmer_air.lasting(24 * HOURS, BY.mildest) >= colder_air.lasting(24 * HOURS, BY.mildest)
