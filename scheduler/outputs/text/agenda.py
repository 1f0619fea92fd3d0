"""What is to be done now, what holds and until when, what comes next and later; and what moved since the keeper last looked."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from scheduler.facts.fact import TaskBegun, TaskDone, TaskFact, TaskPutOff, TaskSkipped
from scheduler.local_time import HOUR, clock, local, moment_text
from scheduler.outputs.text.table import stopped
from scheduler.outputs.text.wrapping import Pen
from scheduler.outputs.wording.sentence import in_words, lead_in, reader_of, title_of
from scheduler.planning.plan import OPEN, Plan, PlannedTask, checklists
from scheduler.planning.task_ids import current
from scheduler.quantities import show_duration
from scheduler.rules.schema import LOSSES

NEXT = timedelta(days=7)
SHIFT = HOUR  # a move of less than this is not told [s]; assumed
BRIEF = 6  # entries under a heading, unless all are asked for
OUT = ("apiary", "store")  # places that one has to go to, and are told
BINDING = {  # kinds of reason that move a date
    "starts after", "starts late for what follows", "waits for hands", "waits for hands of", "waits for room", "hangs on a mark", "not before a moment",
    "inside a season", "outside a season", "put off", "done in part",
}  # fmt: skip
_TODAY, _LATER, _ENTRY = 16, 23, 2  # columns before the words


@dataclass(frozen=True, slots=True)
class Move:
    """How a task differs from the plan that was seen last, in words; `follows` where it only follows another that moved."""

    task: str
    words: str
    follows: bool = False


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
    part of the plan it is. Unless `everything` is asked for, long sections are told in part and say how many entries are left out.
    """
    pen = Pen(width, colour)
    late = list(dict.fromkeys([*overdue, *_past_limit(plan, now)]))
    mind = [in_words(warning.says, reader_of(plan)) for warning in plan.warnings if warning.task not in late]
    lines = list(pen.wrapped(f"{plan.yard}{f', {part}' if part else ''}, {moment_text(now, plan.timezone, _year(plan))}", style="heading"))
    lines += stopped(plan, pen)
    lines += _section("OVERDUE", _overdue(plan, now, late, everything), pen, "warning")
    lines += _section("MOVED since you last looked", _told(moves, everything), pen)
    lines += _section("MIND", _brief(mind, everything), pen, "warning")
    if not any(task.is_open for task in plan.tasks):
        lines += ["", *pen.wrapped(f"Nothing is planned {part}" if part else "Nothing is planned. After a harvest: afterpull log")]
    for title, indent, rows in _work(plan, now, everything):
        lines += _section(title, rows, pen, indent=indent)
    lines += _section("RECORDED, but no rule plans it now", _brief([_recorded(fact, plan) for fact in unplanned], everything, 3), pen)
    return "\n".join(lines) + "\n"


def _section(title: str, rows: Sequence[tuple[str, str]], pen: Pen, style: str = "heading", indent: int = _ENTRY) -> Iterator[str]:
    """A heading with its rows, each a lead and its words; nothing where there are none."""
    if rows:
        yield ""
        yield pen.paint(title, style)
    for lead, words in rows:
        yield from pen.wrapped(words, first=lead, indent=max(indent, len(lead)))


def _brief(texts: Sequence[str], everything: bool, most: int = BRIEF) -> list[tuple[str, str]]:
    """The first few, and how many more there are."""
    shown = texts if everything or len(texts) <= most + 1 else texts[:most]
    more = [("", f"{len(texts) - len(shown)} more; all of them: afterpull agenda --all")] if len(shown) < len(texts) else []
    return [*((" - ", text) for text in shown), *more]


def _recorded(fact: TaskFact, plan: Plan) -> str:
    """What a fact says of its task, in words."""
    part = f"{fact.amount:g} " if isinstance(fact, TaskDone) and fact.amount is not None else ""
    part = f"{show_duration(fact.worked)} " if isinstance(fact, TaskDone) and fact.worked is not None else part
    because = f", {fact.because}" if isinstance(fact, TaskSkipped) else ""
    word = {TaskDone: "done", TaskBegun: "begun", TaskSkipped: "skipped", TaskPutOff: "put off"}[type(fact)]
    return f"{fact.task}: {part}{word} {moment_text(fact.occurred_at, plan.timezone, _year(plan))}{because}"


def _past_limit(plan: Plan, now: int) -> Iterator[str]:
    """Open tasks whose due date or deadline is over; a limit without work of its own is told with its warning."""
    yield from (task.id for task in plan.tasks if task.is_open and not task.limit and task.due is not None and task.due < now and task.start >= plan.as_of)


def _overdue(plan: Plan, now: int, late: Sequence[str], everything: bool) -> list[tuple[str, str]]:
    """Work whose time went by without a word, the most important first, and how to tell what was done of it."""
    tasks = {task.id: task for task in plan.tasks}
    named = sorted((tasks[name] for name in late if tasks[name].hands), key=lambda task: LOSSES.index(task.loss))
    if not named:
        return []
    over = {task.id: f", due {moment_text(task.due, plan.timezone, _year(plan))}" for task in named if task.due is not None and task.due < now}
    due = [f"{title_of(task)}{over.get(task.id, '')} [{task.id}]" for task in named]
    tell = f'Were they done? afterpull done {named[0].id} --at "yesterday 19:40", several at once if you like; what fell away: afterpull skip'
    return [*_brief(due, everything), ("", tell)]


