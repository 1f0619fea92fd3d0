"""When something is told: now, after the quiet hours, again, or after a failure. Pure: every moment is an argument [s since 1970 UTC].

The numbers are this program's own (assumed).
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from scheduler.facts.hours import Hours
from scheduler.local_time import HOUR
from scheduler.outputs.notify.config import Repeat
from scheduler.outputs.notify.message import URGENT
from scheduler.quantities import show_duration

LATE = 300  # s after which a message says that it is late
LONG_DUE = 6 * HOUR  # s after which an alert is so late that it is told together with others; assumed
SEVERAL = 4  # such alerts, from which on one message tells them all; assumed
_DAY = timedelta(days=1)


def at_clock(day: date, clock: time, zone: ZoneInfo) -> int:
    """Wall-clock time of a day at the yard; one that the clocks skip lies as far behind the change as it would have been."""
    return int(datetime.combine(day, clock, zone).timestamp())


def day_of(now: int, zone: ZoneInfo) -> date:
    """The day at the yard."""
    return datetime.fromtimestamp(now, zone).date()


def quiet_until(quiet: Hours | None, now: int, zone: ZoneInfo) -> int | None:
    """When the quiet hours end that hold at `now`; None where none do. They are wall-clock hours, also where the clocks change in them."""
    if quiet is None:
        return None
    today = day_of(now, zone)
    for day in (today - _DAY, today):
        for start, end in quiet.spans(day):
            begins, ends = at_clock(day, start, zone), at_clock(day if end > start else day + _DAY, end, zone)
            if begins <= now < ends:
                return ends
    return None


def held_until(loss: str, quiet: Hours | None, now: int, zone: ZoneInfo) -> int | None:
    """Until when a message waits: quiet hours hold everything but what loses the crop."""
    return None if loss in URGENT else quiet_until(quiet, now, zone)


def lateness(due_at: int, now: int) -> str:
    """ "late by 3 h", or nothing while it is on time."""
    return f"late by {show_duration(now - due_at)}" if now - due_at > LATE else ""


def again_at(loss: str, repeat: Repeat, now: int, told_before: int | None, due_again: int | None) -> int | None:
    """
    When to repeat what was told just now; None where it is not repeated, or often enough.

    `told_before` is when it was told last, `due_again` when this repeat was due: the gap between them, grown, is the next.
    """
    if loss not in URGENT or not repeat.times:
        return None
    gap = repeat.first if told_before is None or due_again is None else max(repeat.first, (due_again - told_before) * repeat.growth)
    return now + round(gap) if gap <= repeat.longest() + 1 else None


def retry_at(loss: str, attempts: int, now: int) -> int:
    """When to try again after a failure: gaps double from a minute to a quarter of an hour for what loses the crop, an hour for the rest."""
    return now + min(60 << min(attempts, 10), HOUR // 4 if loss in URGENT else HOUR)


def evening_or_morning(now: int, evening: time, zone: ZoneInfo) -> tuple[int, str]:
    """Where "later" leads: this evening, or tomorrow morning at seven once it is evening; and the words for it."""
    today = day_of(now, zone)
    if now < at_clock(today, evening, zone) - HOUR:
        return at_clock(today, evening, zone), "This evening"
    return at_clock(today + _DAY, time(7), zone), "Tomorrow morning"
