"""What is preferred of two schedules."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from scheduler.local_time import DAY
from scheduler.planning.network import Placement, Precedence
from scheduler.planning.objective import SOON, WEIGHTS, Cost, cost_of, lower_bound
from tests.planning.yards import HOUR, NOON, one_freezer, work


def at(start: int, length: int = 900) -> Placement:
    """Work in one sitting."""
    return Placement(start, start + length, start + length, ((start, start + length),), ())


def test_costs_are_compared_as_a_whole() -> None:
    """A task without a time is worse than any lateness, a second late than any move, a move than any evening or finish."""
    worse = [Cost(), Cost(finishes=1), Cost(sittings=9), Cost(moved=1), Cost(moved=1, finishes=1), Cost(moved=9), Cost(comfort=1), Cost(unplaced=1)]
    assert all(one < other and one <= other and not other <= one for one, other in pairwise(worse))
    assert Cost(moved=1) <= Cost(moved=1)


def test_a_second_late_weighs_by_what_is_lost() -> None:
    """Food safety, colony and crop weigh four, three and two; a minute of the crop outweighs three hours of comfort, and no more."""
    assert Cost(food_safety=1) <= Cost(crop=2) <= Cost(food_safety=1)
    assert Cost(food_safety=3) <= Cost(colony=4) <= Cost(crop=6) <= Cost(food_safety=3)
    assert Cost(comfort=3 * HOUR) < Cost(crop=60) < Cost(comfort=4 * HOUR)


def test_an_evening_less_is_worth_six_hours_of_finishes() -> None:
    """Fewer evenings and earlier finishes are weighed against each other; as good, the fewer evenings."""
    assert Cost(finishes=6 * HOUR - 1) < Cost(sittings=1) < Cost(finishes=6 * HOUR + 1)
    assert Cost(finishes=6 * HOUR) < Cost(sittings=1)


@pytest.mark.parametrize("loss", WEIGHTS)
def test_what_is_added_falls_to_its_own_part(loss: str) -> None:
    """A second late, a finish and a task without a time, added to a cost, count as in a schedule."""
    more = Cost(moved=1, sittings=2).plus(loss, unplaced=1, late=5, finish=7)
    assert more == replace(Cost(unplaced=1, moved=1, sittings=2, finishes=7 * SOON[loss]), **{loss.replace(" ", "_"): 5})
    assert more.lateness == 5 * WEIGHTS[loss]


def test_lateness_falls_to_what_is_lost_and_hard_limits_count_four_times() -> None:
    """An hour past a due date, an hour past a deadline and an hour past a greatest lag, each of another loss; what is done is never late."""
    tasks = (
        replace(work("due", due=NOON), loss="crop"),
        replace(work("deadline", deadline=NOON), loss="food safety"),
        replace(work("lag"), loss="colony"),
        replace(work("done", due=NOON), fixed=(NOON + DAY, NOON + DAY + HOUR)),
    )
    network = one_freezer(*tasks, relations=(Precedence("due", "lag", "start to start", greatest=HOUR),))
    placed = {"due": at(NOON, HOUR), "deadline": at(NOON, HOUR), "lag": at(NOON + 2 * HOUR), "done": Placement(NOON + DAY, NOON + DAY + HOUR, 0, (), ())}
    found = cost_of(network, placed, {"due": NOON + 900, "deadline": NOON + 901})
    assert found == Cost(
        food_safety=4 * HOUR, colony=4 * HOUR, crop=HOUR, moved=1, sittings=1, finishes=sum(SOON[task.loss] * placed[task.id].finish for task in tasks)
    )
    assert found.limits() == Cost(food_safety=4 * HOUR, colony=4 * HOUR, crop=HOUR)
    assert lower_bound(network, placed) == replace(found, colony=0, moved=0, sittings=0)


def test_a_task_without_a_time_is_counted() -> None:
    """Two tasks, of which one is scheduled."""
    assert cost_of(one_freezer(work("a"), work("b")), {"a": at(NOON)}) == Cost(unplaced=1, sittings=1, finishes=NOON + 900)
