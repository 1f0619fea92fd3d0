"""The to-dos of a plan, one a task: from the beginning of its work; while its hold runs in process, with the hold's end."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from zoneinfo import ZoneInfo

from scheduler.outputs.calendar.alarms import URGENT, alarm, alerts_at, ringing
from scheduler.outputs.calendar.entry import Alarm, Entry, EntryCache, Relation
from scheduler.outputs.calendar.events import PRIORITY, people_words, place_words
from scheduler.outputs.calendar.uids import alarm_uid, entry_uid
from scheduler.outputs.plain_text import one_line
from scheduler.outputs.wording.sentence import in_words, reader_of, title_of
from scheduler.outputs.wording.sitting_words import task_notes, whose_words
from scheduler.planning.plan import Plan, PlannedTask

_MINUTE = 60


class Todos:
    """Makes the to-dos of one plan. A line of a checklist is part of the to-do of its step."""

    def __init__(self, plan: Plan, acknowledged: Mapping[str, int], cache: EntryCache) -> None:
        self.plan, self.acknowledged, self.cache, self.zone = plan, acknowledged, cache, ZoneInfo(plan.timezone)
        self.listed = {task.id for task in plan.tasks if _is_listed(task)}
        self.warned: dict[str, list[str]] = {}
        for warning in plan.warnings:
            self.warned.setdefault(warning.task or "", []).append(in_words(warning.says, reader_of(plan)))

    def all(self) -> Iterator[Entry]:
        """Every to-do, in the order of the plan."""
        for task in self.plan.tasks:
            if task.id in self.listed:
                uid, words = entry_uid(task.id, "begin", self.plan.yard, todo=True), tuple(self.warned.get(task.id, ()))
                relations = tuple(self._relations(task))
                heard = tuple(self.acknowledged.get(alarm_uid(task.id, number, self.plan.yard)) for number in range(len(task.alerts)))
                key = (task, task.start <= self.plan.as_of, relations, words, self.plan.timezone, self.plan.quiet, heard)
                before = self.cache.get((self.plan.yard, uid))
                if before is None or before[0] != key:
                    before = self.cache[self.plan.yard, uid] = (key, self._made(task, uid, relations, words))
                yield before[1]

    def _made(self, task: PlannedTask, uid: str, relations: tuple[Relation, ...], words: Sequence[str]) -> Entry:
        start, end = task.start, self._due(task)
        runs = _runs(task)
        percent = round(100 * (1 - task.left / task.count)) if task.is_open and 0 < task.left < task.count else 0
        done = task.status == "done"
        return Entry(
            uid,
            "todo",
            start,
            end,
            self.plan.timezone,
            (one_line(title_of(task)) or one_line(task.id)) + (f" ({one_line(whose_words(task))})" if task.person else ""),
            task_notes(self.plan, task, words),
            one_line(self.plan.yard),
            (task.stream, *place_words(task.place), *people_words(task)),
            "CANCELLED" if task.status == "skipped" else "COMPLETED" if done else "IN-PROCESS" if runs or percent else "NEEDS-ACTION",
            PRIORITY.get(task.loss, 5),
            relations=relations,
            alarms=() if done or task.status == "skipped" else self._alarms(task, start, end),
            completed=task.finish if done else None,
            percent=percent,
        )

    def _due(self, task: PlannedTask) -> int:
        """The end of a hold that runs; else the due date, never before the first work is over."""
        if _runs(task) and task.hold_done is not None:
            return max(task.hold_done, task.start + _MINUTE)
        first = task.sittings[-1][1] if task.sittings else task.finish if task.status == "done" else task.start
        return max(first, task.due or 0, task.start + _MINUTE)

    def _alarms(self, task: PlannedTask, start: int, end: int) -> tuple[Alarm, ...]:
        """As its work begins, or before it, where that is still to come; while a hold runs, as it is over."""
        if _runs(task):
            alerts = [*alerts_at(task, "end"), *alerts_at(task, "over")]
            made = alarm(task.id, self.plan.yard, end, end, self.plan.timezone, alerts, self.acknowledged)
            return tuple(one._replace(uid=alarm_uid(task.id, alerts[0].number, self.plan.yard, todo=True), related="END") for one in made)
        if start <= self.plan.as_of:
            return ()
        alerts = alerts_at(task, "begin")
        wanted = min([start, *(one.told.at for one in alerts)])
        at = ringing(self.plan.quiet, wanted, start, self.zone, sun_tied=task.sun_tied, urgent=task.loss in URGENT)
        made = alarm(task.id, self.plan.yard, at, start, self.plan.timezone, alerts, self.acknowledged)
        return tuple(one._replace(uid=alarm_uid(task.id, alerts[0].number, self.plan.yard, todo=True)) for one in made)

    def _relations(self, task: PlannedTask) -> Iterator[Relation]:
        for link in task.links:
            if link.task in self.listed:
                yield Relation(entry_uid(link.task, "begin", self.plan.yard, todo=True), link.kind.replace(" ", "").upper(), link.least)


def _runs(task: PlannedTask) -> bool:
    """Whether its hold runs: the work before it is recorded, and no more is left of it."""
    return task.is_open and task.begun and task.hold_done is not None and not task.sittings


def _is_listed(task: PlannedTask) -> bool:
    """Whether it is a to-do: somebody's work, or a limit that is told. What was done or skipped keeps the entry it had."""
    return task.alongside is None and task.has_time and bool(task.hands or task.hold_done is not None or task.alerts) and (task.is_open or bool(task.hands))
