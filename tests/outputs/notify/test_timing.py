"""When something is told: quiet hours through both clock changes, repeats, retries, lateness. The moments are invented."""

from __future__ import annotations

from datetime import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.facts.hours import read_hours
from scheduler.local_time import HOUR
from scheduler.outputs.notify.config import RepeatPolicy
from scheduler.outputs.notify.timing import day_of, deferred_until, evening_or_morning, lateness, moment_at, quiet_until, repeat_at, retry_at
from tests.application.watched_yard import ZONE, at

NIGHT = read_hours({"mon-sun": "21:30-06:30"})
moments = st.integers(at("2026-01-01T00:00"), at("2027-12-31T00:00"))


@pytest.mark.parametrize("loss", ["food safety", "crop"])
def test_quiet_hours_do_not_hold_what_loses_the_crop(loss: str) -> None:
    """A freezer hold that ends at two in the morning is told at two in the morning."""
    night = at("2026-08-12T02:00")
    assert deferred_until(loss, NIGHT, night, ZONE) is None
    assert deferred_until("comfort", NIGHT, night, ZONE) == at("2026-08-12T06:30")


@pytest.mark.parametrize(
    ("evening", "hours_later"),
    [pytest.param("2026-03-28T21:30", 8, id="the night that lacks an hour"), pytest.param("2026-10-24T21:30", 10, id="the night that has one more")],
)
def test_quiet_hours_end_by_the_clock_on_the_wall(evening: str, hours_later: int) -> None:
    """Half past six is half past six, whatever the clocks did in the night."""
    assert quiet_until(NIGHT, at(evening), ZONE) == at(evening) + hours_later * HOUR


def test_a_quiet_afternoon_of_one_day_of_the_week_is_quiet_on_that_day_only() -> None:
    """Quiet hours are written by day as free hours are."""
    quiet = read_hours({"sun": "13:00-15:00"})
    assert quiet_until(quiet, at("2026-08-16T14:00"), ZONE) == at("2026-08-16T15:00")
    assert quiet_until(quiet, at("2026-08-17T14:00"), ZONE) is None


@given(now=moments)
def test_what_was_held_is_told_once_the_quiet_hours_are_over(now: int) -> None:
    """The end of quiet hours lies ahead, at most a night away, and is not quiet itself."""
    until = quiet_until(NIGHT, now, ZONE)
    if until is not None:
        assert now < until <= now + 10 * HOUR
        assert quiet_until(NIGHT, until, ZONE) is None


def test_repeats_come_at_growing_gaps_and_end() -> None:
    """Half an hour, one, two, four, eight hours; then nobody is told any more."""
    now, before, due, gaps = at("2026-08-14T18:41"), None, None, []
    while (again := repeat_at("crop", RepeatPolicy(), now, before, due)) is not None:
        gaps.append(again - now)
        before, due, now = now, again, again
    assert gaps == [1800, 3600, 7200, 14400, 28800]


def test_comfort_is_told_once() -> None:
    """Only what loses the crop is repeated."""
    assert repeat_at("comfort", RepeatPolicy(), 0, None, None) is None


@given(attempts=st.integers(0, 10_000), now=moments)
def test_a_failing_channel_is_tried_again_within_the_hour(attempts: int, now: int) -> None:
    """However long it has failed; for what loses the crop within a quarter of an hour."""
    assert now + 60 <= retry_at("crop", attempts, now) <= now + HOUR // 4
    assert retry_at("crop", attempts, now) <= retry_at("comfort", attempts, now) <= now + HOUR


def test_lateness_is_said_in_words_and_only_where_there_is_some() -> None:
    """A look that comes ten seconds after the moment is on time."""
    assert lateness(at("2026-08-14T18:41"), at("2026-08-14T18:41") + 10) == ""
    assert lateness(at("2026-08-14T18:41"), at("2026-08-14T21:41")) == "late by 3 h"


def test_this_evening_is_tomorrow_morning_once_it_is_evening() -> None:
    """Putting off at seven in the evening leads to the next morning, also where a clock change lies between."""
    assert evening_or_morning(at("2026-08-14T12:00"), time(18), ZONE) == (at("2026-08-14T18:00"), "This evening")
    assert evening_or_morning(at("2026-10-24T19:00"), time(18), ZONE) == (at("2026-10-25T07:00"), "Tomorrow morning")


@given(now=moments)
def test_a_clock_time_lies_on_its_day(now: int) -> None:
    """Noon is on the day it is the noon of, all the year."""
    assert day_of(moment_at(day_of(now, ZONE), time(12), ZONE), ZONE) == day_of(now, ZONE)
