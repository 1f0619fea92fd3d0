"""The priority rule: in which order tasks are scheduled, as a function of the network alone.

Tasks that a greatest lag ties together, and all between them, are scheduled as one: the strong components of the graph with an arc along
each relation and one back where there is a greatest lag. Components have priority by latest start, then earliest start, then depth; none of
the three decreases along a relation, so the order is feasible by precedence. Ties go by weight, then id.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from scheduler.planning.network import USUAL, Network, Precedence, Task
from scheduler.planning.objective import WEIGHTS

UNDATED = 1 << 60
DISTANT = 1 << 59  # a moment from which on it is no date
Key = tuple[int, int, int, int, str]


@dataclass(slots=True)
class Priorities:
    """A network indexed by task and by component. A component is named by the least id of its tasks."""

    tasks: dict[str, Task]
    predecessors: dict[str, list[Precedence]]  # relations by the task that waits
    successors: dict[str, list[Precedence]]  # and by the task that is waited for
    greatest_lags: dict[str, list[Precedence]]  # those with a greatest lag, by the task that waits
    depth: dict[str, int] = field(default_factory=dict)  # longest chain of relations before a task; none for tasks in or behind a circle
    latest_start: dict[str, int] = field(default_factory=dict)  # that keeps every limit behind it; `UNDATED` where there is none
    earliest_start: dict[str, int] = field(default_factory=dict)  # that releases and lags allow
    component: dict[str, str] = field(default_factory=dict)
    members: dict[str, tuple[str, ...]] = field(default_factory=dict)  # in an order feasible by precedence
    before: dict[str, list[str]] = field(default_factory=dict)  # components that a component waits for
    key: dict[str, Key] = field(default_factory=dict)

    def components(self) -> list[str]:
        """The components by priority."""
        return sorted(self.members, key=self.key.__getitem__)


def priorities_of(network: Network, known: Priorities | None = None) -> Priorities:
    """The priorities of a network; what is `known` of a like one is kept for all tasks that no difference can reach along relations."""
    predecessors: dict[str, list[Precedence]] = {}
    successors: dict[str, list[Precedence]] = {}
    for relation in network.precedences:
        predecessors.setdefault(relation.after, []).append(relation)
        successors.setdefault(relation.before, []).append(relation)
    for relations in (*predecessors.values(), *successors.values()):
        if len(relations) > 1:
            relations.sort(key=_canonical)
    greatest_lags = {name: lags for name, relations in predecessors.items() if (lags := [one for one in relations if one.greatest is not None])}
    found = Priorities({task.id: task for task in network.tasks}, predecessors, successors, greatest_lags)
    names: Iterable[str] = found.tasks
    if known is not None:
        names = _connected(found, _differing(found, known))
        if not names and len(known.tasks) == len(found.tasks):
            return known
        _keep(found, known, names)
    _work_out(found, names)
    return found


def _canonical(relation: Precedence) -> tuple[str, str, str, int, int]:
    """An order of relations that does not depend on the order in which they were given."""
    return relation.before, relation.after, relation.kind, relation.least, -1 if relation.greatest is None else relation.greatest


def _differing(found: Priorities, known: Priorities) -> list[str]:
    """The tasks whose records or relations are new or differ."""
    return [
        name
        for name, task in found.tasks.items()
        if task != known.tasks.get(name)
        or found.predecessors.get(name) != known.predecessors.get(name)
        or found.successors.get(name) != known.successors.get(name)
    ]


def _connected(found: Priorities, names: list[str]) -> dict[str, None]:
    """The names and all that is connected with them by relations."""
    connected = dict.fromkeys(names)
    stack = list(names)
    while stack:
        name = stack.pop()
        others = [relation.before for relation in found.predecessors.get(name, ())] + [relation.after for relation in found.successors.get(name, ())]
        for other in others:
            if other not in connected:
                connected[other] = None
                stack.append(other)
    return {name: None for name in found.tasks if name in connected}


def _keep(found: Priorities, known: Priorities, without: Iterable[str]) -> None:
    """Fill in what is known of all tasks but some."""
    kept = found.tasks.keys() - without
    found.depth = {name: depth for name, depth in known.depth.items() if name in kept}
    found.latest_start = {name: known.latest_start[name] for name in found.depth}
    found.earliest_start = {name: known.earliest_start[name] for name in found.depth}
    found.component = {name: known.component[name] for name in found.depth}
    for component in set(found.component.values()):
        found.members[component], found.key[component] = known.members[component], known.key[component]
        if component in known.before:
            found.before[component] = known.before[component]


def _work_out(found: Priorities, names: Iterable[str]) -> None:
    """Fill in the tasks named, whose relations lead to none but each other."""
    sequence = _depths(found, names)
    for name in sequence:
        found.earliest_start[name] = _earliest_start(found, name)
    for name in reversed(sequence):
        found.latest_start[name] = _latest_start(found, name)
    backward = _components(found, sequence)
    after: dict[str, list[str]] = {}
    for name in sequence:
        for relation in found.successors.get(name, ()):
            if relation.after in found.component and (one := found.component[name]) != (other := found.component[relation.after]):
                after.setdefault(one, []).append(other)
                found.before.setdefault(other, []).append(one)
    latest: dict[str, int] = {}
    for component in backward:
        least = -UNDATED if found.tasks[component].begun else _least(found.latest_start, found.members[component])
        for other in after.get(component, ()):
            if latest[other] < least:
                least = latest[other]
        latest[component] = least
    earliest: dict[str, int] = {}
    depth: dict[str, int] = {}
    for component in reversed(backward):
        members, most, deepest = found.members[component], _least(found.earliest_start, found.members[component]), -1
        for other in found.before.get(component, ()):
            if earliest[other] > most:
                most = earliest[other]
            if depth[other] > deepest:
                deepest = depth[other]
        earliest[component], depth[component] = most, deepest + 1
        weight = WEIGHTS[found.tasks[component].loss] if len(members) == 1 else max(WEIGHTS[found.tasks[name].loss] for name in members)
        found.key[component] = latest[component], most, deepest + 1, -weight, component


def _least(values: Mapping[str, int], members: tuple[str, ...]) -> int:
    return values[members[0]] if len(members) == 1 else min(values[name] for name in members)


def _latest_start(found: Priorities, name: str) -> int:
    """The latest start of a task, from those of its successors."""
    task = found.tasks[name]
    shortest = task.shortest()
    finish = task.due if task.due is not None else UNDATED
    if task.deadline is not None and task.deadline < finish:
        finish = task.deadline
    for relation in found.successors.get(name, ()):
        then = found.latest_start.get(relation.after, UNDATED)
        if then < DISTANT:
            then -= relation.least
            if relation.kind != USUAL:
                then += (found.tasks[relation.after].shortest() if relation.of_finish else 0) + (0 if relation.from_finish else shortest)
            if then < finish:
                finish = then
    return finish - shortest if finish < DISTANT else UNDATED


def _earliest_start(found: Priorities, name: str) -> int:
    """The earliest start of a task, from those of its predecessors."""
    task = found.tasks[name]
    if task.fixed:
        return task.fixed[0]
    earliest = task.release
    for relation in found.predecessors.get(name, ()):
        if relation.before in found.earliest_start:
            then = found.earliest_start[relation.before] + relation.least
            if relation.from_finish:
                then += found.tasks[relation.before].shortest()
            if relation.of_finish:
                then -= task.shortest()
            if then > earliest:
                earliest = then
    return earliest


def _depths(found: Priorities, names: Iterable[str]) -> list[str]:
    """The tasks in an order feasible by precedence; those in or behind a circle are left out."""
    waiting = {name: len(found.predecessors.get(name, ())) for name in names}
    eligible = [name for name, count in waiting.items() if not count]
    eligible.reverse()
    depth = found.depth
    depth.update(dict.fromkeys(eligible, 0))
    sequence = []
    while eligible:  # the last first, so that what belongs together is gone through together: memory near by is quicker
        name = eligible.pop()
        sequence.append(name)
        for relation in found.successors.get(name, ()):
            waiting[relation.after] -= 1
            if not waiting[relation.after]:
                depth[relation.after] = 1 + max(depth[other.before] for other in found.predecessors[relation.after])
                eligible.append(relation.after)
    return sequence


def _components(found: Priorities, sequence: list[str]) -> list[str]:
    """Fill in the components; returns them with each after all that wait for it (Tarjan 1972, SIAM J. Comput. 1:146-160, without recursion)."""
    number: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    backward: list[str] = []
    for root in sequence:
        if root in number:
            continue
        path = [(root, iter(_arcs(found, root)))]
        number[root] = low[root] = len(number)
        stack.append(root)
        while path:
            name, arcs = path[-1]
            for other in arcs:
                if other not in number:
                    number[other] = low[other] = len(number)
                    stack.append(other)
                    path.append((other, iter(_arcs(found, other))))
                    break
                if other not in found.component:
                    low[name] = min(low[name], number[other])
            else:
                path.pop()
                if path:
                    low[path[-1][0]] = min(low[path[-1][0]], low[name])
                if low[name] == number[name]:
                    names = [stack.pop()]
                    while names[-1] != name:
                        names.append(stack.pop())
                    backward.append(_component(found, names))
    return backward


def _arcs(found: Priorities, name: str) -> list[str]:
    after = [relation.after for relation in found.successors.get(name, ()) if relation.after in found.depth]
    if name in found.greatest_lags:
        after += [relation.before for relation in found.greatest_lags[name] if not found.tasks[relation.before].begun]
    return after


def _component(found: Priorities, names: list[str]) -> str:
    component = min(names)
    if len(names) > 1:
        names.sort(key=lambda name: (found.depth[name], found.latest_start[name], name))
    found.members[component] = tuple(names)
    for name in names:
        found.component[name] = component
    return component
