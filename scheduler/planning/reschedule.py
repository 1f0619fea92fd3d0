"""Placing again after a change: only what the change can affect is searched for, and the result equals placing everything from nothing.

A unit's place follows from its tasks' records, from where its predecessors are, and from what units before it in the order have taken in
the time its search looked at. Where none of that changed, it stays. The units that touch some stretches of time around the change and around
what follows it are gone through in order on timelines of these alone; where a search looks beyond them, a stretch is made longer.
"""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import compress
from operator import is_not

from scheduler.local_time import DAY
from scheduler.planning.local_search import improved, passes
from scheduler.planning.network import Interval, Network, Placement, Task
from scheduler.planning.priority import Key, Order, order_of, with_tasks
from scheduler.planning.resource_profiles import Spans
from scheduler.planning.serial_sgs import HORIZON, Construction, Placing, construct, horizon

MARGIN = 2 * DAY  # looked at beyond what the change itself touches; longer means fewer second goes, shorter means fewer units
WIDE = 10 * DAY  # gathered beyond the stretch, so that all units are gone through once
FOLLOWERS = 300  # units behind a change that are looked at from the first
SHARE = 0.5  # of all units; where more than these have to be gone through, placing from nothing is as quick
HANDS = "hands of "  # with a name, the key under which a pair of hands stands among the resources


def reschedule(network: Network, previous: Construction) -> dict[str, Placement]:
    """What `schedule(network)` gives, from what `construct` or `reconstruct` made of an earlier network."""
    return improved(reconstruct(network, previous), None)


def reconstruct(network: Network, previous: Construction) -> Construction:
    """What `construct(network)` gives. Small networks and changes of a capacity are placed from nothing."""
    old = previous.network
    if passes(len(network.tasks)) or network.capacities != old.capacities or network.daily != old.daily:
        return construct(network)
    change = _change(network, previous)
    again = _Again(network, previous, change)
    return again.result() if again.run() else construct(network)


@dataclass(slots=True)
class _Change:
    """How a network differs from the one before it."""

    order: Order
    units: set[str]  # that have to be placed anew
    gone: dict[str, Task]  # earlier records of tasks that were removed or differ
    last: int  # the horizon
    done: list[Task]  # new records of tasks that happened
    taken: list[tuple[str, int, int]]  # resource, from, to, where reservations changed

    def reach(self, previous: Construction) -> list[Interval]:
        """The stretches of time in which the change can show at first."""
        found = [(start, end) for _, start, end in self.taken]
        found += [task.fixed for task in self.done if task.fixed]
        for name, task in self.gone.items():
            at = previous.placed.get(name)
            if at:
                found += [(at.start, at.finish)] if any(mode.demands for mode in task.modes) else [*at.sittings, *at.end_sittings]
        found += [previous.seen[unit] for unit in self._followers() if unit in previous.seen]
        found += [(self.order.earliest[name],) * 2 for unit in self.units for name in self.order.members[unit]]
        return found

    def _followers(self) -> list[str]:
        """The units that change, and as many of those behind them as are likely to move with them."""
        found = sorted({*self.units, *(self.order.unit[name] for name in self.gone if name in self.order.unit)})
        known = set(found)
        for unit in found:
            following = [other for other in self.order.unit_out.get(unit, ()) if other not in known]
            if len(found) < FOLLOWERS:
                known.update(following)
                found += following
        return found


def _change(network: Network, previous: Construction) -> _Change:
    old = previous.network
    known = previous.order.tasks
    changed, removed = _differing(network, old, known)
    gone = {name: known[name] for name in (*changed, *removed) if name in known}
    begun = any(name in known and task.begun != known[name].begun for name, task in changed.items())  # it leaves or joins a unit
    if not begun and not removed and changed.keys() <= known.keys() and network.precedences == old.precedences:
        order, moved = with_tasks(previous.order, changed)
    else:
        order = order_of(network)
        moved = {unit for unit in order.members if _place(order, unit) != _place(previous.order, unit)}
        gone |= {name: known[name] for unit, names in previous.order.members.items() if unit not in order.members for name in names}
    moved |= {order.unit[name] for name in changed if name in order.unit}
    calendars = {key for key, calendar in network.calendars.items() if key not in old.calendars or not calendar.agrees(old.calendars[key])}
    if calendars:
        moved |= {
            order.unit[task.id] for task in network.tasks if task.id in order.unit and (task.begin_calendar in calendars or task.end_calendar in calendars)
        }
    if (last := _horizon(network, previous, changed, gone)) != previous.horizon:
        ends = min(last, previous.horizon)
        moved |= {unit for unit, (_, until) in previous.seen.items() if until >= ends and unit in order.members}
    now, then = Counter(network.reserved), Counter(old.reserved)
    taken = [(name, start, end) for name, start, end, _ in (now - then) + (then - now)]
    return _Change(order, moved, gone, last, [task for task in changed.values() if task.fixed], taken)


