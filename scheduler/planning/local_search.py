"""Schedules for a network: the serial scheme, then a bounded local search over the order in which it takes components, then single tasks.

The search starts from a few orders that are good on other grounds, and goes on by moves (neighbourhood.py). Accepted is what is no worse than
what was accepted a few passes ago (Burke and Bykov 2017, Eur. J. Oper. Res. 258:70-78, on late acceptance), and after a long stall anything.
The bound is a count that falls with the size of the network, so results repeat. The search ends at once where every task stands where it
would stand alone, and where it has long found nothing better.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import islice

from scheduler.local_time import DAY
from scheduler.planning.activity_list import ActivityList, ListPass
from scheduler.planning.neighbourhood import NEVER, Before, Neighbourhood
from scheduler.planning.network import Network, Placement, Schedule
from scheduler.planning.objective import COMFORT, WEIGHTS, Cost, cost_of, lag_late, lower_bound
from scheduler.planning.partial_schedule import PartialSchedule, Relaxation
from scheduler.planning.priority import Priorities, priorities_of
from scheduler.planning.serial_sgs import IGNORE, construct, schedule_components

WORK = 32_000  # placements the search may spend where a limit is passed; assumed, as are the numbers below
IDLE_WORK = 40_000  # and where none is, and only waiting could be saved: this over the tasks, so that an ordinary plan comes at once
MOST = 4800  # passes, however small the network
SMALL = 20  # tasks up to which three times as much may be spent
PLACED = 0.6  # of the placements of a pass from nothing: in a pass built on another a placement costs more, with unscheduling; measured
FEWEST = 8  # passes below which there is no search
COMPONENTS_SHARE = 0.03  # of the passes, for the order of components
FEWEST_COMPONENTS = 3  # and at least so many
HISTORY = 3  # passes after which a worse schedule must have become as good as what it was accepted against
FIRST = 0.04  # of the placements, for each activity list that the search starts from; the rest goes on from the best
GROUPS = 4  # lots, mostly, each of which comes first in one of the lists that the search starts from
STALL = 60  # passes without a better schedule, after which the search goes on from a worse one
PATIENCE, PATIENT = 0.25, 3_000  # the share of the placements, and their number, without a better schedule after which the search ends
BEYOND = 10 * DAY  # how long after the last limit that is passed tasks still take part in the search


def schedule(network: Network, previous: Mapping[str, int] | None = None, priorities: Priorities | None = None, *, effort: float = 1.0) -> dict[str, Placement]:
    """Schedule every task that has a time; those that have none are missing from the answer.

    A small network is improved by a bounded search, which prefers to leave tasks at their starts in `previous`. `priorities` are those of
    the network, where they were worked out already; `effort` is the share of the bound that may be spent.
    """
    priorities = priorities or priorities_of(network)
    if effort * passes(len(network.tasks)) < FEWEST:
        return construct(network, priorities)
    return LocalSearch(network, priorities, previous).run(effort)


def passes(count: int, late: bool = True) -> int:
    """How many passes the search may spend on a network of so many tasks."""
    work = WORK if late else IDLE_WORK // max(count, 1)
    allowed = min(MOST, work * (3 if count <= SMALL else 1) // max(count, 1))
    return allowed if allowed >= FEWEST else 0


def late_whatever_the_order(network: Network, priorities: Priorities) -> bool:
    """Whether a limit is passed in every schedule of a network, for it is where each task stands alone."""
    return lower_bound(network, _relaxed(network, priorities)).lateness > 0


def _relaxed(network: Network, priorities: Priorities) -> Schedule:
    """Every task as soon as it could be if it stood alone and no greatest lag made it wait: no schedule costs less."""
    relaxation = Relaxation(network, priorities)
    for name in sorted(priorities.depth, key=priorities.depth.__getitem__):
        task = priorities.tasks[name]
        found = None if task.fixed else relaxation.earliest(task)
        if found is not None:
            relaxation.add(task, found)
    return relaxation.placements


class LocalSearch(Neighbourhood):
    """The incumbent, which is the best schedule found, and the search from it."""

    def __init__(self, network: Network, priorities: Priorities, previous: Mapping[str, int] | None, start: Schedule | None = None) -> None:
        super().__init__(network, priorities)
        self.previous = previous
        self.components = priorities.components()
        self.alone = self._schedule(self.components, Relaxation)
        self.relaxed = _relaxed(network, priorities) if self.tied else self.alone
        self.bound = lower_bound(network, self.relaxed)
        self.incumbent = self.current = dict(start) if start is not None else self._schedule(self.components)
        self.cost = self._cost(self.incumbent)

    def run(self, effort: float = 1.0) -> dict[str, Placement]:
        """Search until the bound, or a share of it, or until nothing can be better."""
        left = int(effort * passes(len(self.network.tasks), self.cost.limits() > self.bound.limits()))
        for_tasks = left - min(left, max(FEWEST_COMPONENTS, int(left * COMPONENTS_SHARE)))
        for rank in list(islice(self._pressing(), int(left * COMPONENTS_SHARE))):
            self._try_components(self._components_by({name: rank.get(name, NEVER) for name in self.priorities.component}, min))
        for components in self._orders():
            if left <= for_tasks or self._optimal():
                break
            left -= 1
            self._try_components(components)
        budget = int(left * len(self.network.tasks) * PLACED)
        if not budget or self._optimal():
            return self.incumbent
        self.head = self._head()
        starts = self._lists()
        self.best_list = starts[0]
        for activities in starts:
            self._search_lists(activities, int(budget * FIRST))
        self._search_lists(self.best_list, int(budget * (1 - FIRST * len(starts))))
        return self.incumbent

    def _lists(self) -> list[ActivityList]:
        """Where the search over activity lists starts: from the incumbent, and by how tasks would start and finish alone and are due."""
        names = [name for component in self._begun_first(self.components) for name in self.priorities.members[component] if not self._fixed(name)]
        depth, latest = self.priorities.depth, self.priorities.latest_start
        alone = {name: self.alone[name] for name in names if name in self.alone}
        broken = {relation: IGNORE for relation in self.tied if lag_late(relation, self.priorities.tasks, self.incumbent)}
        orders = (
            {name: (at.start, depth[name]) for name, at in alone.items()},
            {name: (at.finish, depth[name]) for name, at in alone.items()},
            {name: (latest[name], at.start, depth[name]) for name, at in alone.items()},
        )
        found = (names, *(self._begun_first(feasible(order, self._predecessors)) for order in orders))
        if pressing := next(self._pressing(), None):
            found = (*found, self._begun_first(sorted(names, key=lambda name: name not in pressing)))
        return [ActivityList(tuple(sorted(one, key=lambda name: name not in self.head)), broken if one is names else {}, {}, {}) for one in found]

    def _with_chains(self, names: Iterable[str]) -> frozenset[str]:
        """Tasks and all that they wait for."""
        found = set(names)
        stack = list(found)
        while stack:
            for before in self._predecessors(stack.pop()):
                if before not in found and before in self.priorities.depth and not self._fixed(before):
                    found.add(before)
                    stack.append(before)
        return frozenset(found)

    def _pressing(self) -> Iterator[dict[str, int]]:
        """Ranks for the goods that are late with all that they wait for, which then come before the rest.

        All in the order they have; by the ratio of time to weight (Smith 1956, Nav. Res. Logist. Q. 3:59-66, from memory), one by one, then those
        that share most of their work, which are mostly a lot's, together; and with each of these in turn first.
        """
        tasks = self.priorities.tasks
        late = [name for name, at in self.incumbent.items() if tasks[name].loss != COMFORT and not self._fixed(name) and self._late(name, at)]
        if not late:
            return
        chains = {name: self._with_chains((name,)) for name in late}
        groups: list[list[str]] = []
        for name, chain in chains.items():
            shared = (one for one in groups if self._takes(chain & chains[one[0]]) > self._takes(chain) / 2)
            group = next(shared, None)
            if group is None:
                groups.append([name])
            else:
                group.append(name)
        together = [(frozenset().union(*(chains[name] for name in group)), sum(WEIGHTS[tasks[name].loss] for name in group)) for group in groups]
        yield dict.fromkeys((name for chain in chains.values() for name in chain), 0)
        yield self._by_ratio([(chain, WEIGHTS[tasks[name].loss]) for name, chain in chains.items()])
        if len(groups) > 1:
            yield self._by_ratio(together)
            for one in together[:GROUPS]:
                yield self._by_ratio(together, one[0])

    def _by_ratio(self, chains: Iterable[tuple[frozenset[str], int]], first: Iterable[str] = ()) -> dict[str, int]:
        """Ranks for chains, the one with the least of its work left for its weight first."""
        left, rank = list(chains), dict.fromkeys(first, 0)
        while left:
            ratios = [self._takes(one for one in chain if one not in rank) / weight for chain, weight in left]
            chain, _ = left.pop(ratios.index(min(ratios)))
            rank.update(dict.fromkeys((one for one in chain if one not in rank), len(rank)))
        return rank

    def _takes(self, names: Iterable[str]) -> int:
        """How long tasks take hands, and their holds the room that they fill; in whole seconds, so that no sum hangs on the order of a set."""
        tasks, capacities, taken = self.priorities.tasks, self.network.capacities, 0
        for name in names:
            mode = tasks[name].modes[0]
            share = max((amount / capacities[one] for one, amount in mode.demands if capacities[one]), default=0.0)
            taken += tasks[name].begin + tasks[name].end + int(mode.hold * share)
        return taken

    def _head(self) -> frozenset[str]:
        """The tasks that the search orders: all, or, where limits are passed, those up to a while after the last that is, and what they wait for.

        The rest of the year takes part in a pass only where the head is as good as any before.
        """
        tasks, lasting = self.priorities.tasks, [name for name in self.priorities.depth if not self._fixed(name)]
        late = [name for name in lasting if (at := self.incumbent.get(name)) is None or (at != self.alone.get(name) and self._late(name, at))]
        if not late:
            return frozenset(lasting)
        last = max(self.incumbent[name].finish if name in self.incumbent else NEVER for name in late) + BEYOND
        near = (name for name in lasting if tasks[name].begun or name not in self.alone or self.alone[name].start <= last)
        return self._with_chains(near)

    def _search_lists(self, activities: ActivityList, left: int) -> None:
        """Late acceptance: go on from what is no worse than what was gone on from a few passes ago, or from anything after a long stall."""
        one_pass = ListPass(self.network, self.priorities, self.relaxed)
        stop = sum(name in self.head for name in activities.names)  # what has no time even alone is in no list
        whole = stop == len(activities.names)
        cost: Cost | None = None  # of the current list, of its head alone where it has a tail
        history: list[Cost] = []
        lowest: Cost | None = None
        best: Cost | None = None  # of any head
        improved = 0  # the number of the pass that last made it lower
        number, least = 0, 1 + stop // 4
        patience = min(int(left * PATIENCE), PATIENT)
        give_up = left - patience
        while left > give_up:
            if self._optimal():
                return
            stalled = cost is not None and number - improved > STALL
            tried = activities if cost is None else self.neighbour(activities)
            if stalled:
                tried, improved = self.neighbour(self.neighbour(tried)), number
            spent, complete = one_pass.decode(tried, None if cost is None or stalled else max(cost, history[number % HISTORY]), stop)
            left -= max(spent, least)
            if complete:
                found = self._cost(one_pass.partial.placements) if whole else one_pass.costs[-1]
                if stalled or cost is None or found <= cost or found <= history[number % HISTORY]:
                    activities, cost, self.current, self.broken = tried, found, dict(one_pass.partial.placements), set(one_pass.broken)
                    if stalled or lowest is None or found < lowest:
                        lowest, improved = found, number
                    if best is None or found < best:
                        best = found
                        if not whole:
                            left -= one_pass.decode(tried, None, len(tried.names))[0]
                            self.current = dict(one_pass.partial.placements)
                            found = self._cost(self.current)
                        if found < self.cost:
                            self.best_list, give_up = activities, max(0, left - patience)
                            self.incumbent, self.cost = self.current, found
            if cost is not None:
                history = history or [cost] * HISTORY
                history[number % HISTORY] = cost
            number += 1

    def _optimal(self) -> bool:
        return replace(self.cost, sittings=0, moved=0) <= self.bound and not self.cost.moved

    def _cost(self, found: Schedule) -> Cost:
        return cost_of(self.network, found, self.previous)

    def _schedule(self, components: Sequence[str], kind: type[PartialSchedule] = PartialSchedule) -> dict[str, Placement]:
        partial = kind(self.network, self.priorities)
        schedule_components(partial, self.priorities, self._begun_first(components))
        return partial.placements

    def _orders(self) -> Iterator[list[str]]:
        """Orders of components worth a pass: by the schedule before, by how they would finish and start alone; then neighbours of the best."""
        alone = self.alone
        if self.previous:
            yield self._components_by(self.previous, min)
        yield self._components_by({name: at.finish for name, at in alone.items()}, max)
        yield self._components_by({name: at.start for name, at in alone.items()}, min)
        while True:
            waiting = [component for component in self.components if any(self._waits(name) for name in self.priorities.members[component])]
            yield self._shift(self.components, waiting, self._components_before, self._in_the_way)

    def _components_by(self, moments: Mapping[str, int], which: Callable[[Iterable[int]], int]) -> list[str]:
        members, key = self.priorities.members, self.priorities.key
        return feasible({one: (which([moments.get(name, 0) for name in members[one]]), *key[one][:4]) for one in members}, self._components_before)

    def _components_before(self, component: str) -> Iterable[str]:
        return self.priorities.before.get(component, ())

    def _try_components(self, components: list[str]) -> None:
        """Keep a schedule that is no worse."""
        found = self._schedule(components)
        cost = self._cost(found)
        if cost <= self.cost:
            self.components, self.cost = components, cost
            self.incumbent = self.current = found


def feasible(priority: Mapping[str, Sequence[int]], before: Before) -> list[str]:
    """The names by priority, the least first, each after those it follows; ties by name."""
    missing: dict[str, set[str]] = {name: {other for other in before(name) if other in priority} for name in priority}
    successors: dict[str, list[str]] = {}
    for name, others in missing.items():
        for other in others:
            successors.setdefault(other, []).append(name)
    eligible = [(priority[name], name) for name, others in missing.items() if not others]
    heapq.heapify(eligible)
    found = []
    while eligible:
        name = heapq.heappop(eligible)[1]
        found.append(name)
        for following in successors.get(name, ()):
            missing[following].discard(name)
            if not missing[following]:
                heapq.heappush(eligible, (priority[following], following))
    return found
