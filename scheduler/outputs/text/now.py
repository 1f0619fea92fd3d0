"""What a page shows of a plan at a moment: now, what waits until when, what comes next, in the words of the agenda; plain values for a template."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from scheduler.outputs.text.agenda import holding, is_coming
from scheduler.outputs.text.rows import Row, Rows
from scheduler.outputs.text.warning_lines import warning_lines
from scheduler.outputs.wording.sentence import how_of, title_of
from scheduler.outputs.wording.sitting_words import step_title
from scheduler.planning.plan import Plan, PlannedTask, Stopped
from scheduler.planning.sittings import Step

FEW = 3  # warnings; DESIGN
NOW = "Now"  # the heading of work whose hour has come
COMING = 8  # rows after the present; assumed
NEAR = 10  # days with work that the list shows at once; assumed
LITRES = 1000  # in a m³


class ShownStep(NamedTuple):
    """A step of an evening's work: its task, its words, its clock, what to mind, and the lines of its checklist."""

    task: str
    title: str
    when: str
    how: str
    due: str
    until: str
    likely: bool
    press: str  # the word on its button; empty where nothing is to be pressed
    cautions: tuple[str, ...]
    lines: tuple[tuple[str, str], ...]


class ShownWait(NamedTuple):
    """A hold that runs: its task, its words, until when, and how many percent of it are over."""

    task: str
    title: str
    until: str
    share: int
    over: bool


class ShownRow(NamedTuple):
    """Something that comes: when, and its words."""

    when: str
    title: str
    task: str


class ShownWarning(NamedTuple):
    """Something to mind, and the tasks to open for more, each with its title; the first is the one that the words are of."""

    words: str
    tasks: tuple[tuple[str, str], ...]


class Shown(NamedTuple):
    """The page of one moment."""

    yard: str
    moment: str
    heading: str  # of the work at hand: "Now", or when it begins
    steps: tuple[ShownStep, ...]
    waiting: tuple[ShownWait, ...]
    coming: tuple[ShownRow, ...]
    more: int
    stops: tuple[tuple[str, str, tuple[str, ...]], ...]  # what is stopped and why, what lets it go on, and the lots
    warnings: tuple[ShownWarning, ...]
    more_warnings: tuple[ShownWarning, ...]


def now_shown(plan: Plan, now: int) -> Shown:
    """What there is to do at `now` [s since 1970], what waits, what comes."""
    rows = Rows(plan)
    coming = [row for row in rows.all if is_coming(row) and not holding(row.task, plan.as_of)]
    present = [row for row in coming if row.at <= now and row.sitting]
    later = [row for row in coming if row not in present]
    at_hand = present or [row for row in later if row.sitting][:1]
    heading = NOW if present else f"Next: {rows.when(at_hand[0].at)}" if at_hand else "Nothing to do"
    rest = [row for row in later if row not in at_hand]
    warnings = [ShownWarning(line.words, tuple((name, title_of(rows.tasks[name])) for name in line.tasks)) for line in warning_lines(plan, page=True)]
    return Shown(
        plan.yard,
        rows.when(now),
        heading,
        tuple(step for row in at_hand if row.sitting for step in _steps(rows, row, now)),
        tuple(_wait(rows, task, now) for task in plan.tasks if holding(task, plan.as_of)),
        tuple(ShownRow(rows.when(row.at), _words(rows, row), row.ids[0] if row.ids else "") for row in rest[:COMING]),
        max(0, len(rest) - COMING),
        tuple(_stop(stop) for stop in plan.stops),
        tuple(warnings[:FEW]),
        tuple(warnings[FEW:]),
    )


def days_shown(plan: Plan) -> list[tuple[str, list[ShownRow]]]:
    """All that is still to come, under its days."""
    rows = Rows(plan)
    found: dict[str, list[ShownRow]] = {}
    for row in rows.all:
        if is_coming(row) and not holding(row.task, plan.as_of):
            when = ("by " if row.task is not None and row.task.limit else "") + rows.span(row.at, row.over)
            found.setdefault(rows.day(row.at), []).append(ShownRow(when, _words(rows, row), row.ids[0] if row.ids else ""))
    return list(found.items())


