"""When an alarm rings: at most twelve hours before its entry, never after its start, and not at night unless it has to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, time, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduler.facts.hours import Hours
from scheduler.local_time import HOUR, local
from scheduler.outputs.calendar.entry import Alarm
from scheduler.outputs.calendar.uids import alarm_uid
from scheduler.outputs.plain_text import one_line, paragraphs
from scheduler.outputs.wording.sentence import title_of, words_of
from scheduler.planning.plan import PlannedTask, Told
from scheduler.rules.schema import LOSSES, Loss

MOST_BEFORE = 12 * HOUR  # s before the start of its entry at most; DESIGN
EVENING = time(18)  # on the day before, for what belongs to a day (assumed)
URGENT: tuple[Loss, ...] = ("food safety", "crop")  # what is worth waking for, where somebody can act
_BEFORE_QUIET = HOUR  # s before the quiet hours begin, what they would swallow (assumed)


class TaskAlert(NamedTuple):
    """An alert of a task, and which of its alerts it is."""

    task: PlannedTask
    number: int
    told: Told


def alerts_at(task: PlannedTask, where: str) -> list[TaskAlert]:
    """The alerts of a task that belong to its beginning ("begin"), to the work that closes its hold ("end"), or to a hold nobody closes ("over")."""
    return [TaskAlert(task, number, told) for number, told in enumerate(task.alerts) if task.is_open and _belongs(task, told) == where]


def _belongs(task: PlannedTask, told: Told) -> str:
    if task.hold_done is not None and told.at > task.start and told.at >= task.holds_from:
        return "end" if task.closing else "over"
    return "begin"


def quiet_span(quiet: Hours | None, at: int, zone: ZoneInfo) -> tuple[int, int] | None:
    """The quiet hours that hold at a moment [epoch s]; None where none do. They are wall-clock hours."""
    if quiet is None:
        return None
    today = datetime.fromtimestamp(at, zone).date()
    for day in (today - timedelta(1), today):
        for opens, closes in quiet.spans(day):
            begins, ends = (int(datetime.combine(date, clock, zone).timestamp()) for date, clock in ((day, opens), (day + timedelta(closes <= opens), closes)))
            if begins <= at < ends:
                return begins, ends
    return None


def ringing(quiet: Hours | None, at: int, start: int, zone: ZoneInfo, *, sun_tied: bool = False, urgent: bool = False) -> int:
    """
    When the alarm of an entry rings that was wanted `at` and starts at `start` [epoch s].

    What falls into quiet hours waits for the morning; where that is too late, or the work is tied to the sun, it comes before the quiet hours.
    What loses food or crop rings as it begins: work is planned then, so that somebody can act.
    """
    at = min(max(at, start - MOST_BEFORE), start)
    span = quiet_span(quiet, at, zone)
    if span is None or (urgent and not sun_tied and at == start):
        return at
    if span[1] <= start and not sun_tied:
        return span[1]
    return max(span[0] - _BEFORE_QUIET, start - MOST_BEFORE)


def evening_before(midnight: int, zone: ZoneInfo) -> int:
    """The evening before a day that begins at `midnight` [epoch s]."""
    day = datetime.fromtimestamp(midnight, zone).date() - timedelta(1)
    return int(datetime.combine(day, EVENING, zone).timestamp())


def alarm(name: str, yard: str, at: int, start: int, timezone: str, alerts: Iterable[TaskAlert], acknowledged: Mapping[str, int]) -> tuple[Alarm, ...]:
    """One alarm for all the alerts of an entry: it says what would lose most; dismissed once all of them are. Nothing where there are none."""
    found = sorted(alerts, key=lambda one: (LOSSES.index(one.task.loss), one.told.at, one.task.id))
    if not found:
        return ()
    says = paragraphs(words_of(found[0].told.say)).strip() or one_line(title_of(found[0].task))
    heard = [acknowledged.get(alarm_uid(one.task.id, one.number, yard), 0) for one in found]
    changes = local(at, timezone).utcoffset() != local(start, timezone).utcoffset()
    return (Alarm(alarm_uid(name, 0, yard), at - start, "START", says, max(heard) if all(heard) else None, at if changes else None),)
