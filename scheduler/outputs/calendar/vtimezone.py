"""VTIMEZONE of an IANA zone (RFC 5545 section 3.6.5), in the forms that independent readers get right.

The icalendar library writes each onset in the new offset and lists later onsets as one multi-value RDATE; readers that trust the component are
then an hour off. So the zone's own rule (the POSIX line that closes a TZif file, RFC 8536 section 3.3) becomes a yearly RRULE wherever it gives
exactly the changes the zone really has; elsewhere (a change at 24:00 or beyond, Ramadan, a rule that has just changed) each onset is written by itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import NamedTuple
from zoneinfo import TZPATH, ZoneInfo

from icalendar import Timezone, TimezoneDaylight, TimezoneStandard

from scheduler.local_time import DAY, HOUR

_DAY = timedelta(days=1)
_NAME = r"(?:<[^>]+>|[A-Za-z]+)"
_RULE = re.compile(rf"^{_NAME}[-+\d:]+{_NAME}[-+\d:]*,M(\d+)\.(\d)\.(\d)(?:/([-+\d:]+))?,M(\d+)\.(\d)\.(\d)(?:/([-+\d:]+))?$")
_WEEKDAYS = ("SU", "MO", "TU", "WE", "TH", "FR", "SA")


class _Onset(NamedTuple):
    """A change of the clocks: the instant, the offsets before and after [s], the abbreviation after."""

    instant: datetime
    before: timedelta
    after: timedelta
    name: str

    @property
    def wall(self) -> datetime:
        """The local time at which the change falls, by the clocks before it."""
        return (self.instant + self.before).replace(tzinfo=None)


class _Yearly(NamedTuple):
    """ "Last Sunday of March at 02:00", by the clocks before the change; `week` 5 is the last."""

    month: int
    week: int
    weekday: int  # 0 is Sunday
    seconds: int

    def wall(self, year: int) -> datetime:
        first = datetime(year, self.month, 1)  # noqa: DTZ001  wall-clock time of the zone, as the standard wants it
        day = first + timedelta(days=(self.weekday - first.isoweekday()) % 7 + 7 * (self.week - 1))
        if day.month != self.month:
            day -= timedelta(days=7)
        return day + timedelta(seconds=self.seconds)

    def rrule(self) -> dict[str, object]:
        number = -1 if self.week == 5 else self.week
        return {"FREQ": "YEARLY", "BYDAY": f"{number}{_WEEKDAYS[self.weekday]}", "BYMONTH": self.month}


@lru_cache(maxsize=64)
def vtimezone(zone: str, first_year: int, last_year: int) -> Timezone:
    """The component for times from January of `first_year` to December of `last_year`. Raises ZoneInfoNotFoundError for an unknown zone."""
    component = Timezone()
    component.add("tzid", zone)
    tz = ZoneInfo(zone)
    onsets = list(_onsets(tz, datetime(first_year - 1, 1, 1, tzinfo=UTC), datetime(last_year + 1, 1, 1, tzinfo=UTC)))
    yearly = _yearly(zone, onsets, range(first_year - 1, last_year + 1)) if onsets else []
    if not yearly:
        begin = datetime(first_year - 1, 1, 1, tzinfo=UTC)
        local = begin.astimezone(tz)
        offset = local.utcoffset() or timedelta(0)
        component.add_component(_observance(_Onset(begin, offset, offset, local.tzname() or zone), None))
    for number, onset in enumerate(onsets[:2] if yearly else onsets):
        component.add_component(_observance(onset, yearly[number] if yearly else None))
    return component


def _observance(onset: _Onset, rule: _Yearly | None) -> TimezoneDaylight | TimezoneStandard:
    """STANDARD or DAYLIGHT with its onset in the offset before it. DAYLIGHT is the one that puts the clocks forward."""
    component = TimezoneDaylight() if onset.after > onset.before else TimezoneStandard()
    component.add("dtstart", onset.wall)
    component.add("tzoffsetfrom", onset.before)
    component.add("tzoffsetto", onset.after)
    component.add("tzname", onset.name)
    if rule:
        component.add("rrule", rule.rrule())
    return component


def _onsets(tz: ZoneInfo, begin: datetime, end: datetime) -> Iterator[_Onset]:
    """Every change of offset or name between two UTC instants, found day by day and then to the second."""

    def shown(instant: datetime) -> tuple[timedelta, str]:
        local = instant.astimezone(tz)
        return local.utcoffset() or timedelta(0), local.tzname() or ""

    low, before = begin, shown(begin)
    while low < end:
        high = low + _DAY
        after = shown(high)
        if before != after:
            left, right = 0, int(_DAY.total_seconds())
            while right - left > 1:
                middle = (left + right) // 2
                left, right = (left, middle) if shown(low + timedelta(seconds=middle)) != before else (middle, right)
            yield _Onset(low + timedelta(seconds=right), before[0], *after)
        low, before = high, after


def _yearly(zone: str, onsets: list[_Onset], years: range) -> list[_Yearly]:
    """The zone's rule for the first two of its changes, or nothing where the rule does not give exactly the changes that happen."""
    rules = _posix_rules(zone)
    found = [rule for onset in onsets for rule in rules if rule.wall(onset.wall.year) == onset.wall]
    exact = len(found) == len(onsets) == 2 * len(years) and len({(onset.before, onset.after, onset.name) for onset in onsets}) == 2
    return found[:2] if exact else []


def _posix_rules(zone: str) -> list[_Yearly]:
    match = _RULE.match(_footer(zone))
    if not match:
        return []
    rules = [_Yearly(int(m), int(w), int(d), _seconds(t or "2")) for m, w, d, t in (match.groups()[:4], match.groups()[4:])]
    return rules if all(0 <= rule.seconds < DAY for rule in rules) else []


def _seconds(text: str) -> int:
    hours, *rest = text.split(":")
    size = abs(int(hours)) * HOUR + sum(int(part) * unit for part, unit in zip(rest, (60, 1), strict=False))
    return -size if hours.startswith("-") else size


def _footer(zone: str) -> str:
    """The POSIX rule that closes the zone's TZif file, from where `zoneinfo` itself takes it; empty where the file has none."""
    for folder in TZPATH:
        path = Path(folder, *zone.split("/"))
        if path.is_file():
            return path.read_bytes().rstrip(b"\n").rpartition(b"\n")[2].decode("ascii", "ignore")
    content = resources.files("tzdata").joinpath("zoneinfo", *zone.split("/")).read_bytes()
    return content.rstrip(b"\n").rpartition(b"\n")[2].decode("ascii", "ignore")