def _horizon(network: Network, previous: Construction, changed: Mapping[str, Task], gone: Mapping[str, Task]) -> int:
    """The horizon, gone through anew only where the task it hung on is not what it was."""
    last = previous.horizon - HORIZON
    if any(task.release >= last for task in gone.values()):
        return horizon(network)
    return max([last, *(task.release for task in changed.values())]) + HORIZON


def _differing(network: Network, old: Network, known: Mapping[str, Task]) -> tuple[dict[str, Task], set[str]]:
    """Tasks whose records are new or differ, and the ids of those removed."""
    if len(network.tasks) == len(old.tasks):
        others = compress(zip(network.tasks, old.tasks, strict=True), map(is_not, network.tasks, old.tasks))
        pairs = [(task, was) for task, was in others if task != was]
        if all(task.id == was.id for task, was in pairs):
            return {task.id: task for task, _ in pairs}, set()
    changed = {task.id: task for task in network.tasks if known.get(task.id) is not task and known.get(task.id) != task}
    return changed, known.keys() - {task.id for task in network.tasks}


def _place(order: Order, unit: str) -> object:
    """All that the place of a unit follows from, but records and what others have taken."""
    if unit not in order.members:
        return None
    members = order.members[unit]
    return order.key[unit], members, [order.into.get(name) for name in members]


