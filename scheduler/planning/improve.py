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
from scheduler.planning.order import Order
from scheduler.planning.schedule import Construction, Placing, lag_passed, objective

WORK = 5000  # placements the search may spend where a limit is passed; assumed, as are the next four
IDLE_WORK = 1500  # and where none is, and only waiting could be saved
MOST = 300  # passes, however small the network
FEWEST = 4  # passes below which there is no search
UNITS_SHARE = 0.3  # of the passes, for the order of units
MOVES = 3  # changes tried at once, at most
Cost = tuple[int, ...]


def passes(count: int, passed: bool = True) -> int:
    """How many passes the search may spend on a network of so many tasks."""
    allowed = min(MOST, (WORK if passed else IDLE_WORK) // max(count, 1))
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

    def _take_out(self, names: Iterable[str]) -> None:
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
        self.tied = [relation for relation in made.network.precedences if relation.greatest is not None and relation.after in made.order.unit]
        self.chance = 1
        alone = self._placing(made.order.units(), _Alone)
        self.alone, self.least = alone.placed, self._cost(alone.placed)
        self.units = made.order.units()
        self.best = self._placing(self.units)
        self.cost = self._cost(self.best.placed)

    def run(self) -> dict[str, Placement]:
        """Search until the bound, or until nothing can be better."""
        left = passes(len(self.network.tasks), self.cost[:2] > self.least[:2])
        for_tasks = left - int(left * UNITS_SHARE)
        for units in self._units():
            if left <= for_tasks or self._best_possible():
                break
            left -= 1
            self._try_units(units)
        state = _Tasks(tuple(name for unit in self.units for name in self.order.members[unit]), dict(self.best.pushed), dict(self.best.pushed_end))
        while left > 0 and not self._best_possible():
            left -= 1
            state = self._try_tasks(state)
        return self.best.placed

    def _best_possible(self) -> bool:
        return self.cost[:3] <= self.least[:3] and not self.previous

    def _cost(self, placed: Schedule) -> Cost:
        return objective(self.network, placed, self.previous)

    def _placing(self, units: Sequence[str], kind: type[Placing] = Placing) -> Placing:
        placing = kind(self.network, self.order)
        for unit in units:
            placing.place_unit(unit)
        return placing

    def _keep(self, placing: Placing) -> bool:
        """Keep a schedule that is no worse."""
        cost = self._cost(placing.placed)
        if cost <= self.cost:
            self.best, self.cost = placing, cost
            return True
        return False

    def _units(self) -> Iterator[list[str]]:
        """Orders worth a pass: by the schedule before, by how units would finish and start alone; then moves from the best so far."""
        members = self.order.members
        if self.previous:
            yield arranged(self.order, {unit: min((self.previous[name].start for name in members[unit] if name in self.previous), default=0) for unit in members})
        yield arranged(self.order, {unit: max((self.alone[name].finish for name in members[unit] if name in self.alone), default=0) for unit in members})
        yield arranged(self.order, {unit: min((self.alone[name].start for name in members[unit] if name in self.alone), default=0) for unit in members})
        while True:
            waiting = [unit for unit in self.units if any(self._waits(name) for name in members[unit])]
            yield self._sooner(self.units, waiting, lambda unit: self.order.unit_into.get(unit, ()))

    def _try_units(self, units: list[str]) -> None:
        if self._keep(self._placing(units)):
            self.units = units

    def _try_tasks(self, state: _Tasks) -> _Tasks:
        """Change the order or the waits of single tasks; returns what is best now."""
        broken = [relation for relation in self.tied if lag_passed(relation, self.order.tasks, self.best.placed)]
        choice = self._chance(8)
        tried = self._waiting_less(state) if choice == 0 else self._waiting_more(state, broken) if choice < 4 and broken else state
        if choice >= 2 or tried is state:
            waiting = [name for name in state.names if self._waits(name)]
            tried = replace(tried, names=tuple(self._sooner(tried.names, waiting, self._before)))
        placing = Placing(self.network, self.order)
        placing.pushed, placing.pushed_end = dict(tried.starts), dict(tried.ends)
        for name in tried.names:
            if not self.order.tasks[name].fixed:
                placing.place(name)
        return tried if self._keep(placing) else state

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
        before, placed = relation.before, self.best.placed
        over = relation.lag(placed) - (relation.greatest or 0)
        at = placed[before]
        if at.end_sittings and relation.from_finish and self._chance(4):
            return replace(state, ends={**state.ends, before: at.end_sittings[0][0] + over})
        return replace(state, starts={**state.starts, before: at.start + over})

    def _sooner(self, items: Sequence[str], waiting: Sequence[str], before: Callable[[str], Iterable[str]]) -> list[str]:
        """The order with a few of those that wait for others taken earlier."""
        found = list(items)
        for _ in range(1 + self._chance(MOVES)):
            i = found.index(waiting[self._chance(len(waiting))]) if waiting else 0
            if i:
                found = earlier(found, i, self._chance(i), before)
        return found

    def _before(self, name: str) -> Iterator[str]:
        return (relation.before for relation in self.order.into.get(name, ()))

    def _waits(self, name: str) -> bool:
        at, alone = self.best.placed.get(name), self.alone.get(name)
        return alone is not None and (at is None or at.finish > alone.finish)

    def _chance(self, below: int) -> int:
        """The next number of a fixed sequence (a linear congruential generator; multiplier and increment of Knuth's MMIX, from memory)."""
        self.chance = (self.chance * 6364136223846793005 + 1442695040888963407) % (1 << 64)
        return (self.chance >> 33) % below


def _without(mapping: Mapping[str, int], name: str) -> dict[str, int]:
    return {other: moment for other, moment in mapping.items() if other != name}


def arranged(order: Order, priority: Mapping[str, int]) -> list[str]:
    """The units by priority, the least first, each after those it follows."""
    waiting = {unit: len(order.unit_into.get(unit, ())) for unit in order.members}
    heap = [(priority[unit], order.key[unit], unit) for unit, count in waiting.items() if not count]
    heapq.heapify(heap)
    found = []
    while heap:
        unit = heapq.heappop(heap)[2]
        found.append(unit)
        for following in order.unit_out.get(unit, ()):
            waiting[following] -= 1
            if not waiting[following]:
                heapq.heappush(heap, (priority[following], order.key[following], following))
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
