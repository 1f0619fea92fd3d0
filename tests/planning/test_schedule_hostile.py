"""Networks that no schedule can satisfy, or that are far too large: a clear outcome in bounded time."""

from __future__ import annotations

from itertools import pairwise

import pytest

from scheduler.local_time import DAY
from scheduler.planning.local_search import schedule
from scheduler.planning.network import Mode, Network, Precedence, Task, violations
from scheduler.planning.objective import wait_late
from scheduler.planning.partial_schedule import HORIZON
from scheduler.planning.serial_sgs import construct
from scheduler.quantities import say
from tests.planning.yards import HOUR, NOON, calendars


def work(name: str, minutes: int = 15, window: str | None = "evenings", **more: int) -> Task:
    """Hands-on work in a window."""
    return Task(name, minutes * 60, 0, (Mode(0, None),), NOON, begin_calendar=window, **more)


def network(*tasks: Task, relations: tuple[Precedence, ...] = ()) -> Network:
    """Tasks in a yard with one freezer."""
    return Network(tasks, relations, {"freezer": 90.0}, calendars=calendars())


def test_a_window_that_never_opens_leaves_its_task_without_a_time() -> None:
    """A task whose window never opens is missing, and the verifier names it and what was placed all the same though it waits for it."""
    net = network(work("a", window="never"), work("b"), relations=(Precedence("a", "b"),))
    assert set(schedule(net)) == {"b"}
    assert violations(net, schedule(net)) == [say("not placed", task="a"), say("ahead of what has no time", task="b", before="a")]


def test_a_load_that_no_freezer_takes_has_no_time() -> None:
    """A demand above the capacity is missing rather than placed beyond it."""
    net = network(Task("a", 0, 0, (Mode(DAY, None, (("freezer", 91.0),)),), NOON))
    assert schedule(net) == {}


def test_a_hold_whose_end_waits_too_long_for_hands_is_late_and_has_its_time() -> None:
    """Begun only in the evening, over after 6 h, to wait 6 h at most and ended only in the evening: what is over costs."""
    net = network(Task("a", 900, 900, (Mode(6 * HOUR, 6 * HOUR),), NOON, begin_calendar="evenings", end_calendar="evenings"))
    at = schedule(net)["a"]
    assert violations(net, schedule(net)) == []
    assert at.waited() > 6 * HOUR
    assert wait_late(net.tasks[0], at) == at.waited() - 6 * HOUR


def test_a_start_is_put_off_where_its_end_waits_less_and_comes_no_later() -> None:
    """A hold of an hour may wait two for the evening: it begins three hours before hands come back, not at noon."""
    net = network(Task("a", 0, 900, (Mode(HOUR, 2 * HOUR),), NOON, end_calendar="evenings"))
    plain = network(Task("a", 0, 900, (Mode(HOUR),), NOON, end_calendar="evenings"))
    assert schedule(net)["a"].finish == schedule(plain)["a"].finish
    assert schedule(net)["a"].waited() == 2 * HOUR


def test_a_greatest_lag_below_the_least_is_named() -> None:
    """Contradictory lags leave both tasks placed and the broken one named."""
    net = network(work("a"), work("b"), relations=(Precedence("a", "b", least=4 * HOUR, greatest=HOUR),))
    assert [(one.kind, one.get("task"), one.get("before")) for one in violations(net, schedule(net))] == [("lag too long", "b", "a")]


def test_a_circle_of_relations_has_no_time_and_ends() -> None:
    """Tasks that wait for each other, and what waits for them, are missing."""
    net = network(work("a"), work("b"), work("c"), work("d"), relations=(Precedence("a", "b"), Precedence("b", "a"), Precedence("b", "c")))
    assert set(schedule(net)) == {"d"}


@pytest.mark.slow
def test_ten_thousand_tasks_in_one_evening() -> None:
    """Ten thousand quarters of an hour due tonight fill the evenings one after another, up to the horizon; only what lies beyond is late or missing."""
    net = network(*(work(f"t{i:05d}", due=NOON + 10 * HOUR) for i in range(10_000)))
    placed = schedule(net)
    assert [one for one in violations(net, placed) if one.kind != "not placed"] == []
    starts = sorted(at.start for at in placed.values())
    assert len(starts) == min(10_000, 16 * (HORIZON // DAY + 1))
    assert all(b - a == 900 or a % DAY == 21.25 * HOUR for a, b in pairwise(starts))


@pytest.mark.slow
def test_a_chain_of_thousands_within_an_hour_of_each_other_ends() -> None:
    """Three thousand tasks, each within an hour of the one before: one unit, whose repair is bounded."""
    tasks = [work(f"t{i:05d}") for i in range(3000)]
    relations = tuple(Precedence(a.id, b.id, greatest=HOUR) for a, b in pairwise(tasks))
    net = network(*tasks, relations=relations)
    placed = construct(net)
    assert all(one.kind == "lag too long" for one in violations(net, placed))
