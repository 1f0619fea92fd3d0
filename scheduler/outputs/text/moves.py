"""What moved, came, became firm or fell away since the keeper last looked, and what of it has a cause of its own."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass

from scheduler.local_time import HOUR, local, moment_text
from scheduler.outputs.wording.sentence import in_words, reader_of, title_of
from scheduler.planning.plan import OPEN, Plan, PlannedTask
from scheduler.planning.task_ids import current
from scheduler.quantities import show_duration
from scheduler.rules.schema import LOSSES

FEW_FIRM = 3  # more of one harvest than this are told as one
SHIFT = HOUR  # a move of less than this is not told [s]; assumed
BINDING = {  # kinds of reason that move a date
    "starts after", "starts late for what follows", "waits for hands", "waits for hands of", "waits for room", "waits for equipment",
    "hangs on a mark", "not before a moment", "inside a season", "outside a season", "put off", "done in part",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Move:
    """How a task differs from the plan that was seen last, in words; `follows` where it only follows another that moved."""

    task: str
    words: str
    follows: bool = False


def snapshot(plan: Plan) -> str:
    """What a reader sees of a plan, for the next time: start, status and title by task, as JSON text."""
    return json.dumps({task.id: [_hands_from(task, plan), task.status, title_of(task)] for task in plan.tasks}, separators=(",", ":"), ensure_ascii=False)


def _hands_from(task: PlannedTask, plan: Plan) -> int:
    """When a task begins; of one whose hold was begun, when hands are to end it."""
    return task.hands[0][0] if task.hands and task.start < plan.as_of else task.start


def changes(before: str, plan: Plan, renamed: Mapping[str, str]) -> tuple[tuple[Move, ...], tuple[str, ...]]:
    """
    What moved, came, became firm or fell away since a snapshot, what loses most first; and the ids of what was to have begun by now.

    What only moved because it follows something that moved is marked so. `renamed` leads from what cards were called then to what they are now.
    """
    then = {current(name, renamed): tuple(row) for name, row in json.loads(before).items() if row[1] in OPEN}
    coming = [task for task in plan.tasks if task.is_open and not task.limit and task.alongside is None and _hands_from(task, plan) >= plan.as_of]
    shifts = {task.id: _hands_from(task, plan) - then[task.id][0] for task in coming if task.id in then}
    overdue = tuple(name for name, shift in shifts.items() if shift > 0 and then[name][0] < plan.as_of)
    moved = {name for name, shift in shifts.items() if abs(shift) >= SHIFT and name not in overdue}
    found: list[Move] = []
    firm: dict[str, list[Move]] = {}
    year = local(plan.as_of, plan.timezone).year
    for task in sorted(coming, key=lambda task: (LOSSES.index(task.loss), -abs(shifts.get(task.id, 0)), task.start, task.id)):
        if task.id in moved:
            shift = shifts[task.id]
            words = f"{show_duration(abs(shift))} {'later' if shift > 0 else 'earlier'}; {_because(task, plan)}"
            found.append(Move(task.id, words, any(link.task in moved or link.task in overdue for link in task.links)))
        elif task.id not in then:
            found.append(Move(task.id, f"new, {moment_text(task.start, plan.timezone, year)}: {title_of(task)}"))
        elif then[task.id][1] == "provisional" and task.status == "planned":
            firm.setdefault(task.harvest, []).append(Move(task.id, f"firm now, {moment_text(task.start, plan.timezone, year)}"))
    for harvest, moves in firm.items():  # with a pull all that hung on it becomes firm at once
        found += moves if len(moves) <= FEW_FIRM else [Move(harvest or plan.yard, f"{len(moves)} steps are firm now")]
    here = {task.id for task in plan.tasks}
    found += [Move(name, f"fell away: {row[2]}") for name, row in then.items() if name not in here]
    return tuple(found), overdue


def _because(task: PlannedTask, plan: Plan) -> str:
    """The reason that bound a task last."""
    binding = (reason for reason in reversed(task.reasons) if reason.says.kind in BINDING)
    return next((in_words(reason.says, reader_of(plan)) for reason in binding), title_of(task))
