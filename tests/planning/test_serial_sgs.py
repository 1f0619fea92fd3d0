"""One pass of the serial scheme, and how it keeps greatest lags."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given

from scheduler.local_time import DAY
from scheduler.planning.local_search import schedule
from scheduler.planning.network import Mode, Network, Precedence, Task, violations
from scheduler.planning.partial_schedule import HORIZON
from scheduler.planning.serial_sgs import construct
from tests.planning.yards import HOUR, NOON, calendars, one_freezer, randoms, sparse, work, yards


@sparse
@given(yards, randoms)
def test_a_pass_for_some_tasks_places_them_as_the_whole_pass_does(network: Network, random: Random) -> None:
    """What comes later in the order does not move them, so a what-if need not place it."""
    some = random.sample([task.id for task in network.tasks], 1 + len(network.tasks) // 4)
    whole, part = construct(network), construct(network, only=some)
    assert [part.get(name) for name in some] == [whole.get(name) for name in some]
    assert part.items() <= whole.items()


def test_the_end_of_a_hold_waits_so_that_packing_follows_in_time() -> None:
    """Draining may end at noon, packing must follow within 2 h and can only be in the evening: the rack is left standing till then."""
    drain = Task("drain", 0, 900, (Mode(12 * HOUR, None),), NOON - 12 * HOUR)
    pack = Task("pack", 1800, 0, (Mode(0, None),), NOON, begin_calendar="evenings")
    network = Network((drain, pack), (Precedence("drain", "pack", greatest=2 * HOUR),), {}, calendars=calendars())
    placed = schedule(network)
    assert violations(network, placed) == []
    assert placed["drain"].start == NOON - 12 * HOUR


def test_a_greatest_lag_below_the_least_is_named() -> None:
    """Contradictory lags leave both tasks placed and the broken one named."""
    net = one_freezer(work("a"), work("b"), relations=(Precedence("a", "b", least=4 * HOUR, greatest=HOUR),))
    assert [(one.kind, one.get("task"), one.get("before")) for one in violations(net, schedule(net))] == [("lag too long", "b", "a")]


def test_a_repair_that_makes_more_late_than_it_mends_is_not_made() -> None:
    """Packing can only be at the weekend, within an hour of freezing; to wait for that, freezing would pass tonight's deadline by days."""
    freeze, pack = replace(work("freeze", deadline=NOON + 10 * HOUR), loss="food safety"), work("pack", window="weekends")
    net = one_freezer(freeze, pack, relations=(Precedence("freeze", "pack", greatest=HOUR),))
    assert construct(net)["freeze"].finish < NOON + 10 * HOUR
    free = replace(net, tasks=(replace(freeze, deadline=None), pack))
    assert violations(free, construct(free)) == []


@pytest.mark.slow
def test_ten_thousand_tasks_in_one_evening() -> None:
    """Ten thousand quarters of an hour due tonight fill the evenings one after another, up to the horizon; only what lies beyond is late or missing."""
    net = one_freezer(*(work(f"t{i:05d}", due=NOON + 10 * HOUR) for i in range(10_000)))
    placed = schedule(net)
    assert [one for one in violations(net, placed) if one.kind != "not placed"] == []
    starts = sorted(at.start for at in placed.values())
    assert len(starts) == min(10_000, 16 * (HORIZON // DAY + 1))
    assert all(b - a == 900 or a % DAY == 21.25 * HOUR for a, b in pairwise(starts))


@pytest.mark.slow
def test_a_chain_of_thousands_within_an_hour_of_each_other_ends() -> None:
    """Three thousand tasks, each within an hour of the one before: one component, whose repair is bounded."""
    tasks = [work(f"t{i:05d}") for i in range(3000)]
    relations = tuple(Precedence(a.id, b.id, greatest=HOUR) for a, b in pairwise(tasks))
    net = one_freezer(*tasks, relations=relations)
    placed = construct(net)
    assert all(one.kind == "lag too long" for one in violations(net, placed))