def ahead_shown(plan: Plan, freezers: Sequence[tuple[str, float]]) -> dict[str, Any]:
    """All that the picture of the weeks ahead says, in words: the days, what waits from when until when, and how full each freezer is (of so many m³)."""
    rows = Rows(plan)
    waits = [task for task in plan.tasks if task.is_open and task.has_time and task.hold_done is not None and task.alongside is None]
    held = [(rows.when(task.hold_done or task.finish), title_of(task), rows.when(task.holds_from)) for task in sorted(waits, key=lambda task: task.holds_from)]
    full = [(name, f"{space * LITRES:.0f} L", [(rows.when(at), f"{amount * LITRES:.0f} L") for at, amount in _fills(plan, name)]) for name, space in freezers]
    return {"days": days_shown(plan), "near": NEAR, "waits": held, "freezers": full}


def _fills(plan: Plan, freezer: str) -> Iterator[tuple[int, float]]:
    """From when on how much lies in a freezer [s since 1970, m³], from the moment of the plan on, wherever that changes."""
    loads = [(task.start, task.finish, amount) for task in plan.tasks if task.has_time and task.is_open for of, amount in task.occupies if of == freezer]
    before = -1.0
    for at in sorted({max(plan.as_of, moment) for begins, ends, _ in loads for moment in (begins, ends)}):
        now = sum(amount for begins, ends, amount in loads if begins <= at < ends)
        if abs(now - before) > 1e-9:
            yield at, now
        before = now


def task_shown(plan: Plan, task: PlannedTask, now: int) -> ShownStep:
    """One task by itself."""
    rows = Rows(plan)
    span = task.hands[0] if task.hands else (task.start, task.finish)
    return _shown(rows, task, Step(task.id, "begin", *span), title_of(task), rows.when(span[0]) if task.has_time else "")


def _steps(rows: Rows, row: Row, now: int) -> Iterator[ShownStep]:
    for step in row.sitting.steps if row.sitting else ():
        task, span = rows.tasks[step.task], rows.span(step.start, step.end)
        when = span if rows.day(step.start) == rows.day(now) else f"{rows.day(step.start)} {span}"
        yield _shown(rows, task, step, step_title(task, step), when)


def _shown(rows: Rows, task: PlannedTask, step: Step, title: str, when: str) -> ShownStep:
    holds = task.hold_done is not None and not task.begun
    press = "" if not task.is_open else "Begun" if holds and not step.phase.startswith("end") else "Done"
    lines = tuple((line.id, title_of(line)) for line in rows.lines.get(task.id, ()))
    due = rows.when(task.due) if task.due is not None and task.is_open else ""
    until = rows.when(task.hold_done) if task.hold_done is not None and press == "Begun" else ""
    return ShownStep(task.id, title, when, how_of(task, page=True), due, until, task.status == "provisional", press, task.briefs, lines)


def _stop(stop: Stopped) -> tuple[str, str, tuple[str, ...]]:
    how = " ".join(filter(None, [stop.meanwhile, f"To go on: {stop.goes_on}."]))
    return f"{', '.join(stop.lots) or 'at the hives'}: {stop.kind}. {stop.says}", how, stop.lots


def _wait(rows: Rows, task: PlannedTask, now: int) -> ShownWait:
    over = task.hold_done or task.finish
    length = max(1, over - task.holds_from)
    share = min(100, max(0, round(100 * (now - task.holds_from) / length)))
    return ShownWait(task.id, title_of(task), rows.when(over), share, over <= now)


def _words(rows: Rows, row: Row) -> str:
    return rows.head(row.sitting) if row.sitting else rows.moment(row).rpartition(" [")[0]
