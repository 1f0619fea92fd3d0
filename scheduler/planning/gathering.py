"""Fewer sittings from the same work: steps of one place brought together where that makes nothing late and hardly anything later.

The search counts evenings. What a person lives with is finer: comb cut two hours before it is drained is two appointments where it could be
one, and a count at the hives between two jobs in the honey room is two walks where it could be none. So, once the search is over, neighbouring
steps change places, and a step moves on to the one it could be done with, as long as each change saves a sitting.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from operator import attrgetter
from typing import NamedTuple

from scheduler.local_time import DAY, HOUR
from scheduler.planning.network import Network, Placement, Schedule, Task
from scheduler.planning.objective import COMFORT, EVENING, SOON, WEIGHTS, lag_late, seconds_late, wait_late
from scheduler.planning.partial_schedule import PartialSchedule
from scheduler.planning.priority import Priorities
from scheduler.planning.sittings import GAP, LONGEST, Step, joined

AHEAD = 21 * DAY  # s from the moment of the plan: what is later is hardly ever done as planned; DESIGN's horizon of a calendar
APART = DAY + 12 * HOUR  # a step moves no further than this, which is to the end of the evening after, from the morning too [s]; assumed
SHARE = 24  # the part of its time to a due date that a task of the goods may give away for a sitting; assumed
PUT_OFF = 6  # tasks that are put off for a change, at most
ROUNDS = 200  # changes that are taken, at most


class WorkAt(NamedTuple):
    """What decides whether the steps of a task may share a sitting, as `sittings.Work` has it; `way` in seconds."""

    place: str
    way: int
    handles: tuple[str, ...]
    sun_tied: bool


class _Change(NamedTuple):
    """Steps and when they would start, in order of these moments."""

    steps: tuple[Step, ...]
    starts: tuple[int, ...]


class _Run(NamedTuple):
    """Steps after each of which the next may go on, in one sitting or several: where it starts, how many these are, the longest stretch of work [s]."""

    start: int
    steps: tuple[Step, ...]
    sittings: int
    longest: int


class Gathering:
    """A schedule and the work of its tasks, changed step by step. `kept` are tasks that stay where they are."""

    def __init__(self, network: Network, priorities: Priorities, placed: Schedule, work: Mapping[str, WorkAt], kept: Collection[str] = ()) -> None:
        self.priorities, self.tasks, self.work, self.kept = priorities, priorities.tasks, work, kept
        self.partial = PartialSchedule(network, priorities)
        for name in sorted(placed, key=lambda name: (placed[name].start, name)):
            if name not in self.partial.placements:
                self.partial.add(self.tasks[name], placed[name])
        self.first = placed
        self.apart = max(GAP, 2 * max((one.way for one in work.values()), default=0))  # s without work after which nothing goes on, wherever it is
        self.known: dict[tuple[Step, ...], _Run] = {}

    def run(self, as_of: int) -> dict[str, Placement]:
        """The schedule, gathered as far as `AHEAD` of a moment [s since 1970]."""
        taken = 0
        for whose in sorted({task.hands for task in self.tasks.values()}):
            while taken < ROUNDS and self._improve(whose, as_of):
                taken += 1
        for name, at in list(self.partial.placements.items()):
            if at is not self.first[name]:
                self._bind(name, at)
        return self.partial.placements

    def _bind(self, name: str, at: Placement) -> None:
        """Say what keeps a task from being sooner: what kept it where it was, what it waits for, or the work that it was brought to."""
        task, partial = self.tasks[name], self.partial
        partial.remove((name,))
        sooner = partial.earliest(task)
        if at.start == self.first[name].start:
            bound_by = self.first[name].bound_by
        else:
            bound_by = sooner.bound_by if sooner is not None and sooner.start == at.start else ("in one go", "")
        partial.add(task, replace(at, bound_by=bound_by))

    def _improve(self, whose: str, as_of: int) -> bool:
        """Take the change that saves most sittings, and of those what puts least off; whether there was one."""
        steps = sorted((step for step in self._steps(whose, self.partial.placements) if as_of <= step.start < as_of + AHEAD), key=_order)
        sittings, runs = joined(self.work, steps), self._runs(steps)
        found: list[tuple[int, int, int, _Change]] = []
        for i, one in enumerate(sittings):
            for change in (*self._in_turn(one, sittings[i + 1] if i + 1 < len(sittings) else ()), *self._together(one, sittings[i + 1 :])):
                if all(self._may_move(step) for step in change.steps) and (saved := self._saved(steps, runs, change)) > 0:
                    found.append((-saved, self._put_off(change), len(found), change))
        return any(self._taken(change) for *_, change in sorted(found))

    def _put_off(self, change: _Change) -> int:
        """How much later its steps are, in all, what would be lost counted by how soon it is wanted [s]."""
        later = ((step, start - step.start) for step, start in zip(change.steps, change.starts, strict=True) if start > step.start)
        return sum(SOON[self.tasks[step.task].loss] * late for step, late in later)

    def _steps(self, whose: str, placements: Mapping[str, Placement]) -> Iterator[Step]:
        for name, at in placements.items():
            task = self.tasks[name]
            if task.hands == whose and task.joined_by is None and not task.fixed and name in self.work:
                for phase, spans in (("begin", at.sittings), ("end", at.end_sittings)):
                    for number, (start, end) in enumerate(spans, 1):
                        yield Step(name, phase if number == 1 else f"{phase}-{number}", start, end)

    def _may_move(self, step: Step) -> bool:
        """Whether a step is one stretch of work that nothing keeps where it is."""
        at = self.partial.placements[step.task]
        spans = at.sittings if step.phase == "begin" else at.end_sittings
        return len(spans) == 1 and step.task not in self.kept and not (self.tasks[step.task].begun and step.phase == "begin")

    def _together(self, one: Sequence[Step], later: Sequence[Sequence[Step]]) -> Iterator[_Change]:
        """The last step of a sitting, or all of it, moved on to just before or after a step of a later one, or to where that begins, which then waits."""
        for moved in dict.fromkeys((tuple(one[-1:]), tuple(one))):
            length = moved[-1].end - moved[0].start
            for number, other in enumerate(later):
                if other[0].start - moved[0].start > APART:
                    break
                for start in (moment for step in other for moment in (step.start - length, step.end)):
                    if start > moved[0].start:
                        yield _shifted(moved, start)
                first, then = _shifted(moved, other[0].start), _shifted(_pressed(later[number:], length), other[0].start + length)
                yield _Change((*first.steps, *then.steps), (*first.starts, *then.starts))

    def _in_turn(self, one: Sequence[Step], following: Sequence[Step]) -> Iterator[_Change]:
        """The end of a sitting and the next sitting, or its first step, in the other order, where they follow each other without a break."""
        if following and 0 <= following[0].start - one[-1].end <= GAP:
            for k in range(len(one)):
                yield _turned(one[k:], following)
                if len(following) > 1:
                    yield _turned(one[k:], following[:1])

    def _saved(self, steps: Sequence[Step], runs: Sequence[_Run], change: _Change) -> int:
        """How many sittings fewer the steps, in these runs, would make; none where hands would have no rest for too long that had."""
        moved = {step: Step(step.task, step.phase, start, start + step.end - step.start) for step, start in zip(change.steps, change.starts, strict=True)}
        first, last = min(min(change.starts), change.steps[0].start), max(max(change.starts), change.steps[-1].start)
        over = max(last, *(step.end for step in moved.values()))
        touched = runs[bisect_right(runs, first, key=_start) - 1 : bisect_right(runs, over + self.apart, key=_start)]
        would_be = self._runs(sorted((moved.get(step, step) for run in touched for step in run.steps), key=_start))
        if (longest := max(run.longest for run in would_be)) > LONGEST:
            near = steps[bisect_left(steps, first - DAY, key=_start) : bisect_right(steps, last + DAY, key=_start)]
            if longest > max(run.longest for run in self._runs(near)):
                return 0
        return sum(run.sittings for run in touched) - sum(run.sittings for run in would_be)

    def _runs(self, steps: Sequence[Step]) -> list[_Run]:
        """Steps by their start as runs of work between which nothing goes on; a run is remembered, for a change touches few."""
        runs: list[_Run] = []
        begin = over = 0
        for i, (_, _, start, end) in enumerate(steps):
            if start - over > self.apart and i > begin:
                runs.append(self._run(tuple(steps[begin:i])))
                begin = i
            if end > over:
                over = end
        return [*runs, self._run(tuple(steps[begin:]))] if steps else runs

    def _run(self, steps: tuple[Step, ...]) -> _Run:
        if (known := self.known.get(steps)) is None:
            known = self.known[steps] = _Run(steps[0].start, steps, len(joined(self.work, steps)), _longest(steps))
        return known

    def _taken(self, change: _Change) -> bool:
        """Make a change where it is possible, saves a sitting after all, and nothing is later for it than it may be; whether it was made."""
        partial = self.partial
        was = dict(partial.placements)
        moments = {(step.task, step.phase): start for step, start in zip(change.steps, change.starts, strict=True)}
        moved = list(dict.fromkeys(step.task for step in change.steps))
        names = [*moved, *self._carried(moved)]
        partial.remove(names)
        put_off = False
        for name in names:
            at = was[name]
            start = moments.get((name, "begin"), at.start if name in moved else None)
            end = moments.get((name, "end"), at.end_sittings[0][0] if at.end_sittings else None)
            found = self._placed(name, at, start, end)
            if found is None and (name, "end") not in moments and end is not None:
                found, put_off = self._placed(name, at, start, None), True  # the work after its hold is put off with it
            if found is None:
                break
            partial.add(self.tasks[name], found)
        done = all(name in partial.placements for name in names) and self._followed(names, was, put_off=put_off)
        if done and self._late(names, partial.placements) <= self._late(names, was) and all(map(self._patient, names)):
            return True
        partial.remove(names)
        for name in names:
            partial.add(self.tasks[name], was[name])
        return False

    def _followed(self, names: list[str], was: Mapping[str, Placement], *, put_off: bool) -> bool:
        """Put off what can no longer follow where it is, to as soon as it may; `names` gains it. Whether it could, and a sitting is saved all the same."""
        partial, moved = self.partial, len(names)
        for name in names:  # which grows
            for one in self.priorities.successors.get(name, ()):
                if one.after in partial.placements and one.lag(partial.placements) < one.least - one.early:
                    task = self.tasks[one.after]
                    if one.after in names[:moved] or len(names) - moved >= PUT_OFF or not self._may_be_put_off(task, self.tasks[names[0]].hands):
                        return False
                    if one.after not in names:
                        names.append(one.after)
                    partial.remove((one.after,))
                    found = self._placed(one.after, was[one.after], None, None)
                    if found is None:
                        partial.add(task, was[one.after])
                        return False
                    partial.add(task, found)
        if len(names) == moved and not put_off:
            return True
        if any(
            one.lag(partial.placements) < one.least - one.early
            for name in names
            for one in self.priorities.successors.get(name, ())
            if one.after in partial.placements
        ):
            return False
        whose = self.tasks[names[0]].hands
        now, before = (self._runs(sorted(self._steps(whose, placements), key=_start)) for placements in (partial.placements, was))
        fewer = sum(run.sittings for run in now) < sum(run.sittings for run in before)
        return fewer and max(run.longest for run in now) <= max(LONGEST, *(run.longest for run in before))

    def _may_be_put_off(self, task: Task, whose: str) -> bool:
        """Whether nothing keeps a task where it is, and nobody else's evening changes for it."""
        if task.id in self.kept or task.fixed or task.begun or task.joined_by is not None:
            return False
        return task.hands == whose or not (task.begin or task.end)

    def _placed(self, name: str, was: Placement, start: int | None, end: int | None) -> Placement | None:
        """A task in the mode it had, at a start, or as soon as it may, and with the work after its hold at a moment; None where that is not possible."""
        delayed_starts, delayed_ends = self.partial.delayed_starts, self.partial.delayed_ends
        if start is not None:
            delayed_starts[name] = start
        if end is not None:
            delayed_ends[name] = end
        found = self.partial.earliest(self.tasks[name])
        delayed_starts.pop(name, None)
        delayed_ends.pop(name, None)
        if found is None or found.mode != was.mode or found.start != (found.start if start is None else start):
            return None
        return found if end is None or found.end_sittings[0][0] == end else None

    def _carried(self, moved: Collection[str]) -> Iterator[str]:
        """What follows some tasks and begins by itself, such as a limit or draining: it moves with them."""
        free = self.partial.placements.keys() - {*moved, *self.kept}
        for name in dict.fromkeys(one.after for before in moved for one in self.priorities.successors.get(before, ())):
            task = self.tasks[name]
            if name in free and not (task.begin or task.fixed or task.begun):
                yield name

    def _late(self, names: Collection[str], placements: Mapping[str, Placement]) -> int:
        """What is late of some tasks and of what follows them, weighted by what is lost."""
        priorities = self.priorities
        own = sum(
            WEIGHTS[self.tasks[name].loss] * (seconds_late(self.tasks[name], placements[name]) + wait_late(self.tasks[name], placements[name]))
            for name in names
        )
        relations = dict.fromkeys(one for name in names for one in (*priorities.predecessors.get(name, ()), *priorities.successors.get(name, ())))
        return own + sum(WEIGHTS[self.tasks[one.after].loss] * lag_late(one, self.tasks, placements) for one in relations)

    def _patient(self, name: str) -> bool:
        """Whether a task ends hardly later than at first: comfort by as much as a step may move, the goods by little of what they have to their due date.

        Goods that others wait for may be later than those that nothing follows, for these others stay where they are.
        """
        task, awaited = self.tasks[name], name in self.priorities.successors
        most = APART if task.loss == COMFORT else EVENING if awaited else EVENING // SOON[task.loss]
        if task.due is not None and task.loss != COMFORT:
            most = min(most, max(0, task.due - self.first[name].finish) // SHARE)
        return self.partial.placements[name].finish - self.first[name].finish <= most


_start = attrgetter("start")


def _order(step: Step) -> tuple[int, int, str]:
    return step.start, step.end, step.key


def _longest(steps: Sequence[Step]) -> int:
    """The longest work without a break, wherever it is [s]."""
    longest = began = over = 0
    for step in sorted(steps, key=lambda step: step.start):
        if step.start - over > GAP:
            began = step.start
        over = max(over, step.end)
        longest = max(longest, over - began)
    return longest


def _pressed(sittings: Sequence[Sequence[Step]], later: int) -> list[Step]:
    """The steps of the first sitting, and of those after it that it would run into if it began so much later [s]."""
    steps = list(sittings[0])
    for one in sittings[1:]:
        if one[0].start >= steps[-1].end + later:
            break
        steps += one
    return steps


def _shifted(steps: Sequence[Step], start: int) -> _Change:
    """A run of steps, from another moment on."""
    return _Change(tuple(steps), tuple(start + step.start - steps[0].start for step in steps))


def _turned(first: Sequence[Step], second: Sequence[Step]) -> _Change:
    """Two runs of steps in the other order, from where the first began."""
    ahead, behind = _shifted(second, first[0].start), _shifted(first, first[0].start + second[-1].end - second[0].start)
    return _Change((*ahead.steps, *behind.steps), (*ahead.starts, *behind.starts))


def gathered(
    network: Network, priorities: Priorities, placed: Schedule, work: Mapping[str, WorkAt], as_of: int, kept: Collection[str] = ()
) -> dict[str, Placement]:
    """A schedule with as few sittings as small changes make of it; nothing is later than a limit that was not, and no task of `kept` moves."""
    return Gathering(network, priorities, placed, work, kept).run(as_of)
