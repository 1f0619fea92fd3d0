"""When a message is sent: now, after the quiet hours, again, or after a failure. Pure: every moment is an argument [s since 1970 UTC].

The numbers are assumed.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from scheduler.facts.hours import Hours
from scheduler.local_time import HOUR
from scheduler.outputs.notify.config import RepeatPolicy
from scheduler.outputs.notify.message import URGENT
from scheduler.quantities import show_duration

LATE = 300  # s after which a message says that it is late
LONG_OVERDUE = 6 * HOUR  # s after which an overdue alert may go into a digest; assumed
DIGEST_FROM = 4  # that many long overdue alerts go out as one message; assumed
_DAY = timedelta(days=1)


def moment_at(day: date, clock: time, zone: ZoneInfo) -> int:
    """The moment of a time of day at the yard; one that the clocks skip lies as far behind the change as it would have been."""
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
            begins, ends = moment_at(day, start, zone), moment_at(day if end > start else day + _DAY, end, zone)
            if begins <= now < ends:
                return ends
    return None


def deferred_until(loss: str, quiet: Hours | None, now: int, zone: ZoneInfo) -> int | None:
    """Until when a message waits: quiet hours defer everything but what loses the crop."""
    return None if loss in URGENT else quiet_until(quiet, now, zone)


def lateness(due_at: int, now: int) -> str:
    """ "late by 3 h", or nothing while it is on time."""
    return f"late by {show_duration(now - due_at)}" if now - due_at > LATE else ""


def repeat_at(loss: str, repeat: RepeatPolicy, now: int, last_sent: int | None, repeat_due: int | None) -> int | None:
    """
    When to repeat an alert sent at `now`; None where it is not repeated, or was often enough.

    `last_sent` is when it was sent before, `repeat_due` when this repeat was due: the gap between them times the growth is the next gap.
    """
    if loss not in URGENT or not repeat.times:
        return None
    gap = repeat.first if last_sent is None or repeat_due is None else max(repeat.first, (repeat_due - last_sent) * repeat.growth)
    return now + round(gap) if gap <= repeat.longest_gap() + 1 else None


def retry_at(loss: str, attempts: int, now: int) -> int:
    """When to try again after a failure: gaps double from a minute to a quarter of an hour for what loses the crop, an hour for the rest."""
    return now + min(60 << min(attempts, 10), HOUR // 4 if loss in URGENT else HOUR)


def evening_or_morning(now: int, evening: time, zone: ZoneInfo) -> tuple[int, str]:
    """Until when "later" puts an alert off: this evening, or tomorrow at seven once it is evening; and the words on the button."""
    today = day_of(now, zone)
    if now < moment_at(today, evening, zone) - HOUR:
        return moment_at(today, evening, zone), "This evening"
    return moment_at(today + _DAY, time(7), zone), "Tomorrow morning"
