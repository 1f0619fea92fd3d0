"""What holds for the schedule of any yard."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from scheduler.local_time import DAY
from scheduler.planning.local_search import schedule
from scheduler.planning.network import Mode, Network, Placement, Precedence, Task, violations
from scheduler.planning.objective import cost_of
from scheduler.planning.planner import WARNED
from scheduler.planning.serial_sgs import construct
from tests.chance import times
from tests.planning.yards import HOUR, NOON, running, season, shared, yard

randoms = st.randoms(use_true_random=False)


def one_or_two(random: Random, most: int) -> Network:
    """A yard with one pair of hands or with two, where some of the holds run already."""
    network = yard(random, most)
    network = shared(network, random) if random.random() < 0.5 else network
    return running(network, random) if random.random() < 0.5 else network


yards = st.builds(one_or_two, randoms, st.integers(2, 30))
often = settings(
    max_examples=times(1600),
    deadline=None,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
sparse = settings(often, max_examples=times(600))


def not_reported(network: Network, placed: dict[str, Placement]) -> list[str]:
    """The violations that are no limit which a plan may pass with a warning."""
    return [one for one in violations(network, placed) if one.kind not in WARNED]


@often
@given(yards)
def test_only_deadlines_and_greatest_lags_are_ever_passed(network: Network) -> None:
    """Capacity at every instant, windows, hands, holds, daily ratings and least lags hold in any schedule, before the search and after it."""
    assert not_reported(network, construct(network)) == []
    assert not_reported(network, schedule(network)) == []


@often
@given(yards)
def test_nothing_is_lost(network: Network) -> None:
    """Where every task fits its windows and its resources, every task has a time."""
    assert set(schedule(network)) == {task.id for task in network.tasks}


@sparse
@given(yards, randoms)
def test_the_order_in_which_tasks_are_written_does_not_matter(network: Network, random: Random) -> None:
    """The same network with tasks and relations shuffled has the same schedule."""
    tasks, relations = list(network.tasks), list(network.precedences)
    random.shuffle(tasks)
    random.shuffle(relations)
    shuffled = schedule(replace(network, tasks=tuple(tasks), precedences=tuple(relations)))
    assert {name: (at.start, at.finish) for name, at in shuffled.items()} == {name: (at.start, at.finish) for name, at in schedule(network).items()}


@sparse
@given(yards, randoms)
def test_a_pass_for_some_tasks_places_them_as_the_whole_pass_does(network: Network, random: Random) -> None:
    """What comes later in the order does not move them, so a what-if need not place it."""
    some = random.sample([task.id for task in network.tasks], 1 + len(network.tasks) // 4)
    whole, part = construct(network), construct(network, only=some)
    assert [part.get(name) for name in some] == [whole.get(name) for name in some]
    assert part.items() <= whole.items()


@sparse
@given(yards)
def test_the_search_never_makes_a_schedule_worse(network: Network) -> None:
    """What the search returns costs at most what the constructive scheme made."""
    assert cost_of(network, schedule(network)) <= cost_of(network, construct(network))


@sparse
@given(yards)
def test_planning_again_from_a_published_schedule_is_no_worse(network: Network) -> None:
    """With nothing changed, a schedule made with the earlier one at hand costs no more in times and days."""
    first = schedule(network)
    starts = {name: at.start for name, at in first.items()}
    assert cost_of(network, schedule(network, starts)).limits() <= cost_of(network, construct(network)).limits()


def frozen(name: str, litres: float, mass: float = 0.0, due: int | None = None) -> Task:
    """A lot to be frozen for a day, at any hour."""
    return Task(name, 0, 0, (Mode(DAY, None, (("freezer", litres),), (("freezer", mass),) if mass else ()),), NOON, due)


def test_a_freezer_takes_its_rating_within_a_day() -> None:
    """Two loads of 4 kg in a freezer rated for 6 kg a day begin a day apart, though there is room for both."""
    network = Network((frozen("a", 10, 4.0), frozen("b", 10, 4.0)), (), {"freezer": 90.0}, daily={"freezer": 6.0})
    placed = schedule(network)
    assert sorted(at.start - NOON for at in placed.values()) == [0, DAY]


def test_a_load_above_the_rating_goes_in_alone() -> None:
    """A load of 8 kg in a freezer rated for 6 kg a day has no other load within a day of it."""
    network = Network((frozen("a", 10, 8.0), frozen("b", 10, 1.0)), (), {"freezer": 90.0}, daily={"freezer": 6.0})
    placed = schedule(network)
    assert abs(placed["a"].start - placed["b"].start) == DAY


def test_the_verifier_sees_two_loads_above_the_rating() -> None:
    """A schedule that loads 8 kg within an hour into a freezer rated for 6 kg a day is found out."""
    network = Network((frozen("a", 10, 4.0), frozen("b", 10, 4.0)), (), {"freezer": 90.0}, daily={"freezer": 6.0})
    placed = {name: Placement(NOON + i * HOUR, NOON + i * HOUR + DAY, NOON + i * HOUR + DAY, (), ()) for i, name in enumerate("ab")}
    assert any(one.kind == "over daily load" for one in violations(network, placed))


def test_the_search_lets_the_lot_that_is_due_go_first() -> None:
    """One freezer, room for one lot: the constructive order or the search puts the one whose moth eggs hatch first in front."""
    network = Network((frozen("a", 60), frozen("b", 60, due=NOON + DAY)), (), {"freezer": 90.0})
    assert schedule(network)["b"].finish == NOON + DAY


def test_the_end_of_a_hold_waits_so_that_packing_follows_in_time() -> None:
    """Draining may end at noon, packing must follow within 2 h and can only be in the evening: the rack is left standing till then."""
    drain = Task("drain", 0, 900, (Mode(12 * HOUR, None),), NOON - 12 * HOUR)
    pack = Task("pack", 1800, 0, (Mode(0, None),), NOON, begin_calendar="evenings")
    network = Network((drain, pack), (Precedence("drain", "pack", greatest=2 * HOUR),), {}, calendars=season(1).calendars | yard(Random(0), 2).calendars)
    placed = schedule(network)
    assert violations(network, placed) == []
    assert placed["drain"].start == NOON - 12 * HOUR


@sparse
@given(yards, st.sampled_from(["freezer", "chest", "rack"]))
def test_more_room_is_never_worse_than_what_fits_without_it(network: Network, resource: str) -> None:
    """A schedule for less room is one for more: its cost bounds what the best schedule costs with more room."""
    more = replace(network, capacities={**network.capacities, resource: 2 * network.capacities[resource]})
    assert not_reported(more, schedule(network)) == []


def test_two_people_work_at_the_same_time() -> None:
    """Two lots to be packed on one evening take two hours of one pair of hands, and one hour where each has a pair of their own."""
    pack = Task("a", HOUR, 0, (Mode(0, None),), NOON)
    alone, together = ((pack, replace(pack, id="b", hands=hands)) for hands in ("", "second"))
    assert [max(at.finish for at in schedule(Network(tasks, (), {})).values()) - NOON for tasks in (alone, together)] == [2 * HOUR, HOUR]
    double = {"a": Placement(NOON, NOON + HOUR, NOON + HOUR, ((NOON, NOON + HOUR),), ())}
    double["b"] = double["a"]
    assert violations(Network(together, (), {}), double) == []
    assert [one.kind for one in violations(Network(alone, (), {}), double)] == ["hands needed twice"]


def test_of_schedules_as_good_the_one_that_was_published_is_kept() -> None:
    """Two like pieces of work can stand either way round; they stay as they were told, whichever that was."""
    tasks = tuple(Task(name, HOUR, 0, (Mode(0, None),), NOON) for name in ("a", "b"))
    for starts in ({"a": NOON, "b": NOON + HOUR}, {"b": NOON, "a": NOON + HOUR}):
        assert {name: at.start for name, at in schedule(Network(tasks, (), {}), starts).items()} == starts
