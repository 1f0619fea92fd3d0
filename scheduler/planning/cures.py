"""What would cure a limit that is not met: the smallest single change of each kind, found by scheduling again.

That takes one pass, without the local search: a cure that needs the search too is not offered.
Tried: more room in the equipment that the late tasks use, one more day with free hands, and a colder freezer. The number of plannings
is bounded by a count that shrinks with the size of the plan.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import datetime, time, timedelta
from typing import NamedTuple

from scheduler.facts.yard import Yard
from scheduler.planning.holds import room
from scheduler.planning.network import Network, Placement
from scheduler.planning.priority import Priorities, priorities_of
from scheduler.planning.problem import Problem
from scheduler.planning.serial_sgs import construct
from scheduler.planning.windows import Windows
from scheduler.quantities import Statement, say

STEPS = (0.1, 0.2, 0.3, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0)  # more room, as shares of what there is
FREE_DAY = (time(7), time(22))  # a day kept free: all of it that is not night; assumed
DAYS_TRIED = 7
WORK = 8_000  # tasks placed in all while looking for cures
FEWEST, MOST = 3, 40  # plannings


class Change(NamedTuple):
    """One change of the yard and the network it leads to."""

    kind: str
    says: Statement
    network: Network
    since: int = 0  # it can only cure what is due later


def cures(
    problem: Problem, windows: Windows, network: Network, placed: Mapping[str, Placement], priorities: Priorities | None = None
) -> dict[str, list[Statement]]:
    """For each task that misses a limit, the changes that cure it, the smallest of each kind.

    `priorities` are those of the network, where they were worked out already.
    """
    as_of = problem.as_of
    limits = {
        task.id: min(limit for limit in (task.due, task.deadline) if limit is not None)
        for task in network.tasks
        if (task.due, task.deadline) != (None, None) and not task.fixed
    }
    late = {name: limit for name, limit in limits.items() if name in placed and placed[name].finish > limit > as_of}
    found: dict[str, list[Statement]] = {name: [] for name in late}
    if not late:
        return found
    cured: set[tuple[str, str]] = set()
    priorities = priorities or priorities_of(network)  # what is tried changes room and hours, not the tasks
    budget = max(FEWEST, min(MOST, WORK // len(network.tasks)))
    for change in _changes(problem, windows, network, late):
        open_ = [name for name in late if (change.kind, name) not in cured and late[name] > change.since]
        if not open_:
            continue
        if budget == 0:
            break
        budget -= 1
        then = construct(change.network, priorities, open_)
        for name in open_:
            if name in then and then[name].finish <= late[name]:
                found[name].append(change.says)
                cured.add((change.kind, name))
    return found


def _changes(problem: Problem, windows: Windows, network: Network, late: Mapping[str, int]) -> Iterator[Change]:
    yield from _roomier(problem.yard, network, _above(network, late))
    yield from _freer(problem, windows, network, late)


def _above(network: Network, names: Mapping[str, int]) -> set[str]:
    """The tasks named and all that they wait for."""
    before: dict[str, list[str]] = {}
    for relation in network.precedences:
        before.setdefault(relation.after, []).append(relation.before)
    found, stack = set(names), list(names)
    while stack:
        for name in before.get(stack.pop(), ()):
            if name not in found:
                found.add(name)
                stack.append(name)
    return found


def _roomier(yard: Yard, network: Network, concerned: set[str]) -> Iterator[Change]:
    used = {resource for task in network.tasks if task.id in concerned for mode in task.modes for resource, _ in mode.demands}
    for resource in sorted(used):
        capacity = network.capacities[resource]
        equipment = yard.equipment[resource]
        for step in STEPS:
            more = capacity * step if equipment.measure in ("space", "volume") else max(1.0, round(capacity * step))
            says = say("more room", more=room(equipment.measure, more), resource=resource)
            yield Change(resource, says, replace(network, capacities={**network.capacities, resource: capacity + more}))


def _freer(problem: Problem, windows: Windows, network: Network, late: Mapping[str, int]) -> Iterator[Change]:
    """One more free day, the last before the limit first: the keeper has the longest notice of it."""
    zone = problem.zone
    last = datetime.fromtimestamp(max(late.values()), zone).date()
    first = max(datetime.fromtimestamp(problem.as_of, zone).date(), datetime.fromtimestamp(min(late.values()), zone).date() - timedelta(DAYS_TRIED))
    days = [last - timedelta(i) for i in range((last - first).days + 1)][: DAYS_TRIED * 2]
    concerned = _above(network, late)
    people = sorted({task.hands for task in network.tasks if task.id in concerned})
    for day in days:
        for person in people:
            more = windows.freed(day, (FREE_DAY,), person or None)
            opens, closes = FREE_DAY
            free = say("day kept free", day=day, opens=opens, closes=closes)
            free = say("kept free by", free=free, person=person) if person else free
            yield Change("hands", free, replace(network, calendars=more.calendars), windows.moment(day, opens))
