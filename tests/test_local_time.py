"""Moments as a person at the yard reads them, and the years they lie in."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.local_time import (
    AFTER_LATEST,
    EARLIEST,
    ceil_to_minute,
    clock,
    day,
    floor_to_minute,
    in_years,
    is_ambiguous,
    iso,
    local,
    midnight,
    moment_text,
    spoken,
)

ZONE = "Europe/Ljubljana"
MOMENTS = st.integers(EARLIEST, AFTER_LATEST - 1)
ZONES = st.sampled_from([ZONE, "America/St_Johns", "Australia/Lord_Howe", "Pacific/Chatham", "UTC"])


@given(MOMENTS, st.integers(0, 59))
def test_a_minute_up_never_cuts_short_and_a_minute_down_never_lets_slip(minute: int, seconds: int) -> None:
    """By less than a minute, and a whole minute stays."""
    start = minute - minute % 60
    assert ceil_to_minute(start + seconds) == (start + 60 if seconds else start)
    assert floor_to_minute(start + seconds) == start
    assert ceil_to_minute(start + 1e-8) == floor_to_minute(start + 60 - 1e-8) - 60 == start  # what arithmetic leaves of nothing is nothing


@given(MOMENTS, ZONES)
def test_iso_8601_tells_the_very_moment(moment: int, zone: str) -> None:
    """With its offset, so that the hour that comes twice is told apart; read by Python's own reader."""
    assert int(datetime.fromisoformat(iso(moment, zone)).timestamp()) == moment


@given(st.dates(date(1950, 1, 2), date(2149, 12, 30)), ZONES)
def test_a_day_begins_where_the_one_before_it_ends(one: date, zone: str) -> None:
    """After 23 to 25 hours, whatever the clocks do."""
    begins, ends = (midnight(at, ZoneInfo(zone)) for at in (one, one + timedelta(1)))
    assert 23 * 3600 <= ends - begins <= 25 * 3600
    assert local(ends - 1, zone).date() == one


@pytest.mark.parametrize(
    ("instant", "shown"),
    [("2026-08-11T15:30", "Tue 11 Aug 17:30"), ("2026-10-25T00:30", "Sun 25 Oct 02:30 +02:00"), ("2026-10-25T01:30", "Sun 25 Oct 02:30 +01:00")],
)
def test_the_hour_that_comes_twice_has_its_offset(instant: str, shown: str) -> None:
    """Clocks go back on 25 October 2026 in Ljubljana (IANA time zone database)."""
    moment = int(datetime.fromisoformat(instant).replace(tzinfo=UTC).timestamp())
    assert moment_text(moment, ZONE, 2026) == spoken(moment, ZoneInfo(ZONE)) == shown
    assert is_ambiguous(local(moment, ZONE)) is (len(clock(local(moment, ZONE))) > 5)


def test_a_year_is_named_where_it_is_another() -> None:
    """By the one who reads; in words of English whatever the machine speaks."""
    assert (day(date(2026, 8, 11), 2026), day(date(2027, 1, 3), 2026)) == ("Tue 11 Aug", "Sun 3 Jan 2027")


@pytest.mark.parametrize(
    ("moment", "years", "sound"),
    [
        (date(1950, 1, 1), (1950, 2149), True),
        (date(2149, 12, 31), (1950, 2149), True),
        (date(1949, 12, 31), (1950, 2149), False),
        (datetime(2150, 1, 1, tzinfo=UTC), (1950, 2149), False),
        (date(1900, 1, 1), (1900, 2200), True),
        (date(2201, 1, 1), (1900, 2200), False),
    ],
)
def test_a_moment_of_another_age_is_a_slip_of_the_finger(moment: date, years: tuple[int, int], sound: bool) -> None:
    """Both ends counted."""
    if sound:
        assert in_years(moment, "it", years) is moment
    else:
        with pytest.raises(Fault, match=f'"it" lies outside the years {years[0]} to {years[1]}'):
            in_years(moment, "it", years)