def _told(moves: Sequence[Move], everything: bool) -> list[tuple[str, str]]:
    """What moved by itself; of what only follows it, how many."""
    own = [move for move in moves if everything or not move.follows] or list(moves)
    rows = _brief([f"{move.task}: {move.words}" for move in own], everything)
    left = len(moves) - len(own)
    return [*rows, ("", f"{left} more follow from these")] if left else rows


def _work(plan: Plan, now: int, everything: bool) -> Iterator[tuple[str, int, list[tuple[str, str]]]]:
    year, today = _year(plan), local(now, plan.timezone).date()
    work = sorted(((start, end, task) for task in plan.tasks if task.is_open for start, end in task.hands), key=lambda entry: (entry[0], entry[2].id))
    holding = sorted((task for task in plan.tasks if task.is_open and _holds(task, plan.as_of)), key=_hold_done)
    days = [(local(entry[0], plan.timezone).date(), entry) for entry in work]
    later = [entry for day, entry in days if day > today + NEXT]
    lines = {step: [title_of(line) for line in found] for step, found in checklists(plan).items()}
    yield "TODAY", _TODAY, [_row(entry, plan, lines, day=False) for day, entry in days if day <= today]
    yield (
        "HOLDING",
        _LATER,
        [
            (
                f"  {moment_text(_hold_done(task), plan.timezone, year)} ",
                f"{'until then' if _hold_done(task) > now else 'over since'}: {title_of(task)} [{task.id}]",
            )
            for task in holding
        ],
    )
    yield "NEXT 7 DAYS", _LATER, [_row(entry, plan, lines) for day, entry in days if today < day <= today + NEXT]
    if everything:
        yield "LATER", _LATER, [_row(entry, plan, lines) for entry in later]
    elif later:
        first = moment_text(later[0][0], plan.timezone, year)
        yield "LATER", _ENTRY, [("", f"{len(later)} more, the first on {first}; all of them: afterpull agenda --all")]


def _row(entry: tuple[int, int, PlannedTask], plan: Plan, lines: Mapping[str, Sequence[str]], *, day: bool = True) -> tuple[str, str]:
    start, end, task = entry
    mark = "~" if task.status == "provisional" else " "
    when = moment_text(start, plan.timezone, _year(plan)) if day else f"{clock(local(start, plan.timezone))}-{clock(local(end, plan.timezone))}"
    finish = lead_in(task, next(number for number, span in enumerate(task.hands) if span[0] == start))
    where = f", {task.place}" if task.place in OUT else ""
    also = "".join(f"; + {line}" for line in lines.get(task.id, ())) if entry[:2] == task.hands[0] else ""
    return f" {mark}{when} ", f"{f'{task.person}: ' if task.person else ''}{finish}{title_of(task)} [{task.id}]{where}{also}"


def _holds(task: PlannedTask, as_of: int) -> bool:
    """Whether a hold runs: the work before it is recorded, and no more is left of it."""
    return task.hold_done is not None and task.start <= as_of and not task.sittings


def _hold_done(task: PlannedTask) -> int:
    return task.hold_done or task.finish


def _year(plan: Plan) -> int:
    return local(plan.as_of, plan.timezone).year


def snapshot(plan: Plan) -> str:
    """What a reader sees of a plan, for the next time: start, status and title by task, as JSON text."""
    return json.dumps({task.id: [_hands_from(task, plan), task.status, title_of(task)] for task in plan.tasks}, separators=(",", ":"), ensure_ascii=False)


def _hands_from(task: PlannedTask, plan: Plan) -> int:
    """When a task begins; of one whose hold was begun, when hands are to end it."""
    return task.hands[0][0] if task.hands and task.start < plan.as_of else task.start


def changes(before: str, plan: Plan, renamed: Mapping[str, str]) -> tuple[tuple[Move, ...], tuple[str, ...]]:
    """
    What moved, came, became firm or fell away since a snapshot, the greatest moves first; and the ids of what was to have begun by now.

    What only moved because it follows something that moved is marked so. `renamed` leads from what cards were called then to what they are now.
    """
    then = {current(name, renamed): tuple(row) for name, row in json.loads(before).items() if row[1] in OPEN}
    coming = [task for task in plan.tasks if task.is_open and not task.limit and task.alongside is None and _hands_from(task, plan) >= plan.as_of]
    shifts = {task.id: _hands_from(task, plan) - then[task.id][0] for task in coming if task.id in then}
    overdue = tuple(name for name, shift in shifts.items() if shift > 0 and then[name][0] < plan.as_of)
    moved = {name for name, shift in shifts.items() if abs(shift) >= SHIFT and name not in overdue}
    found = []
    for task in sorted(coming, key=lambda task: (-abs(shifts.get(task.id, 0)), task.start, task.id)):
        if task.id in moved:
            shift = shifts[task.id]
            words = f"{show_duration(abs(shift))} {'later' if shift > 0 else 'earlier'}; {_because(task, plan)}"
            found.append(Move(task.id, words, any(link.task in moved or link.task in overdue for link in task.links)))
        elif task.id not in then:
            found.append(Move(task.id, f"new, {moment_text(task.start, plan.timezone, _year(plan))}: {title_of(task)}"))
        elif then[task.id][1] == "provisional" and task.status == "planned":
            found.append(Move(task.id, f"firm now, {moment_text(task.start, plan.timezone, _year(plan))}"))
    here = {task.id for task in plan.tasks}
    found += [Move(name, f"fell away: {row[2]}") for name, row in then.items() if name not in here]
    return tuple(found), overdue


def _because(task: PlannedTask, plan: Plan) -> str:
    """The reason that bound a task last."""
    binding = (reason for reason in reversed(task.reasons) if reason.says.kind in BINDING)
    return next((in_words(reason.says, reader_of(plan)) for reason in binding), title_of(task))
