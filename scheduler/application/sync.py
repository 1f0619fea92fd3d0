"""A sync with a CalDAV collection: what people did becomes facts, then the plan that follows from them is written out.

What happened beats what was planned: a tick is a fact even where the plan had dropped the task, and a plan never takes a tick back. What cannot be
a fact (a tick taken back, an entry deleted, a start earlier than the plan allows) is reported, and the plan stands.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from scheduler.application.alert_ids import alert_key, read_alert_key
from scheduler.application.early_ticks import note_early_ticks
from scheduler.application.ledger_view import LedgerView, whole_view
from scheduler.application.publish import REMADE, Publication, acknowledged, publish_plan, steps_sent
from scheduler.diagnostics import Fault
from scheduler.facts.fact import AlertAcknowledged, Fact, TaskBegun, TaskDone, TaskPutOff
from scheduler.ledger.store import Ledger
from scheduler.outputs.caldav.merge import Stamp
from scheduler.outputs.caldav.reconcile import Pulled, RemoteChange, RemoteCollection, SyncState, pull, push
from scheduler.outputs.calendar.events import sitting_alerts, taken_up
from scheduler.outputs.calendar.feed_selection import Selection, selected
from scheduler.outputs.calendar.publication import Published
from scheduler.outputs.calendar.uids import alarm_uid, read_entry_uid, yard_slug
from scheduler.outputs.wording.sentence import METRIC, in_words, reader_of, title_of
from scheduler.outputs.wording.sitting_words import sitting_title
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.sittings import Sitting, Step, steps_of
from scheduler.planning.task_ids import current
from scheduler.quantities import Statement, instant, say

CALENDAR, TODOS = "VEVENT", "VTODO"
BY = "calendar"  # who acknowledged an alert that was dismissed in a calendar
HANDFUL = 5  # moves at once that need no question; assumed
_ROUNDS = 2  # somebody who edits while we write is met once more; after that the next sync meets them


@dataclass
class SyncReport:
    """What a sync did, for a person: lines to read, how many facts it brought, how many objects are left for the next one."""

    lines: list[str] = field(default_factory=list)
    facts: int = 0
    left: int = 0
    made: int = 0
    changed: int = 0
    deleted: int = 0


class Unsure(Fault):
    """What is done only once the keeper says that it is meant: many moves at once, or a ledger that is older than what it wrote."""


def synced_before(ledger: Ledger, place: str) -> bool:
    """Whether a collection was synced before."""
    return ledger.outgoing.last_seen(f"caldav {place}") is not None


def sync(ledger: Ledger, remote: RemoteCollection, place: str, now: int, kinds: Iterable[str] = (CALENDAR, TODOS), *, sure: bool = False) -> SyncReport:
    """
    Sync once as at `now` [epoch s] and say what happened. `place` names the collection in the ledger; `kinds` are the entries it takes.

    Raises `Unsure`, and changes nothing, where more than a handful of entries moved, or the ledger is an older copy, unless the keeper is `sure`;
    `caldav.http.Stopped` where the server stops it: what was done so far is written down, and the next sync goes on.
    """
    report, reader = SyncReport(), f"caldav {place}"
    kinds = tuple(kinds)
    last = ledger.outgoing.last_seen(reader)
    known = SyncState.from_json(last[1] if last else None)

    def save() -> None:
        ledger.outgoing.see(reader, now, known.to_json())

    for _ in range(_ROUNDS):
        sent = publish_plan(ledger, now)
        plan = sent.plan
        report.lines += [in_words(REMADE, METRIC)] if sent.remade else []
        stamp = Stamp(_id_of(ledger), ledger.position())
        pulled = pull(remote, known, yard_slug(plan.yard), plan.timezone, stamp, sent.published)
        if not sure:
            _refuse_doubtful(pulled, stamp)
        view = whole_view(ledger, now)  # with what was recorded while the server answered
        taken = _ChangeReader(sent, view, acknowledged(view.recorded, plan.yard, view.rules.renamed), now)
        taken.read(pulled.changes)
        ledger.append(taken.facts, now)
        note_early_ticks(ledger, taken.early, now)
        _acknowledge_alerts(ledger, taken.facts, now)
        save()  # after the facts: a change that is read twice is known to the ledger, one that is lost is not
        if taken.facts:
            sent = publish_plan(ledger, now)
        report.lines += [*taken.lines, *_new_starts(taken.facts, sent.plan)]
        report.facts += len(taken.facts)
        try:
            done = push(remote, known, _to_show(sent, kinds), pulled, plan.timezone, save, stamp)
        finally:
            save()
        report.left = done.left
        report.made, report.changed, report.deleted = report.made + done.made, report.changed + done.changed, report.deleted + done.deleted
        if pulled.taken:
            other = in_words(say("entries of another ledger", entries=len(pulled.taken)), reader_of(plan))
            report.lines = [*(line for line in report.lines if line != other), other]
        if not report.left:
            break
    return report


def _id_of(ledger: Ledger) -> str:
    """What tells a ledger from others: the id of its first fact, which its copies share."""
    return next((one.id for one in ledger.facts()), "")


def _refuse_doubtful(pulled: Pulled, stamp: Stamp) -> None:
    if pulled.newest > stamp.position:
        says = say("older copy", facts=stamp.position, written=pulled.newest)
        raise Unsure(in_words(says, METRIC), "afterpull sync --yes, or the newest copy of the ledger")
    moved = sum(change.kind == "moved" for change in pulled.changes)
    if moved > HANDFUL:
        raise Unsure(in_words(say("many moved", entries=moved), METRIC), "afterpull sync --yes, if so many were")


def _to_show(sent: Publication, kinds: tuple[str, ...]) -> dict[str, Published]:
    events = selected(sent.published, Selection(), sent.far) if CALENDAR in kinds else {}
    todos = selected(sent.published, Selection(todos=True), sent.far) if TODOS in kinds else {}
    return events | todos


def _acknowledge_alerts(ledger: Ledger, facts: Iterable[Fact], now: int) -> None:
    """An alert that was dismissed on a phone is not sent again by the watch, to anybody."""
    dismissed = {read_alert_key(one.alert)[:2]: one.occurred_at for one in facts if isinstance(one, AlertAcknowledged)}
    for row in ledger.alerts.all() if dismissed else ():
        if (at := dismissed.get(read_alert_key(row.id)[:2])) is not None:
            ledger.alerts.acknowledge(row.id, min(at, now))  # the phone's clock may be ahead


class _ChangeReader:
    """From changes on the server to facts and words, read against the plan that the server shows.

    The same change read again, or from event and to-do alike, is one fact.
    """

    def __init__(self, sent: Publication, view: LedgerView, dismissed: dict[str, int], now: int) -> None:
        self._plan, self._happened, self._renamed, self._now = sent.plan, view.happened, view.rules.renamed, now
        self._sittings = steps_sent(sent.published, sent.plan.yard, self._renamed)
        self._tasks: dict[str, PlannedTask] = {task.id: task for task in self._plan.tasks}
        self._seen = dict(dismissed)
        self._begun, self._done = dict(self._happened.begun), {name: at for name, (_, at) in self._happened.done.items()}
        self._put_off = dict(self._happened.put_off)
        self.facts: list[Fact] = []
        self.lines: list[str] = []
        self.early: dict[str, int] = {}  # holds that were ticked before they were over, and when

    def read(self, changes: Iterable[RemoteChange]) -> None:
        """Ticks first, a beginning before its end: a move of what is done is no wish any more."""
        for change in sorted(changes, key=lambda one: (one.kind != "ticked", ".end" in one.uid, one.uid, one.at or 0)):
            named = read_entry_uid(change.uid)
            if named is None:
                continue
            if named.phase == "sitting":
                self._of_sitting(change, named.task)
                continue
            task = current(named.task, self._renamed)
            try:
                getattr(self, f"_{change.kind}")(change, task, named.phase)
            except Fault as fault:
                self._say(task, say("not taken", fault=fault.message))

    def _say(self, task: str, says: Statement) -> None:
        self._say_of(title_of(self._tasks[task]) if task in self._tasks else task, says)

    def _say_of(self, title: str, says: Statement) -> None:
        line = in_words(say("of an entry", title=title, says=says), reader_of(self._plan))
        if line not in self.lines:
            self.lines.append(line)

    def _ticked(self, change: RemoteChange, task: str, phase: str) -> None:
        if task in self._done:
            return
        at = change.at if change.at is not None and 0 < change.at <= self._now else self._now
        planned = self._tasks.get(task)
        begun = self._begun.get(task)
        if phase == "begin" and planned is not None and planned.hold_done is not None and begun is not None and at < planned.hold_done:
            if at > begun:  # else the tick that began it, read again
                self.early[task] = at
                self._say(task, say("ticked before its end", at=instant(at), until=instant(planned.hold_done)))
            return
        if phase == "begin" and planned is not None and planned.hold_done is not None and begun is None:
            self._add(TaskBegun(occurred_at=at, task=task), task, say("begun by a tick", at=instant(at)))
            self._begun[task] = at
            return
        self._add(
            TaskDone(occurred_at=at, task=task, started_at=begun if begun is not None and begun <= at else None), task, say("done by a tick", at=instant(at))
        )
        self._done[task] = at
        if task in self._happened.skipped:
            self._say(task, say("skipped but done"))

    def _unticked(self, _: RemoteChange, task: str, phase: str) -> None:
        if task in self._done or (phase == "begin" and task in self._begun):
            self._say(task, say("tick taken back"))

    def _percent(self, change: RemoteChange, task: str, _: str) -> None:
        """A percentage is so many of the task's units; only what was not told yet is a fact."""
        planned = self._tasks.get(task)
        if planned is None or not planned.count or task in self._done:
            self._say(task, say("percentage of no units", percent=change.value))
            return
        more = round(planned.count * change.value / 100) - round(planned.count - planned.left)
        if more > 0:
            at = change.at if change.at is not None and 0 < change.at <= self._now else self._now
            self._add(TaskDone(occurred_at=at, task=task, amount=float(more)), task, say("more done by percentage", more=more, count=planned.count))

    def _moved(self, change: RemoteChange, task: str, phase: str) -> None:
        planned = self._tasks.get(task)
        if planned is None or task in self._done or task in self._happened.skipped or self._put_off.get(task) == change.value:
            return
        if phase != "begin" or task in self._begun:
            self._say(task, say("follows from its hold"))
        elif change.value < planned.start and task not in self._put_off:
            self._say(task, say("cannot start", at=instant(change.value), task=task))
        else:
            self._add(TaskPutOff(occurred_at=self._now, task=task, until=change.value), task, say("put off by a move", at=instant(change.value)))
            self._put_off[task] = change.value

    def _dismissed(self, change: RemoteChange, _: str, __: str) -> None:
        if change.alarm is not None:
            self._heard(current(change.alarm.task, self._renamed), change.alarm.number, change.at)

    def _heard(self, task: str, number: int, at: int | None) -> None:
        name, at = alarm_uid(task, number, self._plan.yard), min(at or self._now, self._now)
        if self._seen.get(name, -1) < at:
            self.facts.append(AlertAcknowledged(occurred_at=at, alert=alert_key(task, number, BY)))
            self._seen[name] = at

    def _of_sitting(self, change: RemoteChange, name: str) -> None:
        """A sitting stands for its steps: moved, it puts off those that are still to begin; its alarm was that of all their alerts."""
        keys = set(self._sittings.get(name, ()))
        steps = [step for task in self._plan.tasks if task.is_open for step in steps_of(task) if step.key in keys]
        if not steps:
            return
        title = sitting_title(self._tasks, sorted(steps, key=lambda step: step.start))
        if change.kind == "dismissed":
            for alert in sitting_alerts(Sitting(name, None, "", tuple(steps)), self._tasks, taken_up(self._plan, self._tasks)):
                self._heard(alert.task.id, alert.number, change.at)
        elif change.kind == "moved":
            self._sitting_moved(change, title, steps)
        elif change.kind == "reworded":
            self._say_of(title, say("words changed", fields=_joined(change.words)))
        elif change.kind == "deleted":
            self._say_of(title, say("entry deleted", task=steps[0].task))
        elif change.kind == "cancelled":
            self._say_of(title, say("entry cancelled", task=steps[0].task))

    def _sitting_moved(self, change: RemoteChange, title: str, steps: list[Step]) -> None:
        until, start = change.value, min(step.start for step in steps)
        tasks = dict.fromkeys(step.task for step in steps if step.phase.startswith("begin") and step.task not in self._begun and step.task not in self._done)
        wanted = [task for task in tasks if self._put_off.get(task) != until]
        if not tasks:
            self._say_of(title, say("closing work follows"))
        elif until < start and not any(task in self._put_off for task in tasks):
            self._say_of(title, say("cannot start", at=instant(until), task=steps[0].task))
        elif wanted:
            for task in wanted:
                self.facts.append(TaskPutOff(occurred_at=self._now, task=task, until=until))
                self._put_off[task] = until
            self._say_of(title, say("put off by a move", at=instant(until)))

    def _reworded(self, change: RemoteChange, task: str, _: str) -> None:
        self._say(task, say("words changed", fields=_joined(change.words)))

    def _deleted(self, _: RemoteChange, task: str, __: str) -> None:
        if task in self._tasks and self._tasks[task].status not in ("done", "skipped"):
            self._say(task, say("entry deleted", task=task))

    def _cancelled(self, _: RemoteChange, task: str, __: str) -> None:
        if task in self._tasks and self._tasks[task].status not in ("done", "skipped"):
            self._say(task, say("entry cancelled", task=task))

    def _add(self, fact: Fact, task: str, says: Statement) -> None:
        self.facts.append(fact)
        self._say(task, says)


def _joined(words: tuple[str, ...]) -> str:
    return " and ".join(words)


def _new_starts(facts: Iterable[Fact], plan: Plan) -> list[str]:
    """Where a task that was put off starts now, if not when it was asked to."""
    tasks = {task.id: task for task in plan.tasks}
    return [
        in_words(say("of an entry", title=title_of(tasks[one.task]), says=say("planned after a move", at=instant(tasks[one.task].start))), reader_of(plan))
        for one in facts
        if isinstance(one, TaskPutOff) and one.task in tasks and tasks[one.task].start != one.until
    ]
