"""The text of messages: an alert, a digest of overdue alerts, the two summaries. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from scheduler.local_time import clock, day, local, moment_text
from scheduler.outputs.notify.message import ANSWERS, URGENT, Button, Message
from scheduler.outputs.notify.timing import day_of, evening_or_morning, lateness
from scheduler.outputs.plain_text import one_line
from scheduler.outputs.wording.sentence import how_of, in_words, reader_of
from scheduler.outputs.wording.sitting_words import over_title, sitting_title
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.sittings import sittings
from scheduler.quantities import show_duration
from scheduler.rules.schema import LOSSES

MOST_LINES = 12  # of a summary; the rest is counted


@dataclass(frozen=True, slots=True)
class DueAlert:
    """An alert to send now: the `number` among its task's, whether it was sent before, and the planned start of a hold whose beginning nobody recorded."""

    key: str
    task: str
    number: int
    say: str
    loss: str
    due_at: int
    repeated: bool
    assumed_start: int | None


def open_task(plan: Plan | None, name: str) -> PlannedTask | None:
    """The task of an id, while it is to be done."""
    return next((task for task in plan.tasks if task.id == name and task.is_open), None) if plan else None


def is_begin_alert(task: PlannedTask, number: int) -> bool:
    """Whether an alert belongs to the beginning of a task that holds: "done" then means begun, and the hold runs."""
    return task.hold_done is not None and number < len(task.alerts) and task.alerts[number].at <= task.start


def alert_message(alert: DueAlert, now: int, plan: Plan | None, evening: time) -> Message:
    """An alert as a message."""
    late, task = lateness(alert.due_at, now), open_task(plan, alert.task)
    title = f"Again: {alert.say}" if alert.repeated else f"{late[:1].upper()}{late[1:]}: {alert.say}" if late else alert.say
    zone = plan.timezone if plan else "UTC"
    year = local(now, zone).year
    begins = task is not None and alert.number < len(task.alerts) and task.alerts[alert.number].at <= task.start
    how = [how_of(task)] if task and how_of(task) and begins else []
    lines = [alert.say, *how, *(task.cautions if task else ()), f"{f'{plan.yard}, ' if plan else ''}due {moment_text(alert.due_at, zone, year)}"]
    if alert.assumed_start is not None:
        lines.append(f"Counted from the planned start, {moment_text(alert.assumed_start, zone, year)}. If it began later, put this off.")
    lines += [in_words(reason.says, reader_of(plan)) for reason in task.reasons if reason.says.kind == "rule"][:1] if task and plan else []
    done = Button("begun", ANSWERS["begun"]) if task and is_begin_alert(task, alert.number) else Button("done", ANSWERS["done"])
    later = Button("evening", evening_or_morning(now, evening, ZoneInfo(zone))[1])
    return Message(alert.key, one_line(title), "\n".join(map(one_line, lines)), alert.loss in URGENT, (done, Button("hour", ANSWERS["hour"]), later))


def not_noted_message(key: str, button: str, task: str) -> Message:
    """An answer that could not be written down, asked for again."""
    say = f"Not noted, press again: {task}"
    lines = [say, f"The ledger did not take your answer. Press again once the watch runs, or: afterpull done {task}"]
    return Message(key, say, "\n".join(lines), urgent=True, buttons=(Button(button, ANSWERS[button]),))


def not_looking_message(why: str) -> Message:
    """The watch cannot use its ledger, as it says in words that tell what to do."""
    say = "No alerts come: the watch cannot use its ledger"
    return Message("watch", say, "\n".join([say, *map(one_line, why.splitlines()), "It goes on by itself once the ledger can be used."]), urgent=True)


def digest_message(alerts: Sequence[DueAlert], now: int, plan: Plan | None) -> Message:
    """Alerts that are long overdue and were not sent, as one message: how many, and the most urgent first, of the same urgency the earliest."""
    zone = plan.timezone if plan else "UTC"
    year = local(now, zone).year
    first, *rest = sorted(alerts, key=lambda alert: (LOSSES.index(alert.loss), alert.due_at, alert.key))
    repeated = "Again: " if all(alert.repeated for alert in alerts) else ""
    lines = [f"{one_line(alert.say)} (due {moment_text(alert.due_at, zone, year)})" for alert in (first, *rest)]
    more = [f"and {len(lines) - MOST_LINES} more, all in the agenda and in what the watch printed"] if len(lines) > MOST_LINES else []
    title = f"{repeated}{len(alerts)} alerts are late; first: {one_line(first.say)}"
    body = "\n".join([*lines[:MOST_LINES], *more, *([plan.yard] if plan else [])])
    return Message(first.key, title, body, first.loss in URGENT, other_keys=tuple(alert.key for alert in rest))


def summary_message(key: str, plan: Plan, of: date, heading: str, due_at: int, now: int) -> Message:
    """The sittings of one day, and the holds that are over on it: a single message."""
    zone = ZoneInfo(plan.timezone)
    lines, work = [], 0
    for at, text, seconds in sorted(_of_day(plan, of, zone)):
        lines.append(f"{clock(local(at, plan.timezone))} {one_line(text)}")
        work += seconds
    more = [f"and {len(lines) - MOST_LINES} more"] if len(lines) > MOST_LINES else []
    count = f"{len(lines)} thing{'' if len(lines) == 1 else 's'} to do" if lines else "nothing to do"
    hands, late = f", {show_duration(work)} of work" if work else "", lateness(due_at, now)
    title = f"{heading}, {day(datetime.combine(of, time()), of.year)}: {count}{hands}{f' ({late})' if late else ''}"
    return Message(key, title, "\n".join(lines[:MOST_LINES] + more) or plan.yard)


def _of_day(plan: Plan, of: date, zone: ZoneInfo) -> Iterator[tuple[int, str, int]]:
    """When, what and how long [s]: each sitting of a day, and each hold that is over on it and that nobody closes."""
    tasks = {task.id: task for task in plan.tasks}
    for one in sittings(plan.tasks, plan.timezone):
        if not one.done and day_of(one.start, zone) == of:
            yield one.start, sitting_title(tasks, one.steps), sum(step.end - step.start for step in one.steps)
    for task in plan.tasks:
        if task.is_open and task.hold_done is not None and not task.closing and day_of(task.hold_done, zone) == of:
            yield task.hold_done, over_title(task), 0
