"""The plan for a terminal: warnings first, then the work by day, with holds and waits in sight. 80 columns, no colour needed."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.diagnostics import Fault, instead
from scheduler.local_time import DAY, clock, day, local, moment_text
from scheduler.outputs.text.wrapping import Pen
from scheduler.outputs.wording.sentence import in_words, lead_in, reader_of, title_of
from scheduler.planning.plan import Plan, PlannedTask, checklists
from scheduler.quantities import show_duration

_IN_FULL = 10 * DAY  # [s]
_INDENT, _LATER_INDENT = 15, 20
_MARKS = {"provisional": "~", "done": "x", "skipped": "-", "planned": " "}
_Row = tuple[int, str, int, PlannedTask]  # when, task, phase (-1: the end of a hold), the task itself


def plan_text(plan: Plan, *, width: int = 80, colour: bool = False) -> str:
    """The whole plan as text of at most `width` columns."""
    pen = Pen(width, colour)
    return "\n".join([*_head(plan, pen), *stopped(plan, pen), *_warnings(plan, pen), *_not_possible(plan, pen), *_days(plan, pen), *_foot(plan, pen)]) + "\n"


def why_text(plan: Plan, task_id: str, *, width: int = 80, colour: bool = False) -> str:
    """Every reason of one task: what bound it, the numbers, the rule's place and the sources. Raises `Fault` for an unknown task."""
    task = next((t for t in plan.tasks if t.id == task_id), None)
    if task is None:
        raise Fault(f'the plan has no task "{task_id}"', instead(task_id, (t.id for t in plan.tasks)))
    pen, reader = Pen(width, colour), reader_of(plan)
    lines = list(pen.wrapped(title_of(task), style="heading"))
    lines += pen.wrapped(f"{_status(task)}; {_span(task, plan)}{_runs_until(task, plan)}; {task.loss} is at stake; rule {task.rule}")
    for reason in task.reasons:
        lines += pen.wrapped(f"{reason.label}: {in_words(reason.says, reader)}", first="  -", indent=4)
        aside = "; ".join(filter(None, [reason.rule, *reason.sources]))
        lines += pen.wrapped(aside, indent=6, style="aside") if aside else []
    for caution in task.cautions:
        lines += pen.wrapped(f"Caution: {caution}", first="  !", indent=4, style="warning")
    for warning in plan.warnings:
        lines += pen.wrapped(in_words(warning.says, reader), first="  !", indent=4, style="warning") if warning.task == task_id else []
    return "\n".join(lines) + "\n"


def _runs_until(task: PlannedTask, plan: Plan) -> str:
    """When the hold of a task is over that was begun."""
    runs = task.is_open and task.hold_done is not None and task.start <= plan.as_of and not task.sittings
    return f", its hold until {moment_text(task.hold_done or 0, plan.timezone, local(plan.as_of, plan.timezone).year)}" if runs else ""


def _head(plan: Plan, pen: Pen) -> Iterator[str]:
    now = local(plan.as_of, plan.timezone)
    yield from pen.wrapped(f"{plan.yard}: plan as of {day(now, 0)} {clock(now)} ({plan.timezone})", style="heading")


def _warnings(plan: Plan, pen: Pen) -> Iterator[str]:
    if not plan.warnings:
        return
    yield ""
    yield pen.paint(f"WARNINGS ({len(plan.warnings)})", "warning")
    for warning in plan.warnings:
        about = f"{warning.task}: " if warning.task else ""
        yield from pen.wrapped(f"{about}{in_words(warning.says, reader_of(plan))}", first=" !", indent=3, style="warning")


def stopped(plan: Plan, pen: Pen) -> Iterator[str]:
    """What nothing passes: the lots, why, how they are kept meanwhile, and the keeper's word that lets them go on."""
    if plan.stops:
        yield ""
        yield pen.paint("STOPPED", "warning")
    for stop in plan.stops:
        yield from pen.wrapped(f"{', '.join(stop.lots) or 'at the hives'}: {stop.kind}. {stop.says}", first=" !", indent=3, style="warning")
        yield from pen.wrapped(f"Until then: {stop.meanwhile}", indent=3) if stop.meanwhile else ()
        yield from pen.wrapped(f"To go on: {stop.goes_on}", indent=3)


def _not_possible(plan: Plan, pen: Pen) -> Iterator[str]:
    """What finds no time as things stand, all under one heading; the warnings say why."""
    found = [task for task in plan.tasks if task.status == "impossible"]
    if found:
        yield ""
        yield pen.paint("NOT POSSIBLE AS THINGS STAND", "warning")
    for task in found:
        yield from pen.wrapped(f"{title_of(task)} ({task.id})", first=" !", indent=3)


def _days(plan: Plan, pen: Pen) -> Iterator[str]:
    """Each phase of work under its day for ten days from the first that is open; what comes later in short."""
    year = local(plan.as_of, plan.timezone).year
    rows = sorted((row for task in plan.tasks for row in _rows(task)), key=lambda row: row[:3])
    horizon, lines = _horizon(plan), checklists(plan)
    heading = ""
    for start, _, number, task in rows:
        if start >= horizon:
            break
        today = day(local(start, plan.timezone), year)
        if today != heading:
            heading = today
            yield ""
            yield pen.paint(heading, "heading")
        yield from _row(task, number, plan, pen, year)
        for line in lines.get(task.id, ()) if number == 0 else ():
            yield from pen.wrapped(f"{title_of(line)} ({line.id})", first=f"{'':{_INDENT}}+ ", indent=_INDENT + 2)
    yield from _later([row for row in rows if row[0] >= horizon], plan, pen, year)
    if not rows:
        yield ""
        yield "Nothing to do."


