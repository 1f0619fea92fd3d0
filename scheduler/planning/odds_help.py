"""What would make a doubtful limit more likely: a few changes that a person can make, tried by the same machine and against the same futures."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta

from scheduler.planning.changes import AWAKE, Change, doing, free_day, keeping_whole, moment_of, taking
from scheduler.planning.odds import Odds
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.problem import Problem

DOUBTFUL = 0.85  # share of futures under which help is sought; assumed
TRIED = 4  # changes for one limit, the easiest first; assumed
WORTH = 0.1  # of the futures, that a change has to keep more for it to be named; assumed
LESS = 4  # one frame of so many is kept whole; assumed
Judge = Callable[[Problem], tuple[Plan, Sequence[Odds]]]  # plans a changed problem, and samples its futures


def with_help(problem: Problem, found: tuple[Plan, Sequence[Odds]], judged: Judge) -> tuple[Odds, ...]:
    """The odds, the least likely with the change that helps most where one helps: somebody else, frames kept whole, a day kept free."""
    plan, odds = found
    if not odds or odds[0].kept >= DOUBTFUL * odds[0].of:
        return tuple(odds)
    least = odds[0]
    task = next(one for one in plan.tasks if one.id == least.task)
    best = None
    for change in _changes(problem, plan, task, least):
        kept, of = _least(judged(change.of(problem)), task)
        if of and kept / of >= least.kept / least.of + WORTH and (best is None or kept / of > best[1] / best[2]):
            best = change.says, kept, of
    return (least._replace(help=best), *odds[1:])


def _least(judged: tuple[Plan, Sequence[Odds]], task: PlannedTask) -> tuple[int, int]:
    """In how many futures a task is in time in a changed plan; of one that is made of several batches then, the one that is least often."""
    plan, odds = judged
    same = {one.id for one in plan.tasks if (one.rule, one.harvest, one.lot) == (task.rule, task.harvest, task.lot)}
    found = [(one.kept, one.of) for one in odds if one.task in same]
    return min(found, default=(0, 0))


def _changes(problem: Problem, plan: Plan, task: PlannedTask, odds: Odds) -> Iterator[Change]:
    """The changes that are tried: at most `TRIED`."""
    made = [*_others(problem, task), *_whole(problem, plan, task)]
    yield from made[: TRIED - 1]
    yield from _days(problem, task, odds)[: TRIED - len(made[: TRIED - 1])]


def _others(problem: Problem, task: PlannedTask) -> Iterator[Change]:
    card = problem.rules.by_key[task.rule]
    if task.person is None:
        yield from (taking(person, card) for person in problem.yard.people)
    elif {card.key, card.name} & set(problem.yard.people[task.person].only):
        yield doing(task.person, card)


def _whole(problem: Problem, plan: Plan, task: PlannedTask) -> Iterator[Change]:
    """A part of the frames of comb of the same harvest that nobody has cut yet."""
    cut = {one.lot for one in plan.tasks if one.harvest == task.harvest and one.batch is not None and one.status == "done"}
    for harvest in problem.harvests:
        if harvest.harvest == task.harvest:
            for lot in harvest.lots:
                if lot.kind == "cut comb" and lot.frames > 1 and lot.id not in cut and task.lot in (None, lot.id):
                    yield keeping_whole(harvest.harvest, lot.id, -(-lot.frames // LESS))


def _days(problem: Problem, task: PlannedTask, odds: Odds) -> list[Change]:
    """The days before the limit on which nobody is free from morning to evening, beside the one that it hangs on already."""
    limit = task.due if task.due is not None else odds.nine_in_ten
    first, last = (datetime.fromtimestamp(moment, problem.zone).date() for moment in (problem.as_of, limit))
    days = [last - timedelta(number) for number in range((last - first).days)]
    return [free_day(task.person, day, moment_of(day, AWAKE[0], problem.zone)) for day in days if day != odds.day]
