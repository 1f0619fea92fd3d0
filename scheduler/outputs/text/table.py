"""The plan for a terminal: warnings first, then each evening's work with its steps, and what ends by itself. 80 columns, no colour needed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from scheduler.local_time import DAY, clock, day, local
from scheduler.outputs.text.rows import Row, Rows
from scheduler.outputs.text.warning_lines import first_lines, warning_lines
from scheduler.outputs.text.wrapping import Pen
from scheduler.outputs.wording.sentence import title_of
from scheduler.outputs.wording.sitting_words import step_title, whose_words
from scheduler.planning.plan import Plan
from scheduler.planning.sittings import Step, has_name

_IN_FULL = 10 * DAY  # [s]
_CLOCK, _STEP, _LATER = 13, 9, 19  # columns before the words


def plan_text(plan: Plan, *, width: int = 80, colour: bool = False) -> str:
    """The whole plan as text of at most `width` columns."""
    pen, rows = Pen(width, colour), Rows(plan)
    return "\n".join([*_head(plan, pen), *stopped(plan, pen), *_warnings(plan, pen), *_not_possible(plan, pen), *_days(rows, pen), *_foot(rows, pen)]) + "\n"


def _head(plan: Plan, pen: Pen) -> Iterator[str]:
    now = local(plan.as_of, plan.timezone)
    yield from pen.wrapped(f"{plan.yard}: plan as of {day(now, 0)} {clock(now)} ({plan.timezone})", style="heading")


def _warnings(plan: Plan, pen: Pen) -> Iterator[str]:
    if not plan.warnings:
        return
    yield ""
    yield pen.paint(f"WARNINGS ({len(plan.warnings)})", "warning")
    for words in first_lines(warning_lines(plan), None):
        yield from pen.wrapped(words, first=" !", indent=3, style="warning")


def stopped(plan: Plan, pen: Pen) -> Iterator[str]:
    """What nothing passes: the lots, why, how they are kept meanwhile, and the keeper's word that lets them go on."""
    if plan.stops:
        yield ""
        yield pen.paint("STOPPED", "warning")
    for stop in plan.stops:
        yield from pen.wrapped(f"{', '.join(stop.lots) or 'at the hives'}: {stop.kind}. {stop.says}", first=" !", indent=3, style="warning")
        yield from pen.wrapped(f"Until then: {stop.meanwhile}", indent=3) if stop.meanwhile else ()
        yield from pen.wrapped(f"To go on: {stop.to_go_on}", indent=3)


def _not_possible(plan: Plan, pen: Pen) -> Iterator[str]:
    """What finds no time as things stand, all under one heading; the warnings say why."""
    found = [task for task in plan.tasks if task.status == "impossible" and task.alongside is None]
    if found:
        yield ""
        yield pen.paint("NOT POSSIBLE AS THINGS STAND", "warning")
    for task in found:
        yield from pen.wrapped(f"{title_of(task)} [{task.id}]", first=" !", indent=3)


def _days(rows: Rows, pen: Pen) -> Iterator[str]:
    """Each evening's work under its day for ten days from the first that is open; what comes later in short."""
    horizon = _horizon(rows.plan)
    yield from by_day([row for row in rows.all if row.at < horizon], rows, pen)
    yield from _later([row for row in rows.all if row.at >= horizon], rows, pen)
    if not rows.all:
        yield ""
        yield "Nothing to do."


def by_day(found: Sequence[Row], rows: Rows, pen: Pen) -> Iterator[str]:
    """Rows under their days."""
    heading = ""
    for row in found:
        if rows.day(row.at) != heading:
            heading = rows.day(row.at)
            yield ""
            yield pen.paint(heading, "heading")
        yield from row_lines(row, rows, pen)


def _horizon(plan: Plan) -> int:
    """The instant up to which days are told in full."""
    open_ = [task.start for task in plan.tasks if task.is_open]
    return max(plan.as_of, min(open_, default=plan.as_of)) + _IN_FULL


