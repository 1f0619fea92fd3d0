"""Zones that try a calendar reader, and a calendar with work around every change of their clocks."""

from __future__ import annotations

from datetime import UTC, datetime

from scheduler.outputs.calendar.entry import Entry
from scheduler.outputs.calendar.vtimezone import vtimezone

# Changes at 24:00 or beyond, or by the moon: no yearly rule of RFC 5545 can say them.
HARD = (
    *("Africa/Cairo", "Egypt", "America/Nuuk", "America/Godthab", "America/Santiago", "Chile/Continental", "America/Scoresbysund"),
    *("Asia/Jerusalem", "Israel", "Asia/Tel_Aviv", "Asia/Gaza", "Asia/Hebron", "Africa/Casablanca", "Africa/El_Aaiun"),
)
PLAIN = (
    *("Europe/Ljubljana", "Europe/London", "Europe/Dublin", "America/New_York", "America/St_Johns", "Asia/Kolkata", "Asia/Kathmandu", "Africa/Nairobi"),
    *("Australia/Sydney", "Australia/Lord_Howe", "Pacific/Auckland", "Pacific/Chatham", "America/Sao_Paulo", "Pacific/Apia", "Etc/UTC"),
)
_HOUR = 3600


def changes(zone: str) -> list[int]:
    """The instants at which the clocks change in 2026 to 2028 [epoch s], found without the code under test."""
    from zoneinfo import ZoneInfo

    tz, found = ZoneInfo(zone), []
    hours = range(int(datetime(2026, 1, 1, tzinfo=UTC).timestamp()), int(datetime(2029, 1, 1, tzinfo=UTC).timestamp()), _HOUR)
    offsets = [datetime.fromtimestamp(instant, tz).utcoffset() for instant in hours]
    for number in range(1, len(offsets)):
        if offsets[number] != offsets[number - 1]:
            found.append(hours[number])
    return found


def work_around_changes(zone: str) -> list[Entry]:
    """Half an hour of work at 16 times around every change, and in each month of three years."""
    around = {change + step * _HOUR // 2 for change in changes(zone) for step in range(-8, 8)}
    monthly = {int(datetime(year, month, 14, 5, tzinfo=UTC).timestamp()) for year in (2026, 2027, 2028) for month in range(1, 13)}
    name = zone.replace("/", "-").lower()
    return [
        Entry(f"{name}.{start}@x.afterpull", "event", start, start + _HOUR // 2, zone, "Pack", "", "Kestrel Bank", ("cut comb", "honey room"), "CONFIRMED", 3)
        for start in sorted(around | monthly)
    ]


def explicit(zone: str) -> bool:
    """Whether the zone's component lists its onsets one by one."""
    component = vtimezone(zone, 2026, 2028)
    return len(component.subcomponents) > 1 and b"RRULE" not in component.to_ical()
