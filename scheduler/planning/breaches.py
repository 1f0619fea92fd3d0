"""Limits that are not met: which, by how much, and the smallest change that would cure it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from scheduler.local_time import spoken
from scheduler.planning.draft import Draft
from scheduler.planning.freezer_separation import beside
from scheduler.planning.network import Network, Placement, Task
from scheduler.planning.plan import Warning
from scheduler.planning.problem import Problem
from scheduler.quantities import show_duration, words_in


def shortfalls(
    problem: Problem, drafts: Sequence[Draft], network: Network, placed: Mapping[str, Placement], cures: Mapping[str, Sequence[str]]
) -> Iterator[Warning]:
    """What can not be done, what is late, what waits too long, and warm loads set beside cold ones."""
    yield from _refused(drafts, problem.yard.units)
    yield from _late(drafts, placed, problem, network, cures)
    yield from _lags(network, placed, {draft.id: draft.title for draft in drafts})
    yield from _held_too_long(drafts, placed)
    yield from _warm(drafts, placed, problem)


def _refused(drafts: Sequence[Draft], units: str) -> Iterator[Warning]:
    for draft in drafts:
        if draft.refusal and not draft.refusal.startswith("it waits for"):
            yield Warning("cannot be done", draft.id, f"{draft.title}: {words_in(draft.refusal, units)}")


def _late(
    drafts: Sequence[Draft], placed: Mapping[str, Placement], problem: Problem, network: Network, cures: Mapping[str, Sequence[str]]
) -> Iterator[Warning]:
    happened, zone = problem.happened, problem.zone
    tasks = {task.id: task for task in network.tasks}
    for draft in drafts:
        at = placed.get(draft.id)
        if draft.refusal or draft.id in happened.done or draft.id in happened.skipped:
            continue
        if at is None:
            yield Warning(
                "no time", draft.id, f"{draft.title}: no time fits its windows and the free hours; write more hours under hands, or do it another way"
            )
            continue
        for kind, limit in (("deadline missed", draft.deadline), ("due date missed", draft.due)):
            if limit is not None and at.finish > limit:
                told = f"{draft.title}: by {spoken(limit, zone)}, planned for {spoken(at.finish, zone)}, {show_duration(at.finish - limit)} late"
                yield Warning(kind, draft.id, f"{told}. {_cure(limit, problem, tasks[draft.id], network, cures.get(draft.id, ()))}")
                break


def _cure(limit: int, problem: Problem, task: Task, network: Network, cures: Sequence[str]) -> str:
    if limit <= problem.as_of:
        return "It was due before this plan begins: do it first, or say when it was done."
    if cures:
        return f"What would cure it: {', or '.join(cures)}."
    if task.begin_calendar is not None:
        calendar = network.calendars[task.begin_calendar]
        opens = calendar.index(task.release)
        if not calendar.has(opens) or calendar.starts[opens] >= limit:
            when = f"before {spoken(calendar.starts[opens], problem.zone)}" if calendar.has(opens) else "at all"
            return f"Its windows do not open {when}: look at what the card asks of season, sun and temperature."
    return "No single change cures it: neither more room, nor one more free day."


def _lags(network: Network, placed: Mapping[str, Placement], titles: Mapping[str, str]) -> Iterator[Warning]:
    for relation in network.precedences:
        if relation.greatest is None or relation.before not in placed or relation.after not in placed:
            continue
        over = relation.lag(placed) - relation.greatest
        if over > 0:
            limit = f'within {show_duration(relation.greatest)} of "{titles[relation.before]}"'
            yield Warning("waits too long", relation.after, f"{titles[relation.after]}: {limit}, planned {show_duration(over)} later than that")


def _held_too_long(drafts: Sequence[Draft], placed: Mapping[str, Placement]) -> Iterator[Warning]:
    """A hold that runs, and that hands end only after its ceiling."""
    for draft in drafts:
        at = placed.get(draft.id)
        if draft.begun is None or at is None or not at.end_sittings:
            continue
        most = draft.modes[at.mode].hold_most
        if most is not None and (over := at.end_sittings[0][0] - draft.begun - most) > 0:
            told = f"{draft.title}: no longer than {show_duration(most)}, and hands end it {show_duration(over)} later than that"
            yield Warning("held too long", draft.id, told)


def _warm(drafts: Sequence[Draft], placed: Mapping[str, Placement], problem: Problem) -> Iterator[Warning]:
    """Warm loads set beside one whose kill is not over, where the plan found no way round it."""
    for one in beside(drafts, placed, problem):
        yield Warning("warm beside cold", one.draft.id, f"{one.draft.title}: {words_in(one.words(problem), problem.yard.units)}")
