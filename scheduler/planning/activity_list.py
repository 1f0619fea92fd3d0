"""Activity lists, and a pass over one that goes on from the pass before it.

The pass begins where the list first differs from the one before, and ends early where it is certain to cost more than it may.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from scheduler.planning.network import Network, Placement, Precedence, Schedule, Task
from scheduler.planning.objective import Cost, lower_bound, seconds_late, wait_late
from scheduler.planning.partial_schedule import PartialSchedule
from scheduler.planning.priority import Priorities
from scheduler.planning.serial_sgs import UNBOUNDED, RepairBounds, SerialPass

LIST = RepairBounds(delays=1, repeated=3, placements=UNBOUNDED)  # measured: more leaves too few passes


class ActivityList(NamedTuple):
    """The order in which tasks are scheduled, what is done for which greatest lag, and until when starts and end phases are delayed."""

    names: tuple[str, ...]
    lags: Mapping[Precedence, int]
    starts: Mapping[str, int]
    ends: Mapping[str, int]


class ListPass(SerialPass):
    """The last pass, on which the next is built. `costs` are lower bounds by position, counted up from the cost of a relaxation."""

    def __init__(self, network: Network, priorities: Priorities, relaxed: Schedule) -> None:
        super().__init__(PartialSchedule(network, priorities), (), LIST)
        self.relaxed = relaxed
        self.list = ActivityList((), {}, {}, {})
        self.costs: list[Cost] = [lower_bound(network, relaxed)]

    def decode(self, activities: ActivityList, most: Cost | None, stop: int) -> tuple[int, bool]:
        """Schedule the first `stop` tasks of a list until these are scheduled, or cost more than `most` for certain.

        Returns the placements spent, and whether they are all scheduled.
        """
        self._rewind(min(self._same(activities), stop))
        self.list, self.lags = activities, activities.lags
        self.set_list(activities.names)
        self.spent = 0
        for delays, delayed in ((activities.starts, self.partial.delayed_starts), (activities.ends, self.partial.delayed_ends)):
            delayed.update((name, until) for name, until in delays.items() if self.index[name] >= self.position)
        while self.position < stop:
            made = self.step()
            if made is None:
                del self.costs[self.position + 1 :]
                continue
            self.costs.append(self._cost(self.costs[-1], *made))
            if most is not None and self.costs[-1] > most:
                return self.spent, False
        return self.spent, True

    def _cost(self, cost: Cost, task: Task, found: Placement | None, lags_late: int) -> Cost:
        """The cost with the placement of a task in place of the one it has in the relaxation."""
        relaxed = self.relaxed.get(task.id)
        if relaxed is None:
            return cost
        if found is None:
            return cost.plus(task.loss, unplaced=1, late=-seconds_late(task, relaxed), finish=-relaxed.finish)
        more = lags_late + wait_late(task, found)
        if found.finish == relaxed.finish and not more:
            return cost
        return cost.plus(task.loss, late=seconds_late(task, found) - seconds_late(task, relaxed) + more, finish=found.finish - relaxed.finish)

    def _same(self, activities: ActivityList) -> int:
        """The number of positions at which nothing differs from the list before."""
        was = self.list
        same_lags, same_delays = activities.lags == was.lags, activities.starts == was.starts and activities.ends == was.ends
        for i, (name, before) in enumerate(zip(activities.names[: self.position], was.names, strict=False)):
            if name != before:
                return i
            if not same_delays and (activities.starts.get(name) != was.starts.get(name) or activities.ends.get(name) != was.ends.get(name)):
                return i
            if not same_lags and any(activities.lags.get(relation) != was.lags.get(relation) for relation in self.partial.greatest_lags.get(name, ())):
                return i
        return self.position

    def _rewind(self, to: int) -> None:
        """Unschedule all positions from one on, and those before it that were delayed for the sake of one that is unscheduled."""
        again = True
        while again:
            again = False
            for delay in self.delays:
                if delay.cause >= to > delay.position:
                    to, again = delay.position, True
        while self.delays and self.delays[-1].cause >= to:
            self.undo_delay()
        self.unschedule_from(to)
        del self.costs[to + 1 :]
        for name in self.names[to:]:
            self.partial.delayed_starts.pop(name, None)
            self.partial.delayed_ends.pop(name, None)
        self.broken = {relation: position for relation, position in self.broken.items() if position < to}
