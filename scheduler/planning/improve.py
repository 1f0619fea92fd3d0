"""Improving a schedule by a bounded search over the order in which the constructive scheme takes units, then single tasks.

The search starts from a few orders that are good on other grounds, then takes what waits for others earlier in the order, together with
what it follows (Kolisch and Hartmann 2006, Eur. J. Oper. Res. 174:23-37, on searching activity lists). For single tasks it also says by
how much a task is to wait, which greatest lags need. It keeps what is no worse. The bound is a count that falls with the size of the
network, and choices come from a fixed sequence, so results repeat. It ends at once where every task stands where it would stand alone.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from scheduler.planning.network import Placement, Precedence, Schedule, Task
from scheduler.planning.schedule import Construction, Placing, lag_passed, objective

WORK = 8000  # placements the search may spend where a limit is passed; assumed, as are the next four
IDLE_WORK = 40_000  # and where none is, and only waiting could be saved: this over the tasks, so that an ordinary plan is told at once
MOST = 400  # passes, however small the network
FEWEST = 8  # passes below which there is no search
UNITS_SHARE = 0.15  # of the passes, for the order of units
LATE = 3  # passes after which a worse schedule must have become as good as what it was accepted against
MOVES = 2  # changes tried at once, at most
Cost = tuple[int, ...]


def passes(count: int, passed: bool = True) -> int:
    """How many passes the search may spend on a network of so many tasks."""
    work = WORK if passed else IDLE_WORK // max(count, 1)
    allowed = min(MOST, work // max(count, 1))
    return allowed if allowed >= FEWEST else 0


def improved(made: Construction, previous: Schedule | None) -> dict[str, Placement]:
    """The best schedule found from a construction on; the construction itself where the network is too large to search."""
    if not passes(len(made.network.tasks)):
        return made.placed
    return _Search(made, previous).run()


class _Alone(Placing):
    """A pass in which no task takes anything from another: no schedule is better."""

    def put(self, task: Task, at: Placement) -> None:
        """Give a task its place, and take nothing."""
        self.placed[task.id] = at

    def take_out(self, names: Iterable[str]) -> None:
        """Forget the places of tasks."""
        for name in names:
            self.placed.pop(name, None)


@dataclass(frozen=True, slots=True)
class _Tasks:
    """Single tasks in the order in which they are placed, and how long some are to wait for the sake of a greatest lag."""

    names: tuple[str, ...]
    starts: Mapping[str, int]
    ends: Mapping[str, int]


class _Search:
    """The best order so far and its schedule."""

    def __init__(self, made: Construction, previous: Schedule | None) -> None:
        self.network, self.order, self.previous = made.network, made.order, previous
        self.tied = [relation for name in sorted(made.order.unit) for relation in made.order.into.get(name, ()) if relation.greatest is not None]
        self.chance, self.horizon = 1, made.horizon
        alone = self._placing(made.order.units(), _Alone)
        self.alone, self.least = alone.placed, self._cost(alone.placed)
        self.units = made.order.units()
        self.best = self._placing(self.units)
        self.cost = self._cost(self.best.placed)
        self.present = self.best.placed

    def run(self) -> dict[str, Placement]:
        """Search until the bound, or until nothing can be better."""
        left = passes(len(self.network.tasks), self.cost[:2] > self.least[:2])
        for_tasks = left - int(left * UNITS_SHARE)
        for units in self._units():
            if left <= for_tasks or self._best_possible():
                break
            left -= 1
            self._try_units(units)
        starts = self._tasks()
        for number, state in enumerate(starts):
            self._search_tasks(state, left * (number + 1) // len(starts) - left * number // len(starts))
        return self.best.placed

    def _tasks(self) -> list[_Tasks]:
        """Where the search over single tasks starts: from the best so far, and by how tasks would start and finish alone."""
        best = _Tasks(tuple(name for unit in self.units for name in self.order.members[unit]), dict(self.best.pushed), dict(self.best.pushed_end))
        depth, alone = self.order.depth, self.alone
        begun = arranged({name: (alone[name].start, depth[name]) for name in best.names if name in alone}, self._before)
        finished = arranged({name: (alone[name].finish, depth[name]) for name in best.names if name in alone}, self._before)
        due = arranged({name: (self.order.latest[name], alone[name].start, depth[name]) for name in best.names if name in alone}, self._before)
        return [best, *(_Tasks(tuple(names), {}, {}) for names in (begun, finished, due))]

    def _search_tasks(self, state: _Tasks, left: int) -> None:
        """Late acceptance: go on from what is no worse than what was gone on from a few passes ago."""
        cost: Cost | None = None
        costs: list[Cost] = []
        for number in range(left):
            if self._best_possible():
                return
            tried = state if cost is None else self._changed(state)
            placing = self._placing_tasks(tried)
            found = self._cost(placing.placed)
            if cost is None or found <= cost or found <= costs[number % LATE]:
                state, cost, self.present = tried, found, placing.placed
                if found < self.cost:
                    self.best, self.cost = placing, found
            costs = costs or [cost] * LATE
            costs[number % LATE] = cost

    def _best_possible(self) -> bool:
        return self.cost[:3] <= self.least[:3] and not self.previous

    def _cost(self, placed: Schedule) -> Cost:
        return objective(self.network, placed, self.previous)

    def _placing(self, units: Sequence[str], kind: type[Placing] = Placing) -> Placing:
        placing = kind(self.network, self.order, self.horizon)
        for unit in self._begun_first(units):
            placing.place_unit(unit)
        return placing

    def _begun_first(self, names: Sequence[str]) -> list[str]:
        """What runs already has its room: it is placed before all that is not there yet."""
        return sorted(names, key=lambda name: not self.order.tasks[name].begun)

    def _keep(self, placing: Placing) -> bool:
        """Keep a schedule that is no worse."""
        cost = self._cost(placing.placed)
        if cost <= self.cost:
            self.best, self.cost, self.present = placing, cost, placing.placed
            return True
        return False

    def _units(self) -> Iterator[list[str]]:
        """Orders worth a pass: by the schedule before, by how units would finish and start alone; then moves from the best so far."""
        alone = self.alone
        if self.previous:
            yield self._units_by({name: at.start for name, at in self.previous.items()}, min)
        yield self._units_by({name: at.finish for name, at in alone.items()}, max)
        yield self._units_by({name: at.start for name, at in alone.items()}, min)
        while True:
            waiting = [unit for unit in self.units if any(self._waits(name) for name in self.order.members[unit])]
            yield self._sooner(self.units, waiting, self._unit_before)

    def _units_by(self, moments: Mapping[str, int], which: Callable[[Iterable[int]], int]) -> list[str]:
        members = self.order.members
        priority = {unit: (which([moments.get(name, 0) for name in members[unit]]), *self.order.key[unit][:4]) for unit in members}
        return arranged(priority, self._unit_before)

    def _unit_before(self, unit: str) -> Iterable[str]:
        return self.order.unit_into.get(unit, ())

    def _try_units(self, units: list[str]) -> None:
        if self._keep(self._placing(units)):
            self.units = units

    def _changed(self, state: _Tasks) -> _Tasks:
        """Another order or other waits of single tasks."""
        broken = [relation for relation in self.tied if lag_passed(relation, self.order.tasks, self.present)]
        choice = self._chance(8)
        tried = self._waiting_less(state) if choice == 0 else self._waiting_more(state, broken) if choice < 4 and broken else state
        if choice >= 2 or tried is state:
            waiting = [name for name in state.names if self._waits(name) and self._held_up(name)] or [name for name in state.names if self._waits(name)]
            tried = replace(tried, names=tuple(self._sooner(tried.names, waiting, self._before)))
        return tried

    def _placing_tasks(self, tried: _Tasks) -> Placing:
        placing = Placing(self.network, self.order, self.horizon)
        placing.pushed, placing.pushed_end = dict(tried.starts), dict(tried.ends)
        for name in self._begun_first(tried.names):
            if not self.order.tasks[name].fixed:
                placing.place(name)
        return placing

    def _waiting_less(self, state: _Tasks) -> _Tasks:
        """No longer make one task wait."""
        made_to = sorted({*state.starts, *state.ends})
        if not made_to:
            return state
        freed = made_to[self._chance(len(made_to))]
        return replace(state, starts=_without(state.starts, freed), ends=_without(state.ends, freed))

    def _waiting_more(self, state: _Tasks, broken: Sequence[Precedence]) -> _Tasks:
        """Make a task wait that another follows too late; its end, where that is enough, or its start."""
        relation = broken[self._chance(len(broken))]
        before, placed = relation.before, self.present
        over = relation.lag(placed) - (relation.greatest or 0)
        at = placed[before]
        if at.end_sittings and relation.from_finish and self._chance(4):
            return replace(state, ends={**state.ends, before: at.end_sittings[0][0] + over})
        return replace(state, starts={**state.starts, before: at.start + over})

    def _sooner(self, items: Sequence[str], waiting: Sequence[str], before: Callable[[str], Iterable[str]]) -> list[str]:
        """The order with a few of those that wait for others taken earlier, mostly ahead of one that stands where they would stand alone."""
        found = list(items)
        for _ in range(1 + self._chance(MOVES)):
            i = found.index(waiting[self._chance(len(waiting))]) if waiting else 0
            if i:
                blocking = [k for k in range(i) if self._blocks(found[k], found[i])] if self._chance(4) else []
                found = earlier(found, i, blocking[self._chance(len(blocking))] if blocking else self._chance(i), before)
        return found

    def _blocks(self, name: str, waiting: str) -> bool:
        """Whether a task, or the first of a unit, is at work while another waits."""
        at, late, alone = self.present.get(name), self.present.get(waiting), self.alone.get(waiting)
        return at is not None and alone is not None and at.finish >= alone.start and (late is None or at.start <= late.finish)

    def _before(self, name: str) -> Iterator[str]:
        return (relation.before for relation in self.order.into.get(name, ()))

    def _waits(self, name: str) -> bool:
        at, alone = self.present.get(name), self.alone.get(name)
        return alone is not None and (at is None or at.finish > alone.finish)

    def _held_up(self, name: str) -> bool:
        """Whether a task waits for hands or room, and not just for another task."""
        at = self.present.get(name)
        return at is None or at.bound_by[0] in ("hands", "resource", "greatest lag") or (bool(at.end_sittings) and at.end_sittings[0][0] > at.hold_done)

    def _chance(self, below: int) -> int:
        """The next number of a fixed sequence (a linear congruential generator; multiplier and increment of Knuth's MMIX, from memory)."""
        self.chance = (self.chance * 6364136223846793005 + 1442695040888963407) % (1 << 64)
        return (self.chance >> 33) % below


def _without(mapping: Mapping[str, int], name: str) -> dict[str, int]:
    return {other: moment for other, moment in mapping.items() if other != name}


def arranged(priority: Mapping[str, Sequence[int]], before: Callable[[str], Iterable[str]]) -> list[str]:
    """The names by priority, the least first, each after those it follows; ties by name."""
    follows: dict[str, set[str]] = {name: {other for other in before(name) if other in priority} for name in priority}
    followed: dict[str, list[str]] = {}
    for name, others in follows.items():
        for other in others:
            followed.setdefault(other, []).append(name)
    heap = [(priority[name], name) for name, others in follows.items() if not others]
    heapq.heapify(heap)
    found = []
    while heap:
        name = heapq.heappop(heap)[1]
        found.append(name)
        for following in followed.get(name, ()):
            follows[following].discard(name)
            if not follows[following]:
                heapq.heappush(heap, (priority[following], following))
    return found


def earlier(items: Sequence[str], i: int, to: int, before: Callable[[str], Iterable[str]]) -> list[str]:
    """The list with item number `i` moved to number `to`, and what it follows moved ahead of it."""
    moved, ahead = [items[i]], set(before(items[i]))
    stay = []
    for item in reversed(items[to:i]):
        if item in ahead:
            moved.append(item)
            ahead.update(before(item))
        else:
            stay.append(item)
    return [*items[:to], *reversed(moved), *reversed(stay), *items[i + 1 :]]
