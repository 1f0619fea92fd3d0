"""Daylight where it is odd: polar summers and winters, evenings that end after midnight, nonsense places."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.estimates.sun import sun_event, why_none

TROMSØ = (69.65, 18.96)


@pytest.mark.parametrize(
    ("day", "event"), [(date(2025, 6, 21), "sunset"), (date(2025, 6, 21), "dusk"), (date(2025, 12, 21), "sunrise"), (date(2025, 12, 21), "sunset")]
)
def test_a_polar_day_has_no_such_event_and_says_why(day: date, event: str) -> None:
    assert sun_event(*TROMSØ, day, event, "Europe/Oslo") is None  # type: ignore[arg-type]
    assert "the sun stays" in why_none(*TROMSØ, day, event, "Europe/Oslo")  # type: ignore[arg-type]


def test_dusk_of_a_northern_midsummer_day_may_fall_after_midnight() -> None:
    dusk = sun_event(60.17, 24.94, date(2025, 6, 21), "dusk", "Europe/Helsinki")
    assert dusk is not None
    assert dusk.astimezone(ZoneInfo("Europe/Helsinki")).date() == date(2025, 6, 22)


@given(st.floats(-60, 60), st.dates(date(2020, 1, 1), date(2035, 12, 31)))
def test_dawn_sunrise_sunset_dusk_come_in_that_order_around_noon(latitude: float, day: date) -> None:
    moments = [sun_event(latitude, 14.18, day, event, "Europe/Ljubljana") for event in ("dawn", "sunrise", "sunset", "dusk")]  # type: ignore[arg-type]
    found = [moment for moment in moments if moment is not None]
    assert len(found) == 4
    assert found == sorted(found)
    noon = datetime(day.year, day.month, day.day, 11, tzinfo=UTC)
    assert found[1] < noon < found[2]
    assert found[3] - found[0] < timedelta(hours=24)


@given(st.floats(-90, 90), st.floats(-180, 180), st.dates(date(2020, 1, 1), date(2035, 12, 31)))
def test_anywhere_on_any_day_there_is_a_moment_or_a_reason(latitude: float, longitude: float, day: date) -> None:
    moment, reason = sun_event(latitude, longitude, day, "dusk", "UTC"), why_none(latitude, longitude, day, "dusk", "UTC")
    assert (moment is None) == bool(reason)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ((91.0, 0.0, "dusk", "UTC"), "91, 0 is not a place"),
        ((0.0, 200.0, "dusk", "UTC"), "0, 200 is not a place"),
        ((0.0, 0.0, "noonish", "UTC"), '"noonish" is not an event of the sun'),
        ((0.0, 0.0, "dusk", "Mars/Olympus"), '"Mars/Olympus" is not a time zone'),
        ((0.0, 0.0, "dusk", "../etc"), '"../etc" is not a time zone'),
    ],
)
def test_nonsense_places_events_and_zones_are_refused(wrong: tuple[float, float, str, str], said: str) -> None:
    latitude, longitude, event, zone = wrong
    with pytest.raises(Fault, match=said):
        sun_event(latitude, longitude, date(2025, 6, 21), event, zone)  # type: ignore[arg-type]
