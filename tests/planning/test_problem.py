"""A plan is told to the minute, and is so to the second: what has to last is rounded up, a limit down. The yards and the seconds are invented."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from math import ceil
from pathlib import Path

import pytest

from scheduler.application.plan_files import problem_of
from scheduler.planning.draft import Happened
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.planner import plan
from scheduler.planning.problem import Problem
from tests.golden.examples import MOMENTS

EXAMPLES = Path(__file__).parents[2] / "examples"
ODD = 17  # s past the minute, at the pull and for the plan


def at_odd_seconds(example: str) -> Problem:
    """An example whose supers came off, and which is planned, some seconds past a minute."""
    problem = problem_of([EXAMPLES / f"{example}.yaml"], None, (), MOMENTS[example])
    late = timedelta(seconds=ODD)
    harvests = tuple(one.model_copy(update={"pulled": one.pulled + late}) for one in problem.harvests)
    return problem._replace(harvests=harvests, as_of=problem.as_of + ODD)


def moments(task: PlannedTask) -> Iterator[int | None]:
    """Every moment that a task carries."""
    yield from (task.start, task.hold_done, task.finish, task.due)
    yield from (moment for span in task.hands for moment in span)
    yield from (told.at for told in task.alerts)


def odd(found: Plan) -> list[str]:
    """The tasks that carry a moment with seconds."""
    return [task.id for task in found.tasks if any(moment % 60 for moment in moments(task) if moment is not None)]


@pytest.mark.parametrize("example", MOMENTS)
def test_every_start_end_and_limit_is_a_whole_minute(example: str) -> None:
    """Though the pull and the moment of the plan are not; nothing begins before that moment."""
    problem = at_odd_seconds(example)
    found = plan(problem)
    assert odd(found) == []
    assert found.as_of == problem.as_of - ODD + 60
    assert all(task.start >= problem.as_of for task in found.tasks)


def test_what_happened_in_seconds_is_counted_from_the_end_of_its_minute() -> None:
    """A freezer filled seconds past the minute is full for the whole hold; work put off until then begins no sooner."""
    problem = at_odd_seconds("kestrel_bank/ridge-2")
    before = {task.id: task for task in plan(problem).tasks}
    freeze, spin = before["ridge-2/a/freeze.1"], before["ridge-2/b/spin"]
    begun, until = freeze.start + ODD, spin.start + ODD
    done = {"ridge-2/close-up": (problem.as_of, problem.as_of + ODD)}
    found = plan(problem._replace(as_of=begun + ODD, happened=Happened(begun={freeze.id: begun}, done=done, put_off={spin.id: until})))
    after = {task.id: task for task in found.tasks}
    hold = (freeze.hold_done or 0) - freeze.holds_from
    assert odd(found) == []
    assert after[freeze.id].hold_done == ceil((begun + hold) / 60) * 60
    assert after[spin.id].start >= until


def test_a_limit_is_rounded_down() -> None:
    """Frames wait for the freezer as many days as moth eggs take in the heat of the room, to the second: the limit is the minute before."""
    problem = problem_of([EXAMPLES / "kestrel_bank/ridge-2.yaml"], None, (), MOMENTS["kestrel_bank/ridge-2"])
    due = {task.id: task.due for task in plan(problem).tasks}["ridge-2/c/freeze-comb.1"]
    later = problem._replace(harvests=tuple(one.model_copy(update={"pulled": one.pulled + timedelta(seconds=59)}) for one in problem.harvests))
    assert {task.id: task.due for task in plan(later).tasks}["ridge-2/c/freeze-comb.1"] == due
