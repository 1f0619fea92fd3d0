"""The neighbourhood of the local search: what is changed in an activity list to come to another.

A move shifts a task that waits for others to an earlier position, with its predecessors (Kolisch and Hartmann 2006, Eur. J. Oper. Res.
174:23-37, on searching activity lists), puts a late task of the goods ahead of comfort, does something else for a greatest lag, or delays one
task for another. Choices come from a fixed sequence, so results repeat.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Iterator, Mapping, Sequence

from scheduler.local_time import DAY
from scheduler.planning.activity_list import ActivityList
from scheduler.planning.network import Network, Placement, Precedence, Schedule
from scheduler.planning.objective import COMFORT, lag_late, seconds_late, wait_late
from scheduler.planning.priority import Priorities
from scheduler.planning.serial_sgs import IGNORE, KEEP

AHEAD = 13  # of sixteen moves those from this on put a late task ahead of comfort; assumed
MOVES = 2  # shifts in one move, at most
NEVER = 1 << 60
Before = Callable[[str], Iterable[str]]  # the names that have to come before a name


class Neighbourhood:
    """The current schedule, from which the search goes on, and the moves from its activity list to another."""

    def __init__(self, network: Network, priorities: Priorities) -> None:
        self.network, self.priorities = network, priorities
        self.alone: Schedule = {}  # every task where it would stand alone
        self.tied = [relation for name in sorted(priorities.component) for relation in priorities.greatest_lags.get(name, ())]
        self.random = 1
        self.head: frozenset[str] = frozenset()  # the tasks that are shifted
        self.current: Schedule = {}
        self.broken: set[Precedence] = set()  # greatest lags that broke at first in the current schedule

    def neighbour(self, activities: ActivityList) -> ActivityList:
        """Another order, another delay, or something else done for a greatest lag."""
        choice = self._choose(16)
        tried = activities
        if choice >= AHEAD and (ahead := self._ahead_of_comfort(activities)) is not None:
            return ahead
        if choice < 5 and self.broken:
            tried = self._other_lag(activities)
        elif choice < 7:
            tried = self._other_delay(activities)
        if choice >= 6 or tried is activities:
            waiting = [name for name in activities.names if name in self.head and self._waits(name)]
            waiting = [name for name in waiting if self._held_up(name)] or waiting
            tried = tried._replace(names=tuple(self._begun_first(self._shift(tried.names, waiting, self._predecessors, self._rival))))
        return tried

    def _ahead_of_comfort(self, activities: ActivityList) -> ActivityList | None:
        """A late task of the goods, with its chain, put ahead of the comfort that has hands on the evenings before it."""
        tasks, current = self.priorities.tasks, self.current
        late = [name for name in activities.names if tasks[name].loss != COMFORT and (at := current.get(name)) is not None and self._late(name, at)]
        if not late:
            return None
        name = late[self._choose(len(late))]
        i, since = activities.names.index(name), min(self.alone.get(name, current[name]).start, current[name].start - DAY)
        comfort = [k for k in range(i) if self._has_hands(activities.names[k], since, current[name].finish)]
        if not comfort:
            return None
        return activities._replace(names=tuple(self._begun_first(shifted(activities.names, i, comfort[self._choose(len(comfort))], self._predecessors))))

    def _has_hands(self, name: str, since: int, until: int) -> bool:
        """Whether a task of comfort has hands between two moments."""
        at = self.current.get(name)
        return self.priorities.tasks[name].loss == COMFORT and at is not None and any(a < until and b > since for a, b in (*at.sittings, *at.end_sittings))

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
        if self._choose(2) and (later := self._begun_later(activities)) is not None:
            return later
        waiting = [name for name in activities.names if name in self.head and self._waits(name) and self._held_up(name) and name in self.current]
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

    def _begun_later(self, activities: ActivityList) -> ActivityList | None:
        """A hold whose end waits too long for hands, begun as much later."""
        tasks, current = self.priorities.tasks, self.current
        over = {
            name: late for name in activities.names if (at := current.get(name)) is not None and (late := wait_late(tasks[name], at)) and not tasks[name].begun
        }
        if not over:
            return None
        name = list(over)[self._choose(len(over))]
        return _delayed(activities, name, of_end=False, until=current[name].start + over[name])

    def _hands_between(self, names: Sequence[str], waiting: str) -> list[tuple[str, bool]]:
        """The tasks that take the hands a task waits for between where it would stand alone and where it stands; True where their end does."""
        late, tasks = self.current[waiting], self.priorities.tasks
        wanted = max(self.alone.get(waiting, late).start, late.start - DAY)
        blocking = []
        for name in names:
            at = self.current.get(name)
            if (
                at is None
                or name == waiting
                or (tasks[name].hands != tasks[waiting].hands and not (tasks[name].hands == tasks[waiting].hands or tasks[name].shares_hands(tasks[waiting])))
            ):
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
        return kind != "hands" or (bool(at.sittings or at.end_sittings) and tasks[name].shares_hands(tasks[waiting]))

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

    def _late(self, name: str, at: Placement) -> bool:
        task, tasks = self.priorities.tasks[name], self.priorities.tasks
        lags = self.priorities.greatest_lags.get(name, ())
        return bool(seconds_late(task, at) or wait_late(task, at)) or any(lag_late(lag, tasks, self.current) for lag in lags)

    def _fixed(self, name: str) -> bool:
        return self.priorities.tasks[name].fixed is not None

    def _begun_first(self, names: Sequence[str]) -> list[str]:
        """What runs already has its room: it is scheduled before all that is not there yet."""
        return sorted(names, key=lambda name: not self.priorities.tasks[name].begun)


def _without(mapping: Mapping[str, int], names: Container[str]) -> dict[str, int]:
    return {other: moment for other, moment in mapping.items() if other not in names}


def _delayed(activities: ActivityList, name: str, of_end: bool, until: int) -> ActivityList:
    if of_end:
        return activities._replace(ends={**activities.ends, name: until})
    return activities._replace(starts={**activities.starts, name: until})


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
