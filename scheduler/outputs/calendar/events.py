"""The events of a plan: one for each sitting, one on its day for each limit, one where a hold is over that nobody closes, and the holds."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from scheduler.facts.people import KEEPER
from scheduler.local_time import DAY, HOUR, midnight
from scheduler.outputs.calendar.alarms import MOST_BEFORE, URGENT, TaskAlert, alarm, alerts_at, evening_before, quiet_span, ringing
from scheduler.outputs.calendar.entry import Alarm, Entry, EntryCache, Relation
from scheduler.outputs.calendar.uids import entry_uid
from scheduler.outputs.plain_text import one_line
from scheduler.outputs.wording.sentence import in_words, reader_of
from scheduler.outputs.wording.sitting_words import done_title, hold_title, limit_title, over_title, sitting_notes, sitting_title, task_notes
from scheduler.planning.plan import Plan, PlannedTask, checklists
from scheduler.planning.sittings import GAP, Sitting, Step, has_name

PRIORITY = {"food safety": 1, "colony": 2, "crop": 3, "comfort": 7}  # RFC 5545 section 3.8.1.9: 1 is highest, 9 lowest
_MINUTE, _MARK = 60, 15 * 60  # s: the shortest work, and how long a moment is shown
SOON_AFTER = 12 * HOUR  # s, a night, within which the work planned for it shows that a hold is over: till then nobody acts; assumed
SPARE = DAY  # s that a limit has to spare before it rings for nobody; assumed


class Events:
    """Makes the events of one plan, from its sittings."""

    def __init__(self, plan: Plan, evenings: Collection[Sitting], acknowledged: Mapping[str, int], cache: EntryCache) -> None:
        self.plan, self.evenings, self.acknowledged, self.cache = plan, evenings, acknowledged, cache
        self.zone, self.yard = ZoneInfo(plan.timezone), one_line(plan.yard)
        self.tasks, self.lines = {task.id: task for task in plan.tasks}, checklists(plan)
        self.warned: dict[str, list[str]] = {}
        for warning in plan.warnings:
            self.warned.setdefault(warning.task or "", []).append(in_words(warning.says, reader_of(plan)))
        self.of_step = {step.key: one for one in evenings if not one.done for step in one.steps}
        self.ends = {one.id: one.end for one in evenings}
        self.rests = rests(evenings, self.tasks)
        self.taken_up = taken_up(plan, self.tasks)
        self.rung = _first_limits(plan, self.zone)
        self.steps: dict[str, list[Step]] = {}
        for one in evenings:
            for step in () if one.done else one.steps:
                self.steps.setdefault(step.task, []).append(step)

    def all(self, *, holds: bool) -> Iterator[Entry]:
        """Every event, the holds among them where they are wanted."""
        for one in self.evenings:
            yield self._sitting(one)
        for task in self.plan.tasks:
            if task.limit and task.alongside is None:
                yield self._kept(task, "limit", self._limit)
            elif task.is_open and task.hold_done is not None and not task.closing and task.id not in self.taken_up:
                yield self._kept(task, "over", self._over)
            if holds and task.is_open and task.hold_done is not None and task.hold_done > task.holds_from:
                yield self._kept(task, "hold", self._hold)

    def _kept(self, task: PlannedTask, phase: str, make: Any) -> Entry:
        """An event of one task, from the cache where it is what it was."""
        uid = entry_uid(task.id, phase, self.plan.yard)
        key = (
            task,
            task.id in self.rung,
            self.plan.timezone,
            self.plan.quiet,
            tuple(self.warned.get(task.id, ())),
            self._heard([task]),
        )
        before = self.cache.get((self.plan.yard, uid))
        if before is None or before[0] != key:
            before = self.cache[self.plan.yard, uid] = (key, make(task, uid))
        return before[1]

    def _heard(self, tasks: Collection[PlannedTask]) -> tuple[tuple[str, int], ...]:
        """What was dismissed of the alarms of these tasks."""
        if not self.acknowledged:
            return ()
        wanted = tuple(f"{task.id}.alarm-" for task in tasks)
        return tuple((name, at) for name, at in self.acknowledged.items() if name.startswith(wanted))

    def _sitting(self, one: Sitting) -> Entry:
        uid = entry_uid(one.id, "sitting", self.plan.yard)
        tasks, relations = [self.tasks[name] for name in one.tasks], () if one.done else self._relations(one)
        lines = tuple(line for task in tasks for line in self.lines.get(task.id, ()))
        words = tuple(words for task in tasks for words in self.warned.get(task.id, ()))
        ended = tuple(self.tasks[name] for name, step in self.taken_up.items() if step in one.tasks)
        key = (
            one,
            one.start <= self.plan.as_of,
            self.rests.get(one.id),
            ended,
            tuple(tasks),
            lines,
            relations,
            words,
            self.plan.timezone,
            self.plan.quiet,
            self._heard(tasks),
        )
        before = self.cache.get((self.plan.yard, uid))
        if before is None or before[0] != key:
            before = self.cache[self.plan.yard, uid] = (key, self._made(one, uid, tasks, relations, words))
        return before[1]

    def _made(self, one: Sitting, uid: str, tasks: list[PlannedTask], relations: tuple[Relation, ...], words: tuple[str, ...]) -> Entry:
        all_day = not one.done and all(task.all_day for task in tasks)
        start, end = self._day(one.start) if all_day else (one.start, max(one.end, one.start + (_MARK if one.done else _MINUTE)))
        return Entry(
            uid,
            "event",
            start,
            end,
            self.plan.timezone,
            done_title(self.tasks, one.steps) if one.done else sitting_title(self.tasks, one.steps),
            sitting_notes(self.plan, self.tasks, one.steps, self.lines, words, done=one.done),
            f"{self.yard}, {one_line(one.place)}" if has_name(one.place) else self.yard,
            _categories(tasks),
            "TENTATIVE" if not one.done and all(task.status == "provisional" for task in tasks) else "CONFIRMED",
            9 if one.done else min(PRIORITY.get(task.loss, 5) for task in tasks),
            one.done or all_day,
            relations,
            () if one.done else self._alarms(one, start, all_day),
            all_day=all_day,
            steps=tuple(step.key for step in one.steps),
        )

    def _alarms(self, one: Sitting, start: int, all_day: bool) -> tuple[Alarm, ...]:
        """One alarm for what a sitting has a clock for: as it starts, or before it where the work wants that.

        Who is at work already needs no call, and what is to begin as the plan is made has none: no calendar is fetched in that minute.
        """
        if start <= self.plan.as_of:
            return ()
        alerts, sun_tied = sitting_alerts(one, self.tasks, self.taken_up), self.tasks[one.steps[0].task].sun_tied
        ahead, urgent = [alert.told.at for alert in alerts if alert.told.at < alert.task.start], any(alert.task.loss in URGENT for alert in alerts)
        if self.rests.get(one.id, DAY) <= (GAP if urgent else HOUR) and not ahead and not sun_tied:
            return ()
        if all_day:
            at = evening_before(start, self.zone)
        else:
            at = ringing(self.plan.quiet, min([one.start, *ahead]), one.start, self.zone, sun_tied=sun_tied, urgent=urgent)
        return alarm(one.id, self.plan.yard, at, start, self.plan.timezone, alerts, self.acknowledged)

    def _relations(self, one: Sitting) -> tuple[Relation, ...]:
        """Which sittings it waits for, and how long after their end."""
        found: dict[str, int] = {}
        for step in one.steps:
            task = self.tasks[step.task]
            if step.phase == "end" and task.sittings:
                self._waits(one, self.steps[task.id][0], task.hold_done or step.start, found)
            for link in task.links if step.phase == "begin" else ():
                before = self.steps.get(link.task)
                if before and link.kind == "finish to start":
                    self._waits(one, before[-1], self.tasks[link.task].finish + link.least, found)
        return tuple(Relation(uid, "FINISHTOSTART", gap) for uid, gap in found.items())

    def _waits(self, one: Sitting, before: Step, until: int, found: dict[str, int]) -> None:
        other = self.of_step[before.key]
        if other.id != one.id and (end := self.ends[other.id]) <= one.start:
            uid = entry_uid(other.id, "sitting", self.plan.yard)
            found[uid] = max(found.get(uid, 0), min(until, one.start) - end, 0)

    def _limit(self, task: PlannedTask, uid: str) -> Entry:
        """A limit is an entry of its day; its alarm rings the evening before, as the card says where that is no night."""
        start, end = self._day(task.due or task.start)
        alerts = [TaskAlert(task, number, told) for number, told in enumerate(task.alerts)]
        said = [one.told.at for one in alerts if start - MOST_BEFORE <= one.told.at < start and quiet_span(self.plan.quiet, one.told.at, self.zone) is None]
        at = min(said, default=evening_before(start, self.zone))
        alarms = alarm(task.id, self.plan.yard, at, start, self.plan.timezone, alerts, self.acknowledged) if task.id in self.rung else ()
        return self._of_task(task, uid, limit_title(task, self.plan.timezone), start, end, alarms=alarms, all_day=True, priority=PRIORITY.get(task.loss, 5))

    def _over(self, task: PlannedTask, uid: str) -> Entry:
        """Where a hold is over that nobody closes, and no work follows soon: its alarm at its start; in the morning where it is over at night."""
        at = task.hold_done or task.finish
        if (span := quiet_span(self.plan.quiet, at, self.zone)) is not None:
            at = span[1]
        alarms = alarm(task.id, self.plan.yard, at, at, self.plan.timezone, alerts_at(task, "over"), self.acknowledged)
        return self._of_task(task, uid, over_title(task), at, at + _MARK, alarms=alarms, priority=PRIORITY.get(task.loss, 5))

    def _hold(self, task: PlannedTask, uid: str) -> Entry:
        return self._of_task(task, uid, hold_title(task), task.holds_from, task.hold_done or task.finish)

    def _of_task(
        self, task: PlannedTask, uid: str, title: str, start: int, end: int, *, alarms: tuple[Alarm, ...] = (), all_day: bool = False, priority: int = 9
    ) -> Entry:
        """An event that takes nobody's time."""
        notes = task_notes(self.plan, task, self.warned.get(task.id, ()))
        status = "TENTATIVE" if task.status == "provisional" else "CONFIRMED"
        return Entry(
            uid, "event", start, end, self.plan.timezone, title, notes, self.yard, _categories([task]), status, priority, True, (), alarms, all_day=all_day
        )

    def _day(self, at: int) -> tuple[int, int]:
        """The midnights about a moment."""
        day = datetime.fromtimestamp(at, self.zone).date()
        return midnight(day, self.zone), midnight(day + timedelta(1), self.zone)


