"""In which order tasks are scheduled, and what of it is worked out again when a network changes."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from random import Random

import pytest
from hypothesis import given

from scheduler.local_time import DAY
from scheduler.planning import priority
from scheduler.planning.local_search import schedule
from scheduler.planning.network import Network, Precedence
from scheduler.planning.priority import priorities_of
from tests.planning.test_freezer_separation import unrated
from tests.planning.whole import harvest, planned
from tests.planning.yards import HOUR, NOON, QUARTER, begun, often, one_freezer, randoms, season, work, yard, yards


@pytest.fixture
def worked_out(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The tasks whose earliest start is worked out, in turn."""
    seen: list[str] = []
    work_out = priority._earliest_start

    def counted(found: priority.Priorities, name: str) -> int:
        seen.append(name)
        return work_out(found, name)

    monkeypatch.setattr(priority, "_earliest_start", counted)
    return seen


def test_the_earlier_due_date_goes_first() -> None:
    """Of like pieces of work the one with the earlier latest start has priority, then the one that loses more."""
    tasks = (work("a"), work("b", due=NOON + 2 * DAY), work("c", due=NOON + DAY), replace(work("d", due=NOON + DAY), loss="food safety"))
    assert priorities_of(one_freezer(*tasks)).components() == ["d", "c", "b", "a"]


def test_a_due_date_gives_priority_to_all_that_has_to_come_before() -> None:
    """Cutting has no date of its own, but packing, which is due tonight, waits for it."""
    tasks = (work("look"), work("cut"), work("pack", due=NOON + 10 * HOUR))
    found = priorities_of(one_freezer(*tasks, relations=(Precedence("cut", "pack", least=HOUR),)))
    assert found.components() == ["cut", "pack", "look"]
    assert found.latest_start["cut"] == NOON + 9 * HOUR - 2 * QUARTER


def test_what_a_greatest_lag_ties_together_is_scheduled_as_one() -> None:
    """Drain, pack and what lies between them make one component, named by the least; what follows without a greatest lag is its own."""
    tasks = tuple(work(name) for name in ("drain", "rack", "pack", "sell"))
    relations = (Precedence("drain", "rack"), Precedence("rack", "pack"), Precedence("drain", "pack", greatest=HOUR), Precedence("pack", "sell"))
    assert priorities_of(one_freezer(*tasks, relations=relations)).members == {"drain": ("drain", "rack", "pack"), "sell": ("sell",)}


def test_a_circle_of_relations_has_no_time_and_ends() -> None:
    """Tasks that wait for each other, and what waits for them, are missing."""
    relations = (Precedence("a", "b"), Precedence("b", "a"), Precedence("b", "c"))
    assert set(schedule(one_freezer(work("a"), work("b"), work("c"), work("d"), relations=relations))) == {"d"}


@often
@given(yards)
def test_priority_is_feasible_by_precedence(network: Network) -> None:
    """No task comes before one that it waits for, neither by component nor within one."""
    found = priorities_of(network)
    order = [name for component in found.components() for name in found.members[component]]
    at = {name: i for i, name in enumerate(order)}
    assert all(at[relation.before] < at[relation.after] for relation in network.precedences if not found.tasks[relation.after].begun)


def changed(network: Network, random: Random) -> Network:
    """One change: a task done, begun, longer, with another date, gone or added with a lot of its own; a relation more or less."""
    tasks, relations, i = list(network.tasks), list(network.precedences), random.randrange(len(network.tasks))
    task = tasks[i]
    what = random.choice(["done", "begun", "hold", "due", "release", "gone", "more", "waits", "free"])
    if what == "done":
        tasks[i] = replace(task, fixed=(NOON, NOON + HOUR))
    elif what == "begun" and task.end:
        tasks[i] = begun(task, NOON)
        relations = [relation for relation in relations if relation.after != task.id]
    elif what == "hold":
        tasks[i] = replace(task, modes=tuple(replace(mode, hold=mode.hold + HOUR) for mode in task.modes))
    elif what == "due":
        tasks[i] = replace(task, due=NOON + random.randrange(10) * DAY)
    elif what == "release":
        tasks[i] = replace(task, release=NOON + random.randrange(400) * QUARTER)
    elif what == "gone" and len(tasks) > 1:
        del tasks[i]
        relations = [relation for relation in relations if task.id not in (relation.before, relation.after)]
    elif what == "more":
        more = yard(random, 6)
        tasks += [replace(other, id=f"{len(network.tasks)} {other.id}") for other in more.tasks]
        relations += [replace(one, before=f"{len(network.tasks)} {one.before}", after=f"{len(network.tasks)} {one.after}") for one in more.precedences]
    elif what == "waits" and i:
        relations.append(Precedence(tasks[0].id, task.id, greatest=random.choice([None, DAY])))
    elif relations:
        del relations[random.randrange(len(relations))]
    return replace(network, tasks=tuple(tasks), precedences=tuple(relations))


@often
@given(yards, randoms)
def test_what_is_known_of_a_like_network_never_changes_the_priorities(network: Network, random: Random) -> None:
    """After each of a few changes they are those worked out from nothing."""
    known = priorities_of(network)
    for _ in range(3):
        network = changed(network, random)
        known = priorities_of(network, known)
        assert known == priorities_of(network)


def test_a_change_in_one_harvest_leaves_the_priorities_of_the_others(worked_out: list[str]) -> None:
    """Of ten harvests of 45 tasks only the one that a change can reach is worked out again, and nothing where nothing changed."""
    network = season(10)
    known = priorities_of(network)
    assert len(worked_out) == 450
    assert priorities_of(season(10), known) is known
    tasks = (replace(network.tasks[0], due=NOON), *network.tasks[1:])
    priorities_of(replace(network, tasks=tasks), known)
    assert len(worked_out) == 450 + 45


def test_a_planning_works_its_priorities_out_once(worked_out: list[str]) -> None:
    """A warm load kept apart from a cold one takes several schedules; the harvest of another year keeps the priorities it had in the first."""
    place = unrated()
    lots: list[dict[str, object]] = [{"kind": kind, "frames": 18, "moisture": 17.0, "imperfect": 0} for kind in ("cut comb", "dry comb")]
    other, apart = harvest(place, "v", "2027-08-07T09:00", lots[:1]), harvest(place, "w", "2026-08-08T09:00", lots)
    planned(place, [other, apart], "2026-08-08T09:00")
    times = Counter(worked_out)
    assert {times[name] for name in times if name.startswith("v/")} == {1}
    assert max(times[name] for name in times if name.startswith("w/")) > 1