def _horizon(plan: Plan) -> int:
    """The instant up to which days are told in full."""
    open_ = [task.start for task in plan.tasks if task.is_open]
    return max(plan.as_of, min(open_, default=plan.as_of)) + _IN_FULL


def _later(rows: list[_Row], plan: Plan, pen: Pen, year: int) -> Iterator[str]:
    """One entry for work that comes again: its first time, how often, and its last."""
    again: dict[tuple[str, str | None, str, int], list[_Row]] = {}
    for row in rows:
        task = row[3]
        again.setdefault((task.rule, task.lot, title_of(task), row[2]), []).append(row)
    if again:
        yield ""
        yield pen.paint("LATER", "heading")
    for found in again.values():
        start, _, number, task = found[0]
        times = f" {_MARKS[task.status]} {moment_text(start, plan.timezone, year)}"
        more = f"; {len(found)} times, the last {day(local(found[-1][0], plan.timezone), year)}" if len(found) > 1 else ""
        text = f"{'By then: ' if task.limit else _lead(task, number)}{title_of(task)}{more} ({task.id})"
        yield from pen.wrapped(text, first=times + " ", indent=max(_LATER_INDENT, len(times) + 1), style=_style(task))


def _rows(task: PlannedTask) -> Iterator[_Row]:
    """When a task wants to be seen: each stretch of work (0, 1, ...), and the end of a hold that no work follows (-1); a limit when it is reached."""
    if not task.has_time or (task.alongside is not None and task.is_open):
        return
    if task.limit and task.due is not None:
        yield task.due, task.id, 0, task
        return
    spans = task.hands or ((task.start, task.start),)
    yield from ((start, task.id, number, task) for number, (start, _) in enumerate(spans))
    if not task.closing and task.hold_done is not None and task.hold_done > task.holds_from and task.is_open:
        yield task.hold_done, task.id, -1, task


def _row(task: PlannedTask, number: int, plan: Plan, pen: Pen, year: int) -> Iterator[str]:
    if number < 0 and task.hold_done is not None:
        over = f"   {clock(local(task.hold_done, plan.timezone))} "
        yield from pen.wrapped(f"{_lead(task, number)}{title_of(task)}", first=over, indent=max(_INDENT, len(over)))
        return
    if task.limit and task.due is not None:
        by = f" {_MARKS[task.status]} by {clock(local(task.due, plan.timezone))} "
        words = f"{title_of(task)}: planned for {moment_text(task.finish, plan.timezone, year)}"
        yield from pen.wrapped(words, first=by, indent=max(_INDENT, len(by)), style=_style(task))
        yield from pen.wrapped(task.id, indent=_INDENT, style="aside")
        return
    start, stop = task.hands[number] if task.hands else (task.start, task.start)
    times = f" {_MARKS[task.status]} {clock(local(start, plan.timezone))}"
    if task.hands and stop > start and len(times) < 10:
        times += f"-{clock(local(stop, plan.timezone))}"
    yield from pen.wrapped(f"{_lead(task, number)}{title_of(task)}", first=times + " ", indent=max(_INDENT, len(times) + 1), style=_style(task))
    if number == 0:
        yield from _waits(task, plan, pen, year)
        due = f"due by {moment_text(task.due, plan.timezone, year)}; " if task.due is not None else ""
        yield from pen.wrapped(f"{due}{task.id}", indent=_INDENT, style="aside")


def _lead(task: PlannedTask, number: int) -> str:
    return (f"{task.person}: " if task.person and task.hands else "") + ("Hold done: " if number < 0 else lead_in(task, number))


def _style(task: PlannedTask) -> str:
    return {"provisional": "provisional", "done": "aside", "skipped": "aside"}.get(task.status, "")


def _waits(task: PlannedTask, plan: Plan, pen: Pen, year: int) -> Iterator[str]:
    """The hold, and when a person is wanted again."""
    if task.hold_done is not None and task.hold_done > task.holds_from:
        until = moment_text(task.hold_done, plan.timezone, year)
        back = task.closing[0][0] if task.closing else 0
        later = f"; finish it {moment_text(back, plan.timezone, year)}" if back > task.hold_done else ""
        yield from pen.wrapped(f"holds {show_duration(task.hold_done - task.holds_from)}, until {until}{later}", indent=_INDENT)


def _foot(plan: Plan, pen: Pen) -> Iterator[str]:
    seen = {task.status for task in plan.tasks}
    marks = {
        "provisional": "~ provisional: rests on a normal, firms up when observed",
        "done": "x done",
        "skipped": "- skipped",
    }
    shown = [text for status, text in marks.items() if status in seen]
    if shown:
        yield ""
        yield from pen.wrapped("; ".join(shown), style="aside")
    horizon = _horizon(plan)
    near = [task for task in plan.tasks if task.has_time and task.start < horizon]
    words = [*(one.cautions for one in plan.stops), *(task.cautions for task in near)]
    cautions = list(dict.fromkeys(caution for found in words for caution in found))
    if cautions:
        yield ""
        yield pen.paint("CAUTIONS", "heading")
    for caution in cautions:
        yield from pen.wrapped(caution, first=" !", indent=3)


def _status(task: PlannedTask) -> str:
    return {"provisional": "provisional, firms up when observed", "impossible": "cannot be done as things stand"}.get(task.status, task.status)


def _span(task: PlannedTask, plan: Plan) -> str:
    if not task.has_time:
        return "no time"
    year = local(plan.as_of, plan.timezone).year
    return f"from {moment_text(task.start, plan.timezone, year)} to {moment_text(task.finish, plan.timezone, year)}"
