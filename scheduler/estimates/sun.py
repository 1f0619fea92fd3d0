"""Sunrise, sunset and civil twilight at a place; "it does not set" is a value with its reason, not an exception."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from scheduler.diagnostics import Fault

Event = Literal["dawn", "sunrise", "sunset", "dusk"]
# refraction alone: the library takes the upper limb, 16 minutes of arc, into account by itself
_HORIZON = {"sunrise": "-0:34", "sunset": "-0:34", "dawn": "-6", "dusk": "-6"}
_WORDS = {"sunrise": "the sun does not rise", "sunset": "the sun does not set", "dawn": "no civil dawn", "dusk": "no civil dusk"}


@lru_cache(maxsize=8192)
def _found(latitude: float, longitude: float, day: date, event: str, timezone: str) -> tuple[datetime | None, str]:
    import ephem  # type: ignore[import-untyped]  # here, because a plan without daylight must not pay for it

    if event not in _HORIZON:
        raise Fault(f'"{event}" is not an event of the sun known here', f"one of: {', '.join(_HORIZON)}")
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        raise Fault(f"{latitude:g}, {longitude:g} is not a place", "latitude -90 to 90, longitude -180 to 180")
    try:
        zone = ZoneInfo(timezone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise Fault(f'"{timezone}" is not a time zone', '"Europe/Ljubljana"') from None
    observer, sun = ephem.Observer(), ephem.Sun()
    observer.lat, observer.lon, observer.pressure, observer.horizon = str(latitude), str(longitude), 0, _HORIZON[event]
    middle = datetime.combine(day, time(12), zone).astimezone(UTC)
    observer.date = middle.replace(tzinfo=None) - timedelta(hours=12)
    noon = observer.next_transit(sun)  # the one within half a day of the clock's noon
    observer.date = noon
    centre = event in ("dawn", "dusk")
    try:
        when = (observer.previous_rising if event in ("dawn", "sunrise") else observer.next_setting)(sun, use_center=centre)
    except ephem.CircumpolarError as polar:
        side = "stays above" if isinstance(polar, ephem.AlwaysUpError) else "stays below"
        angle = "-6°" if centre else "-0° 50'"
        return None, f"{_WORDS[event]} on {day} at latitude {latitude:g}: the sun {side} {angle}"
    moment = when.datetime().replace(tzinfo=UTC)
    if abs(moment - noon.datetime().replace(tzinfo=UTC)) > timedelta(hours=12, minutes=5):
        return None, f"{_WORDS[event]} on {day} at latitude {latitude:g}"
    return moment, ""


def sun_event(latitude: float, longitude: float, day: date, event: Event, timezone: str) -> datetime | None:
    """The moment (UTC) of an event of the solar day whose noon is on `day` in the yard's zone; None where there is none.

    Definitions of the U.S. Naval Observatory: upper limb at -50 minutes of arc for rise and set, centre at -6° for civil twilight. Within a
    minute of its tables; real refraction differs by a minute or more. Dusk of a northern summer day may fall after midnight.
    Raises `Fault` for an unknown event, place or zone.
    """
    return _found(latitude, longitude, day, event, timezone)[0]


def why_none(latitude: float, longitude: float, day: date, event: Event, timezone: str) -> str:
    """Why there is no such event that day, in words; empty where there is one."""
    return _found(latitude, longitude, day, event, timezone)[1]
