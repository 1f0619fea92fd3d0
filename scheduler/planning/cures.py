"""What would cure a limit that is not met: the smallest change of each kind that a person can make, judged by the whole planner.

A change is made to the yard or to a harvest, and all is planned again from the plan in force: what is offered holds when it is done.
Kinds: free minutes before the moment at which the chain that comes too late has to begin, a day kept free, more room in the equipment it
uses, a colder freezer, somebody else who takes a card too, the keeper in place of somebody, fewer frames of a lot cut now. Sizes are sought
with a glance, which spends little on the search, and what these find is planned in full; a kind that they find of no use is planned in full
at its largest and at a smaller size where nothing else is offered, with what helps other late work that has the same hands, and so is every
kind where a glance finds the limit kept with nothing changed. So "none" is said only where all kinds, two sizes of each and all days were
planned in full. What is spent is counted in schedules, of which one planning may make several, and bounded by counts that fall with the size
of the plan.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from functools import cached_property
from typing import NamedTuple

from scheduler.facts.equipment import FREEZER
from scheduler.local_time import DAY, HOUR
from scheduler.planning.changes import (
    AWAKE,
    MINUTES,
    Change,
    awake,
    colder,
    counted,
    doing,
    free_day,
    free_minutes,
    keeping_whole,
    moment_of,
    more_room,
    rounded,
    taking,
)
from scheduler.planning.draft import Draft
from scheduler.planning.incumbent import in_force
from scheduler.planning.network import Network, Placement
from scheduler.planning.objective import COMFORT, WEIGHTS
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.priority import DISTANT, Priorities
from scheduler.planning.problem import Problem
from scheduler.quantities import Statement

MORE_TIME = (2 * HOUR, 4 * HOUR)  # and where the work itself is not enough, so much [s]; assumed
DAYS_TRIED = 5  # days before a limit that might be kept free
ROOM = (0.05, 0.1, 0.15, 0.2, 0.3, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0)  # more room, as shares of what there is
SETTINGS = (-20.0, -23.0)  # of a freezer [°C]; the last is -10 °F, set a day ahead of a large load (West Virginia University Extension); -20 assumed
GROUPS = 3  # chains for which cures are sought, those that lose most first
GLANCES, FULL = 2_200, 1_400  # tasks scheduled in all, without the search and with it; assumed, as are the next lines
FEWEST, MOST_GLANCES, MOST_FULL = 2, 20, 14  # schedules
OFFERED = 3  # cures of one task, which are enough to choose from
SOON = 60  # s until a person has made a change, at the least; assumed
CARDS = 2  # for which somebody else is tried
Planner = Callable[[Problem, bool], tuple[Plan, int]]  # of a problem, and whether in full; and how many schedules it took


class Kind(NamedTuple):
    """Changes of one kind: each more of the same than the one before, or, not `nested`, others, the likeliest first."""

    changes: Sequence[Change]
    nested: bool = True


class ToCure(NamedTuple):
    """What was planned: the drafts, their network with its schedule and priorities, and the plan it makes."""

    drafts: Sequence[Draft]
    network: Network
    placed: Mapping[str, Placement]
    priorities: Priorities
    plan: Plan


def cures(problem: Problem, found: ToCure, planned: Planner) -> dict[str, list[Statement]]:
    """For each task that misses a limit the changes that cure it, none where none of any kind does.

    A task for which not all kinds could be tried is left out. `planned` makes the plan of a changed problem and counts the schedules it makes.
    """
    return _Search(problem, found, planned).run()


def late_tasks(network: Network, placed: Mapping[str, Placement], as_of: int) -> dict[str, int]:
    """The limit that each late task misses, of those still to come [s since 1970]."""
    found = {}
    for task in network.tasks:
        limits = [limit for limit in (task.due, task.deadline) if limit is not None]
        if limits and not task.fixed and task.id in placed and placed[task.id].finish > min(limits) > as_of:
            found[task.id] = min(limits)
    return found


class _Search:
    """The changes tried, and what came of them."""

    def __init__(self, problem: Problem, found: ToCure, planned: Planner) -> None:
        self.problem, self.planned = problem, planned
        drafts, self.network, self.placed, self.priorities, self.plan = found
        self.drafts = {draft.id: draft for draft in drafts}
        self.before = in_force(self.plan)._replace(changed=True) if problem.asks else None  # what a ledger will have in force by then
        self.late = late_tasks(self.network, self.placed, problem.as_of)
        count = max(1, len(self.network.tasks))
        self.quick = max(FEWEST, min(MOST_GLANCES, GLANCES // count))  # schedules left to make
        self.full = max(FEWEST, min(MOST_FULL, FULL // count))
        self.found: dict[str, dict[str, Statement]] = {}
        self.tried: dict[tuple[Statement, bool, int], Plan] = {}  # with a change, whether in full, and how much later it is made [s]
        self.spent = False  # a planning was refused, for none was left

    def run(self) -> dict[str, list[Statement]]:
        """The cures by task."""
        tasks = self.priorities.tasks
        order = sorted(self.late, key=lambda name: (-WEIGHTS[tasks[name].loss], self.late[name], name))
        useless: dict[str, list[Kind]] = {}
        for name in order:
            if name not in self.found and len(useless) < GROUPS:
                useless[name] = self._sought(name)
        for name, kinds in useless.items():
            if name not in self.found:
                self._tried_in_full(name, kinds)
        return {name: list(changes.values()) for name, changes in self.found.items()}

    @cached_property
    def _unchanged(self) -> Plan:
        """A glance at the problem as it is, which is one of them."""
        return self._planned(self.problem._replace(in_force=None), full=False)

    def _sought(self, name: str) -> list[Kind]:
        """Look for cures of one late task, and note what else they cure; returns the kinds that are still to be tried in full.

        Those are what a glance finds no cure among, whose cure does not hold in full, or that nothing was left for; all, where a glance finds the task
        in time with nothing changed.
        """
        useless: list[Kind] = []
        if self.quick > FEWEST and self._is_cured(name, self._unchanged, self.problem.as_of):
            return list(self._kinds(name))
        for kind in self._kinds(name):
            found, self.spent = self._smallest(name, kind), False
            if found is not None:
                self._confirm(name, kind.changes[found:] if kind.nested else kind.changes[found : found + 1])
            if self.spent or kind.changes[0].kind not in self.found.get(name, ()):
                useless.append(kind)
            if len(self.found.get(name, ())) >= OFFERED:
                break
        return useless

    def _tried_in_full(self, name: str, kinds: Iterable[Kind]) -> None:
        """Try the largest change of each kind in full, then a smaller one and the other days; none cures only where all could be tried."""
        tried = (*kinds, *self._relief(name))
        for kind in tried:
            change = kind.changes[-1 if kind.nested else 0]
            if self._judged(change, full=True) is None:
                return
            if self._cures(name, change):
                self._confirm(name, [kind.changes[len(kind.changes) // 2], change] if kind.nested else [change])
                if name in self.found:
                    return
        tried = (*(kind for kind in tried[::-1] if kind.nested), *(kind for kind in tried if not kind.nested))
        for kind in tried:  # more room may lead to larger loads, which take longer
            for change in [kind.changes[len(kind.changes) * 2 // 3]] if kind.nested else kind.changes[1:]:
                if self._judged(change, full=True) is None:
                    return
                if self._cures(name, change) and self._note(change, name):
                    return
        self.found.setdefault(name, {})

    def _smallest(self, name: str, kind: Kind) -> int | None:
        """The number of the smallest change of a kind that cures by a quick planning; None where none does."""
        if not kind.nested:
            return next((i for i, change in enumerate(kind.changes) if self._cures(name, change, full=False)), None)
        if not self._cures(name, kind.changes[-1], full=False):
            return None
        low, high = 0, len(kind.changes) - 1
        while low < high:
            middle = (low + high) // 2
            if self._cures(name, kind.changes[middle], full=False):
                high = middle
            else:
                low = middle + 1
        return high

    def _confirm(self, name: str, changes: Sequence[Change]) -> None:
        """Note the smallest of these changes that cures in full; tried are the first, the next and the last."""
        for number in dict.fromkeys((0, min(1, len(changes) - 1), len(changes) - 1)):
            if self._cures(name, changes[number]) and self._note(changes[number], name):
                return

    def _note(self, change: Change, name: str) -> bool:
        """Keep a change with every late task of a harvest, or of the yard, that it cures; whether the named one is of them.

        It has to cure them when it is told a minute later too, for the search may find another order then, in which they wait.
        """
        changed, of = change.of(self.problem)._replace(in_force=self.before), self.drafts[name].subject.harvest
        later = change.says, True, SOON
        if later not in self.tried:
            self.tried[later] = self._planned(changed._replace(as_of=changed.as_of + SOON), full=True)
        plans = (self._judged(change, full=True), self.tried[later])
        cured = [
            one
            for one in self.late
            if self.drafts[one].subject.harvest in (None, of) and all(plan and self._is_cured(one, plan, change.since) for plan in plans)
        ]
        for one in cured:
            self.found.setdefault(one, {}).setdefault(change.kind, change.says)
        return name in cured

    def _cures(self, name: str, change: Change, *, full: bool = True) -> bool:
        judged = self._judged(change, full=full)
        return judged is not None and self._is_cured(name, judged, change.since)

    def _judged(self, change: Change, *, full: bool) -> Plan | None:
        """The plan with a change; None where nothing is left to plan with."""
        key = change.says, full, 0
        if key not in self.tried:
            if (self.full if full else self.quick) <= 0:
                self.spent = True
                return None
            self.tried[key] = self._planned(change.of(self.problem)._replace(in_force=self.before if full else None), full=full)
        return self.tried[key]

    def _planned(self, problem: Problem, *, full: bool) -> Plan:
        """The plan of a changed problem, counted."""
        found, spent = self.planned(problem, full)
        if full:
            self.full -= spent
        else:
            self.quick -= spent
        return found

    def _is_cured(self, name: str, plan: Plan, since: int) -> bool:
        """Whether a task is in time in a plan with a change since a moment, and nothing else is worse off for it."""
        if since >= self.late[name]:
            return False
        now = {task.id: task for task in plan.tasks}
        was = {task.id: task for task in self.plan.tasks}
        task = now.get(name)
        own = [task] if task is not None else [one for one in plan.tasks if (one.rule, one.harvest, one.lot) == _of(was[name])]
        if not all(one.has_time and not _late(one) for one in own):
            return False
        least: dict[tuple[str, str, str | None], int] = {}
        for one in self.plan.tasks:
            least[_of(one)] = max(least.get(_of(one), 0), _late(one))
        worse = (one for one in plan.tasks if _late(one) > (_late(was[one.id]) if one.id in was else least.get(_of(one), 0)) + _allowed(one))
        return next(worse, None) is None and _without_time(plan) <= _without_time(self.plan)

    def _kinds(self, name: str) -> Iterator[Kind]:
        """The changes that might cure a late task, by kind, what is easiest first."""
        behind = self._behind(name)
        whose: dict[str, str] = {}
        for one in behind:
            task = self.priorities.tasks[one]
            if (task.begin or task.end) and task.hands not in whose:
                whose[task.hands] = one
        for one in whose.values():
            yield from self._minutes(one)
        yield from self._others(behind)
        for one in whose.values():
            yield from self._days(name, one)
        yield from self._rooms(self._chain(name))
        yield from self._colder(self._chain(name))
        yield from self._whole_frames(*self._lot(name))

    def _relief(self, name: str) -> Iterator[Kind]:
        """What may free the hands and the room that a task waits for: more room for other late work, fewer frames cut of other lots."""
        own, tasks = self._chain(name), self.priorities.tasks
        others = [one for one in self.late if one not in own and tasks[one].loss != COMFORT]
        lots = dict.fromkeys((*map(self._lot, others), *sorted(map(self._lot, self.drafts), key=lambda lot: lot[0] != self._lot(name)[0])))
        kinds = [kind for one in others for kind in self._rooms(self._chain(one))] + [kind for lot in lots for kind in self._whole_frames(*lot)]
        tried = {kind.changes[0].kind for kind in (*self._rooms(own), *self._whole_frames(*self._lot(name)))}
        yield from {kind.changes[0].kind: kind for kind in kinds if kind.changes[0].kind not in tried}.values()

    def _lot(self, name: str) -> tuple[str | None, str | None]:
        """The harvest and the lot of a task."""
        subject = self.drafts[name].subject
        return subject.harvest, subject.lot

    def _others(self, behind: Iterable[str]) -> Iterator[Kind]:
        """Somebody else's hands for the cards that come too late, the first of them."""
        cards = dict.fromkeys((draft.card.key, draft.person) for draft in (self.drafts[one] for one in behind) if draft.begin or draft.end)
        drafts = {(draft.card.key, draft.person): draft for draft in (self.drafts[one] for one in behind)}
        for key in list(cards)[:CARDS]:
            draft = drafts[key]
            if draft.person is None:
                for person in self.problem.yard.people:
                    yield Kind((taking(person, draft.card),))
            elif draft.bound and {draft.card.key, draft.card.name} & set(self.problem.yard.people[draft.person].only):
                yield Kind((doing(draft.person, draft.card),))

    def _chain(self, name: str) -> list[str]:
        """A task and all that it waits for, which is still to be done."""
        found, stack = [name], [name]
        while stack:
            for relation in self.priorities.predecessors.get(stack.pop(), ()):
                if relation.before not in found and not self.priorities.tasks[relation.before].fixed and relation.before in self.placed:
                    found.append(relation.before)
                    stack.append(relation.before)
        return found

    def _behind(self, name: str) -> list[str]:
        """The tasks of the chain before a late one, and itself, that start or end too late to keep the limit, the first first."""
        latest, depth, tasks = self.priorities.latest_start, self.priorities.depth, self.priorities.tasks
        chain = [one for one in self._chain(name) if one in self.drafts and latest.get(one, DISTANT) < DISTANT]
        behind = [one for one in chain if self.placed[one].start > latest[one] or self.placed[one].finish > latest[one] + tasks[one].shortest()]
        return sorted(behind, key=lambda one: (depth[one], one)) or [name]

    def _minutes(self, root: str) -> Iterator[Kind]:
        """Minutes before the moment at which the work of a task has to be over."""
        zone, latest, task = self.problem.zone, self.priorities.latest_start[root], self.priorities.tasks[root]
        if latest >= DISTANT:
            return
        at_end = not task.begin or (self.placed[root].start <= latest and task.end > 0)
        hands = task.end if at_end else task.begin
        until = awake(latest + (task.shortest() if at_end else task.begin), zone)
        sizes = sorted({-(-part // MINUTES) * MINUTES for part in (hands // 4, hands // 2, hands, *MORE_TIME) if part})
        since = max(self.problem.as_of, moment_of(datetime.fromtimestamp(until, zone).date(), AWAKE[0], zone))
        if minutes := [free_minutes(self.problem, task.hands or None, until, size) for size in sizes if until - size >= since]:
            yield Kind(minutes)

    def _days(self, name: str, root: str) -> Iterator[Kind]:
        """Whole days, the last before the limit first: there is the longest notice of it."""
        zone, limit = self.problem.zone, self.late[name]
        first, last = (datetime.fromtimestamp(moment, zone).date() for moment in (self.problem.as_of, limit))
        days = [last - timedelta(i) for i in range((last - first).days + 1)]
        if days := [day for day in days if moment_of(day, AWAKE[0], zone) < limit][:DAYS_TRIED]:
            person = self.priorities.tasks[root].hands or None
            yield Kind([free_day(person, day, moment_of(day, AWAKE[0], zone)) for day in days], nested=False)

    def _rooms(self, chain: Iterable[str]) -> Iterator[Kind]:
        used = {resource for name in chain for mode in self.priorities.tasks[name].modes for resource, _ in mode.demands}
        for resource in sorted(used):
            one = self.problem.yard.equipment[resource]
            capacity = self.network.capacities[resource]
            whole = rounded if one.measure in ("space", "volume") else counted
            amounts = dict.fromkeys(whole(capacity * share) for share in ROOM)
            yield Kind([more_room(resource, one.measure or "", capacity, more) for more in amounts])

    def _colder(self, chain: Sequence[str]) -> Iterator[Kind]:
        """A colder setting of the freezers whose loads hold for as long as they take to freeze; of none that has to take one before it is colder."""
        for name in sorted(name for name, one in self.problem.yard.equipment.items() if (one.kind or name) == FREEZER and one.temperature is not None):
            loads = [one for one in self.placed if self._in(one, name) and not self.priorities.tasks[one].fixed]
            slow = any(mode.needed >= mode.hold > 0 for one in chain if one in loads for mode in self.priorities.tasks[one].modes)
            if slow and all(self.placed[one].start >= self.problem.as_of + DAY for one in loads):
                now = self.problem.yard.equipment[name].temperature or 0.0
                if settings := [colder(name, setting) for setting in SETTINGS if setting < now]:
                    yield Kind(settings)

    def _in(self, name: str, resource: str) -> bool:
        return any(one == resource for one, _ in self.priorities.tasks[name].modes[self.placed[name].mode].demands)

    def _whole_frames(self, pull: str | None, lot_id: str | None) -> Iterator[Kind]:
        """Frames of a lot of comb to be cut that are kept whole for now."""
        harvest = next((one for one in self.problem.harvests if one.harvest == pull), None)
        lot = next((one for one in harvest.lots if one.id == lot_id), None) if harvest else None
        cut = [task for task in self.plan.tasks if (task.harvest, task.lot, task.status) == (pull, lot_id, "done")]
        if harvest is not None and lot is not None and lot.kind == "cut comb" and lot.frames > 1 and not any(task.batch is not None for task in cut):
            yield Kind([keeping_whole(harvest.harvest, lot.id, frames) for frames in range(1, lot.frames)])


def _of(task: PlannedTask) -> tuple[str, str, str | None]:
    return task.rule, task.harvest, task.lot


def _late(task: PlannedTask) -> int:
    return max(0, task.finish - task.due) if task.due is not None and task.is_open else 0


def _allowed(task: PlannedTask) -> int:
    """How much later than before a task may be without the change being no cure [s]."""
    return HOUR if task.loss != COMFORT else 24 * HOUR


def _without_time(plan: Plan) -> int:
    return sum(task.status == "impossible" for task in plan.tasks)
