"""Work that is weeks past any sense and that nobody told of: it takes no hours, and becomes one question for the whole plan."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from scheduler.local_time import DAY
from scheduler.planning.draft import Draft, Pull
from scheduler.planning.plan import Plan, Warning
from scheduler.planning.problem import Problem
from scheduler.planning.task_ids import subject_of
from scheduler.quantities import instant, say

PAST_SENSE = 21 * DAY  # comb, honey and wax that waited so long past their planned time were worked up or lost [s]; assumed
Times = Mapping[str, tuple[int, int]]


def unanswered(drafts: Sequence[Draft], problem: Problem, pulls: Sequence[Pull], planned: Callable[[int], Plan]) -> Times:
    """
    Start and finish of each task that is weeks past sense, as it was planned, by id.

    Such a task was planned to be over `PAST_SENSE` ago, and since then nothing was recorded of its harvest, or something that follows it was done.
    What protects food or the colony stays to be done, as does what is told singly. `planned` makes the plan of an earlier moment.
    """
    late = [draft for draft in drafts if _may_be_past(draft, problem)] if problem.asks else []
    if not late:
        return {}
    silent, passed = _silent(problem, pulls), _passed(drafts, problem)
    late = [draft for draft in late if draft.id in passed or draft.subject.harvest in silent]
    if not late:
        return {}
    then = {task.id: task for task in planned(min(pull.pulled for pull in pulls)).tasks}
    found = [then[draft.id] for draft in late if draft.id in then and then[draft.id].is_open]
    return {task.id: (task.start, task.finish) for task in found if task.finish + PAST_SENSE <= problem.as_of}


def question(asked: Times) -> Iterable[Warning]:
    """The one question that all of it becomes."""
    if asked:
        since = instant(min(start for start, _ in asked.values()))
        yield Warning("unanswered", None, say("unanswered", since=since, count=len(asked)))


def _may_be_past(draft: Draft, problem: Problem) -> bool:
    happened, card = problem.happened, draft.card
    if draft.card.card.loss not in ("crop", "comfort") or card.is_told_singly or draft.nominal + PAST_SENSE > problem.as_of:
        return False
    open_ = draft.begun is None and draft.id not in happened.done and draft.id not in happened.skipped and draft.id not in happened.put_off
    return open_ and draft.has_time and (draft.begin > 0 or draft.end > 0)


def _silent(problem: Problem, pulls: Sequence[Pull]) -> set[str | None]:
    """Harvests of which nothing happened so long; with None, the work of the whole yard, where there are no others."""
    happened = problem.happened
    last = {pull.harvest.harvest: pull.pulled for pull in pulls}
    told = (*happened.begun.items(), *((task, at) for task, (_, at) in happened.done.items()), *((task, at) for task, (at, _) in happened.skipped.items()))
    for task, at in told:
        if (name := subject_of(task)) in last:
            last[name] = max(last[name], at)
    silent: set[str | None] = {name for name, at in last.items() if at + PAST_SENSE <= problem.as_of}
    return silent | ({None} if len(silent) == len(last) else set())


def _passed(drafts: Sequence[Draft], problem: Problem) -> set[str]:
    """The tasks that something done or begun follows, however far."""
    links = {draft.id: [link.task for link in draft.links] for draft in drafts}
    passed: set[str] = set()
    left = [name for name in links if name in problem.happened.done or name in problem.happened.begun]
    while left:
        for before in links.get(left.pop(), ()):
            if before not in passed:
                passed.add(before)
                left.append(before)
    return passed
