"""Improving a schedule by a bounded search over the order in which the constructive scheme takes units, then single tasks.

The search starts from a few orders that are good on other grounds, then takes what waits for others earlier in the order, together with
what it follows (Kolisch and Hartmann 2006, Eur. J. Oper. Res. 174:23-37, on searching activity lists). For single tasks it also says how
far each greatest lag is kept, and makes a task wait for another where that pays. It keeps what is no worse, and goes on from something
worse where that led nowhere for a while. The bound is a count that falls with the size of the network, and choices come from a fixed
sequence, so results repeat. It ends at once where every task stands where it would stand alone.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from scheduler.local_time import DAY
from scheduler.planning.activity_list import LEFT, Taking, Turns
from scheduler.planning.network import Placement, Precedence, Schedule, Task
from scheduler.planning.serial_sgs import Construction, Placing, lag_passed, limit_passed, objective

WORK = 8000  # placements the search may spend where a limit is passed; assumed, as are the numbers below
IDLE_WORK = 40_000  # and where none is, and only waiting could be saved: this over the tasks, so that an ordinary plan is told at once
MOST = 1200  # passes, however small the network
SMALL = 20  # tasks up to which three times as much may be spent
PLACED = 0.6  # of the placements of a pass from nothing: with taking back, a placement in a pass built on another costs more; measured
FEWEST = 8  # passes below which there is no search
UNITS_SHARE = 0.03  # of the passes, for the order of units
FEWEST_UNITS = 3  # and at least so many
LATE = 3  # passes after which a worse schedule must have become as good as what it was accepted against
FIRST = 0.04  # of the placements, for each order of single tasks that the search starts from; the rest goes on from the best
STALL = 60  # passes without a better schedule, after which the search goes on from a worse one
MOVES = 2  # changes tried at once, at most
Cost = tuple[int, ...]


def passes(count: int, passed: bool = True) -> int:
    """How many passes the search may spend on a network of so many tasks."""
    work = WORK if passed else IDLE_WORK // max(count, 1)
    allowed = min(MOST, work * (3 if count <= SMALL else 1) // max(count, 1))
    return allowed if allowed >= FEWEST else 0


def improved(made: Construction, previous: Mapping[str, int] | None) -> dict[str, Placement]:
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


class _Search:
    """The best order so far and its schedule."""

    def __init__(self, made: Construction, previous: Mapping[str, int] | None) -> None:
        self.network, self.order, self.previous = made.network, made.order, previous
        self.tied = [relation for name in sorted(made.order.unit) for relation in made.order.into.get(name, ()) if relation.greatest is not None]
        self.chance, self.horizon = 1, made.horizon
        self.alone = self._placing(made.order.units(), _Alone).placed
        self.floor = self._floor()
        passed = sum(limit_passed(made.order.tasks[name], at) for name, at in self.floor.items())
        self.least = len(made.order.tasks) - len(self.floor), passed, sum(at.finish for at in self.floor.values())
        self.units = made.order.units()
        best = self._placing(self.units)
        self.placed = self.present = best.placed
        self.mended: set[Precedence] = set()
        self.cost = self._cost(self.placed)

    def run(self) -> dict[str, Placement]:
        """Search until the bound, or until nothing can be better."""
        left = passes(len(self.network.tasks), self.cost[:2] > self.least[:2])
        for_tasks = left - min(left, max(FEWEST_UNITS, int(left * UNITS_SHARE)))
        for units in self._units():
            if left <= for_tasks or self._best_possible():
                break
            left -= 1
            self._try_units(units)
        budget = int(left * len(self.network.tasks) * PLACED)
        if not budget or self._best_possible():
            return self.placed
        starts = self._tasks()
        self.top = starts[0]
        for state in starts:
            self._search_tasks(state, int(budget * FIRST))
        self._search_tasks(self.top, int(budget * (1 - FIRST * len(starts))))
        return self.placed

    def _tasks(self) -> list[Turns]:
        """Where the search over single tasks starts: from the best so far, and by how tasks would start and finish alone."""
        names = [name for unit in self._begun_first(self.units) for name in self.order.members[unit] if not self.order.tasks[name].fixed]
        depth, alone = self.order.depth, self.alone
        broken: dict[Precedence, int] = {relation: LEFT for relation in self.tied if lag_passed(relation, self.order.tasks, self.placed)}
        begun = arranged({name: (alone[name].start, depth[name]) for name in names if name in alone}, self._before)
        finished = arranged({name: (alone[name].finish, depth[name]) for name in names if name in alone}, self._before)
        due = arranged({name: (self.order.latest[name], alone[name].start, depth[name]) for name in names if name in alone}, self._before)
        return [Turns(tuple(names), broken, {}, {}), *(Turns(tuple(self._begun_first(found)), {}, {}, {}) for found in (begun, finished, due))]

    def _search_tasks(self, state: Turns, left: int) -> None:
        """Late acceptance: go on from what is no worse than what was gone on from a few passes ago, or from anything after a long stall."""
        taking = Taking(self.network, self.order, self.horizon, self.floor)
        cost: Cost | None = None
        costs: list[Cost] = []
        lowest: Cost | None = None
        bettered = 0
        number, least = 0, 1 + len(state.names) // 4
        while left > 0:
            if self._best_possible():
                return
            kicked = cost is not None and number - bettered > STALL
            tried = state if cost is None else self._changed(state)
            if kicked:
                tried, bettered = self._changed(self._changed(tried)), number
            spent, reached = taking.run(tried, None if cost is None or kicked else max(cost, costs[number % LATE]))
            left -= max(spent, least)
            if reached:
                placed = taking.placing.placed
                found = self._cost(placed)
                if kicked or cost is None or found <= cost or found <= costs[number % LATE]:
                    state, cost, self.present, self.mended = tried, found, dict(placed), set(taking.mended)
                    if kicked or lowest is None or found < lowest:
                        lowest, bettered = found, number
                    if found < self.cost:
                        self.top = state
                        self.placed, self.cost = self.present, found
            if cost is not None:
                costs = costs or [cost] * LATE
                costs[number % LATE] = cost
            number += 1

    def _best_possible(self) -> bool:
        return self.cost[:3] <= self.least and not self.previous

    def _floor(self) -> Schedule:
        """Every task as soon as it could be if it stood alone and no greatest lag made it wait: no schedule costs less."""
        if not self.tied:
            return self.alone
        alone = _Alone(self.network, self.order, self.horizon)
        for name in sorted(self.order.depth, key=self.order.depth.__getitem__):
            if not self.order.tasks[name].fixed:
                alone.place(name)
        return alone.placed

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
            self.placed, self.cost, self.present = placing.placed, cost, placing.placed
            return True
        return False

    def _units(self) -> Iterator[list[str]]:
        """Orders worth a pass: by the schedule before, by how units would finish and start alone; then moves from the best so far."""
        alone = self.alone
        if self.previous:
            yield self._units_by(self.previous, min)
        yield self._units_by({name: at.finish for name, at in alone.items()}, max)
        yield self._units_by({name: at.start for name, at in alone.items()}, min)
        while True:
            waiting = [unit for unit in self.units if any(self._waits(name) for name in self.order.members[unit])]
            yield self._sooner(self.units, waiting, self._unit_before, self._blocks)

    def _units_by(self, moments: Mapping[str, int], which: Callable[[Iterable[int]], int]) -> list[str]:
        members = self.order.members
        priority = {unit: (which([moments.get(name, 0) for name in members[unit]]), *self.order.key[unit][:4]) for unit in members}
        return arranged(priority, self._unit_before)

    def _unit_before(self, unit: str) -> Iterable[str]:
        return self.order.unit_into.get(unit, ())

    def _try_units(self, units: list[str]) -> None:
        if self._keep(self._placing(units)):
            self.units = units

    def _changed(self, state: Turns) -> Turns:
        """Another order or other waits of single tasks."""
        choice = self._chance(16)
        tried = state
        if choice < 5 and self.mended:
            tried = self._kept_otherwise(state)
        elif choice < 7:
            tried = self._yielding(state)
        if choice >= 6 or tried is state:
            waiting = [name for name in state.names if self._waits(name) and self._held_up(name)] or [name for name in state.names if self._waits(name)]
            tried = replace(tried, names=tuple(self._begun_first(self._sooner(tried.names, waiting, self._before, self._rivals))))
        return tried

    def _kept_otherwise(self, state: Turns) -> Turns:
        """Another way of keeping a greatest lag that breaks."""
        found = [relation for relation in self.tied if relation in self.mended]
        relation = found[self._chance(len(found))]
        return replace(state, kept={**state.kept, relation: (state.kept.get(relation, 0) + 1 + self._chance(2)) % 3})

    def _yielding(self, state: Turns) -> Turns:
        """Make one task wait until another has had the hands, or no longer make one wait."""
        made_to = sorted({*state.starts, *state.ends})
        if made_to and self._chance(2):
            free = {made_to[self._chance(len(made_to))]}
            return replace(state, starts=_without(state.starts, free), ends=_without(state.ends, free))
        if self.mended and self._chance(2):
            return self._waiting(state)
        waiting = [name for name in state.names if self._waits(name) and self._held_up(name) and name in self.present]
        if not waiting:
            return state
        name = waiting[self._chance(len(waiting))]
        task, late, alone = self.order.tasks[name], self.present[name], self.alone[name]
        wanted = max(alone.start, late.start - DAY)
        blocking = []
        for other in state.names:
            at = self.present.get(other)
            if at is None or other == name or self.order.tasks[other].hands != task.hands:
                continue
            if at.sittings and at.sittings[0][0] < late.finish and at.sittings[-1][1] > wanted:
                blocking.append((other, False))
            if at.end_sittings and at.end_sittings[0][0] < late.finish and at.end_sittings[-1][1] > wanted:
                blocking.append((other, True))
        if not blocking:
            return state
        other, of_end = blocking[self._chance(len(blocking))]
        at, giving = self.present[other], self.order.tasks[other]
        now, key = (at.end_sittings[0][0], giving.end_calendar) if of_end else (at.start, giving.begin_calendar)
        then = now + max(task.begin, task.end)
        if key is not None and self._chance(2):
            calendar = self.network.calendars[key]
            i = calendar.index(now) + 1
            then = calendar.starts[i] if calendar.has(i) else then
        return replace(state, ends={**state.ends, other: then}) if of_end else replace(state, starts={**state.starts, other: then})

    def _waiting(self, state: Turns) -> Turns:
        """Make a task wait for one that follows it too late, as long as no other that follows it has to."""
        found = [relation for relation in self.tied if relation in self.mended and relation.before in self.present and relation.after in self.present]
        if not found:
            return state
        relation = found[self._chance(len(found))]
        name, present = relation.before, self.present
        at, task = present[name], self.order.tasks[name]
        over = relation.lag(present) - (relation.greatest or 0)
        others = [other for other in self.order.out[name] if other != relation and other.after in present]
        slack = min([over, *(other.lag(present) - other.least for other in others)])
        if slack <= 0 or task.fixed:
            return state
        kept = {**state.kept, relation: LEFT}
        if relation.from_finish and (at.end_sittings or task.modes[at.mode].hold_most is not None):
            return replace(state, kept=kept, ends={**state.ends, name: (at.end_sittings[0][0] if at.end_sittings else at.finish) + slack})
        return replace(state, kept=kept, starts={**state.starts, name: at.start + slack})

    def _sooner(self, items: Sequence[str], waiting: Sequence[str], before: Callable[[str], Iterable[str]], blocks: Callable[[str, str], bool]) -> list[str]:
        """The order with a few of those that wait for others taken earlier, mostly ahead of one that stands where they would stand alone."""
        found = list(items)
        for _ in range(1 + self._chance(MOVES)):
            name = waiting[self._chance(len(waiting))] if waiting else found[0]
            if waiting:
                name = max(name, waiting[self._chance(len(waiting))], key=self._wait)
            i = found.index(name)
            if i:
                blocking = [k for k in range(i) if blocks(found[k], found[i])] if self._chance(4) else []
                found = earlier(found, i, blocking[self._chance(len(blocking))] if blocking else self._chance(i), before)
        return found

    def _blocks(self, name: str, waiting: str) -> bool:
        """Whether a task, or the first of a unit, is at work while another waits."""
        at, late, alone = self.present.get(name), self.present.get(waiting), self.alone.get(waiting)
        return at is not None and alone is not None and at.finish >= alone.start and (late is None or at.start <= late.finish)

    def _wait(self, name: str) -> int:
        at = self.present.get(name)
        return 1 << 60 if at is None or name not in self.alone else at.finish - self.alone[name].finish

    def _rivals(self, name: str, waiting: str) -> bool:
        """Whether a task takes what another waits for, while it waits."""
        if not self._blocks(name, waiting):
            return False
        late = self.present.get(waiting)
        if late is None:
            return True
        at, (kind, what) = self.present[name], late.bound_by
        if kind == "resource":
            mode = self.order.tasks[name].modes[at.mode]
            return any(resource == what for resource, _ in mode.demands) or any(resource == what for resource, _ in mode.loads)
        return kind != "hands" or (bool(at.sittings or at.end_sittings) and self.order.tasks[name].hands == self.order.tasks[waiting].hands)

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


def _without(mapping: Mapping[str, int], names: Container[str]) -> dict[str, int]:
    return {other: moment for other, moment in mapping.items() if other not in names}


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
