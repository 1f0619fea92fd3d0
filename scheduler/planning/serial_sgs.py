"""Times for a network: serial schedule generation (Kolisch 1996, Eur. J. Oper. Res. 90:320-333) with repair of greatest lags.

Units of tasks are taken in the order of order.py; each task gets the earliest time its predecessors, the hands, its windows and the
resources allow. Where a greatest lag would break, the task it hangs on is moved later and the rest of its unit is placed again. The number
of repairs is bounded by a count, not a clock, so the result repeats. A limit that can not be kept is left standing for the verifier to
name; nothing is dropped but what has no time at all, and what is in or behind a circle of relations.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from operator import attrgetter

from scheduler.local_time import DAY, HOUR
from scheduler.planning.network import USUAL, Mode, Network, Placement, Precedence, Schedule, Task, slack
from scheduler.planning.priority import Order, order_of
from scheduler.planning.resource_profiles import Hands, Level, Loads

HORIZON = 800 * DAY  # a season and the next spring, with room for a queue
REPAIRS = 24  # times one task is moved later for the sake of a greatest lag
REPLACED = 2000  # placements that the repair of one unit may spend
LAST = 900  # before a span of free hours ends, the last moment at which something that takes no time is begun [s]; assumed
LONG_WORK = 2 * HOUR  # hands-on work that is rather divided into sittings than put off by a day [s]; assumed
WITHIN = 400  # days in which a free span for the whole of it is looked for
MUST = 4  # a second past a deadline or a greatest lag weighs as much as this many past a due date; assumed


def schedule(network: Network, previous: Mapping[str, int] | None = None) -> dict[str, Placement]:
    """Place every task that has a time; those that have none are missing from the answer.

    A small network is improved by a bounded search, which prefers to leave tasks at their starts in `previous`.
    """
    from scheduler.planning.local_search import improved

    return improved(construct(network), previous)


def construct(network: Network, order: Order | None = None, only: Collection[str] | None = None) -> Construction:
    """One pass of schedule generation.

    `order` is that of a network with the same tasks and relations, where it was worked out already. Where `only` some tasks are asked for,
    the pass ends with the last of them: what comes after it in the order does not move it.
    """
    order = order or order_of(network)
    placing = Placing(network, order)
    units = order.units()
    if only is not None:
        wanted = {order.unit[name] for name in only if name in order.unit}
        units = units[: max((number for number, unit in enumerate(units, 1) if unit in wanted), default=0)]
    for unit in units:
        placing.place_unit(unit)
    return placing.result()


@dataclass(frozen=True, slots=True)
class Construction:
    """A schedule as the constructive scheme made it."""

    network: Network
    order: Order
    placed: dict[str, Placement]
    horizon: int


class Placing:
    """One pass of schedule generation and what it has placed so far."""

    def __init__(self, network: Network, order: Order, last: int | None = None) -> None:
        self.network, self.order = network, order
        self.tasks, self.into = order.tasks, order.into
        self.hands: defaultdict[str, Hands] = defaultdict(Hands)
        self.levels = {name: Level(capacity) for name, capacity in network.capacities.items()}
        self.loads = {name: Loads(most) for name, most in network.daily.items()}
        for name, start, end, amount in network.reserved:
            self.levels[name].take(start, end, amount)
        self.placed: dict[str, Placement] = {}
        self.horizon = horizon(network) if last is None else last
        self.pushed: dict[str, int] = {}  # later starts that repairs asked for
        self.pushed_end: dict[str, int] = {}  # and later starts of the end phase
        for task in network.tasks:
            if task.fixed:
                self.put(task, happened(task))

    def result(self) -> Construction:
        """What was placed."""
        return Construction(self.network, self.order, self.placed, self.horizon)

    def place_unit(self, unit: str) -> None:
        """Place the tasks of a unit. Greatest lags are kept by repair, unless that makes more late than it mends."""
        members = tuple(name for name in self.order.members[unit] if not self.tasks[name].fixed)
        if len(members) == 1:
            self.place(members[0])
        elif members:
            self._together(members)

    def _settle(self) -> None:
        """Nothing placed so far will be taken out again."""
        for hands in self.hands.values():
            hands.settle()
        for level in self.levels.values():
            level.refusals.settle()
        for loads in self.loads.values():
            loads.refusals.settle()

    def put(self, task: Task, at: Placement) -> None:
        """Take what a placement occupies."""
        self.placed[task.id] = at
        hands = self.hands[task.hands]
        for start, end in at.sittings:
            hands.add(start, end)
        for start, end in at.end_sittings:
            hands.add(start, end)
        mode = task.modes[at.mode]
        for resource, amount in mode.demands:
            self.levels[resource].take(at.start, at.finish, amount)
        for resource, mass in mode.loads:
            if resource in self.loads:
                self.loads[resource].take(at.start, mass)

    def take_out(self, names: Iterable[str]) -> None:
        """Give back what placements occupy."""
        for name in names:
            at = self.placed.pop(name, None)
            if at is None:
                continue
            task = self.tasks[name]
            for start, end in (*at.sittings, *at.end_sittings):
                self.hands[task.hands].give_back(start, end)
            mode = task.modes[at.mode]
            for resource, amount in mode.demands:
                self.levels[resource].give_back(at.start, at.finish, amount)
            for resource, mass in mode.loads:
                if resource in self.loads:
                    self.loads[resource].give_back(at.start, mass)

    def place(self, name: str) -> None:
        """Place one task, with no regard to greatest lags."""
        found = self.find(self.tasks[name])
        if found is not None:
            self.put(self.tasks[name], found)

    def _together(self, members: tuple[str, ...]) -> None:
        self._settle()
        self._push_none(members)
        for name in members:
            self.place(name)
        plain = self._cost(members)
        if not plain[1]:
            return
        first = {name: self.placed[name] for name in members if name in self.placed}
        self.take_out(reversed(members))
        self._repair(members)
        if self._cost(members) > plain:
            self.take_out(reversed(members))
            self._push_none(members)
            for name, at in first.items():
                self.put(self.tasks[name], at)

    def _push_none(self, members: Iterable[str]) -> None:
        for name in members:
            self.pushed.pop(name, None)
            self.pushed_end.pop(name, None)

    def _cost(self, members: tuple[str, ...]) -> tuple[int, int, int]:
        """Limits passed, greatest lags passed among them, and finishes, over the members of a unit."""
        placed = [(self.tasks[name], self.placed[name]) for name in members if name in self.placed]
        over = sum(lag_passed(relation, self.tasks, self.placed) for name in members for relation in self.into.get(name, ()) if relation.greatest is not None)
        return sum(limit_passed(task, at) for task, at in placed) + over, over, sum(at.finish for _, at in placed)

    def _repair(self, members: tuple[str, ...]) -> None:
        """Place the members; where a greatest lag breaks, start again from the task it hangs on, later."""
        at = {name: i for i, name in enumerate(members)}
        repairs: dict[str, int] = {}
        i, spent = 0, 0
        while i < len(members):
            task = self.tasks[members[i]]
            found = self.find(task)
            spent += 1
            late = self._too_late(task, found, repairs) if found is not None and spent < REPLACED else None
            if late is not None:
                name, over, of_end = late
                repairs[name] = repairs.get(name, 0) + 1
                if of_end:
                    self.pushed_end[name] = self.resumed(name) + over
                else:
                    self.pushed[name] = self.placed[name].start + over
                self.take_out(reversed(members[at[name] : i]))
                i = at[name]
                continue
            if found is not None:
                self.put(task, found)
            i += 1

    def _too_late(self, task: Task, found: Placement, repairs: Mapping[str, int]) -> tuple[str, int, bool] | None:
        """A predecessor whose greatest lag a placement breaks, by how much, and whether it is enough that its end waits."""
        for relation in self.into.get(task.id, ()):
            before = self.placed.get(relation.before)
            if relation.greatest is None or before is None or self.tasks[relation.before].fixed or self.tasks[relation.before].begun:
                continue
            over = relation.lag({relation.before: before, task.id: found}) - relation.greatest
            if over > 0 and repairs.get(relation.before, 0) < REPAIRS:
                return relation.before, over, relation.from_finish and self.end_may_wait(relation.before)
        return None

    def end_may_wait(self, name: str) -> bool:
        """Whether a placed task can finish later and start where it does."""
        at = self.placed[name]
        return bool(at.end_sittings) or self.tasks[name].modes[at.mode].hold_most is not None

    def latest(self, key: str | None, until: int, length: int) -> int:
        """The last moment up to one at which work of a length can begin in its free hours, were the hands free."""
        if key is None:
            return until
        calendar = self.network.calendars[key]
        i = calendar.index(until)
        if not calendar.has(i) or calendar.starts[i] > until:
            i -= 1
        return min(until, calendar.ends[i] - max(length, LAST)) if i >= 0 else 0

    def resumed(self, name: str) -> int:
        """When the hold of a placed task ends."""
        at = self.placed[name]
        return at.end_sittings[0][0] if at.end_sittings else at.finish

    def find(self, task: Task) -> Placement | None:
        """The placement that finishes first over all modes."""
        earliest, ends, bound = self._earliest(task)
        best: Placement | None = None
        for number, mode in enumerate(task.modes):
            latest = self.horizon if best is None else min(self.horizon, best.finish - task.begin - mode.hold - task.end - 1)
            if self._possible(mode) and latest >= earliest:
                found = self._fit(task, mode, number, earliest, latest, ends, bound)
                if found is not None and (best is None or found.finish < best.finish):
                    best = found
        return best

    def _earliest(self, task: Task) -> tuple[int, int, tuple[str, str]]:
        """The earliest start and the earliest start of the end phase after all predecessors, and which of them bound the start."""
        earliest, ends, bound = task.release, self.pushed_end.get(task.id, 0), ("release", "")
        if task.begun:
            return earliest, ends, bound
        pushed = self.pushed.get(task.id, 0)
        if pushed > earliest:
            earliest, bound = pushed, ("greatest lag", "")
        for relation in self.into.get(task.id, ()):
            before = self.placed.get(relation.before)
            if before is None:
                continue
            if relation.kind == USUAL:
                moment = before.finish + relation.least
            else:
                moment = (before.finish if relation.from_finish else before.start) + relation.least
                if relation.of_finish:
                    ends = max(ends, moment - task.end)
                    moment = moment - task.shortest() if not task.end else earliest
            if moment > earliest:
                earliest, bound = moment, ("after", relation.before)
        return earliest, ends, bound

    def _possible(self, mode: Mode) -> bool:
        return (mode.hold_most is None or mode.hold_most >= mode.hold) and all(amount <= slack(self.network.capacities[name]) for name, amount in mode.demands)

    def _fit(self, task: Task, mode: Mode, number: int, earliest: int, latest: int, ends: int, bound: tuple[str, str]) -> Placement | None:
        """The first placement in a mode that starts from `earliest` to `latest`; hands are back for its end no sooner than `ends`."""
        start = earliest
        while start <= latest:
            begin = self._sittings(task, task.begin_calendar, start, task.begin)
            if begin is None:
                return None
            begins = begin[0][0] if begin else self._opening(task.begin_calendar, start)
            if begins is None:
                return None
            if begins > start:
                start, bound = begins, ("hands", "") if begin else ("window", "")
            done = (begin[-1][1] if begin else start) + mode.hold
            end = self._sittings(task, task.end_calendar, max(done, ends), task.end)
            if end is None:
                return None
            if end and mode.hold_most is not None and end[0][0] - (done - mode.hold) > mode.hold_most:
                start, bound = max(start + 300, end[0][0] - mode.hold_most - task.begin), ("hands", "")
                continue
            finish = end[-1][1] if end else max(done, ends) if mode.hold_most is not None else done
            if mode.hold_most is not None and not end and finish - (done - mode.hold) > mode.hold_most:
                start, bound = finish - mode.hold_most - task.begin, ("greatest lag", "")
                continue
            free, resource = self._free(mode, start, finish) if not task.begun else (start, "")
            if free == start:
                return Placement(start, finish, done, begin, end, number, bound)
            start, bound = free, ("resource", resource)
        return None

    def _opening(self, key: str | None, after: int) -> int | None:
        """When a task without hands-on work at its start may start."""
        if key is None:
            return after
        calendar = self.network.calendars[key]
        i = calendar.index(after)
        return max(after, calendar.starts[i]) if calendar.has(i) else None

    def _sittings(self, task: Task, key: str | None, after: int, length: int) -> tuple[tuple[int, int], ...] | None:
        """Hands-on work in one sitting; long work in several, where one would have to wait a day for a free span that takes it."""
        if not length:
            return ()
        hands, calendar = self.hands[task.hands], self.network.calendars[key] if key is not None else None
        if calendar is not None and not calendar.has(calendar.index(after)):
            return None
        start = hands.earliest(calendar, after, length, self.horizon) if calendar is None or calendar.takes(length, after, WITHIN) else None
        found: tuple[tuple[int, int], ...] | None = None if start is None else ((start, start + length),)
        if calendar is not None and (start is None or (length >= LONG_WORK and start > after + DAY)):
            parts = hands.sittings(calendar, after, length, self.horizon)
            if parts is not None and (start is None or parts[-1][1] + DAY <= start + length):
                found = parts
        return found

    def _free(self, mode: Mode, start: int, finish: int) -> tuple[int, str]:
        """The first moment at which every demand of the mode is free, and the resource that was waited for."""
        moment, name = start, ""
        for resource, amount in mode.demands:
            free = self.levels[resource].earliest(start, finish - start, amount) if finish > start else start
            if free > moment:
                moment, name = free, resource
        for resource, mass in mode.loads:
            free = self.loads[resource].earliest(start, mass) if resource in self.loads else start
            if free > moment:
                moment, name = free, resource
        return moment, name


def horizon(network: Network) -> int:
    """The last moment at which anything is placed."""
    return max(map(attrgetter("release"), network.tasks), default=0) + HORIZON


def happened(task: Task) -> Placement:
    """The placement of a task that was done."""
    start, finish = task.fixed or (0, 0)
    return Placement(start, finish, finish, (), (), 0, ("done", ""))


def limit_passed(task: Task, at: Placement) -> int:
    """Seconds past the due date and the deadline of a task, by weight."""
    if task.fixed:
        return 0
    late = max(0, at.finish - task.due) if task.due is not None else 0
    over = max(0, at.finish - task.deadline) if task.deadline is not None else 0
    return task.weight * (late + MUST * over)


def lag_passed(relation: Precedence, tasks: Mapping[str, Task], placed: Schedule) -> int:
    """Seconds past the greatest lag of a relation, by the weight of the later task."""
    if relation.greatest is None or relation.before not in placed or relation.after not in placed or tasks[relation.after].fixed:
        return 0
    return MUST * tasks[relation.after].weight * max(0, relation.lag(placed) - relation.greatest)


def objective(network: Network, placed: Schedule, previous: Mapping[str, int] | None = None) -> tuple[int, ...]:
    """What a schedule costs, to be compared in order: tasks without a time, limits passed, sum of finishes, days with work, tasks moved.

    Limits passed are weighted seconds after due dates, deadlines and greatest lags. The sum of finishes, not the last finish, is what is made
    early: the last task of a year waits for a date in spring and would hide every other.
    """
    tasks = {task.id: task for task in network.tasks}
    passed = sum(limit_passed(tasks[name], at) for name, at in placed.items())
    passed += sum(lag_passed(relation, tasks, placed) for relation in network.precedences if relation.greatest is not None)
    days = {(tasks[name].hands, start // DAY) for name, at in placed.items() for start, _ in (*at.sittings, *at.end_sittings)}
    moved = sum(1 for name, at in placed.items() if previous.get(name, at.start) != at.start) if previous else 0
    return len(tasks) - len(placed), passed, sum(at.finish for at in placed.values()), len(days), moved
