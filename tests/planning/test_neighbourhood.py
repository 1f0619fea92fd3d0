"""The moves from one activity list to another: what is shifted, delayed or put ahead, and what never changes. All invented."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from scheduler.planning.activity_list import ActivityList
from scheduler.planning.local_search import feasible
from scheduler.planning.neighbourhood import Neighbourhood, shifted
from scheduler.planning.network import Network, Precedence
from scheduler.planning.partial_schedule import Relaxation
from scheduler.planning.priority import priorities_of
from scheduler.planning.serial_sgs import construct
from tests.planning.yards import HOUR, NOON, begun, frozen, often, one_freezer, work, yards


def around(network: Network) -> tuple[Neighbourhood, ActivityList]:
    """The neighbourhood of the schedule that one pass makes, and the list of that schedule."""
    priorities = priorities_of(network)
    here = Neighbourhood(network, priorities)
    relaxation = Relaxation(network, priorities)
    names = [name for name in feasible({name: (depth,) for name, depth in priorities.depth.items()}, here._predecessors) if not here._fixed(name)]
    for name in names:
        found = relaxation.earliest(priorities.tasks[name])
        if found is not None:
            relaxation.add(priorities.tasks[name], found)
    here.alone, here.current, here.head = relaxation.placements, construct(network, priorities), frozenset(names)
    lists = [name for name in here._begun_first(names) if name in here.alone]
    here.broken = {relation for relation in here.tied if relation.after in here.current and relation.lag(here.current) > (relation.greatest or 0)}
    return here, ActivityList(tuple(lists), {}, {}, {})


@given(st.lists(st.integers(0, 30), min_size=2, max_size=12, unique=True), st.data())
def test_what_is_shifted_takes_what_it_follows_along_and_the_rest_keeps_its_order(items: list[int], data: st.DataObject) -> None:
    """Each number follows its divisors; a list in which all do is one afterwards, with the number among the first it may be."""
    items = sorted(items)
    before = lambda item: [one for one in items if one and one < item and item % one == 0]  # noqa: E731
    names = [str(item) for item in items]
    follows = lambda name: [str(one) for one in before(int(name))]  # noqa: E731
    i = data.draw(st.integers(1, len(items) - 1))
    to = data.draw(st.integers(0, i - 1))
    found = shifted(names, i, to, follows)
    assert sorted(found) == sorted(names)
    assert found[:to] == names[:to]
    assert found[i + 1 :] == names[i + 1 :]
    assert all(found.index(one) < found.index(name) for name in names for one in follows(name))
    moved = found.index(names[i]) - to
    assert moved <= len([one for one in names[to:i] if one in follows(names[i])])
    stay = [name for name in names[to:i] if name not in follows(names[i])]
    assert [name for name in found if name in stay] == stay


@often
@given(yards, st.integers(1, 1 << 30))
def test_every_neighbour_has_each_task_once_after_what_it_follows_and_what_runs_first(network: Network, seed: int) -> None:
    """After twenty moves one from another, whatever the moves were; and the same moves come again from the same number."""
    here, activities = around(network)
    if not activities.names:
        return
    walks = []
    for _ in range(2):
        here.random, walk = seed, [activities]
        for _ in range(20):
            walk.append(here.neighbour(walk[-1]))
        walks.append(walk)
    assert walks[0] == walks[1]
    tasks = here.priorities.tasks
    for one in walks[0]:
        assert sorted(one.names) == sorted(activities.names)
        place = {name: i for i, name in enumerate(one.names)}
        late = [
            (relation.before, relation.after)
            for name in one.names
            for relation in here.priorities.predecessors.get(name, ())
            if relation.before in place and place[relation.before] > place[name] and not (tasks[name].begun and not tasks[relation.before].begun)
        ]
        assert late == []
        assert [tasks[name].begun for name in one.names] == sorted((tasks[name].begun for name in one.names), reverse=True)
        assert set(one.lags) <= set(here.tied)


def test_a_late_task_of_the_goods_is_put_ahead_of_the_paper_that_has_its_evening() -> None:
    """Labels fill the evening before comb that is due tonight: some move has the comb, and what it follows, before the labels."""
    paper = work("labels", 240)
    cut = replace(work("cut", 60), loss="crop")
    pack = replace(work("pack", 60, due=NOON + 10 * HOUR), loss="crop")
    network = one_freezer(replace(paper, loss="comfort"), cut, pack, relations=(Precedence("cut", "pack"),))
    here, _ = around(network)
    late = replace(network, tasks=(replace(paper, loss="crop", due=NOON), *network.tasks[1:]))
    here.current = construct(late)  # as if the labels had been taken first
    assert here.current["labels"].start < here.current["cut"].start
    ahead = here._ahead_of_comfort(ActivityList(("labels", "cut", "pack"), {}, {}, {}))
    assert ahead is not None
    assert ahead.names == ("cut", "pack", "labels")
    tried = {here.neighbour(ActivityList(("labels", "cut", "pack"), {}, {}, {})).names for _ in range(100)}
    assert ("cut", "pack", "labels") in tried


def test_nothing_goes_ahead_of_comfort_where_no_goods_are_late() -> None:
    """The same evening, where the comb has no limit."""
    network = one_freezer(replace(work("labels", 240), loss="comfort"), replace(work("cut", 60), loss="crop"))
    here, _ = around(network)
    here.current = construct(replace(network, tasks=(replace(network.tasks[0], loss="crop", due=NOON), network.tasks[1])))
    assert here.current["labels"].start < here.current["cut"].start
    assert all(here._ahead_of_comfort(ActivityList(("labels", "cut"), {}, {}, {})) is None for _ in range(20))


def test_only_what_takes_the_room_that_is_waited_for_is_a_rival() -> None:
    """Two loads of 60 L wait for a freezer of 90 L one after the other; work in the meantime takes none of it."""
    network = one_freezer(frozen("a", 60.0), frozen("b", 60.0), work("c"))
    here, _ = around(network)
    first, second = sorted("ab", key=lambda name: here.current[name].start)
    assert here._rival(first, second)
    assert not here._rival("c", second)


def test_a_delay_is_taken_back_by_some_move_and_set_by_another() -> None:
    """Two hours of one are in the way of the other's limit tonight: some neighbour delays it, and some neighbour of that one no longer does."""
    network = one_freezer(work("a", 180), work("b", 120, due=NOON + 8 * HOUR))
    here, _ = around(network)
    here.current = construct(replace(network, tasks=(replace(network.tasks[0], due=NOON), replace(network.tasks[1], due=None))))
    plain = ActivityList(("a", "b"), {}, {}, {})
    delayed = [one for one in (here.neighbour(plain) for _ in range(200)) if "a" in one.starts]
    assert delayed
    assert all(one.starts["a"] > here.current["a"].start for one in delayed)
    assert any(not here.neighbour(delayed[0]).starts for _ in range(200))


def test_what_runs_comes_first_whatever_is_shifted() -> None:
    """A hold that runs has its room already."""
    network = one_freezer(work("b", 60), work("c", 60), begun(frozen("a", 60.0), NOON - HOUR))
    here, activities = around(network)
    assert activities.names[0] == "a"
    assert all(here.neighbour(activities).names[0] == "a" for _ in range(50))
