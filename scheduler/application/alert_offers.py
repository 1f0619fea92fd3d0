"""Which alerts are to be told to whom and when, from a new plan and from what was offered before. Pure.

An alert is told at the moment that the plan says, as in the calendar. Three promises do not move with a plan that starts everything later
which is not done: an alert that fell due and was not told is told at once; one that was told is not told anew within the hour; and a hold
that may be running, because it was planned to begin and nobody said otherwise, ends when it was said to. What the keeper reports of a task
itself moves its alerts.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from zoneinfo import ZoneInfo

from scheduler.application.alert_ids import alert_key, summary_key
from scheduler.facts.fact import Recorded
from scheduler.facts.people import KEEPER
from scheduler.ledger.alerts import PlannedAlert, StoredAlert
from scheduler.local_time import HOUR
from scheduler.outputs.notify.config import NotificationConfig, Recipient
from scheduler.outputs.notify.timing import day_of, moment_at
from scheduler.outputs.wording.sentence import words_of
from scheduler.planning.plan import Plan


@dataclass(frozen=True, slots=True)
class OfferedAlerts:
    """Up to which fact the alerts were offered, and the planned start of each task then; kept in the ledger between two runs."""

    position: int = 0
    starts: Mapping[str, int] = field(default_factory=dict)

    def to_json(self) -> str:
        """One line of JSON."""
        return json.dumps({"position": self.position, "starts": dict(self.starts)}, sort_keys=True)

    @classmethod
    def from_json(cls, text: str) -> OfferedAlerts:
        """What `to_json` wrote; nothing offered yet where it is something else."""
        try:
            found = json.loads(text)
            return cls(int(found["position"]), {str(key): int(value) for key, value in found["starts"].items()})
        except (ValueError, TypeError, KeyError, AttributeError):
            return cls()


def tasks_reported(facts: Iterable[Recorded], after: int) -> frozenset[str]:
    """The tasks that facts behind a position are about, also those taken back or corrected by them."""
    by_id = {one.id: one for one in facts}
    found = set()
    for one in by_id.values():
        if one.sequence > after:
            before = by_id.get(one.fact.replaces or "")
            found |= {getattr(fact, "task", None) for fact in (one.fact, before.fact if before else None)}
    return frozenset(task for task in found if task is not None)


def offers(
    plan: Plan, config: NotificationConfig, rows: Iterable[StoredAlert], offered: OfferedAlerts, reported: frozenset[str], put_off: Mapping[str, int], now: int
) -> list[PlannedAlert]:
    """
    The alerts of a plan, one for each person who hears of that loss and that work, each at the moment that stays right.

    `reported` are the tasks that the keeper has reported something of since `offered`; `put_off` until when tasks are put off [s since 1970].
    """
    here, found = {row.id: row for row in rows}, []
    concerned = _concerned(plan)
    for task in plan.tasks:
        for number, alert in enumerate(task.alerts):
            at = alert.at
            if number == 0 and now < put_off.get(task.id, 0) < at:
                at = put_off[task.id]  # "in an hour" is in an hour, also where the work can only be done tomorrow
            for name, person in config.people.items():
                key = alert_key(task.id, number, name)
                row = here.get(key)
                held_from = offered.starts.get(task.id) if task.hold_done is not None and at > task.start else None
                kept = row is not None and task.id not in reported and _stays(row, at, held_from, now)
                if person.tell.get(task.loss) and (person.hears == "all" or name in concerned[task.id]):
                    found.append(PlannedAlert(key, task.id, row.due_at if row is not None and kept else at, words_of(alert.say), task.loss))
    return found


def slept_through(plan: Plan, rows: Iterable[StoredAlert], over: Collection[str], now: int) -> list[PlannedAlert]:
    """What fell due while no watch looked, of work that has lapsed since: it is told once all the same, for nobody answered it.

    `over` are the tasks that were done or skipped.
    """
    passed = {task.id for task in plan.tasks if task.status == "lapsed" and task.id not in over}
    missed = [row for row in rows if row.task in passed and row.told_at is None and row.acknowledged_at is None and row.due_at <= now]
    return [PlannedAlert(row.id, row.task, row.due_at, row.say, row.loss) for row in missed]


def _concerned(plan: Plan) -> dict[str, set[str]]:
    """Whose work each task is, and whose work follows from it: "drained, pack now" is for whoever packs."""
    found = {task.id: {one or KEEPER for one in task.people} for task in plan.tasks}
    for task in plan.tasks:
        for link in task.links:
            if link.task in found:
                found[link.task].update(one or KEEPER for one in task.people)
    return found


def _stays(row: StoredAlert, at: int, held_from: int | None, now: int) -> bool:
    """Whether an alert keeps its moment where the plan has moved it later; `held_from` is when the hold that it ends was planned to begin."""
    if at <= row.due_at:
        return False
    if row.told_at is not None:
        return at - row.told_at < HOUR or row.next_attempt_at is not None  # it is still being repeated
    return row.due_at <= now or (held_from is not None and held_from <= now)


def starts(plan: Plan, offered: OfferedAlerts, reported: frozenset[str], now: int) -> dict[str, int]:
    """The planned start of every task still to be done; one that has passed stays, unless the keeper reported something of the task."""
    found = {}
    for task in plan.tasks:
        if task.is_open:
            before = offered.starts.get(task.id)
            found[task.id] = before if before is not None and before <= now and task.id not in reported else task.start
    return found


def summaries(config: NotificationConfig, rows: Iterable[StoredAlert], now: int, zone: ZoneInfo) -> list[PlannedAlert]:
    """The summaries of today and tomorrow; one whose time had passed before it was first offered is not made up for."""
    here = {row.id for row in rows}
    return [one for name, person in config.people.items() for one in _summaries_for(name, person, now, zone) if one.due_at >= now or one.id in here]


def _summaries_for(name: str, person: Recipient, now: int, zone: ZoneInfo) -> Iterator[PlannedAlert]:
    today = day_of(now, zone)
    for kind, clock in (("morning", person.morning_summary), ("evening", person.evening_summary)):
        for day in (today, today + timedelta(days=1)):
            if clock is not None:
                yield PlannedAlert(summary_key(kind, day, name), "", moment_at(day, clock, zone), f"{kind} summary", "comfort")