def sitting_alerts(one: Sitting, tasks: Mapping[str, PlannedTask], ended: Mapping[str, str]) -> list[TaskAlert]:
    """The alerts that the alarm of a sitting stands for; `ended` are the holds whose end its steps take up, each with the task that does."""
    of_steps = [alert for step in one.steps if step.phase in ("begin", "end") and step.task in tasks for alert in alerts_at(tasks[step.task], step.phase)]
    begun = {step.task for step in one.steps if step.phase == "begin"}
    return of_steps + [alert for name, step in ended.items() if step in begun for alert in alerts_at(tasks[name], "over")]


def taken_up(plan: Plan, tasks: Mapping[str, PlannedTask]) -> dict[str, str]:
    """The holds that nobody closes but work follows before long, each with the task that takes its end up: that work is what a calendar shows."""
    found: dict[str, str] = {}
    for task in (task for task in plan.tasks if task.is_open and task.sittings):
        for link in task.links:
            before = tasks.get(link.task)
            if before is None or not before.is_open or before.hold_done is None or before.closing or link.kind != "finish to start":
                continue
            if 0 <= task.sittings[0][0] - before.hold_done <= SOON_AFTER:
                found.setdefault(before.id, task.id)
    return found


def _categories(tasks: Collection[PlannedTask]) -> tuple[str, ...]:
    """Streams, places and person, each once."""
    people = [word for task in tasks if task.person for word in people_words(task)]
    return tuple(dict.fromkeys([*(task.stream for task in tasks), *(word for task in tasks for word in place_words(task.place)), *people]))


