"""What is to be done now, what holds and until when, what comes next and later; and what moved since the keeper last looked."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta

from scheduler.outputs.local_time import clock, local, moment_text
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.quantities import show_duration

NEXT = timedelta(days=7)
SHIFT = 300  # a move of less than this is not told [s]


@dataclass(frozen=True, slots=True)
class Move:
    """How a task differs from the plan that was seen last, in words."""

    task: str
    words: str


def agenda(plan: Plan, moves: tuple[Move, ...] = (), *, everything: bool = False) -> str:
    """The agenda as text for a terminal of 80 columns."""
    year = local(plan.as_of, plan.timezone).year
    lines = [f"{plan.yard}, {moment_text(plan.as_of, plan.timezone, year)}"]
    for title, rows in (
        ("MOVED since you last looked", [f"{move.task}: {move.words}" for move in moves]),
        ("MIND", [f"{warning.text}" for warning in plan.warnings]),
    ):
        lines += ["", title, *(f"  {row}" for row in rows)] if rows else []
    for title, rows in _sections(plan, year, everything):
        lines += ["", title, *(f"  {row}" for row in rows)] if rows else []
    return "\n".join(lines) + "\n"


def _sections(plan: Plan, year: int, everything: bool) -> Iterator[tuple[str, list[str]]]:
    today = local(plan.as_of, plan.timezone).date()
    work = [(start, end, task) for task in plan.tasks if task.status in ("planned", "provisional") for start, end in task.hands]
    work.sort(key=lambda entry: (entry[0], entry[2].id))
    holding = [task for task in plan.tasks if task.status in ("planned", "provisional") and task.hold_done is not None and task.start <= plan.as_of]
    days = {entry: local(entry[0], plan.timezone).date() for entry in work}
    yield "TODAY", [_row(entry, plan, year, day=False) for entry in work if days[entry] <= today]
    yield (
        "HOLDING",
        [
            f"until {moment_text(task.hold_done or 0, plan.timezone, year)}  {task.title}  [{task.id}]"
            for task in sorted(holding, key=lambda task: task.hold_done or 0)
        ],
    )
    yield "NEXT 7 DAYS", [_row(entry, plan, year) for entry in work if today < days[entry] <= today + NEXT]
    later = [entry for entry in work if days[entry] > today + NEXT]
    if everything:
        yield "LATER", [_row(entry, plan, year) for entry in later]
    elif later:
        yield "LATER", [f"{len(later)} more, the first on {moment_text(later[0][0], plan.timezone, year)}; all of them: afterpull agenda --all"]


def _row(entry: tuple[int, int, PlannedTask], plan: Plan, year: int, *, day: bool = True) -> str:
    start, end, task = entry
    when = moment_text(start, plan.timezone, year) if day else clock(local(start, plan.timezone))
    mark = "~" if task.status == "provisional" else " "
    finish = "finish: " if len(task.hands) > 1 and start != task.hands[0][0] else ""
    return f"{mark}{when}-{clock(local(end, plan.timezone))}  {finish}{task.title}  [{task.id}]"


def snapshot(plan: Plan) -> str:
    """What a reader sees of a plan, for the next time: start by task, as JSON text."""
    return json.dumps({task.id: [task.start, task.status, task.title] for task in plan.tasks}, separators=(",", ":"), ensure_ascii=False)


def moves(before: str, plan: Plan) -> tuple[Move, ...]:
    """What moved, came or fell away since a snapshot, with what bound each task now."""
    seen: Mapping[str, list[object]] = json.loads(before)
    found = []
    tasks = {task.id: task for task in plan.tasks}
    for name, task in tasks.items():
        if task.status not in ("planned", "provisional"):
            continue
        if name not in seen:
            found.append(Move(name, f"new, {moment_text(task.start, plan.timezone, local(plan.as_of, plan.timezone).year)}: {task.title}"))
            continue
        shift = task.start - int(str(seen[name][0]))
        if abs(shift) >= SHIFT and task.start > plan.as_of:
            found.append(Move(name, f"{show_duration(abs(shift))} {'later' if shift > 0 else 'earlier'}: {_because(task)}"))
    found += [Move(name, f"fell away: {row[2]}") for name, row in seen.items() if name not in tasks and row[1] in ("planned", "provisional")]
    return tuple(found)


def _because(task: PlannedTask) -> str:
    return next(
        (
            reason.text
            for reason in reversed(task.reasons)
            if reason.label == "hands" or reason.label.startswith(("after ", "resource ", "season ", "not before", "put off"))
        ),
        task.title,
    )
