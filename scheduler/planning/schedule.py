"""Times for a network: serial schedule generation (Kolisch 1996, Eur. J. Oper. Res. 90:320-333) with repair of greatest lags.

Tasks are taken in order of their latest start; each gets the earliest time its predecessors, the hands, its windows and the resources
allow. Where a greatest lag would break, the task it hangs on is moved later and what depends on it is placed again. The number of
repairs is bounded by a count, not a clock, so the result repeats. A limit that can not be kept is left standing for the
verifier to name; nothing is dropped but what has no time at all.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping

from scheduler.planning.network import DAY, Mode, Network, Placement, Precedence, Task
from scheduler.planning.timeline import Hands, Level

HORIZON = 800 * DAY  # a season and the next spring, with room for a queue
REPAIRS = 24  # times one task is moved later for the sake of a greatest lag
UNDATED = 1 << 60


def schedule(network: Network, priority: Mapping[str, int] | None = None) -> dict[str, Placement]:
    """Place every task that has a time; those that have none are missing from the answer. `priority` overrules the order of latest starts."""
    return _Pass(network, priority).run()


def latest_starts(network: Network) -> dict[str, int]:
    """The latest start of each task that keeps every due date behind it, by a backward pass (`UNDATED` where nothing is due)."""
    after: dict[str, list[Precedence]] = {}
    for relation in network.precedences:
        after.setdefault(relation.before, []).append(relation)
    shortest = {task.id: task.shortest() for task in network.tasks}
    latest: dict[str, int] = {}
    for task in reversed(order(network)):
        limits = [limit for limit in (task.due, task.deadline) if limit is not None]
        finish = min(limits, default=UNDATED)
        for relation in after.get(task.id, ()):
            left, _, right = relation.kind.partition(" to ")
            then = latest[relation.after] + (shortest[relation.after] if right == "finish" else 0) - relation.least
            finish = min(finish, then + (shortest[task.id] if left == "start" else 0))
        latest[task.id] = finish - shortest[task.id] if finish < UNDATED // 2 else UNDATED
    return latest


def order(network: Network) -> list[Task]:
    """The tasks with every one after those it follows; ties in the order of the network. Cycles are the rules' fault and refused there."""
    waiting = {task.id: 0 for task in network.tasks}
    after: dict[str, list[str]] = {}
    for relation in network.precedences:
        waiting[relation.after] += 1
        after.setdefault(relation.before, []).append(relation.after)
    by_id = {task.id: task for task in network.tasks}
    ready = [task.id for task in network.tasks if not waiting[task.id]]
    done: list[Task] = []
    for name in ready:
        done.append(by_id[name])
        for follower in after.get(name, ()):
            waiting[follower] -= 1
            if not waiting[follower]:
                ready.append(follower)
    return done


