"""The calendar of a plan as a reader sees it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from icalendar import Calendar, Component

from scheduler.outputs.calendar.vcalendar import calendar
from scheduler.planning.plan import Plan

STAMP = datetime(2026, 8, 11, 8, 30, tzinfo=UTC)


def written(of: Plan, **options: Any) -> bytes:
    """The calendar of a plan, written when the supers came off."""
    return calendar(of, name="Kestrel Bank, after the pull", stamp=STAMP, **options)


def only(of: Plan, **options: Any) -> Component:
    """The one entry of a plan's calendar."""
    (entry,) = [part for part in Calendar.from_ical(written(of, **options)).subcomponents if part.name in ("VEVENT", "VTODO")]
    return entry
