"""The serial schedule generation scheme (Kolisch 1996, Eur. J. Oper. Res. 90:320-333), with an unscheduling step for greatest lags.

Tasks are scheduled one after another, each at the earliest time that its predecessors, the hands, its windows and the resources allow. Where
a greatest lag would break, the task that it counts from is delayed, and all from that task on is scheduled again. The repairs are bounded by
a count, not a clock, so the result repeats. A limit that cannot be kept stays broken for the verifier to name; nothing is left out but what
has no time at all, and what is in or behind a circle of relations.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import NamedTuple

from scheduler.planning.network import Network, Placement, Precedence, Task
from scheduler.planning.objective import HARD, WEIGHTS, lag_late, seconds_late, wait_late
from scheduler.planning.partial_schedule import PartialSchedule
from scheduler.planning.priority import Priorities, priorities_of

KEEP, WITHIN_HOURS, IGNORE = range(3)  # what is done for a greatest lag: delay as far as it asks, no further than free hours allow, or not at all
UNBOUNDED = 1 << 60


class RepairBounds(NamedTuple):
    """How much one pass may spend on greatest lags."""

    delays: int  # of one task
    repeated: int  # list positions scheduled again
    placements: int  # made in all, after which lags break


COMPONENT = RepairBounds(delays=24, repeated=UNBOUNDED, placements=2000)


class Delay(NamedTuple):
    """A task delayed until a moment for the sake of one later in the list, and until when it was before."""

    position: int
    cause: int  # the position of the task that came too late
    name: str
    of_end: bool  # only its end phase is delayed
    until: int
    previous: int | None

    @property
    def repeated(self) -> int:
        """How many list positions are scheduled again for it."""
        return self.cause - self.position + 1


class SerialPass:
    """One pass over a list of tasks. `lags` says what is done for which greatest lag; those not in it are kept."""

    def __init__(self, partial: PartialSchedule, names: Sequence[str], bounds: RepairBounds) -> None:
        self.partial, self.bounds = partial, bounds
        self.lags: Mapping[Precedence, int] = {}
        self.broken: dict[Precedence, int] = {}  # greatest lags that broke at first, and the position at which they did
        self.delays: list[Delay] = []
        self.delays_of: Counter[str] = Counter()
        self.position = self.spent = self.repeated = 0
        self.set_list(names)

    def set_list(self, names: Sequence[str]) -> None:
        """The list to schedule; it is the same as before up to the present position."""
        self.names = names
        self.index = {name: i for i, name in enumerate(names)}

    def run(self) -> None:
        """Schedule the whole list."""
        while self.position < len(self.names):
            self.step()

    def step(self) -> tuple[Task, Placement | None, int] | None:
        """Schedule the next task, where it has a time; returns it with the seconds that greatest lags are late, or None where it went back."""
        partial = self.partial
        task = partial.tasks[self.names[self.position]]
        found = partial.earliest(task)
        self.spent += 1
        late = 0
        if found is not None:
            for relation in partial.greatest_lags.get(task.id, ()):
                before = partial.placements.get(relation.before)
                if before is None or (over := relation.lag_between(before, found) - (relation.greatest or 0)) <= 0:
                    continue
                delay = self._delay(relation, over)
                if delay is not None:
                    self._go_back(delay)
                    return None
                late += HARD * over
            partial.add(task, found)
        self.position += 1
        return task, found, late

    def _delay(self, relation: Precedence, over: int) -> Delay | None:
        """The delay of its predecessor that keeps a greatest lag which is `over` by so many seconds, where one is to be had."""
        name, partial, bounds = relation.before, self.partial, self.bounds
        if name not in self.index:
            return None
        self.broken.setdefault(relation, self.position)
        if self.spent >= bounds.placements or self.repeated >= bounds.repeated:
            return None
        how = self.lags.get(relation, KEEP)
        if how == IGNORE or partial.tasks[name].begun or self.delays_of[name] >= bounds.delays:
            return None
        task = partial.tasks[name]
        of_end = relation.from_finish and partial.end_may_wait(name)
        now = partial.end_start(name) if of_end else partial.placements[name].start
        until = now + over
        if how == WITHIN_HOURS:
            key, length = (task.end_calendar, task.end) if of_end else (task.begin_calendar, task.begin)
            until = partial.latest_opening(key, until, length)
            if until <= now:
                return None
        delayed = partial.delayed_ends if of_end else partial.delayed_starts
        return Delay(self.index[name], self.position, name, of_end, until, delayed.get(name))

    def _go_back(self, delay: Delay) -> None:
        """Delay a task, and unschedule it and all after it in the list."""
        self._delayed(delay)[delay.name] = delay.until
        self.delays.append(delay)
        self.delays_of[delay.name] += 1
        self.repeated += delay.repeated
        self.unschedule_from(delay.position)

    def undo_delay(self) -> None:
        """Take back the last delay."""
        delay = self.delays.pop()
        self.delays_of[delay.name] -= 1
        self.repeated -= delay.repeated
        if delay.previous is None:
            del self._delayed(delay)[delay.name]
        else:
            self._delayed(delay)[delay.name] = delay.previous

    def _delayed(self, delay: Delay) -> dict[str, int]:
        return self.partial.delayed_ends if delay.of_end else self.partial.delayed_starts

    def unschedule_from(self, position: int) -> None:
        """Unschedule the list from a position on."""
        self.partial.remove(reversed(self.names[position : self.position]))
        self.position = position


class ComponentCost(NamedTuple):
    """What the placements of a component cost, to be compared."""

    lateness: int
    lags: int  # of it, what greatest lags are late
    finishes: int


def construct(network: Network, priorities: Priorities | None = None, only: Collection[str] | None = None) -> dict[str, Placement]:
    """One pass over the components of a network by priority.

    `priorities` are those of a network with the same tasks and relations, where they were worked out already. Where `only` some tasks are
    asked for, the pass ends with the last of them: what has less priority does not move it.
    """
    priorities = priorities or priorities_of(network)
    components = priorities.components()
    if only is not None:
        wanted = {priorities.component[name] for name in only if name in priorities.component}
        components = components[: max((number for number, component in enumerate(components, 1) if component in wanted), default=0)]
    partial = PartialSchedule(network, priorities)
    schedule_components(partial, priorities, components)
    return partial.placements


def schedule_components(partial: PartialSchedule, priorities: Priorities, components: Iterable[str]) -> None:
    """Schedule components one after another. Greatest lags are kept by repair, unless that makes more late than it mends."""
    for component in components:
        members = tuple(name for name in priorities.members[component] if not partial.tasks[name].fixed)
        if len(members) == 1:
            _schedule_plainly(partial, members)
        elif members:
            _schedule_component(partial, members)


def _schedule_component(partial: PartialSchedule, members: tuple[str, ...]) -> None:
    partial.commit()
    _schedule_plainly(partial, members)
    plain = component_cost(partial, members)
    if not plain.lags:
        return
    first = {name: partial.placements[name] for name in members if name in partial.placements}
    partial.remove(reversed(members))
    SerialPass(partial, members, COMPONENT).run()
    if component_cost(partial, members) > plain:
        partial.remove(reversed(members))
        for name, at in first.items():
            partial.add(partial.tasks[name], at)


def _schedule_plainly(partial: PartialSchedule, members: Iterable[str]) -> None:
    """Schedule tasks with no regard to greatest lags."""
    for name in members:
        found = partial.earliest(partial.tasks[name])
        if found is not None:
            partial.add(partial.tasks[name], found)


def component_cost(partial: PartialSchedule, members: tuple[str, ...]) -> ComponentCost:
    """What the placements of tasks cost in a partial schedule."""
    tasks, placements = partial.tasks, partial.placements
    late = sum(
        WEIGHTS[tasks[name].loss] * (seconds_late(tasks[name], placements[name]) + wait_late(tasks[name], placements[name]))
        for name in members
        if name in placements
    )
    lags = sum(WEIGHTS[tasks[name].loss] * lag_late(relation, tasks, placements) for name in members for relation in partial.greatest_lags.get(name, ()))
    return ComponentCost(late + lags, lags, sum(placements[name].finish for name in members if name in placements))