class _Pass:
    """One pass of schedule generation and what it has placed so far."""

    def __init__(self, network: Network, priority: Mapping[str, int] | None) -> None:
        self.network = network
        self.tasks = {task.id: task for task in network.tasks}
        self.into: dict[str, list[Precedence]] = {}
        self.out: dict[str, list[Precedence]] = {}
        for relation in network.precedences:
            self.into.setdefault(relation.after, []).append(relation)
            self.out.setdefault(relation.before, []).append(relation)
        latest = priority or latest_starts(network)
        self.rank = {task.id: (latest[task.id], -task.weight, i) for i, task in enumerate(network.tasks)}
        self.hands = Hands()
        self.levels = {name: Level(capacity) for name, capacity in network.capacities.items()}
        for name, start, end, amount in network.reserved:
            self.levels[name].take(start, end, amount)
        self.placed: dict[str, Placement] = {}
        self.none: set[str] = set()  # tasks without any time
        self.pushed: dict[str, int] = {}  # later starts that repairs asked for
        self.repairs: dict[str, int] = {}
        self.horizon = max((task.release for task in network.tasks), default=0) + HORIZON

    def run(self) -> dict[str, Placement]:
        """Place all tasks in order of rank, as their predecessors are placed."""
        for task in self.network.tasks:
            if task.fixed:
                self._put(task, _happened(task))
        waiting = {name: sum(1 for r in self.into.get(name, ()) if r.before not in self.placed) for name in self.tasks if name not in self.placed}
        ready = [(self.rank[name], name) for name, count in waiting.items() if not count]
        heapq.heapify(ready)
        while ready:
            name = heapq.heappop(ready)[1]
            task = self.tasks[name]
            freed = self._place(task)
            for again in freed:
                waiting[again] = sum(1 for r in self.into.get(again, ()) if not self._settled(r.before))
            ready = [entry for entry in ready if not waiting[entry[1]]] if freed else ready
            if freed:
                ready += [(self.rank[again], again) for again in freed if not waiting[again]]
                heapq.heapify(ready)
                continue
            for relation in self.out.get(name, ()):
                if relation.after in waiting and not self._settled(relation.after):
                    waiting[relation.after] = sum(1 for r in self.into[relation.after] if not self._settled(r.before))
                    if not waiting[relation.after]:
                        heapq.heappush(ready, (self.rank[relation.after], relation.after))
        return self.placed

    def _settled(self, name: str) -> bool:
        return name in self.placed or name in self.none

    def _place(self, task: Task) -> list[str]:
        """Place one task, or move what it hangs on; returns the tasks that have to be placed again."""
        if self._settled(task.id):
            return []
        earliest, bound = self._earliest(task)
        found = self._find(task, earliest, bound)
        if found is None:
            self.none.add(task.id)
            return []
        late = self._too_late(task, found)
        if late is not None:
            return self._move(*late, task.id)
        self._put(task, found)
        return []

    def _earliest(self, task: Task) -> tuple[int, tuple[str, str]]:
        """The release time after all predecessors, and which of them bound it."""
        earliest, bound = task.release, ("release", "")
        pushed = self.pushed.get(task.id, 0)
        if pushed > earliest:
            earliest, bound = pushed, ("greatest lag", "")
        shortest = task.shortest()
        for relation in self.into.get(task.id, ()):
            before = self.placed.get(relation.before)
            if before is None:
                continue
            left, _, right = relation.kind.partition(" to ")
            moment = (before.finish if left == "finish" else before.start) + relation.least - (shortest if right == "finish" else 0)
            if moment > earliest:
                earliest, bound = moment, ("after", relation.before)
        return earliest, bound

    def _find(self, task: Task, earliest: int, bound: tuple[str, str]) -> Placement | None:
        """The placement that finishes first over all modes."""
        best: Placement | None = None
        for number, mode in enumerate(task.modes):
            found = self._fit(task, mode, number, earliest, bound)
            if found is not None and (best is None or found.finish < best.finish):
                best = found
        return best

    def _fit(self, task: Task, mode: Mode, number: int, earliest: int, bound: tuple[str, str]) -> Placement | None:
        start = earliest
        while start <= self.horizon:
            begin = self._sittings(task.begin_calendar, start, task.begin)
            if begin is None:
                return None
            if begin and begin[0][0] > start:
                start, bound = begin[0][0], ("hands", "")
            done = (begin[-1][1] if begin else start) + mode.hold
            end = self._sittings(task.end_calendar, done, task.end)
            if end is None:
                return None
            if end and mode.hold_most is not None and end[0][0] - (done - mode.hold) > mode.hold_most:
                start, bound = max(start + 300, end[0][0] - mode.hold_most - task.begin), ("hands", "")
                continue
            finish = end[-1][1] if end else done
            free, resource = self._free(mode, start, finish)
            if free == start:
                return Placement(start, finish, done, begin, end, number, bound)
            start, bound = free, ("resource", resource)
        return None

    def _sittings(self, key: str | None, after: int, length: int) -> tuple[tuple[int, int], ...] | None:
        """Hands-on work in one sitting where a free span is long enough, else in several."""
        if not length:
            return ()
        calendar = self.network.calendars[key] if key is not None else None
        if calendar is None or length <= calendar.longest(after, 8):
            start = self.hands.earliest(calendar, after, length, self.horizon)
            return None if start is None else ((start, start + length),)
        if calendar.longest(after, 400) >= length:
            start = self.hands.earliest(calendar, after, length, self.horizon)
            if start is not None and start < after + 21 * DAY:
                return ((start, start + length),)
        return self.hands.sittings(calendar, after, length, self.horizon)

    def _free(self, mode: Mode, start: int, finish: int) -> tuple[int, str]:
        """The first moment at which every demand of the mode is free, and the resource that was waited for."""
        moment, name = start, ""
        for resource, amount in mode.demands:
            free = self.levels[resource].earliest(start, finish - start, amount)
            if free > moment:
                moment, name = free, resource
        return moment, name

    def _too_late(self, task: Task, found: Placement) -> tuple[str, int] | None:
        """A predecessor whose greatest lag the placement breaks, and how much later it would have to be."""
        for relation in self.into.get(task.id, ()):
            before = self.placed.get(relation.before)
            if relation.greatest is None or before is None or self.tasks[relation.before].fixed:
                continue
            over = relation.lag({relation.before: before, task.id: found}) - relation.greatest
            if over > 0 and self.repairs.get(relation.before, 0) < REPAIRS:
                return relation.before, before.start + over
        return None

    def _move(self, name: str, start: int, waiting: str) -> list[str]:
        """Take a task and all that follows it out again, so that it starts later; returns what has to be placed anew."""
        self.repairs[name] = self.repairs.get(name, 0) + 1
        self.pushed[name] = start
        out, stack = {waiting}, [name]
        while stack:
            one = stack.pop()
            if one in out and one != waiting or self.tasks[one].fixed:
                continue
            out.add(one)
            self._take_out(one)
            stack += [relation.after for relation in self.out.get(one, ()) if self._settled(relation.after)]
        return sorted(out)

    def _put(self, task: Task, at: Placement) -> None:
        self.placed[task.id] = at
        if not task.fixed:
            for start, end in (*at.sittings, *at.end_sittings):
                self.hands.take(start, end)
        for resource, amount in task.modes[at.mode].demands:
            self.levels[resource].take(at.start, at.finish, amount)

    def _take_out(self, name: str) -> None:
        self.none.discard(name)
        at = self.placed.pop(name, None)
        if at is None:
            return
        for start, end in (*at.sittings, *at.end_sittings):
            self.hands.give_back(start, end)
        for resource, amount in self.tasks[name].modes[at.mode].demands:
            self.levels[resource].take(at.start, at.finish, -amount)


