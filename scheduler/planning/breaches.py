"""Limits that are not met: which, by how much, and the smallest change that would cure it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from scheduler.planning.draft import Draft
from scheduler.planning.freezer_separation import beside
from scheduler.planning.network import Network, Placement, Task
from scheduler.planning.plan import Warning
from scheduler.planning.problem import Problem
from scheduler.quantities import Statement, Words, elapsed, instant, say


def shortfalls(
    problem: Problem, drafts: Sequence[Draft], network: Network, placed: Mapping[str, Placement], cures: Mapping[str, Sequence[Statement]] | None
) -> Iterator[Warning]:
    """What cannot be done, what is late, what waits too long, and warm loads set beside cold ones."""
    yield from _refused(drafts)
    yield from _late(drafts, placed, problem, network, cures)
    over = {*problem.happened.done, *problem.happened.skipped}
    yield from (warning for warning in _lags(network, placed, {draft.id: draft.title for draft in drafts}) if warning.task not in over)
    yield from _held_too_long(drafts, placed, problem)
    yield from _warm(drafts, placed, problem)


def _refused(drafts: Sequence[Draft]) -> Iterator[Warning]:
    for draft in drafts:
        if draft.refusal and draft.refusal.kind == "no time fits":
            yield Warning("no time", draft.id, say("no time", title=draft.title))
        elif draft.refusal and draft.refusal.kind != "waits for the impossible":
            yield Warning("cannot be done", draft.id, say("cannot be done", title=draft.title, refusal=draft.refusal))


def _late(
    drafts: Sequence[Draft], placed: Mapping[str, Placement], problem: Problem, network: Network, cures: Mapping[str, Sequence[Statement]] | None
) -> Iterator[Warning]:
    happened = problem.happened
    tasks = {task.id: task for task in network.tasks}
    for draft in drafts:
        at = placed.get(draft.id)
        if at is None or draft.id in happened.done or draft.id in happened.skipped:
            continue
        for kind, limit in (("deadline missed", draft.deadline), ("due date missed", draft.due)):
            if limit is not None and at.finish > limit:
                cure = _cure(limit, problem, tasks[draft.id], network, (cures or {}).get(draft.id), sought=cures is not None)
                planned, late = instant(at.finish), elapsed(at.finish - limit)
                yield Warning(kind, draft.id, say("late", title=draft.title, limit=instant(limit), finish=planned, late=late, cure=cure))
                break


def _cure(limit: int, problem: Problem, task: Task, network: Network, cures: Sequence[Statement] | None, *, sought: bool) -> Statement:
    if limit <= problem.as_of:
        return say("due before the plan")
    if cures:
        return say("cured by", changes=tuple(cures))
    if cures is None and not sought:
        return say("cures in the agenda")
    if cures is None:
        return say("cures not all tried")
    if task.begin_calendar is not None:
        calendar = network.calendars[task.begin_calendar]
        opens = calendar.index(task.release)
        if not calendar.has(opens) or calendar.starts[opens] >= limit:
            return say("windows open late", opens=instant(calendar.starts[opens])) if calendar.has(opens) else say("windows never open")
    return say("no cure")


def _lags(network: Network, placed: Mapping[str, Placement], titles: Mapping[str, Words]) -> Iterator[Warning]:
    for relation in network.precedences:
        if relation.greatest is None or relation.before not in placed or relation.after not in placed:
            continue
        over = relation.lag(placed) - relation.greatest
        if over > 0:
            greatest, over_by = elapsed(relation.greatest), elapsed(over)
            says = say("waits too long", title=titles[relation.after], before=titles[relation.before], greatest=greatest, over=over_by)
            yield Warning("waits too long", relation.after, says)


def _held_too_long(drafts: Sequence[Draft], placed: Mapping[str, Placement], problem: Problem) -> Iterator[Warning]:
    """Holds that are over, and that hands end only after they may wait no longer."""
    for draft in drafts:
        at = placed.get(draft.id)
        most = draft.modes[at.mode].wait_most if at else None
        if at is None or most is None or draft.id in problem.happened.done or draft.id in problem.happened.skipped:
            continue
        over_at = at.hold_done if draft.begun is None else draft.begun + draft.modes[at.mode].hold
        if (over := at.hold_done + at.waited() - over_at - most) > 0:
            yield Warning("held too long", draft.id, say("held too long", title=draft.title, most=elapsed(most), over=elapsed(over)))


def _warm(drafts: Sequence[Draft], placed: Mapping[str, Placement], problem: Problem) -> Iterator[Warning]:
    """Warm loads set beside one whose kill is not over, where the plan found no way round it."""
    for one in beside(drafts, placed, problem):
        yield Warning("warm beside cold", one.draft.id, one.says(problem))
