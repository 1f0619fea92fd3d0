"""The problem as data: tasks, precedence relations, renewable resources; and the verifier that a schedule answers to.

Times are whole seconds since 1970 UTC, so every duration here is elapsed time and survives a change of the clocks. A task has three
phases: begin (hands on), hold (nobody needed), end (hands on). With s the start, b, h, e the lengths and f the finish:

    s >= release                                   release time
    begin lies in the begin calendar, end in the end calendar, and no two hands-on phases of the same hands overlap
    between two of them at different places lies the travel of both, for each way leads over the house
    end starts at s + b + h or later               the hold; past s + b + h + wait_most at a cost
    sum of demands over tasks with s <= t < f      <= capacity, for every resource and every t
    sum of loads over tasks with t <= s < t + 24 h <= the daily rating, or one load alone, for every resource and every t
    f <= due                                       may be missed at a cost
    f <= deadline                                  may not be missed
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from scheduler.local_time import DAY
from scheduler.quantities import Statement, elapsed, instant, kilograms, say

Interval = tuple[int, int]
HOUSE = ""  # where every way begins and ends
USUAL = "finish to start"
FROM_FINISH, OF_FINISH = (USUAL, "finish to finish"), ("start to finish", "finish to finish")  # RFC 9253 kinds by the end they speak of
STRETCH = 40  # days worked out at a time: long enough to be rare, short enough to cost nothing in a short plan


class IntervalSet:
    """Disjoint intervals in order; touching ones are joined."""

    def __init__(self) -> None:
        self.starts: list[int] = []
        self.ends: list[int] = []

    def add(self, start: int, end: int) -> None:
        """Add an interval."""
        i = bisect_left(self.ends, start)
        j = bisect_right(self.starts, end)
        if i < j:
            start, end = min(start, self.starts[i]), max(end, self.ends[j - 1])
        self.starts[i:j] = [start]
        self.ends[i:j] = [end]

    def after(self, at: int) -> int:
        """The end of the interval that contains `at`, or `at` itself where none does."""
        i = bisect_right(self.starts, at) - 1
        return max(at, self.ends[i]) if i >= 0 else at


class Calendar:
    """Where in time hands-on work may lie: disjoint intervals in order, worked out a stretch of days at a time.

    `spans` gives the intervals that begin on a day, counted from 1970-01-01; the calendar covers `first` to `last`.
    """

    def __init__(self, first: int, last: int, spans: Callable[[int], Iterable[Interval]]) -> None:
        self.starts: list[int] = []
        self.ends: list[int] = []
        self._day, self._last, self._spans = first, last, spans
        self._too_short: dict[int, IntervalSet] = {}  # length -> runs of interval numbers whose intervals are all shorter

    def has(self, i: int) -> bool:
        """Whether there is an interval number `i`, working out more days where they are needed."""
        while i >= len(self.starts):
            if self._day > self._last:
                return False
            self._work_out(self._day + STRETCH)
        return True

    def index(self, after: int) -> int:
        """The number of the first interval that ends after a moment."""
        if self._day <= after // DAY + 2:
            self._work_out(after // DAY + 2)
        while (not self.ends or self.ends[-1] <= after) and self._day <= self._last:
            self._work_out(self._day + STRETCH)
        return bisect_right(self.ends, after)

    def takes(self, length: int, i: int, last: int) -> bool:
        """Whether one of the intervals from number `i` on that begin up to `last` is so long [s]."""
        i = self.long_enough(i, length, last)
        return self.has(i) and self.starts[i] <= last

    def long_enough(self, i: int, length: int, last: int) -> int:
        """The number of the first interval from number `i` that is so long [s]; of one that begins after `last`, or of none, where there is none.

        Runs of intervals found too short are remembered, so that many short ones are gone through once for each length.
        """
        if i < len(self.starts) and self.ends[i] - self.starts[i] >= length:
            return i
        runs = self._too_short.setdefault(length, IntervalSet())
        first, known = i, runs.after(i)
        i = known
        while self.has(i) and self.starts[i] <= last and not self._at_least(i, length):
            i = runs.after(i + 1)
        if i > known:
            runs.add(first, i)
        return i

    def _at_least(self, i: int, length: int) -> bool:
        if self.ends[i] - self.starts[i] >= length:
            return True
        self.has(i + 1)  # the last interval known may go on into the days to come
        return self.ends[i] - self.starts[i] >= length

    def holds(self, start: int, end: int) -> bool:
        """Whether an interval lies whole inside the calendar."""
        i = self.index(start)
        return self.has(i) and self.starts[i] <= start and end <= self.ends[i]

    def _work_out(self, until: int) -> None:
        while self._day <= min(until, self._last):
            for start, end in self._spans(self._day):
                if self.ends and start <= self.ends[-1]:
                    self.ends[-1] = max(self.ends[-1], end)
                else:
                    self.starts.append(start)
                    self.ends.append(end)
            self._day += 1


@dataclass(frozen=True, slots=True)
class Mode:
    """One way of doing a task: how long it holds and what it occupies (a colder freezer holds shorter)."""

    hold: int
    wait_most: int | None = None  # how long the end may wait for hands once the hold is over, before that costs [s]; not None: it may lie later
    demands: tuple[tuple[str, float], ...] = ()
    loads: tuple[tuple[str, float], ...] = ()  # warm mass put in at the start, by resource [kg]
    needed: int = 0  # the part of the hold that its estimate asks for; what is longer is a floor's [s]


@dataclass(frozen=True, slots=True)
class Task:
    """A task of the network. `begin_calendar` and `end_calendar` are keys of `Network.calendars`; None means any hour."""

    id: str
    begin: int
    end: int
    modes: tuple[Mode, ...]
    release: int
    due: int | None = None
    deadline: int | None = None
    loss: str = "comfort"  # what is lost when it is late: "food safety", "colony", "crop" or "comfort"
    begin_calendar: str | None = None
    end_calendar: str | None = None
    fixed: tuple[int, int] | None = None  # start and finish that already happened
    begun: bool = False  # it runs since its release, and only its end is still to come
    worked: int = 0  # and of it so long was hands-on work before its hold [s]
    end_release: int = 0  # hands end it no sooner than this
    hands: str = ""  # whose hands it takes; each pair does one thing at a time
    joined_by: str | None = None  # whose hands it takes at the same time, where two do it; such work is not divided
    place: str = HOUSE  # where: the house, or a key of `Network.travel`

    @property
    def people(self) -> tuple[str, ...]:
        """Whose hands it takes: of one, or of two at the same time."""
        return (self.hands,) if self.joined_by is None else (self.hands, self.joined_by)

    def shares_hands(self, other: Task) -> bool:
        """Whether one of those whose hands it takes is wanted for another task too."""
        return not set(self.people).isdisjoint(other.people)

    def shortest(self) -> int:
        """The least elapsed time from start to finish."""
        hold = self.modes[0].hold if len(self.modes) == 1 else min(mode.hold for mode in self.modes)
        return self.begin + hold + self.end


@dataclass(frozen=True, slots=True)
class Precedence:
    """`least - early <= (start or finish of after) - (start or finish of before) <= greatest` (RFC 9253 kinds).

    What is placed anew keeps `least`; what stays where it was published may come `early` by so much.
    """

    before: str
    after: str
    kind: str = USUAL
    least: int = 0
    greatest: int | None = None
    early: int = 0

    @property
    def from_finish(self) -> bool:
        """Whether the relation counts from the finish of the earlier task, not from its start."""
        return self.kind in FROM_FINISH

    @property
    def of_finish(self) -> bool:
        """Whether it bounds the finish of the later task, not its start."""
        return self.kind in OF_FINISH

    def lag(self, placed: Mapping[str, Placement]) -> int:
        """The elapsed time between the two ends that the relation speaks of [s]."""
        return self.lag_between(placed[self.before], placed[self.after])

    def lag_between(self, before: Placement, after: Placement) -> int:
        """The same between two placements [s]."""
        return (after.finish if self.of_finish else after.start) - (before.finish if self.from_finish else before.start)


@dataclass(frozen=True, slots=True)
class Network:
    """Tasks, relations, capacities with what is already reserved, and calendars by key."""

    tasks: tuple[Task, ...]
    precedences: tuple[Precedence, ...]
    capacities: Mapping[str, float]
    reserved: tuple[tuple[str, int, int, float], ...] = ()  # resource, from, to, amount
    calendars: Mapping[str, Calendar] = field(default_factory=dict)
    daily: Mapping[str, float] = field(default_factory=dict)  # warm mass that may be put in within any 24 h [kg]
    travel: Mapping[str, int] = field(default_factory=dict)  # from the house to each place that is not at it, one way [s]
    present: tuple[tuple[str, str, int], ...] = ()  # whose hands are known to be at a place at a moment


@dataclass(frozen=True, slots=True)
class Placement:
    """When a task is: its begin sittings, the moment its hold may end, its end sittings, and the mode taken."""

    start: int
    finish: int
    hold_done: int
    sittings: tuple[Interval, ...]  # hands-on work before the hold
    end_sittings: tuple[Interval, ...]  # and after it
    mode: int = 0
    bound_by: tuple[str, str] = ("", "")  # what kept it from being earlier: ("hands", ""), ("after", id), ("resource", name), ("window", "")

    def waited(self) -> int:
        """How long its end waited once the hold was over [s]."""
        return (self.end_sittings[0][0] if self.end_sittings else self.finish) - self.hold_done


Schedule = Mapping[str, Placement]


def violations(network: Network, schedule: Schedule) -> list[Statement]:
    """Every way in which a schedule breaks the network, with whom it is about and by how much; shares nothing with the search that made it."""
    return [
        *_unplaced(network, schedule),
        *_phases(network, schedule),
        *_relations(network, schedule),
        *_hands(network, schedule),
        *_travel(network, schedule),
        *_capacities(network, schedule),
        *_loads(network, schedule),
    ]


def _unplaced(network: Network, schedule: Schedule) -> Iterator[Statement]:
    known = {task.id for task in network.tasks}
    yield from (say("not placed", task=name) for name in sorted(known - set(schedule)))
    yield from (say("not in the network", task=name) for name in sorted(set(schedule) - known))


def _phases(network: Network, schedule: Schedule) -> Iterator[Statement]:
    for task in network.tasks:
        at = schedule.get(task.id)
        if at is None or task.fixed:
            continue
        mode = task.modes[at.mode]
        if at.start < task.release:
            yield say("before its release", task=task.id, by=elapsed(task.release - at.start))
        if at.end_sittings and at.end_sittings[0][0] < task.end_release:
            yield say("before its release", task=task.id, by=elapsed(task.end_release - at.end_sittings[0][0]))
        if task.begun and at.start > task.release:
            yield say("after it began", task=task.id, by=elapsed(at.start - task.release))
        if not task.begin and task.begin_calendar is not None and not network.calendars[task.begin_calendar].holds(at.start, at.start):
            yield say("start outside its window", task=task.id)
        if (at.sittings and at.sittings[0][0] != at.start) or (at.end_sittings and at.end_sittings[-1][1] != at.finish) or at.finish < at.start:
            yield say("apart from its work", task=task.id)
        if sum(b - a for a, b in at.sittings) != task.begin or sum(b - a for a, b in at.end_sittings) != task.end:
            yield say("wrong hands-on time", task=task.id)
        begun = at.sittings[-1][1] if at.sittings else at.start + task.worked
        resumed = at.end_sittings[0][0] if at.end_sittings else at.finish
        if resumed - begun < mode.hold:
            yield say("hold too short", task=task.id, by=elapsed(mode.hold - (resumed - begun)))
        for key, sittings in ((task.begin_calendar, at.sittings), (task.end_calendar, at.end_sittings)):
            if key is not None:
                outside = (a for a, b in sittings if not network.calendars[key].holds(a, b))
                yield from (say("work outside its window", task=task.id, at=instant(a)) for a in outside)
        if task.deadline is not None and at.finish > task.deadline:
            yield say("after its deadline", task=task.id, by=elapsed(at.finish - task.deadline))


def _relations(network: Network, schedule: Schedule) -> Iterator[Statement]:
    fixed = {task.id for task in network.tasks if task.fixed}
    begun = {task.id for task in network.tasks if task.begun}
    for relation in network.precedences:
        if relation.after not in schedule or relation.after in fixed:
            continue
        if relation.before not in schedule:
            if relation.after not in begun:
                yield say("ahead of what has no time", task=relation.after, before=relation.before)
            continue
        lag = relation.lag(schedule)
        least = relation.least - relation.early
        if lag < least:
            yield say("lag too short", task=relation.after, before=relation.before, by=elapsed(least - lag))
        if relation.greatest is not None and lag > relation.greatest:
            yield say("lag too long", task=relation.after, before=relation.before, by=elapsed(lag - relation.greatest))


def _hands(network: Network, schedule: Schedule) -> Iterator[Statement]:
    placed = [(task, schedule[task.id]) for task in network.tasks if task.id in schedule and not task.fixed]
    work = sorted((whose, a, b, task.id) for task, at in placed for whose in task.people for a, b in (*at.sittings, *at.end_sittings))
    for (hands, _, end, one), (same, start, _, other) in pairwise(work):
        if hands == same and start < end:
            yield say("hands needed twice", task=one, other=other, at=instant(start))


def _travel(network: Network, schedule: Schedule) -> Iterator[Statement]:
    """Nobody is at two places at once, nor at the second before the way to it is over."""
    placed = [(task, schedule[task.id]) for task in network.tasks if task.id in schedule and not task.fixed] if network.travel else []
    work = [(whose, a, b, task.place, task.id) for task, at in placed for whose in task.people for a, b in (*at.sittings, *at.end_sittings)]
    work = sorted([*work, *((hands, moment, moment, place, "") for hands, place, moment in network.present)])
    for (hands, _, end, here, one), (same, start, _, there, other) in pairwise(work):
        way = 0 if here == there else network.travel.get(here, 0) + network.travel.get(there, 0)
        if hands == same and way and start - end < way and (one or other):
            yield say("travel too short", task=other or one, before=one or other, by=elapsed(way - (start - end)))


def _capacities(network: Network, schedule: Schedule) -> Iterator[Statement]:
    """What already happened or began, and what the keeper reserved, may overfill a resource; nothing may be planned into it then."""
    changes: dict[str, list[tuple[int, float, int]]] = {name: [] for name in network.capacities}
    for name, start, end, amount in network.reserved:
        changes[name] += [(start, amount, 0), (end, -amount, 0)]
    for task in network.tasks:
        at = schedule.get(task.id)
        if at is None or at.finish <= at.start:
            continue
        planned = int(task.fixed is None and not task.begun)
        for name, amount in task.modes[at.mode].demands:
            changes[name] += [(at.start, amount, planned), (at.finish, -amount, -planned)]
    for name, steps in changes.items():
        level, at_work = 0.0, 0
        steps.sort()
        for i, (moment, change, count) in enumerate(steps):
            level, at_work = level + change, at_work + count
            last = i + 1 == len(steps) or steps[i + 1][0] > moment
            if last and at_work and level > slack(network.capacities[name]):
                yield say("over capacity", resource=name, needed=level, capacity=network.capacities[name], at=instant(moment))
                break


def _loads(network: Network, schedule: Schedule) -> Iterator[Statement]:
    loads: dict[str, list[tuple[int, float, bool]]] = {name: [] for name in network.daily}
    for task in network.tasks:
        if (at := schedule.get(task.id)) is not None:
            for name, mass in task.modes[at.mode].loads:
                loads.setdefault(name, []).append((at.start, mass, not task.fixed and not task.begun))
    for name in network.daily:
        begun = sorted(loads[name])
        for i, (opens, _, _) in enumerate(begun):
            within = [load for load in begun[i:] if load[0] < opens + DAY]
            if len(within) > 1 and any(planned for _, _, planned in within) and sum(mass for _, mass, _ in within) > slack(network.daily[name]):
                loaded, rated = sum(mass for _, mass, _ in within), network.daily[name]
                yield say("over daily load", resource=name, loaded=kilograms(loaded), rated=kilograms(rated), at=instant(opens))
                break


def slack(limit: float) -> float:
    """A limit with room for the rounding of sums of floats."""
    return limit * (1 + 1e-9) + 1e-9