def people_words(task: PlannedTask) -> tuple[str, ...]:
    """The people that an entry is filed under, the keeper by that word only beside another."""
    return tuple(one_line(one or KEEPER) for one in task.people) if task.person else ()


def place_words(place: str) -> tuple[str, ...]:
    """The places that an entry is filed under: an apiary with a name is one of all of them, whose word stands last."""
    return (one_line(place), "apiary") if has_name(place) else (place,)


def rests(evenings: Iterable[Sitting], tasks: Mapping[str, PlannedTask]) -> dict[str, int]:
    """How long everybody who comes to a sitting had been home from the one before, by its id; nothing of a first one [s]."""
    home: dict[str | None, int] = {}
    found = {}
    for one in sorted((one for one in evenings if not one.done), key=lambda one: (one.start, one.id)):
        if all(whose in home for whose in one.people):
            found[one.id] = max(one.start - home[whose] for whose in one.people)
        back = one.end + max(tasks[name].way for name in one.tasks)
        home.update({whose: max(back, home.get(whose, 0)) for whose in one.people})
    return found


def _first_limits(plan: Plan, zone: ZoneInfo) -> frozenset[str]:
    """Of the limits of one day the earliest, which rings for all. One that all it waits for is planned to meet
    with a day to spare rings for none: that work has alarms of its own.
    """
    first: dict[object, PlannedTask] = {}
    for task in plan.tasks:
        if task.limit and task.alerts and not (task.links and (task.due or 0) - task.finish >= SPARE):
            day = datetime.fromtimestamp(task.due or task.start, zone).date()
            before = first.setdefault(day, task)
            if (task.due or 0, task.id) < (before.due or 0, before.id):
                first[day] = task
    return frozenset(task.id for task in first.values())
