"""A pass over an activity list that goes on from the pass before it."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.planning.activity_list import ActivityList, ListPass
from scheduler.planning.network import Placement, Precedence
from scheduler.planning.objective import cost_of
from scheduler.planning.priority import priorities_of
from scheduler.planning.serial_sgs import IGNORE, KEEP, WITHIN_HOURS, construct
from tests.chance import times
from tests.planning.yards import HOUR, NOON, work, yard


def neighbour(activities: ActivityList, tied: list[Precedence], random: Random) -> ActivityList:
    """A list that differs a little: two tasks swapped where neither follows the other, something else done for a greatest lag, a delay more or less."""
    names, lags, starts = list(activities.names), dict(activities.lags), dict(activities.starts)
    what = random.choice(["order", "lags", "delay"])
    if what == "order" and len(names) > 1:
        i = random.randrange(len(names) - 1)
        if names[i].partition("/")[0] != names[i + 1].partition("/")[0]:
            names[i], names[i + 1] = names[i + 1], names[i]
    elif what == "lags" and tied:
        lags[random.choice(tied)] = random.choice([KEEP, WITHIN_HOURS, IGNORE])
    elif starts and random.random() < 0.5:
        del starts[random.choice(sorted(starts))]
    else:
        starts[random.choice(names)] = 19500 * 86400 + random.randrange(200) * HOUR
    return ActivityList(tuple(names), lags, starts, activities.ends)


@settings(max_examples=times(1200), deadline=None)
@given(st.builds(yard, st.randoms(use_true_random=False), st.integers(3, 25), st.just(True)), st.randoms(use_true_random=False))
def test_a_pass_that_begins_where_the_last_differs_equals_one_from_nothing(network, random) -> None:  # type: ignore[no-untyped-def]
    """After each of a few changes, whole passes and broken off ones, placements and costs are those of a pass from the first task on.

    One task has no time. In the end the bound is what the schedule costs.
    """
    network = replace(network, tasks=(*network.tasks, work("no time", window="never")))
    priorities = priorities_of(network)
    names = tuple(name for component in priorities.components() for name in priorities.members[component])
    tied = [relation for relation in network.precedences if relation.greatest is not None]
    relaxed = construct(network) | {"no time": Placement(NOON, NOON + HOUR, NOON + HOUR, (), ())}
    activities, kept = ActivityList(names, {}, {}, {}), ListPass(network, priorities, relaxed)
    for _ in range(12):
        fresh = ListPass(network, priorities, relaxed)
        assert kept.decode(activities, None, len(activities.names))[1]
        assert fresh.decode(activities, None, len(activities.names))[1]
        assert kept.partial.placements == fresh.partial.placements
        assert kept.costs == fresh.costs
        assert kept.costs[-1] == replace(cost_of(network, kept.partial.placements), sittings=0)
        kept.decode(neighbour(activities, tied, random), fresh.costs[len(names) // 2], len(names))
        activities = neighbour(activities, tied, random)