class _Again:
    """Going through the units of a stretch of time."""

    def __init__(self, network: Network, previous: Construction, change: _Change) -> None:
        self.network, self.previous, self.change, self.order = network, previous, change, change.order
        self.due = set(change.units)  # units that have to be placed anew
        self.differs: dict[str, Spans] = {}  # where what is taken differs, by resource
        self.stretches = Spans()  # of time, of which the timelines hold all that is placed before the unit whose turn it is
        self.placing = Placing(network, change.order, change.last)
        self._queued: set[str] = set()
        self._heap: list[tuple[Key, str]] = []
        self._wide: Interval = (1, 0)
        self._around: list[tuple[str, Interval]] = []

    def run(self) -> bool:
        """Go through them; False where there are so many that placing from nothing is as quick."""
        self._mark()
        self._queued |= self.due
        self._heap = [(self.order.key[unit], unit) for unit in self.due]
        heapq.heapify(self._heap)
        near = Spans()
        for first, last in self.change.reach(self.previous):
            near.take(first - MARGIN, last + MARGIN)
        if near.starts:
            self._near(near.starts[0] - DAY, near.ends[-1] + DAY)
        for first, last in zip(near.starts, near.ends, strict=True):
            self._reach(first, last, None)
        while self._heap and len(self._queued) <= SHARE * len(self.order.members):
            key, unit = heapq.heappop(self._heap)
            if unit in self.due or self._affected(unit):
                self._place(unit, key)
            else:
                self._keep(unit)
        return not self._heap

    def _mark(self) -> None:
        """Start from the earlier placements, and mark where the change itself makes what is taken differ."""
        old, placing, tasks = self.previous.placed, self.placing, self.order.tasks
        placing.placed = {**old, **placing.placed}
        for unit in self.due:
            self._differ({name: old[name] for name in self.order.members[unit] if name in old}, self.previous.order.tasks)
        for name, task in self.change.gone.items():
            self._differ({name: old[name]} if name in old else {}, {name: task})
            if name not in self.order.unit and not (name in tasks and tasks[name].fixed):
                placing.placed.pop(name, None)
        for task in self.change.done:
            self._differ({task.id: placing.placed[task.id]}, tasks)
        for resource, start, end in self.change.taken:
            self.differs.setdefault(resource, Spans()).take(start, end)
        self._follow(name for name, task in self.change.gone.items() if task.fixed or (name in tasks and tasks[name].fixed))

    def _reach(self, first: int, last: int, now: Key | None) -> None:
        """Add a stretch, or make one longer: units whose turn is past take their places, the others wait for their turn."""
        since, until = first - DAY, last + DAY
        self.stretches.take(since, until)
        members, queued = self.order.members, self._queued
        joining = [unit for unit, (start, end) in self._near(since, until) if start <= until and end >= since and unit in members and unit not in queued]
        queued.update(joining)
        for unit in joining:
            key = self.order.key[unit]
            if now is not None and key < now:
                self._keep(unit)
            else:
                heapq.heappush(self._heap, (key, unit))

    def _near(self, since: int, until: int) -> list[tuple[str, Interval]]:
        """The units that may touch a stretch: those of a wide one are gathered once."""
        if not self._wide[0] <= since <= until <= self._wide[1]:
            low, high = self._wide = (since - WIDE, until + WIDE)
            self._around = [seen for seen in self.previous.seen.items() if seen[1][0] <= high and seen[1][1] >= low]
        return self._around

    def result(self) -> Construction:
        """The construction of the new network."""
        made = self.placing.result()
        seen = {**self.previous.seen, **made.seen}
        vanished = set() if self.order.unit is self.previous.order.unit else seen.keys() - self.order.members.keys()
        for unit in vanished | (self.change.units - made.seen.keys()):
            seen.pop(unit, None)
        return Construction(made.network, made.order, made.placed, seen, made.horizon)

    def _within(self, first: int, last: int) -> bool:
        """Whether all that a search looked at, and all that a placement there touches, lies in a stretch; a load touches a day either way."""
        return self.stretches.covers(first - DAY, last + DAY)

    def _affected(self, unit: str) -> bool:
        first, last = self.previous.seen[unit]
        for name in self.order.members[unit]:
            task = self.order.tasks[name]
            if (task.begin or task.end) and (hands := self.differs.get(HANDS + task.hands)) and hands.touches(first, last):
                return True
            for mode in task.modes:
                for resource, _ in (*mode.demands, *mode.loads):
                    if resource in self.differs and self.differs[resource].touches(first, last):
                        return True
        return False

    def _place(self, unit: str, key: Key) -> None:
        members = [name for name in self.order.members[unit] if not self.order.tasks[name].fixed]
        before = {name: self.previous.placed[name] for name in members if name in self.previous.placed}
        earlier = self.previous.seen.get(unit)
        if earlier and not self._within(*earlier):
            self._reach(earlier[0] - MARGIN, earlier[1] + MARGIN, key)
        for name in members:
            self.placing.placed.pop(name, None)
        self.placing.place_unit(unit)
        while members and not self._within(*self.placing.seen[unit]):
            self.placing.take_out(members)
            first, last = self.placing.seen[unit]
            self._reach(first - MARGIN, last + MARGIN, key)
            self.placing.place_unit(unit)
        after = {name: self.placing.placed[name] for name in members if name in self.placing.placed}
        moved = [name for name in members if before.get(name) != after.get(name)]
        self._differ({name: before[name] for name in moved if name in before}, self.previous.order.tasks)
        self._differ({name: after[name] for name in moved if name in after}, self.order.tasks)
        self._follow(moved)

    def _keep(self, unit: str) -> None:
        for name in self.order.members[unit]:
            task = self.order.tasks[name]
            if name in self.previous.placed and not task.fixed:
                self.placing.put(task, self.previous.placed[name])

    def _follow(self, moved: Iterable[str]) -> None:
        """What follows a task that moved is placed anew."""
        for name in moved:
            for relation in self.order.out.get(name, ()):
                unit = self.order.unit.get(relation.after)
                if unit is None or unit == self.order.unit.get(name):
                    continue
                self.due.add(unit)
                if unit not in self._queued:
                    self._queued.add(unit)
                    heapq.heappush(self._heap, (self.order.key[unit], unit))

    def _differ(self, placed: Mapping[str, Placement], tasks: Mapping[str, Task]) -> None:
        """Mark what placements take as differing."""
        for name, at in placed.items():
            task = tasks[name]
            for start, end in (*at.sittings, *at.end_sittings):
                self.differs.setdefault(HANDS + task.hands, Spans()).take(start, end)
            mode = task.modes[at.mode]
            for resource, _ in mode.demands:
                self.differs.setdefault(resource, Spans()).take(at.start, at.finish)
            for resource, _ in mode.loads:
                self.differs.setdefault(resource, Spans()).take(at.start - DAY, at.start + DAY)
