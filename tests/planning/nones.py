"""How often "none of the changes tried would be enough" is true: `python -m tests.planning.nones --seed N --count 100`.

Random yards with little room and short evenings are planned until so many limits were told to have no cure. For each of these more is tried than
the planner does, one change at a time and each planned in full: every day up to the limit kept free, each piece of equipment up to eight times as
large, the freezer at its coldest, every number of frames kept whole. It is false where one of them keeps the limit and makes nothing else later by
more than the planner allows, told now and, as the planner asks of its own, a minute later: nobody makes a change in no time. All yards are invented.
"""

# ruff: noqa: T201 - it prints its figures

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from datetime import datetime, timedelta
from random import Random

from scheduler.application.ledger_view import LedgerView
from scheduler.local_time import DAY, HOUR
from scheduler.outputs.wording.sentence import in_words
from scheduler.planning.changes import AWAKE, Change, colder, free_day, free_minutes, keeping_whole, moment_of, more_room
from scheduler.planning.cures import SOON
from scheduler.planning.incumbent import in_force
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.planner import plan
from scheduler.planning.problem import Problem
from tests.planning.cards import KEEPER
from tests.planning.followed import Follower
from tests.planning.test_cures import tight

COLDEST = -23.0  # °C; the coldest that the planner offers
LARGER = (0.5, 1.0, 3.0, 7.0)  # more room, as shares of what there is


def changes(problem: Problem, limit: int) -> Iterator[Change]:
    """What a person could do before a limit, one thing at a time."""
    zone = problem.zone
    first, last = (datetime.fromtimestamp(moment, zone).date() for moment in (problem.as_of, limit))
    for day in (last - timedelta(number) for number in range((last - first).days + 1)):
        if (since := moment_of(day, AWAKE[0], zone)) < limit:
            yield free_day(None, day, since)
    for before in (0, 2 * HOUR, 6 * HOUR, 12 * HOUR, DAY):
        for size in (HOUR, 3 * HOUR):
            if limit - before - size >= problem.as_of:
                yield free_minutes(problem, None, limit - before, size)
    for name, one in problem.yard.equipment.items():
        if one.capacity is not None and one.measure:
            yield from (more_room(name, one.measure, one.capacity, round(one.capacity * more, 3)) for more in LARGER)
        if one.temperature is not None:
            yield colder(name, COLDEST)
    for harvest in problem.harvests:
        for lot in harvest.lots:
            if lot.kind == "cut comb":
                yield from (keeping_whole(harvest.harvest, lot.id, frames) for frames in range(1, lot.frames))


def late(task: PlannedTask) -> int:
    """How long after its limit an open task is over [s]."""
    return max(0, task.finish - task.due) if task.due is not None and task.is_open else 0


def cures(name: str, was: Plan, now: Plan) -> bool:
    """Whether a task is in time in a plan, and no other later, past its limit or without a time for it."""
    before, after = ({task.id: task for task in one.tasks} for one in (was, now))
    kind = before[name].rule, before[name].harvest, before[name].lot
    own = [after[name]] if name in after else [task for task in now.tasks if (task.rule, task.harvest, task.lot) == kind]
    if not all(task.has_time and not late(task) for task in own):
        return False
    worse = (late(task) - late(before[task.id]) > (DAY if task.loss == "comfort" else HOUR) for task in now.tasks if task.id in before)
    return not any(worse) and sum(task.status == "impossible" for task in now.tasks) <= sum(task.status == "impossible" for task in was.tasks)


def later(change: Change, problem: Problem) -> Plan:
    """The plan with a change that is made a minute later."""
    return plan(change.of(problem)._replace(as_of=problem.as_of + SOON), cures=False)


def sampled(seed: int, count: int) -> Iterator[tuple[str, str, str | None]]:
    """Yard, task, and the change that keeps its limit all the same, of so many limits that were told to have no cure."""
    number = found = 0
    while found < count:
        keeper = Follower(tight(Random(f"{seed} {number}")))
        while keeper.coming:
            keeper.log()
        keeper.plan()
        view = LedgerView(keeper.recorded, keeper.now, keeper.text)
        told = view.plan_with_cures
        problem = view.problem._replace(in_force=in_force(told)._replace(changed=True))
        tried: dict[object, Plan] = {}
        for warning in told.warnings:
            if found < count and warning.kind in ("due date missed", "deadline missed") and warning.says.get("cure").kind == "no cure":
                [task] = [task for task in told.tasks if task.id == warning.task]
                found += 1
                better = None
                for change in changes(problem, task.due or 0):
                    if change.says not in tried:
                        tried[change.says] = plan(change.of(problem), cures=False)
                    if change.since < (task.due or 0) and cures(task.id, told, tried[change.says]) and cures(task.id, told, later(change, problem)):
                        better = in_words(change.says, KEEPER)
                        break
                yield f"{seed} {number}", task.id, better
        number += 1


def main(arguments: list[str]) -> int:
    """Print each that is false, and the share that is true."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=Random().randrange(10**6))
    parser.add_argument("--count", type=int, default=100)
    asked = parser.parse_args(arguments)
    found = []
    for where, name, better in sampled(asked.seed, asked.count):
        found.append(better is None)
        if better is not None:
            print(f"yard {where}: {name} would be in time with: {better}", flush=True)
        if len(found) % 10 == 0:
            print(f"{sum(found)} of {len(found)} true so far", flush=True)
    print(f"--seed {asked.seed}: {sum(found)} of {len(found)} true")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
