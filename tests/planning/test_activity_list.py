"""A pass of the search that builds on the one before it."""

from __future__ import annotations

from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.planning.activity_list import BEFORE, LEFT, Taking, Turns
from scheduler.planning.network import Precedence
from scheduler.planning.priority import order_of
from scheduler.planning.serial_sgs import construct, horizon
from tests.chance import times
from tests.planning.yards import HOUR, yard


def other(turns: Turns, tied: list[Precedence], random: Random) -> Turns:
    """Turns that differ a little: two neighbours swapped where neither follows the other, a greatest lag kept otherwise, a wait begun or ended."""
    names, kept, starts = list(turns.names), dict(turns.kept), dict(turns.starts)
    what = random.choice(["order", "kept", "wait"])
    if what == "order" and len(names) > 1:
        i = random.randrange(len(names) - 1)
        if names[i].partition("/")[0] != names[i + 1].partition("/")[0]:
            names[i], names[i + 1] = names[i + 1], names[i]
    elif what == "kept" and tied:
        kept[random.choice(tied)] = random.choice([0, BEFORE, LEFT])
    elif starts and random.random() < 0.5:
        del starts[random.choice(sorted(starts))]
    else:
        starts[random.choice(names)] = 19500 * 86400 + random.randrange(200) * HOUR
    return Turns(tuple(names), kept, starts, turns.ends)


@settings(max_examples=times(1200), deadline=None)
@given(st.builds(yard, st.randoms(use_true_random=False), st.integers(3, 25), st.just(True)), st.randoms(use_true_random=False))
def test_a_pass_that_begins_where_the_last_differs_equals_one_from_nothing(network, random) -> None:  # type: ignore[no-untyped-def]
    """After each of a few changes, whole passes and broken off ones, places and costs are those of a pass from the first turn on."""
    order, last = order_of(network), horizon(network)
    names = tuple(name for unit in order.units() for name in order.members[unit])
    tied = [relation for relation in network.precedences if relation.greatest is not None]
    floor = construct(network).placed
    turns, taking = Turns(names, {}, {}, {}), Taking(network, order, last, floor)
    for _ in range(12):
        fresh = Taking(network, order, last, floor)
        assert taking.run(turns, None)[1]
        assert fresh.run(turns, None)[1]
        assert taking.placing.placed == fresh.placing.placed
        assert taking.costs == fresh.costs
        taking.run(other(turns, tied, random), fresh.costs[len(names) // 2])
        turns = other(turns, tied, random)
