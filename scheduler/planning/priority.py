"""In which order tasks are placed, as a function of the network alone, so that one change moves few places in it.

Tasks that a greatest lag ties together, and all between them, form a unit that is placed as one: the strongly connected components of
the graph with an arc along each relation and one back where there is a greatest lag. Units are taken in order of latest start, then
earliest start, then depth; each of the three never falls along a relation, so the order is one of precedence. Ties go by weight, then id.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from scheduler.planning.network import USUAL, Network, Precedence, Task

UNDATED = 1 << 60
DISTANT = 1 << 59  # a moment from which on it is no date
Key = tuple[int, int, int, int, str]


@dataclass(slots=True)
class Order:
    """A network indexed by task and by unit. A unit goes by the least id of its tasks."""

    tasks: dict[str, Task]
    into: dict[str, list[Precedence]]
    out: dict[str, list[Precedence]]
    depth: dict[str, int] = field(default_factory=dict)  # longest chain of relations before a task; none for tasks in or behind a circle
    latest: dict[str, int] = field(default_factory=dict)  # latest start that keeps every limit behind it, `UNDATED` where there is none
    earliest: dict[str, int] = field(default_factory=dict)  # earliest start that releases and lags allow
    unit: dict[str, str] = field(default_factory=dict)
    members: dict[str, tuple[str, ...]] = field(default_factory=dict)  # in an order of precedence
    unit_into: dict[str, list[str]] = field(default_factory=dict)
    unit_out: dict[str, list[str]] = field(default_factory=dict)
    unit_depth: dict[str, int] = field(default_factory=dict)
    unit_latest: dict[str, int] = field(default_factory=dict)
    unit_earliest: dict[str, int] = field(default_factory=dict)
    key: dict[str, Key] = field(default_factory=dict)

    def units(self) -> list[str]:
        """The units in the order in which they are placed."""
        return sorted(self.members, key=self.key.__getitem__)

    def latest_of(self, name: str) -> int:
        """The latest start of a task, from those of its followers."""
        task = self.tasks[name]
        shortest = task.shortest()
        finish = task.due if task.due is not None else UNDATED
        if task.deadline is not None and task.deadline < finish:
            finish = task.deadline
        for relation in self.out.get(name, ()):
            then = self.latest.get(relation.after, UNDATED)
            if then < DISTANT:
                then -= relation.least
                if relation.kind != USUAL:
                    then += (self.tasks[relation.after].shortest() if relation.of_finish else 0) + (0 if relation.from_finish else shortest)
                if then < finish:
                    finish = then
        return finish - shortest if finish < DISTANT else UNDATED

    def earliest_of(self, name: str) -> int:
        """The earliest start of a task, from those of its predecessors."""
        task = self.tasks[name]
        if task.fixed:
            return task.fixed[0]
        earliest = task.release
        for relation in self.into.get(name, ()):
            if relation.before in self.earliest:
                then = self.earliest[relation.before] + relation.least
                if relation.from_finish:
                    then += self.tasks[relation.before].shortest()
                if relation.of_finish:
                    then -= task.shortest()
                if then > earliest:
                    earliest = then
        return earliest

    def unit_latest_of(self, unit: str) -> int:
        """The least latest start in a unit and in all that follow it; before all others for what runs already, since it has its room."""
        if self.tasks[unit].begun:
            return -UNDATED
        latest = self.latest[unit]
        for name in self.members[unit]:
            if self.latest[name] < latest:
                latest = self.latest[name]
        for after in self.unit_out.get(unit, ()):
            if self.unit_latest[after] < latest:
                latest = self.unit_latest[after]
        return latest

    def unit_earliest_of(self, unit: str) -> int:
        """The least earliest start in a unit, or that of a unit before it where that is later."""
        earliest = self.earliest[unit]
        for name in self.members[unit]:
            if self.earliest[name] < earliest:
                earliest = self.earliest[name]
        for before in self.unit_into.get(unit, ()):
            if self.unit_earliest[before] > earliest:
                earliest = self.unit_earliest[before]
        return earliest

    def key_of(self, unit: str) -> Key:
        """Where a unit stands in the order."""
        members = self.members[unit]
        weight = self.tasks[unit].weight if len(members) == 1 else max(self.tasks[name].weight for name in members)
        return self.unit_latest[unit], self.unit_earliest[unit], self.unit_depth[unit], -weight, unit


def order_of(network: Network) -> Order:
    """Work the order out from nothing."""
    into: dict[str, list[Precedence]] = {}
    out: dict[str, list[Precedence]] = {}
    for relation in network.precedences:
        into.setdefault(relation.after, []).append(relation)
        out.setdefault(relation.before, []).append(relation)
    for relations in (*into.values(), *out.values()):
        if len(relations) > 1:
            relations.sort(key=_written)
    order = Order({task.id: task for task in network.tasks}, into, out)
    sequence = _depths(order)
    for name in sequence:
        order.earliest[name] = order.earliest_of(name)
    for name in reversed(sequence):
        order.latest[name] = order.latest_of(name)
    backward = _units(order, sequence)
    for relation in network.precedences:
        if relation.after in order.unit and (one := order.unit[relation.before]) != (other := order.unit[relation.after]):
            order.unit_out.setdefault(one, []).append(other)
            order.unit_into.setdefault(other, []).append(one)
    for unit in backward:
        order.unit_latest[unit] = order.unit_latest_of(unit)
    for unit in reversed(backward):
        order.unit_earliest[unit] = order.unit_earliest_of(unit)
        order.unit_depth[unit] = 1 + max((order.unit_depth[before] for before in order.unit_into.get(unit, ())), default=-1)
        order.key[unit] = order.key_of(unit)
    return order


def _written(relation: Precedence) -> tuple[str, str, str, int, int]:
    """An order of relations that does not follow from where they were written."""
    return relation.before, relation.after, relation.kind, relation.least, -1 if relation.greatest is None else relation.greatest


def _depths(order: Order) -> list[str]:
    """The tasks in an order of precedence; those in or behind a circle are left out."""
    waiting = {name: len(order.into.get(name, ())) for name in order.tasks}
    ready = [name for name, count in waiting.items() if not count]
    ready.reverse()
    depth = order.depth = dict.fromkeys(ready, 0)
    sequence = []
    while ready:  # the last first, so that what belongs together is gone through together: memory near by is quicker
        name = ready.pop()
        sequence.append(name)
        for relation in order.out.get(name, ()):
            waiting[relation.after] -= 1
            if not waiting[relation.after]:
                depth[relation.after] = 1 + max(depth[earlier.before] for earlier in order.into[relation.after])
                ready.append(relation.after)
    return sequence


def _units(order: Order, sequence: list[str]) -> list[str]:
    """Fill in the units; returns them with each after all that follow it (Tarjan 1972, SIAM J. Comput. 1:146-160, without recursion)."""
    number: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    found: list[str] = []
    for root in sequence:
        if root in number:
            continue
        path = [(root, iter(_arcs(order, root)))]
        number[root] = low[root] = len(number)
        stack.append(root)
        while path:
            name, arcs = path[-1]
            for other in arcs:
                if other not in number:
                    number[other] = low[other] = len(number)
                    stack.append(other)
                    path.append((other, iter(_arcs(order, other))))
                    break
                if other not in order.unit:
                    low[name] = min(low[name], number[other])
            else:
                path.pop()
                if path:
                    low[path[-1][0]] = min(low[path[-1][0]], low[name])
                if low[name] == number[name]:
                    names = [stack.pop()]
                    while names[-1] != name:
                        names.append(stack.pop())
                    found.append(_unit(order, names))
    return found


def _arcs(order: Order, name: str) -> list[str]:
    after = [relation.after for relation in order.out.get(name, ()) if relation.after in order.depth]
    return after + [relation.before for relation in order.into.get(name, ()) if relation.greatest is not None and not order.tasks[relation.before].begun]


def _unit(order: Order, names: list[str]) -> str:
    unit = min(names)
    order.members[unit] = _sorted(order, names)
    for name in names:
        order.unit[name] = unit
    return unit


def _sorted(order: Order, names: Sequence[str]) -> tuple[str, ...]:
    if len(names) == 1:
        return tuple(names)
    return tuple(sorted(names, key=lambda name: (order.depth[name], order.latest[name], name)))
