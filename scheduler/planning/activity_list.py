"""Taking single tasks in turn: one pass of the search, which begins where the pass before it first differs and stops where it is lost.

A greatest lag that breaks is kept by moving the task it hangs on later and taking all from there on again, once for each task and unless
the turns say otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from scheduler.planning.network import Network, Placement, Precedence, Schedule, Task
from scheduler.planning.priority import Order
from scheduler.planning.serial_sgs import MUST, Placing, limit_passed

AGAIN = 3  # turns taken again in a pass for the sake of greatest lags, after which they are left as they fall; measured: more leaves too few passes
BEFORE, LEFT = 1, 2
Costs = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Turns:
    """The order in which tasks are placed, how greatest lags are kept, and which starts and ends are made to wait until when.

    A greatest lag that is not in `kept` is kept at any price. With `BEFORE` the task it hangs on is moved no further than free hours allow
    before that, so that the lag is passed by less; with `LEFT` it is not moved.
    """

    names: tuple[str, ...]
    kept: Mapping[Precedence, int]
    starts: Mapping[str, int]
    ends: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class _Push:
    """A task made to wait for the sake of one that came later in turn, until when, and what it had waited for before."""

    at: int
    by: int
    name: str
    of_end: bool
    before: int | None


class Taking:
    """The last pass, on which the next is built. `costs` are lower bounds by turn: tasks without a time, limits passed, sum of finishes."""

    def __init__(self, network: Network, order: Order, horizon: int, floor: Schedule) -> None:
        self.order, self.floor = order, floor
        self.placing = Placing(network, order, horizon)
        self.turns = Turns((), {}, {}, {})
        passed = sum(limit_passed(order.tasks[name], at) for name, at in floor.items())
        self.costs: list[Costs] = [(len(order.tasks) - len(floor), passed, sum(at.finish for at in floor.values()))]
        self.mended: dict[Precedence, int] = {}  # relations whose greatest lag broke at first, and the turn at which it did
        self.tied = {name: [relation for relation in into if relation.greatest is not None] for name, into in order.into.items()}
        self._pushes: list[_Push] = []

    def run(self, turns: Turns, bound: tuple[int, ...] | None) -> tuple[int, bool]:
        """Take the tasks in turn until all have been, or cost more than the bound for certain.

        Returns the placements spent, and whether all have been taken.
        """
        self._rewind(self._common(turns))
        self.turns = turns
        names, costs, placing = turns.names, self.costs, self.placing
        count, spent = len(names), 0
        at = {name: i for i, name in enumerate(names)}
        for name, moment in turns.starts.items():
            if at[name] >= len(costs) - 1:
                placing.pushed[name] = moment
        for name, moment in turns.ends.items():
            if at[name] >= len(costs) - 1:
                placing.pushed_end[name] = moment
        while (i := len(costs) - 1) < count:
            task = placing.tasks[names[i]]
            found = placing.find(task)
            spent += 1
            over = 0
            if found is not None:
                late, over = self._too_late(task, found, i, at)
                if late is not None:
                    self._push(late)
                    continue
                placing.put(task, found)
            costs.append(self._with(costs[i], task, found, over))
            if bound is not None and costs[-1] > bound[:3]:
                return spent, False
        return spent, True

    def _with(self, cost: Costs, task: Task, found: Placement | None, over: int) -> Costs:
        alone = self.floor.get(task.id)
        if alone is None:
            return cost
        if found is None:
            return cost[0] + 1, cost[1] - limit_passed(task, alone), cost[2] - alone.finish
        return cost[0], cost[1] + limit_passed(task, found) - limit_passed(task, alone) + over, cost[2] + found.finish - alone.finish

    def _common(self, turns: Turns) -> int:
        """The number of turns that are as they were."""
        was, taken = self.turns, len(self.costs) - 1
        same_kept, same_waits = turns.kept == was.kept, turns.starts == was.starts and turns.ends == was.ends
        for i, (name, before) in enumerate(zip(turns.names[:taken], was.names, strict=False)):
            if name != before:
                return i
            if not same_waits and (turns.starts.get(name) != was.starts.get(name) or turns.ends.get(name) != was.ends.get(name)):
                return i
            if not same_kept and any(turns.kept.get(relation) != was.kept.get(relation) for relation in self.tied.get(name, ())):
                return i
        return taken

    def _rewind(self, to: int) -> None:
        """Take back all turns from one on, and those before it that were made to wait for the sake of one that is taken back."""
        again = True
        while again:
            again = False
            for push in self._pushes:
                if push.by >= to > push.at:
                    to, again = push.at, True
        placing = self.placing
        while self._pushes and self._pushes[-1].by >= to:
            push = self._pushes.pop()
            waits = placing.pushed_end if push.of_end else placing.pushed
            if push.before is None:
                del waits[push.name]
            else:
                waits[push.name] = push.before
        if to < len(self.costs) - 1:
            names = self.turns.names
            placing.take_out(reversed(names[to : len(self.costs) - 1]))
            del self.costs[to + 1 :]
        for name in self.turns.names[to:]:
            placing.pushed.pop(name, None)
            placing.pushed_end.pop(name, None)
        self.mended = {relation: turn for relation, turn in self.mended.items() if turn < to}

    def _push(self, push: tuple[_Push, int]) -> None:
        made, moment = push
        waits = self.placing.pushed_end if made.of_end else self.placing.pushed
        waits[made.name] = moment
        self._pushes.append(made)
        self.placing.take_out(reversed(self.turns.names[made.at : len(self.costs) - 1]))
        del self.costs[made.at + 1 :]

    def _too_late(self, task: Task, found: Placement, turn: int, at: Mapping[str, int]) -> tuple[tuple[_Push, int] | None, int]:
        """What is to wait, and until when, so that a placement breaks no greatest lag; or by how much it breaks them."""
        passed = 0
        placed = self.placing.placed
        for relation in self.tied.get(task.id, ()):
            before = placed.get(relation.before)
            if before is None:
                continue
            lag = (found.finish if relation.of_finish else found.start) - (before.finish if relation.from_finish else before.start)
            over = lag - (relation.greatest or 0)
            if over <= 0:
                continue
            if relation.before in at:
                late = self._waiting(relation, before, over, at[relation.before], turn)
                if late is not None:
                    return late, 0
            passed += MUST * task.weight * over
        return None, passed

    def _waiting(self, relation: Precedence, before: Placement, over: int, i: int, turn: int) -> tuple[_Push, int] | None:
        self.mended.setdefault(relation, turn)
        if sum(push.by - push.at + 1 for push in self._pushes) >= AGAIN:
            return None
        how = self.turns.kept.get(relation, 0)
        name = relation.before
        if how == LEFT or self.order.tasks[name].begun or any(push.name == name for push in self._pushes):
            return None
        task = self.order.tasks[name]
        of_end = relation.from_finish and self.placing.end_may_wait(name)
        now = self.placing.resumed(name) if of_end else before.start
        then = now + over
        if how == BEFORE:
            key, length = (task.end_calendar, task.end) if of_end else (task.begin_calendar, task.begin)
            then = self.placing.latest(key, then, length)
            if then <= now:
                return None
        waits = self.placing.pushed_end if of_end else self.placing.pushed
        return _Push(i, turn, name, of_end, waits.get(name)), then
