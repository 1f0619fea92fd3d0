"""When time alone moves a published plan: as an evening of work begins, and as it is over.

Within an evening the plan stands, also where nobody says what was done: else every look would move the work at hand by the minutes since
the last, and ring again. What was not done by its end moves to the next.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from scheduler.facts.yard import Yard
from scheduler.local_time import midnight
from scheduler.planning.windows import Windows

REACHES = (2, 8, 400)  # days either way in which free hours are looked for: near ones first; a yard without any is planned anew once a day
_DAY = timedelta(days=1)


def edges(yard: Yard, now: int) -> tuple[int, int]:
    """The last moment up to now, and the next one, at which free hours of anybody in the yard begin or end [s since 1970]."""
    zone = ZoneInfo(yard.place.timezone)
    today = datetime.fromtimestamp(now, zone).date()
    for reach in REACHES:
        windows = Windows(yard, yard.season, today - reach * _DAY, today + reach * _DAY)
        found = [edge for person in (None, *yard.people) for edge in windows.edges(person)]
        before, after = [edge for edge in found if edge <= now], [edge for edge in found if edge > now]
        if before and after:
            return max(before), min(after)
    return midnight(today, zone), midnight(today + _DAY, zone)