def row_lines(row: Row, rows: Rows, pen: Pen, shown: Sequence[Step] | None = None) -> Iterator[str]:
    """A sitting with its steps, or those `shown`, and their checklists, or a moment, without its day."""
    if row.sitting is None:
        by = "by " if row.task is not None and row.task.limit else ""
        lead = f" {by}{rows.span(row.at, row.at)} "
        yield from pen.wrapped(rows.moment(row), first=lead, indent=max(_CLOCK, len(lead)))
        return
    steps = row.sitting.steps
    lead = f" {rows.span(row.at, row.over)} "
    if len(steps) == 1:
        yield from pen.wrapped(rows.step(steps[0], alone=row.sitting), first=lead, indent=max(_CLOCK, len(lead)))
        yield from checklist(steps[0], rows, pen, _CLOCK)
        return
    yield from pen.wrapped(rows.head(row.sitting), first=lead, indent=max(_CLOCK, len(lead)), style="heading")
    for step in steps if shown is None else shown:
        first = f"   {clock(local(step.start, rows.plan.timezone))} "
        yield from pen.wrapped(rows.step(step), first=first, indent=max(_STEP, len(first)))
        yield from checklist(step, rows, pen, _STEP)


def checklist(step: Step, rows: Rows, pen: Pen, indent: int) -> Iterator[str]:
    """The lines of a step's checklist: those of the last work on it."""
    task = rows.tasks[step.task]
    if step.phase == ("end" if task.closing else "begin"):
        for line in rows.lines.get(step.task, ()):
            yield from pen.wrapped(f"{title_of(line)} [{line.id}]", first=f"{'':{indent}}+ ", indent=indent + 2)


def _later(found: list[Row], rows: Rows, pen: Pen) -> Iterator[str]:
    """One entry for work that comes again: its first time, how often, and its last."""
    again: dict[tuple[str, str | None, str], list[tuple[int, str, str]]] = {}
    for row in found:
        for step in row.sitting.steps if row.sitting else ():
            task = rows.tasks[step.task]
            whose = f"{whose_words(task)}: " if task.person else ""
            likely = " (likely)" if task.status == "provisional" else ""
            words = f"{whose}{step_title(task, step)}{likely}{rows.where(task.place) if has_name(task.place) else ''}"
            again.setdefault((task.rule, task.lot, words), []).append((step.start, words, task.id))
        if row.task is not None:
            words = f"{'By then: ' if row.task.limit else ''}{title_of(row.task)}" if row.task.limit or row.at != row.task.hold_done else rows.moment(row)
            again.setdefault((row.task.rule, row.task.lot, words.partition(" [")[0]), []).append((row.at, words.partition(" [")[0], row.task.id))
    if again:
        yield ""
        yield pen.paint("LATER", "heading")
    for times in again.values():
        start, words, name = times[0]
        lead = f" {rows.when(start)} "
        more = f"; {len(times)} times, the last {rows.day(times[-1][0])}" if len(times) > 1 else ""
        yield from pen.wrapped(f"{words}{more} [{name}]", first=lead, indent=max(_LATER, len(lead)))


def _foot(rows: Rows, pen: Pen) -> Iterator[str]:
    plan = rows.plan
    if any(task.status == "provisional" for task in plan.tasks):
        yield ""
        yield from pen.wrapped("likely: rests on a usual date; firm once you record it", style="aside")
    near = [task for task in plan.tasks if task.has_time and task.start < _horizon(plan)]
    words = [*(one.cautions for one in plan.stops), *(task.cautions for task in near)]
    cautions = list(dict.fromkeys(caution for found in words for caution in found))
    if cautions:
        yield ""
        yield pen.paint("CAUTIONS", "heading")
    for caution in cautions:
        yield from pen.wrapped(caution, first=" !", indent=3)
