"""Schedules for a network: the serial scheme, then a bounded local search over the order in which it takes components, then single tasks.

The search starts from a few orders that are good on other grounds. A move shifts a task that waits for others to an earlier position, with its
predecessors (Kolisch and Hartmann 2006, Eur. J. Oper. Res. 174:23-37, on searching activity lists), does something else for a greatest lag,
or delays one task for another. Accepted is what is no worse than what was accepted a few passes ago (Burke and Bykov 2017, Eur. J. Oper.
Res. 258:70-78, on late acceptance), and after a long stall anything. The bound is a count that falls with the size of the network, and
choices come from a fixed sequence, so results repeat. The search ends at once where every task stands where it would stand alone.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from scheduler.local_time import DAY
from scheduler.planning.activity_list import ActivityList, ListPass
from scheduler.planning.network import Network, Placement, Precedence, Schedule
from scheduler.planning.objective import Cost, cost_of, lag_late, lower_bound
from scheduler.planning.partial_schedule import PartialSchedule, Relaxation
from scheduler.planning.priority import Priorities, priorities_of
from scheduler.planning.serial_sgs import IGNORE, KEEP, construct, schedule_components

WORK = 8000  # placements the search may spend where a limit is passed; assumed, as are the numbers below
IDLE_WORK = 40_000  # and where none is, and only waiting could be saved: this over the tasks, so that an ordinary plan comes at once
MOST = 1200  # passes, however small the network
SMALL = 20  # tasks up to which three times as much may be spent
PLACED = 0.6  # of the placements of a pass from nothing: in a pass built on another a placement costs more, with unscheduling; measured
FEWEST = 8  # passes below which there is no search
COMPONENTS_SHARE = 0.03  # of the passes, for the order of components
FEWEST_COMPONENTS = 3  # and at least so many
HISTORY = 3  # passes after which a worse schedule must have become as good as what it was accepted against
FIRST = 0.04  # of the placements, for each activity list that the search starts from; the rest goes on from the best
STALL = 60  # passes without a better schedule, after which the search goes on from a worse one
MOVES = 2  # shifts in one move, at most
NEVER = 1 << 60
Before = Callable[[str], Iterable[str]]  # the names that have to come before a name


def schedule(network: Network, previous: Mapping[str, int] | None = None, priorities: Priorities | None = None) -> dict[str, Placement]:
    """Schedule every task that has a time; those that have none are missing from the answer.

    A small network is improved by a bounded search, which prefers to leave tasks at their starts in `previous`. `priorities` are those of
    the network, where they were worked out already.
    """
    priorities = priorities or priorities_of(network)
    if not passes(len(network.tasks)):
        return construct(network, priorities)
    return LocalSearch(network, priorities, previous).run()


def passes(count: int, late: bool = True) -> int:
    """How many passes the search may spend on a network of so many tasks."""
    work = WORK if late else IDLE_WORK // max(count, 1)
    allowed = min(MOST, work * (3 if count <= SMALL else 1) // max(count, 1))
    return allowed if allowed >= FEWEST else 0


class LocalSearch:
    """The incumbent, which is the best schedule found, and the current schedule, from which the search goes on."""

    def __init__(self, network: Network, priorities: Priorities, previous: Mapping[str, int] | None) -> None:
        self.network, self.priorities, self.previous = network, priorities, previous
        self.tied = [relation for name in sorted(priorities.component) for relation in priorities.greatest_lags.get(name, ())]
        self.random = 1
        self.components = priorities.components()
        self.alone = self._schedule(self.components, Relaxation)
        self.relaxed = self._relaxed()
        self.bound = lower_bound(network, self.relaxed)
        self.incumbent = self.current = self._schedule(self.components)
        self.cost = self._cost(self.incumbent)
        self.broken: set[Precedence] = set()  # greatest lags that broke at first in the current schedule

    def run(self) -> dict[str, Placement]:
        """Search until the bound, or until nothing can be better."""
        left = passes(len(self.network.tasks), self.cost.limits() > self.bound.limits())
        for_tasks = left - min(left, max(FEWEST_COMPONENTS, int(left * COMPONENTS_SHARE)))
        for components in self._orders():
            if left <= for_tasks or self._optimal():
                break
            left -= 1
            self._try_components(components)
        budget = int(left * len(self.network.tasks) * PLACED)
        if not budget or self._optimal():
            return self.incumbent
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
        lists = (ActivityList(tuple(self._begun_first(feasible(order, self._predecessors))), {}, {}, {}) for order in orders)
        return [ActivityList(tuple(names), broken, {}, {}), *lists]

    def _search_lists(self, activities: ActivityList, left: int) -> None:
        """Late acceptance: go on from what is no worse than what was gone on from a few passes ago, or from anything after a long stall."""
        one_pass = ListPass(self.network, self.priorities, self.relaxed)
        cost: Cost | None = None  # of the current list
        history: list[Cost] = []
        lowest: Cost | None = None
        improved = 0  # the number of the pass that last made it lower
        number, least = 0, 1 + len(activities.names) // 4
        while left > 0:
            if self._optimal():
                return
            stalled = cost is not None and number - improved > STALL
            tried = activities if cost is None else self._neighbour(activities)
            if stalled:
                tried, improved = self._neighbour(self._neighbour(tried)), number
            spent, complete = one_pass.decode(tried, None if cost is None or stalled else max(cost, history[number % HISTORY]))
            left -= max(spent, least)
            if complete:
                found = self._cost(one_pass.partial.placements)
                if stalled or cost is None or found <= cost or found <= history[number % HISTORY]:
                    activities, cost, self.current, self.broken = tried, found, dict(one_pass.partial.placements), set(one_pass.broken)
                    if stalled or lowest is None or found < lowest:
                        lowest, improved = found, number
                    if found < self.cost:
                        self.best_list = activities
                        self.incumbent, self.cost = self.current, found
            if cost is not None:
                history = history or [cost] * HISTORY
                history[number % HISTORY] = cost
            number += 1

    def _optimal(self) -> bool:
        return replace(self.cost, sittings=0, moved=0) <= self.bound and not self.previous

    def _relaxed(self) -> Schedule:
        """Every task as soon as it could be if it stood alone and no greatest lag made it wait: no schedule costs less."""
        if not self.tied:
            return self.alone
        relaxation = Relaxation(self.network, self.priorities)
        for name in sorted(self.priorities.depth, key=self.priorities.depth.__getitem__):
            task = self.priorities.tasks[name]
            found = None if task.fixed else relaxation.earliest(task)
            if found is not None:
                relaxation.add(task, found)
        return relaxation.placements

    def _cost(self, found: Schedule) -> Cost:
        return cost_of(self.network, found, self.previous)

    def _schedule(self, components: Sequence[str], kind: type[PartialSchedule] = PartialSchedule) -> dict[str, Placement]:
        partial = kind(self.network, self.priorities)
        schedule_components(partial, self.priorities, self._begun_first(components))
        return partial.placements

    def _fixed(self, name: str) -> bool:
        return self.priorities.tasks[name].fixed is not None

    def _begun_first(self, names: Sequence[str]) -> list[str]:
        """What runs already has its room: it is scheduled before all that is not there yet."""
        return sorted(names, key=lambda name: not self.priorities.tasks[name].begun)

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

    def _neighbour(self, activities: ActivityList) -> ActivityList:
        """Another order, another delay, or something else done for a greatest lag."""
        choice = self._choose(16)
        tried = activities
        if choice < 5 and self.broken:
            tried = self._other_lag(activities)
        elif choice < 7:
            tried = self._other_delay(activities)
        if choice >= 6 or tried is activities:
            waiting = [name for name in activities.names if self._waits(name) and self._held_up(name)]
            waiting = waiting or [name for name in activities.names if self._waits(name)]
            tried = tried._replace(names=tuple(self._begun_first(self._shift(tried.names, waiting, self._predecessors, self._rival))))
        return tried

    def _other_lag(self, activities: ActivityList) -> ActivityList:
        """Something else done for a greatest lag that breaks."""
        found = [relation for relation in self.tied if relation in self.broken]
        relation = found[self._choose(len(found))]
        return activities._replace(lags={**activities.lags, relation: (activities.lags.get(relation, KEEP) + 1 + self._choose(2)) % 3})

    def _other_delay(self, activities: ActivityList) -> ActivityList:
        """Delay one task until another has had the hands, or no longer delay one."""
        delayed = sorted({*activities.starts, *activities.ends})
        if delayed and self._choose(2):
            freed = {delayed[self._choose(len(delayed))]}
            return activities._replace(starts=_without(activities.starts, freed), ends=_without(activities.ends, freed))
        if self.broken and self._choose(2):
            return self._delay_for_lag(activities)
        waiting = [name for name in activities.names if self._waits(name) and self._held_up(name) and name in self.current]
        if not waiting:
            return activities
        tasks, first = self.priorities.tasks, waiting[self._choose(len(waiting))]
        blocking = self._hands_between(activities.names, first)
        if not blocking:
            return activities
        name, of_end = blocking[self._choose(len(blocking))]
        at, task = self.current[name], tasks[name]
        now, key = (at.end_sittings[0][0], task.end_calendar) if of_end else (at.start, task.begin_calendar)
        until = now + max(tasks[first].begin, tasks[first].end)
        if key is not None and self._choose(2):
            calendar = self.network.calendars[key]
            i = calendar.index(now) + 1
            until = calendar.starts[i] if calendar.has(i) else until
        return _delayed(activities, name, of_end, until)

    def _hands_between(self, names: Sequence[str], waiting: str) -> list[tuple[str, bool]]:
        """The tasks that take the hands a task waits for between where it would stand alone and where it stands; True where their end does."""
        late, tasks = self.current[waiting], self.priorities.tasks
        wanted = max(self.alone[waiting].start, late.start - DAY)
        blocking = []
        for name in names:
            at = self.current.get(name)
            if at is None or name == waiting or tasks[name].hands != tasks[waiting].hands:
                continue
            if at.sittings and at.sittings[0][0] < late.finish and at.sittings[-1][1] > wanted:
                blocking.append((name, False))
            if at.end_sittings and at.end_sittings[0][0] < late.finish and at.end_sittings[-1][1] > wanted:
                blocking.append((name, True))
        return blocking

    def _delay_for_lag(self, activities: ActivityList) -> ActivityList:
        """Delay a task that a successor follows too late, as far as no other of its successors has to wait."""
        current = self.current
        found = [relation for relation in self.tied if relation in self.broken and relation.before in current and relation.after in current]
        if not found:
            return activities
        relation = found[self._choose(len(found))]
        name = relation.before
        at, task = current[name], self.priorities.tasks[name]
        over = relation.lag(current) - (relation.greatest or 0)
        others = [other for other in self.priorities.successors[name] if other != relation and other.after in current]
        slack = min([over, *(other.lag(current) - other.least for other in others)])
        if slack <= 0 or task.fixed:
            return activities
        of_end = relation.from_finish and (bool(at.end_sittings) or task.modes[at.mode].wait_most is not None)
        now = at.start if not of_end else at.end_sittings[0][0] if at.end_sittings else at.finish
        return _delayed(activities._replace(lags={**activities.lags, relation: IGNORE}), name, of_end, now + slack)

    def _shift(self, items: Sequence[str], waiting: Sequence[str], before: Before, rival: Callable[[str, str], bool]) -> list[str]:
        """The order with a few of those that wait shifted to earlier positions, mostly ahead of one that stands where they would stand alone."""
        found = list(items)
        for _ in range(1 + self._choose(MOVES)):
            name = waiting[self._choose(len(waiting))] if waiting else found[0]
            if waiting:
                name = max(name, waiting[self._choose(len(waiting))], key=self._wait)
            i = found.index(name)
            if i:
                rivals = [k for k in range(i) if rival(found[k], found[i])] if self._choose(4) else []
                found = shifted(found, i, rivals[self._choose(len(rivals))] if rivals else self._choose(i), before)
        return found

    def _in_the_way(self, name: str, waiting: str) -> bool:
        """Whether a task, or the first of a component, is at work while another waits."""
        at, late, alone = self.current.get(name), self.current.get(waiting), self.alone.get(waiting)
        return at is not None and alone is not None and at.finish >= alone.start and (late is None or at.start <= late.finish)

    def _rival(self, name: str, waiting: str) -> bool:
        """Whether a task takes what another waits for, while it waits."""
        if not self._in_the_way(name, waiting):
            return False
        late = self.current.get(waiting)
        if late is None:
            return True
        at, (kind, what) = self.current[name], late.bound_by
        tasks = self.priorities.tasks
        if kind == "resource":
            mode = tasks[name].modes[at.mode]
            return any(resource == what for resource, _ in (*mode.demands, *mode.loads))
        return kind != "hands" or (bool(at.sittings or at.end_sittings) and tasks[name].hands == tasks[waiting].hands)

    def _wait(self, name: str) -> int:
        at = self.current.get(name)
        return NEVER if at is None or name not in self.alone else at.finish - self.alone[name].finish

    def _predecessors(self, name: str) -> Iterator[str]:
        return (relation.before for relation in self.priorities.predecessors.get(name, ()))

    def _waits(self, name: str) -> bool:
        at, alone = self.current.get(name), self.alone.get(name)
        return alone is not None and (at is None or at.finish > alone.finish)

    def _held_up(self, name: str) -> bool:
        """Whether a task waits for hands or room, and not just for another task."""
        at = self.current.get(name)
        return at is None or at.bound_by[0] in ("hands", "resource", "greatest lag") or (bool(at.end_sittings) and at.end_sittings[0][0] > at.hold_done)

    def _choose(self, below: int) -> int:
        """The next number of a fixed sequence (a linear congruential generator; multiplier and increment of Knuth's MMIX, from memory)."""
        self.random = (self.random * 6364136223846793005 + 1442695040888963407) % (1 << 64)
        return (self.random >> 33) % below


def _without(mapping: Mapping[str, int], names: Container[str]) -> dict[str, int]:
    return {other: moment for other, moment in mapping.items() if other not in names}


def _delayed(activities: ActivityList, name: str, of_end: bool, until: int) -> ActivityList:
    if of_end:
        return activities._replace(ends={**activities.ends, name: until})
    return activities._replace(starts={**activities.starts, name: until})


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


def shifted(items: Sequence[str], i: int, to: int, before: Before) -> list[str]:
    """The list with item number `i` shifted to number `to`, and those before it that it follows shifted ahead of it."""
    moved, ahead = [items[i]], set(before(items[i]))
    stay = []
    for item in reversed(items[to:i]):
        if item in ahead:
            moved.append(item)
            ahead.update(before(item))
        else:
            stay.append(item)
    return [*items[:to], *reversed(moved), *reversed(stay), *items[i + 1 :]]