def _happened(task: Task) -> Placement:
    start, finish = task.fixed or (0, 0)
    return Placement(start, finish, finish, (), (), 0, ("done", ""))


def objective(network: Network, placed: Mapping[str, Placement]) -> tuple[int, ...]:
    """What a schedule costs, to be compared in order: lateness by weight, greatest lags broken, sum of finishes, evenings with work.

    Lateness counts seconds after due dates and deadlines; the sum of finishes is over what is placed.
    """
    late = {4: 0, 2: 0, 1: 0}
    for task in network.tasks:
        at = placed.get(task.id)
        limits = [limit for limit in (task.due, task.deadline) if limit is not None]
        if at is not None and limits and not task.fixed:
            late[task.weight] += max(0, at.finish - min(limits))
    broken = sum(_over(relation, placed) for relation in network.precedences if relation.greatest is not None)
    days = {start // DAY for at in placed.values() for start, _ in (*at.sittings, *at.end_sittings)}
    missing = len(network.tasks) - len(placed)
    return missing, late[4], broken, late[2], late[1], sum(at.finish for at in placed.values()), len(days)


def _over(relation: Precedence, placed: Mapping[str, Placement]) -> int:
    if relation.before not in placed or relation.after not in placed or relation.greatest is None:
        return 0
    return max(0, relation.lag(placed) - relation.greatest)


def unplaced(network: Network, placed: Iterable[str]) -> list[Task]:
    """The tasks that have no time."""
    have = set(placed)
    return [task for task in network.tasks if task.id not in have]
