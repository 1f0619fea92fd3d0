"""One word about many tasks: all went as planned up to a day. What protects food, or gives a reading, is asked one by one."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date, datetime, timedelta
from typing import NamedTuple

from scheduler.application.ledger_view import LedgerView
from scheduler.application.lookup import moment_of
from scheduler.application.tell_tasks import Confirmation
from scheduler.diagnostics import Fault
from scheduler.facts.fact import HarvestLogged, TaskBegun, TaskDone, TaskFact
from scheduler.local_time import in_years, midnight, spoken
from scheduler.outputs.wording.sentence import title_of
from scheduler.planning.plan import Plan, PlannedTask


class AsPlanned(NamedTuple):
    """What is to be written down, and the ids of what has to be told singly, both in order of time."""

    confirmations: tuple[Confirmation, ...]
    singly: tuple[str, ...]


def day_of(text: str, view: LedgerView) -> date:
    """A day as typed: "yesterday", "Sun", "4 Jul", "2026-07-04". Raises `Fault` for what is no day, or one still to come."""
    try:
        day = date.fromisoformat(text.strip())
    except ValueError:
        try:
            day = datetime.fromtimestamp(moment_of(f"{text} 00:00", view.now, view.zone), view.zone).date()
        except Fault:
            raise Fault(f'"{text}" is not a day', 'yesterday, "Sun", "4 Jul" or 2026-07-04') from None
    if midnight(in_years(day, text), view.zone) > view.now:
        raise Fault(f"{day} is still to come", "yesterday, or the day up to which all went as planned")
    return day


def as_planned(view: LedgerView, until: date) -> AsPlanned:
    """
    Every step that was planned up to the end of a day, and of which nothing is recorded, at the time for which it was planned.

    It was planned as at the last word before that day, or when a harvest was logged on it. A hold that was to end later counts as begun.
    """
    end = min(midnight(until + timedelta(1), view.zone), view.now)
    return _told(view, [task for task in _in_force(view, until).tasks if _over(task) <= end], end)


def at_hand_done(view: LedgerView, ids: Collection[str], now: int) -> AsPlanned:
    """
    The same of steps that are at hand, with their checklists, by the plan that is shown.

    What was to end after `now` [s since 1970] ended now; a hold that is not over goes on.
    """
    return _told(view, [task for task in view.plan.tasks if task.id in ids or task.alongside in ids], now, at_hand=True)


def all_at_once(view: LedgerView, ids: Iterable[str]) -> tuple[str, ...]:
    """The steps of these that one word may be about; none where that is one step alone."""
    tasks = {task.id: task for task in view.plan.tasks}
    found = tuple(dict.fromkeys(name for name in ids if not view.rules.by_key[tasks[name].rule].is_told_singly))
    return found if len(found) > 1 else ()


def _told(view: LedgerView, tasks: Iterable[PlannedTask], end: int, *, at_hand: bool = False) -> AsPlanned:
    recorded, cards = view.happened, view.rules.by_key
    said: list[Confirmation] = []
    singly: list[str] = []
    for task in tasks:
        name = task.id
        if name in recorded.done or name in recorded.skipped or task.limit or not (task.is_open or _was_asked(task)):
            continue
        if cards[task.rule].is_told_singly:
            singly.append(name)
        elif task.finish <= end or (at_hand and (task.hold_done is None or (name in recorded.begun and task.hold_done <= end))):
            over = min(task.finish, end)
            start = recorded.begun.get(name, min(task.start, over))
            words = f"{title_of(task)} [{name}]: {spoken(max(over, start), view.zone)}"
            said.append(Confirmation(words, TaskDone(occurred_at=max(over, start), task=name, started_at=start)))
        elif name not in recorded.begun:
            over = min(task.holds_from, end)
            said.append(Confirmation(f"{title_of(task)} [{name}]: begun {spoken(over, view.zone)}", TaskBegun(occurred_at=over, task=name)))
    return AsPlanned(tuple(said), tuple(singly))


def _was_asked(task: PlannedTask) -> bool:
    """Whether it is weeks past sense: it keeps the times for which it was planned."""
    return any(reason.says.kind == "planned then" for reason in task.reasons)


def _over(task: PlannedTask) -> int:
    """When there is something to be told of a task: its finish, or the end of the work before its hold [s since 1970]."""
    return task.holds_from if task.hold_done is not None and task.sittings else task.finish


def _in_force(view: LedgerView, day: date) -> Plan:
    """The plan that the keeper went by on a day."""
    begins, ends = midnight(day, view.zone), min(midnight(day + timedelta(1), view.zone), view.now)
    said = [one.recorded_at for one in view.recorded if one.recorded_at <= (ends if isinstance(one.fact, HarvestLogged) else begins)]
    first = min((one.recorded_at for one in view.recorded if isinstance(one.fact, HarvestLogged)), default=view.now)
    then = max([*said, min(first, view.now)])
    return LedgerView([one for one in view.recorded if not isinstance(one.fact, TaskFact) or one.recorded_at <= then], then).plan
