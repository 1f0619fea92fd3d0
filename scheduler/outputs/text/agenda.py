"""The agenda, in one screen: what to do now, what waits until when, what comes next; then at most three warnings and three moves, what loses most first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta

from scheduler.facts.fact import TaskBegun, TaskDone, TaskFact, TaskPutOff, TaskSkipped
from scheduler.local_time import local
from scheduler.outputs.text.moves import Move
from scheduler.outputs.text.rows import Row, Rows
from scheduler.outputs.text.table import by_day, row_lines, stopped
from scheduler.outputs.text.warning_lines import first_lines, warning_lines
from scheduler.outputs.text.wrapping import Pen
from scheduler.outputs.wording.sentence import title_of
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.quantities import Statement, show_duration
from scheduler.rules.schema import LOSSES

NEXT = timedelta(days=7)
FEW = 3  # warnings, moves and what is overdue, unless all are asked for
STEPS = 7  # of the sitting at hand
ROWS = 6  # of the next days
_CLOCK, _STEP, _DATED = 13, 9, 19  # columns before the words


def agenda(
    plan: Plan,
    now: int,
    moves: Sequence[Move] = (),
    overdue: Sequence[str] = (),
    *,
    everything: bool = False,
    unplanned: Sequence[TaskFact] = (),
    part: str = "",
    width: int = 80,
    colour: bool = False,
) -> str:
    """
    The agenda as text for a terminal, read at `now` [s since 1970]: the plan may have been made earlier, what is late is late by the clock.

    `moves` and `overdue` (ids) are what changed since the last look, `unplanned` what is recorded of cards that are gone; `part` says in words which
    part of the plan it is. Unless `everything` is asked for, each section says how many entries it leaves out.
    """
    pen, rows = Pen(width, colour), Rows(plan)
    late = [name for name in dict.fromkeys([*overdue, *_past_limit(plan, now)]) if not _waits_for_pull(rows.tasks[name])]
    lines = list(pen.wrapped(f"{plan.yard}{f', {part}' if part else ''}, {rows.when(now)}", style="heading"))
    lines += stopped(plan, pen)
    lines += _section("OVERDUE", _overdue(rows, now, late, everything), pen, "warning")
    if not any(task.is_open for task in plan.tasks):
        lines += ["", *pen.wrapped(f"Nothing is planned {part}" if part else "Nothing is planned. After a harvest: afterpull log")]
    lines += _work(rows, now, pen, everything)
    warnings = [(" ! ", words) for words in first_lines(warning_lines(plan, late), None if everything else FEW)]
    lines += _section("WARNINGS", warnings, pen, "warning")
    lines += _section("MOVED since you last looked", _moved(moves, everything), pen)
    lines += _section("RECORDED, but no rule plans it now", _brief([_recorded(fact, rows) for fact in unplanned], everything), pen)
    return "\n".join(lines) + "\n"


def _section(title: str, found: Sequence[tuple[str, str]], pen: Pen, style: str = "heading", indent: int = 2) -> Iterator[str]:
    """A heading with its rows, each a lead and its words; nothing where there are none."""
    if found:
        yield ""
        yield pen.paint(title, style)
    for lead, words in found:
        yield from pen.wrapped(words, first=lead, indent=max(indent, len(lead)))


def _brief(texts: Sequence[str], everything: bool) -> list[tuple[str, str]]:
    """The first few, and how many more there are."""
    shown = texts if everything or len(texts) <= FEW + 1 else texts[:FEW]
    more = [("", f"{len(texts) - len(shown)} more: afterpull agenda --all")] if len(shown) < len(texts) else []
    return [*((" - ", text) for text in shown), *more]


def _recorded(fact: TaskFact, rows: Rows) -> str:
    """What a fact says of its task, in words."""
    part = f"{fact.amount:g} " if isinstance(fact, TaskDone) and fact.amount is not None else ""
    part = f"{show_duration(fact.worked)} " if isinstance(fact, TaskDone) and fact.worked is not None else part
    because = f", {fact.because}" if isinstance(fact, TaskSkipped) else ""
    word = {TaskDone: "done", TaskBegun: "begun", TaskSkipped: "skipped", TaskPutOff: "put off"}[type(fact)]
    return f"{fact.task}: {part}{word} {rows.when(fact.occurred_at)}{because}"


def _past_limit(plan: Plan, now: int) -> Iterator[str]:
    """Open tasks whose due date or deadline is over; a limit without work of its own is told with its warning."""
    yield from (task.id for task in plan.tasks if task.is_open and not task.limit and task.due is not None and task.due < now and task.start >= plan.as_of)


def _waits_for_pull(task: PlannedTask) -> bool:
    """Whether it only follows once somebody says that the supers are off."""
    causes = [one.says.get("because") for one in task.reasons if one.says.kind == "provisional"]
    return any(isinstance(cause, Statement) and cause.kind == "pull ahead" for cause in causes)


def _overdue(rows: Rows, now: int, late: Sequence[str], everything: bool) -> list[tuple[str, str]]:
    """Work whose time went by without a word, the most important first, and how to tell what was done of it."""
    named = sorted((rows.tasks[name] for name in late if rows.tasks[name].hands), key=lambda task: LOSSES.index(task.loss))
    if not named:
        return []
    over = {task.id: f", due {rows.when(task.due)}" for task in named if task.due is not None and task.due < now}
    due = [f"{title_of(task)}{over.get(task.id, '')} [{task.id}]" for task in named]
    all_of_it = " If all went as planned: afterpull done --as-planned yesterday" if len(named) > 1 else ""
    tell = f'Done? afterpull done {named[0].id} --at "yesterday 19:40". Not done: afterpull skip.{all_of_it}'
    return [*_brief(due, everything), ("", tell)]


def _moved(moves: Sequence[Move], everything: bool) -> list[tuple[str, str]]:
    """What moved by itself; of what only follows it, how many."""
    own = [move for move in moves if everything or not move.follows] or list(moves)
    left = len(moves) - len(own)
    return [*_brief([f"{move.task}: {move.words}" for move in own], everything), *([("", f"{left} more follow from these")] if left else [])]


def _work(rows: Rows, now: int, pen: Pen, everything: bool) -> Iterator[str]:
    """Now, with its steps; what waits until when; the rest of today, the next days, and how much comes after."""
    zone = rows.plan.timezone
    today = local(now, zone).date()
    coming = [row for row in rows.all if is_coming(row) and not holding(row.task, rows.plan.as_of)]
    waiting = _section("WAITING", [_waiting(task, rows, now) for task in _running(rows)], pen, indent=_DATED)
    if everything:
        yield from waiting
        yield from by_day(coming, rows, pen)
        return
    present = [row for row in coming if row.at <= now and row.sitting]
    later = [row for row in coming if row not in present]
    at_hand = present or [row for row in later if row.sitting and local(row.at, zone).date() == today][:1]
    yield from _at_hand("NOW", present, rows, now, pen)
    yield from waiting
    days = [(local(row.at, zone).date(), row) for row in later]
    rest = [row for day, row in days if day <= today]
    if rest:
        yield from _at_hand("TODAY", [row for row in rest if row in at_hand], rows, now, pen)
        heading = "" if any(row in at_hand for row in rest) else "TODAY"
        yield from _rows(heading, [row for row in rest if row not in at_hand], rows, pen, None)
    until = today + NEXT
    name = rows.day(now + int(NEXT.total_seconds())).upper()
    yield from _rows(f"UNTIL {name}", [row for day, row in days if today < day <= until], rows, pen, ROWS, dated=True)
    after = [row for day, row in days if day > until]
    if after:
        yield from _section(f"AFTER {name}", [("", f"{len(after)} more, the first on {rows.when(after[0].at)}: afterpull agenda --all")], pen)


def is_coming(row: Row) -> bool:
    """Whether a row is still to come."""
    return not row.sitting.done if row.sitting else row.task is not None and row.task.is_open


def _at_hand(title: str, found: Sequence[Row], rows: Rows, now: int, pen: Pen) -> Iterator[str]:
    """Sittings with their steps, from the last that is not over by the clock; the rest by their number."""
    if found:
        yield ""
        yield pen.paint(title, "heading")
    day = rows.day(now)
    for row in found:
        if row.sitting is None:
            continue
        if rows.day(row.at) != day:
            day = rows.day(row.at)
            yield f" planned for {day}, not recorded:"
        steps = row.sitting.steps
        first = max(0, min(sum(step.end <= now for step in steps), len(steps) - STEPS))
        shown = steps[first : first + STEPS]
        yield from row_lines(row, rows, pen, shown)
        if len(shown) < len(steps):
            yield from pen.wrapped(f"{len(steps) - len(shown)} more steps: afterpull agenda --all", indent=_STEP)


def _rows(title: str, found: Sequence[Row], rows: Rows, pen: Pen, most: int | None, *, dated: bool = False) -> Iterator[str]:
    """Each row in a line or two, its steps by their number in the title."""
    if found and title:
        yield ""
        yield pen.paint(title, "heading")
    shown = found if most is None or len(found) <= most + 1 else found[:most]
    for row in shown:
        lead = f" {rows.when(row.at)} " if dated else f" {rows.span(row.at, row.over)} "
        yield from pen.wrapped(_words(row, rows), first=lead, indent=max(_DATED if dated else _CLOCK, len(lead)))
    if len(shown) < len(found):
        yield from pen.wrapped(f"{len(found) - len(shown)} more until then: afterpull agenda --all", indent=2)


def _words(row: Row, rows: Rows) -> str:
    if row.sitting is None:
        return f"{'by then: ' if row.task is not None and row.task.limit else ''}{rows.moment(row)}"
    one = row.sitting.steps
    return rows.step(one[0], alone=row.sitting) if len(one) == 1 else rows.head(row.sitting)


def _running(rows: Rows) -> list[PlannedTask]:
    """The tasks whose hold runs, in the order in which they are over."""
    return sorted((task for task in rows.plan.tasks if holding(task, rows.plan.as_of)), key=lambda task: (task.hold_done or task.finish, task.id))


def _waiting(task: PlannedTask, rows: Rows, now: int) -> tuple[str, str]:
    """Until when nothing is to be done for a task, or since when its hold is over, and what follows then."""
    over = task.hold_done or task.finish
    if over > now:
        return f" until {rows.when(over)} ", f"{title_of(task)} [{task.id}]"
    return f" since {rows.when(over)} ", f"over: {task.closing_title or title_of(task)} [{task.id}]"


def holding(task: PlannedTask | None, as_of: int) -> bool:
    """Whether a hold runs: the work before it is recorded, and no more is left of it."""
    return task is not None and task.is_open and task.hold_done is not None and task.start <= as_of and not task.sittings
