"""The plan in force as the incumbent of the next: repaired by new facts, and replaced only where that is worth what it moves.

Every task that still can stays where it was published, to the minute and in the same freezer. What cannot is placed again, no sooner than
half a day before, into the gaps first (few moves) and in the order of the plan in force second (all that follows shifts). Only where
something differs is more tried: what becomes free draws the goods forward where one ends an hour sooner, and where limits are passed the
search is asked. Its schedule is taken where food safety, colony or crop improves by a quarter of an hour or keeps one limit more, or
comfort improves by an hour, and then again with as little moved as keeps what it gained. What moved and need not goes back. Where nothing
differs nothing is searched, so that planning again what was published gives it again.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace

from scheduler.local_time import DAY, HOUR
from scheduler.planning.draft import InForce, Kept
from scheduler.planning.local_search import LocalSearch, feasible
from scheduler.planning.network import Interval, Network, Placement, Schedule, Task
from scheduler.planning.objective import COMFORT, QUARTER, WEIGHTS, Cost, cost_of, lag_late, seconds_late, wait_late
from scheduler.planning.partial_schedule import Bound, PartialSchedule
from scheduler.planning.plan import Plan
from scheduler.planning.priority import Priorities, priorities_of
from scheduler.planning.serial_sgs import COMPONENT, SerialPass, component_cost

NEAR = 3 * DAY  # what starts later than this comes no earlier, unless what it depends on changed [s]
BACK = DAY // 2  # how much sooner than published a task may be placed that cannot stay [s]; assumed
SOONER = HOUR  # a task of the goods is drawn forward where it ends so much sooner [s]
COMFORT_GAIN = HOUR  # what comfort has to gain for anything to move [s]
GOODS_GAIN = QUARTER  # and the goods; less is the rounding of an evening [s]; assumed
IN_FORCE: Bound = ("in force", "")


def in_force(plan: Plan) -> InForce:
    """A plan as the incumbent of the next."""
    timed = [task for task in plan.tasks if task.is_open and task.alongside is None]
    tasks = {task.id: Kept(task.start, task.finish, task.sittings, task.closing, tuple(name for name, _ in task.occupies), task.release) for task in timed}
    return InForce(tasks, {task.id: task.count for task in plan.tasks if task.batch is not None and task.count})


def replan(network: Network, priorities: Priorities, before: InForce, as_of: int, *, search: bool = True) -> dict[str, Placement]:
    """The schedule that follows from the plan in force; without `search` what can stays and the rest is placed into the gaps, which is all."""
    return _Replanning(network, priorities, before, as_of).run(search=search)


def placed_anew(network: Network, priorities: Priorities, placed: Schedule, names: Collection[str]) -> dict[str, Placement]:
    """A schedule of which some tasks, and all that follows them, are placed again into the gaps; all else of the network stays where it is."""
    stack = [priorities.component[name] for name in names if name in priorities.component]
    again = set(stack)
    while stack:
        for name in priorities.members[stack.pop()]:
            for relation in priorities.successors.get(name, ()):
                if (one := priorities.component.get(relation.after)) is not None and one not in again:
                    again.add(one)
                    stack.append(one)
    partial = PartialSchedule(network, priorities)
    for name in sorted(placed, key=lambda name: placed[name].start):
        if name in priorities.tasks and name not in partial.placements and priorities.component.get(name) not in again:
            partial.add(priorities.tasks[name], placed[name])
    for component in priorities.components():
        if component in again:
            SerialPass(partial, priorities.members[component], COMPONENT).run()
    return partial.placements


class KeepingSchedule(PartialSchedule):
    """A partial schedule in which a task that was published stays where it was, if it can, and comes hardly sooner if it cannot."""

    def __init__(self, network: Network, priorities: Priorities, kept: Mapping[str, Kept], freed: Collection[str]) -> None:
        self.kept, self.freed = kept, freed
        super().__init__(network, priorities)

    def earliest(self, task: Task) -> Placement | None:
        """Where it was published, else the feasible placement that finishes first."""
        return self.as_kept(task) or super().earliest(task)

    def _earliest_start(self, task: Task, early: bool = False) -> tuple[int, int, Bound]:
        earliest, ends, bound = super()._earliest_start(task, early)
        kept = self.kept.get(task.id)
        if kept is not None and not task.begun and task.id not in self.freed and kept.start - BACK > earliest:
            earliest, bound = kept.start - BACK, IN_FORCE
        return earliest, ends, bound

    def as_kept(self, task: Task) -> Placement | None:
        """The placement that the plan in force has for a task, where nothing speaks against it now."""
        kept = self.kept.get(task.id)
        if kept is None or self.delayed_starts.get(task.id, 0) > kept.start:
            return None
        earliest, ends, bound = PartialSchedule._earliest_start(self, task, early=True)
        start, sittings = (earliest, ()) if task.begun else (kept.start, kept.sittings)
        if start < earliest or (sittings and sittings[0][0] != start) or not self._fits(task, task.begin_calendar, sittings, task.begin):
            return None
        if not task.begin and task.begin_calendar is not None and not self.network.calendars[task.begin_calendar].holds(start, start):
            return None
        number = next((i for i, mode in enumerate(task.modes) if tuple(name for name, _ in mode.demands) == kept.resources), 0)
        mode = task.modes[number]
        done = (sittings[-1][1] if sittings else start + task.worked) + mode.hold
        resumes = max(done, ends)
        if not self._possible(mode) or not self._fits(task, task.end_calendar, kept.end_sittings, task.end):
            return None
        if kept.end_sittings:
            finish = kept.end_sittings[-1][1]
            if kept.end_sittings[0][0] < resumes:
                return None
        else:
            finish = max(resumes, kept.finish) if mode.wait_most is not None else done
        if not task.begun and self._resources_free(mode, start, finish)[0] > start:
            return None
        found = Placement(start, finish, done, sittings, kept.end_sittings, number, bound if start == earliest else IN_FORCE)
        return None if self._waits_longer(task, found) else found

    def _fits(self, task: Task, key: str | None, work: Sequence[Interval], length: int) -> bool:
        """Whether work of a length lies in its free hours, and nobody else takes these hands."""
        calendar, hands = self.network.calendars[key] if key is not None else None, [self.hands[whose].at(task.place) for whose in task.people]
        if sum(b - a for a, b in work) != length or (task.joined_by is not None and len(work) > 1):
            return False
        return all((calendar is None or calendar.holds(a, b)) and all(one.free(a, b) for one in hands) for a, b in work)

    def _waits_longer(self, task: Task, found: Placement) -> bool:
        """Whether it follows a task that came sooner by so much that it would now be kept waiting too long."""
        for relation in self.greatest_lags.get(task.id, ()):
            before, was = self.placements.get(relation.before), self.kept.get(relation.before)
            if before is None or relation.greatest is None or relation.lag_between(before, found) <= relation.greatest:
                continue
            if self.tasks[relation.before].fixed:  # over by now: sooner than planned, or as the plan in force knew it
                if task.id in self.freed:
                    return True
            elif was is None or before.finish < was.finish - QUARTER:
                return True
        return False


class _Replanning:
    """What is tried to repair a plan, and what of it is taken."""

    def __init__(self, network: Network, priorities: Priorities, before: InForce, as_of: int) -> None:
        self.network, self.priorities, self.before, self.as_of = network, priorities, before, as_of
        self.tasks = priorities.tasks
        self.kept = {name: kept for name, kept in before.tasks.items() if name in self.tasks and not self.tasks[name].fixed}
        self.starts = {name: kept.start for name, kept in self.kept.items()}
        self.freed = frozenset(name for name, kept in self.kept.items() if self._is_freed(name, kept))
        self.goods = self._of_goods()

    def run(self, *, search: bool = True) -> dict[str, Placement]:
        """The schedule."""
        in_order = self._in_order(self.kept)
        best = self._filled([in_order], self.kept)
        if not search or not self._differs(best):
            return self._with_bounds(best)
        loose = [name for name, at in best.items() if not self.tasks[name].fixed and self.starts.get(name) != at.start]
        if loose:
            goods = [name for name in in_order if name in self.goods]
            first = self._filled([goods, in_order], self.kept, self.goods)
            if self._worth(first, best) or self._sooner(first, best, loose):
                best = first
            shifted = self._shifted()
            if self._worth(shifted, best):
                best = shifted
        best = self._drawn_forward(best)
        if not self._cost(best).limits() <= Cost():
            best = self._searched(best)
        return self._with_bounds(self._put_back(best))

    def _of_goods(self) -> frozenset[str]:
        """What can be placed before all else stays: the goods and what runs already, with their components and all that these wait for."""
        component, before = self.priorities.component, self.priorities.before
        stack = [component[name] for name, task in self.tasks.items() if name in component and (task.begun or task.loss != COMFORT)]
        found = set(stack)
        while stack:
            for one in before.get(stack.pop(), ()):
                if one not in found:
                    found.add(one)
                    stack.append(one)
        return frozenset(name for one in found for name in self.priorities.members[one])

    def _in_order(self, kept: Mapping[str, Kept], first: Collection[str] = ()) -> list[str]:
        """Names in the order of their starts, each after those it follows; what runs already, and some that come first, before the rest."""
        depth = self.priorities.depth
        keys = {name: (not self.tasks[name].begun, name not in first, at.start, depth.get(name, 0)) for name, at in kept.items()}
        return feasible(keys, lambda name: (relation.before for relation in self.priorities.predecessors.get(name, ())))

    def _is_freed(self, name: str, kept: Kept) -> bool:
        """Whether a task may come sooner than it was published: by its own dates, or what it waits for was over sooner."""
        if self.tasks[name].begun:
            return False
        if self.tasks[name].release < kept.release:
            return True
        for relation in self.priorities.predecessors.get(name, ()):
            fixed, was = self.tasks[relation.before].fixed, self.before.tasks.get(relation.before)
            if fixed is not None and was is not None and fixed[1] < was.finish - QUARTER:
                return True
        return False

    def _differs(self, found: Schedule) -> bool:
        """Whether anything is otherwise than the plan in force has it, so that more is worth trying."""
        if self.before.changed or self.freed:
            return True
        for name, was in self.before.tasks.items():
            task = self.tasks.get(name)
            over = task.fixed[1] if task is not None and task.fixed else self.as_of if task is None else was.finish
            if over < was.finish - QUARTER:
                return True
        for name, at in found.items():
            if self.tasks[name].fixed:
                continue
            if name not in self.kept or at.start != self.kept[name].start or at.finish != self.kept[name].finish:
                return True
        return False

    def _filled(self, stages: Iterable[Sequence[str]], kept: Mapping[str, Kept], goods: Collection[str] = ()) -> dict[str, Placement]:
        """What can stay stays; the rest is placed into the gaps. With `goods` these are all placed before anything else stays."""
        partial = KeepingSchedule(self.network, self.priorities, kept, self.freed)
        for stage in stages:
            for name in stage:
                if name in partial.placements:
                    continue
                task = self.tasks[name]
                if all(one.before in partial.placements for one in self.priorities.predecessors.get(name, ())) or task.begun:
                    at = partial.as_kept(task) or (partial.earliest(task) if task.begun else None)
                    if at is not None:
                        partial.add(task, at)
            if goods:
                self._place(partial, (name for name in self.priorities.components() if self.priorities.members[name][0] in goods))
        self._place(partial, self.priorities.components())
        return partial.placements

    def _shifted(self) -> dict[str, Placement]:
        """All in the order of the plan in force: what cannot stay pushes what comes after it."""
        starts, earliest = self.starts, self.priorities.earliest_start
        moments = {one: min(starts.get(name, earliest[name]) for name in members) for one, members in self.priorities.members.items()}
        order = feasible({one: (moments[one], *self.priorities.key[one][:4]) for one in moments}, lambda one: self.priorities.before.get(one, ()))
        partial = KeepingSchedule(self.network, self.priorities, self.kept, self.freed)
        self._place(partial, sorted(order, key=lambda one: not self.tasks[one].begun))
        return partial.placements

    def _place(self, partial: PartialSchedule, components: Iterable[str]) -> None:
        """Place what is not placed yet of some components, with what their greatest lags ask for."""
        for component in components:
            names = tuple(name for name in self.priorities.members[component] if name not in partial.placements and not self.tasks[name].fixed)
            if names:
                SerialPass(partial, names, COMPONENT).run()

    def _drawn_forward(self, schedule: dict[str, Placement]) -> dict[str, Placement]:
        """Goods of the days near by, and those whose time was freed, where one of them ends an hour sooner and nothing with it later."""
        partial = KeepingSchedule(self.network, self.priorities, {}, ())
        for name in sorted(schedule, key=lambda name: schedule[name].start):
            if name not in partial.placements:
                partial.add(self.tasks[name], schedule[name])
        for component in sorted(self.priorities.members, key=lambda one: schedule[one].start if one in schedule else 0):
            names = tuple(name for name in self.priorities.members[component] if self._may_come_sooner(name, partial.placements))
            if not any(self.tasks[name].loss != COMFORT for name in names):
                continue
            was, cost = {name: partial.placements[name] for name in names}, component_cost(partial, names)
            partial.remove(reversed(names))
            SerialPass(partial, names, COMPONENT).run()
            now = {name: partial.placements[name] for name in names if name in partial.placements}
            gained = any(self._gains(name, was, now) for name in now)
            if gained and len(now) == len(was) and all(now[name].finish <= was[name].finish for name in now) and component_cost(partial, names) <= cost:
                continue
            partial.remove(reversed(names))
            for name in names:
                partial.add(self.tasks[name], was[name])
        return partial.placements

    def _gains(self, name: str, was: Schedule, now: Schedule) -> bool:
        """Whether a task of the goods ends an hour sooner, and nothing that waits for it stays where it was: else it would only lie."""
        following = [one.after for one in self.priorities.successors.get(name, ()) if one.after in was and one.after in now and self.tasks[one.after].begin]
        sooner = self.tasks[name].loss != COMFORT and now[name].finish <= was[name].finish - SOONER
        return sooner and all(now[one].start < was[one].start for one in following)

    def _may_come_sooner(self, name: str, schedule: Schedule) -> bool:
        task, at = self.tasks[name], schedule.get(name)
        if at is None or task.fixed or task.begun:
            return False
        return at.start <= self.as_of + NEAR or name in self.freed or name not in self.kept

    def _searched(self, best: dict[str, Placement]) -> dict[str, Placement]:
        """What the search finds, where it is worth what it moves; then with all that can stay where it was."""
        network = replace(self.network, tasks=tuple(self._held(task, best) for task in self.network.tasks))
        search = LocalSearch(network, priorities_of(network, self.priorities), self.starts, best)
        if self._cost(best).limits() <= search.bound.limits():
            return best
        found = search.run()
        if not self._worth(found, best):
            return best
        late = self._and_before(name for name in best if self._lateness(name, found) < self._lateness(name, best))
        kept = {**self._as_kept(best), **self._as_kept({name: found[name] for name in late if name in found})}
        settled = self._filled([self._in_order(kept, late)], kept)
        return found if self._worth(found, settled) else settled

    def _put_back(self, schedule: Schedule) -> dict[str, Placement]:
        """What moved and need not, where it was published: comfort, and goods that were sooner there, as long as nothing is later for it."""
        partial = KeepingSchedule(self.network, self.priorities, self.kept, self.freed)
        for name in sorted(schedule, key=lambda name: schedule[name].start):
            if name not in partial.placements:
                partial.add(self.tasks[name], schedule[name])
        still = (name for name in self.kept if name in schedule and not self.tasks[name].begun)
        moved = [name for name in still if abs(schedule[name].start - self.kept[name].start) > QUARTER]
        moved.sort(key=lambda name: schedule[name].start)
        for name in (*moved, *reversed(moved)):
            task, now = self.tasks[name], partial.placements[name]
            late = self._around(name, partial.placements)
            partial.remove((name,))
            was = partial.as_kept(task)
            partial.add(task, was if was is not None and (task.loss == COMFORT or was.finish < now.finish) else now)
            if not self._follows(name, partial.placements) or self._around(name, partial.placements) > late:
                partial.remove((name,))
                partial.add(task, now)
        return partial.placements

    def _follows(self, name: str, placements: Schedule) -> bool:
        """Whether all that follows a task starts late enough after it: what stays where it was published may be early."""
        return all(
            one.lag(placements) >= one.least - (one.early if self._stays(one.after, placements) else 0)
            for one in self.priorities.successors.get(name, ())
            if one.after in placements
        )

    def _stays(self, name: str, placements: Schedule) -> bool:
        return name in self.kept and placements[name].start == self.kept[name].start

    def _around(self, name: str, placements: Schedule) -> int:
        """How late a task and what follows it are, by the lags between them too, weighted by what is lost [s]."""
        names = {name, *(one.after for one in self.priorities.successors.get(name, ()) if one.after in placements)}
        return sum(WEIGHTS[self.tasks[one].loss] * self._lateness(one, placements) for one in names)

    def _held(self, task: Task, best: Schedule) -> Task:
        """A task that comes no sooner than the plan in force has it: far off, in time, and nothing it depends on changed."""
        start = self.starts.get(task.id, 0)
        far = start > self.as_of + NEAR and task.id not in self.freed and not task.begun and not task.fixed
        return replace(task, release=max(task.release, start)) if far and task.id in best and not self._lateness(task.id, best) else task

    def _as_kept(self, schedule: Schedule) -> dict[str, Kept]:
        return {
            name: Kept(at.start, at.finish, at.sittings, at.end_sittings, tuple(one for one, _ in self.tasks[name].modes[at.mode].demands), 0)
            for name, at in schedule.items()
            if not self.tasks[name].fixed
        }

    def _and_before(self, names: Iterable[str]) -> frozenset[str]:
        """The names and all that they wait for."""
        stack = list(names)
        found = set(stack)
        while stack:
            for relation in self.priorities.predecessors.get(stack.pop(), ()):
                if relation.before not in found and relation.before in self.tasks:
                    found.add(relation.before)
                    stack.append(relation.before)
        return frozenset(found)

    def _lateness(self, name: str, schedule: Schedule) -> int:
        """The seconds that a task is late in a schedule."""
        task, at = self.tasks[name], schedule.get(name)
        if at is None:
            return 1 << 60
        lags = self.priorities.greatest_lags.get(name, ())
        return seconds_late(task, at) + wait_late(task, at) + sum(lag_late(lag, self.tasks, schedule) for lag in lags)

    def _cost(self, schedule: Schedule) -> Cost:
        return cost_of(self.network, schedule, self.starts)

    def _worth(self, new: Schedule, old: Schedule) -> bool:
        """Whether a schedule improves on another by as much as a move is worth."""
        one, other = self._cost(new), self._cost(old)
        if one.unplaced != other.unplaced:
            return one.unplaced < other.unplaced
        gain = (other.lateness - other.comfort) - (one.lateness - one.comfort)
        if gain >= GOODS_GAIN * WEIGHTS["crop"] or (gain >= 0 and other.comfort - one.comfort >= COMFORT_GAIN):
            return True
        return gain > 0 and self._missed(new) < self._missed(old)

    def _missed(self, schedule: Schedule) -> int:
        """How many limits of the goods are missed: each is told, and what cures it is looked for, however few its minutes."""
        return sum(1 for name in schedule if self.tasks[name].loss != COMFORT and self._lateness(name, schedule))

    def _sooner(self, new: Schedule, old: Schedule, loose: Iterable[str]) -> bool:
        """Whether some of the goods that cannot stay end an hour sooner, none of these later, and comfort loses no hour for it."""
        goods = [name for name in loose if self.tasks[name].loss != COMFORT and name in new]
        one, other = self._cost(new), self._cost(old)
        if one.unplaced > other.unplaced or one.lateness - one.comfort > other.lateness - other.comfort or one.comfort - other.comfort >= COMFORT_GAIN:
            return False
        return any(new[name].finish <= old[name].finish - SOONER for name in goods) and all(new[name].finish <= old[name].finish for name in goods)

    def _with_bounds(self, schedule: dict[str, Placement]) -> dict[str, Placement]:
        """The schedule with what keeps each task from being sooner: what it waits for, or only that it stands so in the plan in force."""
        partial = KeepingSchedule(self.network, self.priorities, {}, ())
        for name in sorted(schedule, key=lambda name: schedule[name].start):
            if name not in partial.placements:
                partial.add(self.tasks[name], schedule[name])
        for name, at in schedule.items():
            task = self.tasks[name]
            if task.fixed or name not in self.kept:
                continue
            partial.remove((name,))
            sooner = PartialSchedule.earliest(partial, task)
            bound = sooner.bound_by if sooner is not None and sooner.start == at.start else IN_FORCE
            partial.add(task, replace(at, bound_by=bound))
        return partial.placements
