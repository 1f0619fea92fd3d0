"""Improving a schedule by a bounded search over the order in which the constructive scheme takes its units.

The search starts from a few orders that are good on other grounds, then takes units that wait for others and tries them earlier in the
order, together with what they follow (Kolisch and Hartmann 2006, Eur. J. Oper. Res. 174:23-37, on searching activity lists). It keeps what
is no worse. The bound is a count that falls with the size of the network, and choices come from a fixed sequence, so results repeat. It
ends at once where every task stands where it would stand alone in the yard.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator, Mapping

from scheduler.planning.network import Placement, Schedule, Task
from scheduler.planning.order import Order
from scheduler.planning.schedule import Construction, Placing, objective

WORK = 5000  # placements the search may spend where a limit is passed; assumed, as are the next three
IDLE_WORK = 1500  # and where none is, and only waiting could be saved
MOST = 300  # passes, however small the network
FEWEST = 4  # passes below which there is no search
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


class _Search:
    """The best order so far and its schedule."""

    def __init__(self, made: Construction, previous: Schedule | None) -> None:
        self.network, self.order, self.previous = made.network, made.order, previous
        self.units = made.order.units()
        self.placed = made.placed
        self.cost = self._cost(made.placed)
        alone = _Alone(self.network, self.order)
        for unit in self.units:
            alone.place_unit(unit)
        self.alone, self.least = alone.placed, self._cost(alone.placed)
        self.chance = 1

    def run(self) -> dict[str, Placement]:
        """Search until the bound, or until nothing can be better."""
        left = passes(len(self.network.tasks), self.cost[:2] > self.least[:2])
        for priority in self._starts():
            if left <= 0 or self._best_possible():
                return self.placed
            left -= 1
            self._try(arranged(self.order, priority))
        while left > 0 and not self._best_possible():
            left -= 1
            move = self._move()
            if move is not None:
                self._try(move)
        return self.placed

    def _best_possible(self) -> bool:
        return self.cost[:3] <= self.least[:3] and not self.previous

    def _starts(self) -> Iterator[Mapping[str, int]]:
        """Orders worth a pass: that of the schedule before, of how tasks would finish alone, of their length."""
        members = self.order.members
        if self.previous:
            yield {unit: min((self.previous[name].start for name in members[unit] if name in self.previous), default=self.order.unit_earliest[unit]) for unit in self.units}
        yield {unit: max((self.alone[name].finish for name in members[unit] if name in self.alone), default=0) for unit in self.units}
        yield {unit: min((self.alone[name].start for name in members[unit] if name in self.alone), default=0) for unit in self.units}

    def _cost(self, placed: Schedule) -> Cost:
        return objective(self.network, placed, self.previous)

    def _try(self, units: list[str]) -> None:
        """Place in another order, and keep it where it is no worse."""
        placing = Placing(self.network, self.order)
        for unit in units:
            placing.place_unit(unit)
        cost = self._cost(placing.placed)
        if cost <= self.cost:
            self.units, self.placed, self.cost = units, placing.placed, cost

    def _move(self) -> list[str] | None:
        """A unit that waits for others, earlier in the order."""
        waiting = [i for i, unit in enumerate(self.units) if i and any(self._waits(name) for name in self.order.members[unit])]
        if not waiting:
            return None
        i = waiting[self._chance(len(waiting))]
        return earlier(self.order, self.units, i, self._chance(i))

    def _waits(self, name: str) -> bool:
        at, alone = self.placed.get(name), self.alone.get(name)
        return alone is not None and (at is None or at.finish > alone.finish)

    def _chance(self, below: int) -> int:
        """The next number of a fixed sequence (a linear congruential generator; multiplier and increment of Knuth's MMIX, from memory)."""
        self.chance = (self.chance * 6364136223846793005 + 1442695040888963407) % (1 << 64)
        return (self.chance >> 33) % below


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


def earlier(order: Order, units: list[str], i: int, to: int) -> list[str]:
    """The list with unit number `i` moved to number `to`, and what it follows moved ahead of it."""
    moved, ahead = [units[i]], set(order.unit_into.get(units[i], ()))
    stay = []
    for unit in reversed(units[to:i]):
        if unit in ahead:
            moved.append(unit)
            ahead.update(order.unit_into.get(unit, ()))
        else:
            stay.append(unit)
    return [*units[:to], *reversed(moved), *reversed(stay), *units[i + 1 :]]

