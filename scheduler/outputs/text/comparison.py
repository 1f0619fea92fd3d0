"""Two plans side by side: what would change, task by task, if the yard or the rules were otherwise."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.facts.people import KEEPER
from scheduler.local_time import HOUR, local, moment_text
from scheduler.outputs.wording.sentence import in_words, reader_of, title_of
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.quantities import show_duration

LEAST = HOUR  # a shift of less is counted, not told [s]


def comparison(here: Plan, there: Plan) -> str:
    """What is otherwise in the plan `there`, in order of its dates; warnings that go and come first."""
    year = local(here.as_of, here.timezone).year
    lines = [f"{here.yard}: what would change", ""]
    before, after = ({(warning.kind, warning.task): warning.says for warning in plan.warnings} for plan in (here, there))
    lines += [f"  no longer: {in_words(says, reader_of(here))}" for key, says in before.items() if key not in after]
    lines += [f"  then: {in_words(says, reader_of(there))}" for key, says in after.items() if key not in before]
    new, moved, gone = _new(here, there, year), _moved(here, there, year), _gone(here, there)
    rows = [text for _, text in sorted([*new, *moved])] + gone
    lines += [*([""] if len(lines) > 2 else []), *rows]
    if len(lines) == 2:
        lines.append("  nothing")
    shuffled = _shuffled(here, there)
    lines += [f"  and {shuffled} that move by less than an hour"] if shuffled else []
    lines += ["", f"{len(moved)} changed, {len(new)} new, {len(gone)} gone"]
    return "\n".join(lines) + "\n"


def _new(here: Plan, there: Plan, year: int) -> list[tuple[int, str]]:
    """Tasks of the second plan alone, by their place in it."""
    before = {task.id for task in here.tasks}
    shown = ((place, f"{moment_text(task.start, there.timezone, year)}  {title_of(task)}  [{task.id}]", task) for place, task in enumerate(there.tasks))
    return [(place, f"  + {text}") for place, text, task in shown if task.id not in before]


def _moved(here: Plan, there: Plan, year: int) -> list[tuple[int, str]]:
    """What is otherwise of the tasks that both plans have, by their place in the second."""
    before = {task.id: task for task in here.tasks}
    changed = ((place, task, ", ".join(_changes(before[task.id], task, there, year))) for place, task in enumerate(there.tasks) if task.id in before)
    return [(place, f"  {task.id}: {words}") for place, task, words in changed if words]


def _gone(here: Plan, there: Plan) -> list[str]:
    after = {task.id for task in there.tasks}
    return [f"  - {title_of(task)}  [{task.id}]" for task in here.tasks if task.id not in after]


def _shuffled(here: Plan, there: Plan) -> int:
    before = {task.id: task.start for task in here.tasks}
    return sum(1 for task in there.tasks if 0 < abs(task.start - before.get(task.id, task.start)) < LEAST)


def _changes(before: PlannedTask, after: PlannedTask, plan: Plan, year: int) -> Iterator[str]:
    if before.status != after.status:
        yield f"{before.status} becomes {after.status}"
    if title_of(before) != title_of(after):
        yield f'"{title_of(after)}" instead of "{title_of(before)}"'
    if before.people != after.people:
        yield f"by {' and '.join(one or KEEPER for one in after.people)}"
    shift = after.start - before.start
    if abs(shift) >= LEAST:
        yield f"{show_duration(abs(shift))} {'later' if shift > 0 else 'earlier'}, {moment_text(after.start, plan.timezone, year)}"
    longer = _hold(after) - _hold(before)
    if abs(longer) >= 60:
        yield f"holds {show_duration(abs(longer))} {'longer' if longer > 0 else 'less'} ({show_duration(_hold(after))})"
    if before.occupies != after.occupies:
        yield "needs other room"


def _hold(task: PlannedTask) -> int:
    if task.hold_done is None:
        return 0
    return task.hold_done - task.holds_from
