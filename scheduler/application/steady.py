"""When time alone moves a published plan: as an evening of work begins, and as it is over.

Within an evening the plan stands, also where nobody says what was done: else every look would move the work at hand by the minutes since
the last, and ring again. What was not done by its end moves to the next.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from scheduler.application.offering import settled_at
from scheduler.facts.standing import Recorded
from scheduler.facts.yard import Yard

FURTHEST = 400  # days within which somebody has free hours; a yard without any is planned anew once a day
DAY = timedelta(days=1)


def steady_at(yard: Yard, facts: Iterable[Recorded], now: int) -> int:
    """The moment a plan is published as at: when something was told last, or when free hours last began or ended [s since 1970]."""
    return max(settled_at(facts, now), edges(yard, now)[0])


def edges(yard: Yard, now: int) -> tuple[int, int]:
    """The last moment up to now, and the next one, at which free hours of anybody in the yard begin or end [s since 1970]."""
    zone = ZoneInfo(yard.place.timezone)
    today = datetime.fromtimestamp(now, zone).date()
    for reach in (1, 8, FURTHEST):
        days = [today + step * DAY for step in range(-reach, reach + 1)]
        found = {
            int(datetime.combine(on, clock, tzinfo=zone).timestamp())
            for hours in (yard.hands, *(person.hands for person in yard.people.values()))
            for day in days
            for start, end in hours.spans(day)
            for on, clock in ((day, start), (day if end > start else day + DAY, end))
        }
        before, after = [edge for edge in found if edge <= now], [edge for edge in found if edge > now]
        if before and after:
            return max(before), min(after)
    midnight = int(datetime(today.year, today.month, today.day, tzinfo=zone).timestamp())
    return midnight, midnight + int(DAY.total_seconds())
