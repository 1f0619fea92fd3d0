"""A partial schedule: the placements of some tasks, what these occupy, and the earliest feasible placement of one task more."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from functools import partial
from operator import attrgetter

from scheduler.local_time import DAY, HOUR
from scheduler.planning.network import USUAL, Interval, Mode, Network, Placement, Task
from scheduler.planning.objective import HARD, seconds_late, wait_late
from scheduler.planning.priority import Priorities
from scheduler.planning.resource_profiles import Hands, LoadProfile, ResourceProfile

HORIZON = 800 * DAY  # a season and the next spring, with room for a queue
LAST = 900  # before a span of free hours ends, the last moment at which something that takes no time is begun [s]; assumed
LONG_WORK = 2 * HOUR  # hands-on work that is rather divided into sittings than put off by a day [s]; assumed
WITHIN = 400  # days in which a free span for the whole of it is looked for
Bound = tuple[str, str]


class PartialSchedule:
    """What is scheduled so far. Tasks that happened are in it from the first."""

    def __init__(self, network: Network, priorities: Priorities) -> None:
        self.network, self.tasks = network, priorities.tasks
        self.predecessors, self.greatest_lags = priorities.predecessors, priorities.greatest_lags
        self.hands: defaultdict[str, Hands] = defaultdict(partial(Hands, network.travel))
        self.resources = {name: ResourceProfile(capacity) for name, capacity in network.capacities.items()}
        self.loads = {name: LoadProfile(rating) for name, rating in network.daily.items()}
        for name, start, end, amount in network.reserved:
            self.resources[name].add(start, end, amount)
        self.placements: dict[str, Placement] = {}
        self.delayed_starts: dict[str, int] = {}  # before which a task may not start, for the sake of a greatest lag
        self.delayed_ends: dict[str, int] = {}  # and before which its end phase may not
        self.horizon = max(map(attrgetter("release"), network.tasks), default=0) + HORIZON  # the last moment at which anything is placed
        for whose, place, moment in network.present:
            self.hands[whose].present(place, moment)
        for task in network.tasks:
            if task.fixed:
                start, finish = task.fixed
                self.add(task, Placement(start, finish, finish, (), (), 0, ("done", "")))

    def add(self, task: Task, at: Placement) -> None:
        """Schedule a task: occupy what its placement takes."""
        self.placements[task.id] = at
        hands = self.hands[task.hands]
        for start, end in at.sittings:
            hands.add(task.place, start, end)
        for start, end in at.end_sittings:
            hands.add(task.place, start, end)
        if task.joined_by is not None:
            for start, end in (*at.sittings, *at.end_sittings):
                self.hands[task.joined_by].add(task.place, start, end)
        mode = task.modes[at.mode]
        for resource, amount in mode.demands:
            self.resources[resource].add(at.start, at.finish, amount)
        for resource, mass in mode.loads:
            if resource in self.loads:
                self.loads[resource].add(at.start, mass)

    def remove(self, names: Iterable[str]) -> None:
        """Unschedule tasks: free what their placements took."""
        for name in names:
            at = self.placements.pop(name, None)
            if at is None:
                continue
            task = self.tasks[name]
            for start, end in (*at.sittings, *at.end_sittings):
                self.hands[task.hands].remove(task.place, start, end)
                if task.joined_by is not None:
                    self.hands[task.joined_by].remove(task.place, start, end)
            mode = task.modes[at.mode]
            for resource, amount in mode.demands:
                self.resources[resource].remove(at.start, at.finish, amount)
            for resource, mass in mode.loads:
                if resource in self.loads:
                    self.loads[resource].remove(at.start, mass)

    def commit(self) -> None:
        """Nothing scheduled so far will be unscheduled."""
        for hands in self.hands.values():
            hands.commit()
        for resource in self.resources.values():
            resource.nogoods.commit()
        for loads in self.loads.values():
            loads.nogoods.commit()

    def end_may_wait(self, name: str) -> bool:
        """Whether a scheduled task can finish later and start where it does."""
        at = self.placements[name]
        return bool(at.end_sittings) or self.tasks[name].modes[at.mode].wait_most is not None

    def end_start(self, name: str) -> int:
        """When the end phase of a scheduled task starts."""
        at = self.placements[name]
        return at.end_sittings[0][0] if at.end_sittings else at.finish

    def latest_opening(self, key: str | None, until: int, length: int) -> int:
        """The last moment up to `until` at which work of a length can begin in its free hours, were the hands free."""
        if key is None:
            return until
        calendar = self.network.calendars[key]
        i = calendar.index(until)
        if not calendar.has(i) or calendar.starts[i] > until:
            i -= 1
        return min(until, calendar.ends[i] - max(length, LAST)) if i >= 0 else 0

    def earliest(self, task: Task) -> Placement | None:
        """The feasible placement of the mode in which the least is late, and of those the first to finish, whatever greatest lags say."""
        earliest, ends, bound = self._earliest_start(task)
        if len(task.modes) == 1:
            return self._in_mode(task, 0, earliest, self.horizon, ends, bound) if self._possible(task.modes[0]) else None
        best: Placement | None = None
        least = 0
        for number, mode in enumerate(task.modes):
            latest = self.horizon if best is None or least else min(self.horizon, best.finish - task.begin - mode.hold - task.end - 1)
            if self._possible(mode) and latest >= earliest:
                found = self._in_mode(task, number, earliest, latest, ends, bound)
                if found is not None and (best is None or (self._late(task, found), found.finish) < (least, best.finish)):
                    best, least = found, self._late(task, found)
        return best

    def _late(self, task: Task, at: Placement) -> int:
        """The seconds that one placement of a task is late, that its end waits too long, and that what it follows cannot wait for it."""
        late = seconds_late(task, at) + wait_late(task, at)
        for relation in self.greatest_lags.get(task.id, ()):
            before = self.placements.get(relation.before)
            if before is None:
                continue
            over = relation.lag_between(before, at) - (relation.greatest or 0)
            if relation.from_finish and over > 0:
                over -= max(0, (self.tasks[relation.before].modes[before.mode].wait_most or 0) - before.waited())
            late += HARD * max(0, over)
        return late

    def _earliest_start(self, task: Task, early: bool = False) -> tuple[int, int, Bound]:
        """The earliest start and the earliest start of the end phase after all predecessors, and which of them bound the start.

        With `early`, as much sooner as relations allow to what was published.
        """
        earliest, ends, bound = task.release, max(task.end_release, self.delayed_ends.get(task.id, 0)), ("release", "")
        if task.begun:
            return earliest, ends, bound
        delayed = self.delayed_starts.get(task.id, 0)
        if delayed > earliest:
            earliest, bound = delayed, ("greatest lag", "")
        for relation in self.predecessors.get(task.id, ()):
            before = self.placements.get(relation.before)
            if before is None:
                continue
            if relation.kind == USUAL:
                moment = before.finish + relation.least
            else:
                moment = (before.finish if relation.from_finish else before.start) + relation.least
                if relation.of_finish:
                    ends = max(ends, moment - task.end)
                    moment = moment - task.shortest() if not task.end else earliest
            if early:
                moment -= relation.early
            if moment > earliest:
                earliest, bound = moment, ("after", relation.before)
        return earliest, ends, bound

    def _possible(self, mode: Mode) -> bool:
        return all(amount <= self.resources[name].capacity for name, amount in mode.demands)

    def _in_mode(self, task: Task, number: int, earliest: int, latest: int, ends: int, bound: Bound) -> Placement | None:
        """The first placement in a mode that starts from `earliest` to `latest`, and whose end phase starts no sooner than `ends`.

        Where its end would wait too long for hands it starts later, if it ends no later for that.
        """
        mode, start, waiting = task.modes[number], earliest, None
        while start <= latest:
            begin = self._sittings(task, task.begin_calendar, start, task.begin)
            if begin is None:
                return waiting
            begins = begin[0][0] if begin else self._opening(task.begin_calendar, start)
            if begins is None:
                return waiting
            if begins > start:
                start, bound = begins, ("hands", "") if begin else ("window", "")
            done = (begin[-1][1] if begin else start + task.worked) + mode.hold
            end = self._sittings(task, task.end_calendar, max(done, ends), task.end)
            if end is None:
                return waiting
            finish = end[-1][1] if end else max(done, ends) if mode.wait_most is not None else done
            if waiting is not None and finish > waiting.finish:
                return waiting
            free, resource = self._resources_free(mode, start, finish) if not task.begun else (start, "")
            if free > start:
                start, bound = free, ("resource", resource)
                continue
            found = Placement(start, finish, done, begin, end, number, bound)
            over = wait_late(task, found)
            if not over or task.begun:
                return found
            start, waiting, bound = start + over, found, ("hands" if end else "greatest lag", "")
        return waiting

    def _opening(self, key: str | None, after: int) -> int | None:
        """When a task without hands-on work at its start may start."""
        if key is None:
            return after
        calendar = self.network.calendars[key]
        i = calendar.index(after)
        return max(after, calendar.starts[i]) if calendar.has(i) else None

    def _sittings(self, task: Task, key: str | None, after: int, length: int) -> tuple[Interval, ...] | None:
        """Hands-on work in one sitting; long work in several, where one would have to wait a day for a free span that takes it."""
        if not length:
            return ()
        if task.joined_by is not None:
            start = self._with_both(task, task.joined_by, key, after, length)
            return None if start is None else ((start, start + length),)
        hands = self.hands[task.hands].at(task.place)
        if key is None:
            start = hands.earliest(None, after, length, self.horizon)
            return None if start is None else ((start, start + length),)
        calendar = self.network.calendars[key]
        i = calendar.index(after)
        if not calendar.has(i):
            return None
        last = max(after, calendar.starts[i]) + WITHIN * DAY - 1
        start = hands.earliest(calendar, after, length, self.horizon) if calendar.takes(length, i, last) else None
        if start is None or (length >= LONG_WORK and start > after + DAY):
            several = hands.sittings(calendar, after, length, self.horizon)
            if several is not None and (start is None or several[-1][1] + DAY <= start + length):
                return several
        return None if start is None else ((start, start + length),)

    def _with_both(self, task: Task, other: str, key: str | None, after: int, length: int) -> int | None:
        """When two have their hands free for a piece of work."""
        calendar = self.network.calendars[key] if key is not None else None
        hands = [self.hands[whose].at(task.place) for whose in (task.hands, other)]
        start: int | None = after
        while start is not None:
            first = hands[0].earliest(calendar, start, length, self.horizon)
            start = hands[1].earliest(calendar, first, length, self.horizon) if first is not None else None
            if start == first:
                return start
        return None

    def _resources_free(self, mode: Mode, start: int, finish: int) -> tuple[int, str]:
        """The first moment from which every demand of the mode is free, and the resource that was waited for."""
        moment, name = start, ""
        for resource, amount in mode.demands:
            free = self.resources[resource].earliest(start, finish - start, amount) if finish > start else start
            if free > moment:
                moment, name = free, resource
        for resource, mass in mode.loads:
            free = self.loads[resource].earliest(start, mass) if resource in self.loads else start
            if free > moment:
                moment, name = free, resource
        return moment, name


class Relaxation(PartialSchedule):
    """A schedule in which no task takes hands or room from another: each stands where it would stand alone."""

    def add(self, task: Task, at: Placement) -> None:
        """Schedule a task and occupy nothing."""
        self.placements[task.id] = at

    def remove(self, names: Iterable[str]) -> None:
        """Unschedule tasks."""
        for name in names:
            self.placements.pop(name, None)

    def _late(self, task: Task, at: Placement) -> int:
        """Nothing: what finishes first is taken, for a bound is wanted that no schedule comes under."""
        return 0
