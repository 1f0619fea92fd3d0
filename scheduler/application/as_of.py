"""Which moment a plan is made for: the one rule of the commands, the watch, the feeds, `calendar` and `sync`, so that all give the same times.

It is the later of two moments, on a whole minute:

* when free hours of anybody in the yard last began or ended; hours of several people that meet count as one evening of work;
* when the keeper last recorded something that a plan follows from, or when that happened.

Time alone therefore moves a plan as an evening of work begins and as it is over, and at no other moment. Within an evening, and through a
night, the plan stands, also where nobody records what was done: else every look would move the work at hand by the minutes since the last,
and ring again. What was not done by the end of its evening moves to the next one. A recorded fact moves the plan at once; an alert that
somebody heard and the address of a feed are no such fact.

What is late by now, what was over when it was recorded, and what is due to be sent are asked of the clock, not of this moment.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduler.application.season_evidence import SURFACE
from scheduler.facts.fact import AlertAcknowledged, Fact, Recorded, SettingChanged
from scheduler.facts.yard import Yard
from scheduler.local_time import ceil_to_minute, midnight
from scheduler.planning.windows import Windows

REACHES = (2, 8, 400)  # days either way in which free hours are looked for: near ones first; a yard without any is planned anew once a day


class AsOf(NamedTuple):
    """The moment of a plan, and until when only a fact moves it [s since 1970]."""

    moment: int
    until: int


def as_of(yard: Yard, facts: Iterable[Recorded], now: int) -> AsOf:
    """The moment to plan for at `now` [s since 1970], by everything recorded of a yard, also what was corrected since."""
    since, until = _stretch(yard, now)
    told = [moment for one in facts if _moves_plans(one.fact) for moment in (one.recorded_at, one.fact.occurred_at)]
    past, coming = [moment for moment in told if moment <= now], [moment for moment in told if moment > now]
    return AsOf(ceil_to_minute(max([since, *past])), min([until, *coming]))


def _moves_plans(fact: Fact) -> bool:
    if isinstance(fact, SettingChanged):
        return fact.name.startswith(SURFACE)
    return not isinstance(fact, AlertAcknowledged)


def _stretch(yard: Yard, now: int) -> tuple[int, int]:
    """The last moment up to now, and the next one, at which an evening of work begins or ends; the midnights where the yard has none."""
    zone = ZoneInfo(yard.place.timezone)
    today = datetime.fromtimestamp(now, zone).date()
    for days in (timedelta(reach) for reach in REACHES):
        first, last = midnight(today - days, zone), midnight(today + days, zone)
        edges = [edge for span in Windows(yard, yard.season, today - days, today + days).evenings() for edge in span if first < edge < last]
        before, after = [edge for edge in edges if edge <= now], [edge for edge in edges if edge > now]
        if before and after:
            return max(before), min(after)
    return midnight(today, zone), midnight(today + timedelta(1), zone)
