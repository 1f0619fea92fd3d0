"""The objective: what a schedule costs, as a record of named parts that is compared as a whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from scheduler.local_time import HOUR
from scheduler.planning.network import Network, Placement, Precedence, Schedule, Task

WEIGHTS = {"food safety": 400, "colony": 300, "crop": 200, "comfort": 1}  # of a second late, by what is lost; assumed
COMFORT = "comfort"
QUARTER = 15 * 60  # a task that starts by no more than this otherwise has not moved [s]; DESIGN
SOON = {"food safety": 4, "colony": 3, "crop": 2, "comfort": 1}  # how much sooner what would be lost is finished, where nothing is late; assumed
EVENING = 6 * HOUR  # an evening of work saved is worth finishing comfort so much later, in all [s]; assumed
APART = 4 * HOUR  # between two evenings of work at least [s]; assumed
HARD = 4  # a second past a deadline or a greatest lag counts as much as this many past a due date; assumed


@dataclass(slots=True)
class Cost:
    """What a schedule costs; of two the lesser is preferred.

    Tasks without a time count first, then lateness, then little moved, then few evenings of work and early finishes. Lateness is one weighted
    sum, not four parts compared in turn: so a minute of the crop outweighs hours of paper, as a keeper wants it, but not months of it, and food
    safety may wait minutes for what saves the colony days. Evenings and finishes are one sum too, else an evening saved would put off weeks of
    work that nothing presses. The sum of finishes is what is made early, the goods before the paper, and not the last of them: the last task
    of a year waits for a date in spring and would hide every other.
    """

    unplaced: int = 0  # tasks without a time
    food_safety: int = 0  # seconds late of tasks whose lateness loses food safety; those past a deadline or a greatest lag count `HARD` times
    colony: int = 0
    crop: int = 0
    comfort: int = 0
    moved: int = 0  # tasks that start by more than a quarter of an hour otherwise than in the schedule before
    sittings: int = 0  # times that each pair of hands comes to work: evenings, mostly
    finishes: int = 0  # sum of the moments at which tasks finish [s since 1970], each counted by `SOON`
    _preference: tuple[int, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Put the parts in the order of preference."""
        self._preference = self.unplaced, self.lateness, self.moved, self.finishes + EVENING * self.sittings, self.sittings

    @property
    def lateness(self) -> int:
        """The seconds late, weighted by what is lost."""
        weights = WEIGHTS
        first = weights["food safety"] * self.food_safety + weights["colony"] * self.colony
        return first + weights["crop"] * self.crop + weights["comfort"] * self.comfort

    def __lt__(self, other: Cost) -> bool:
        """Whether it is preferred to another cost."""
        return self._preference < other._preference

    def __le__(self, other: Cost) -> bool:
        """Whether it is preferred to another cost, or as good."""
        return self._preference <= other._preference

    def limits(self) -> Cost:
        """The cost of missed limits alone, whatever else they cost: tasks without a time, and lateness."""
        return replace(self, finishes=0, sittings=0, moved=0)

    def plus(self, loss: str, *, unplaced: int = 0, late: int = 0, finish: int = 0) -> Cost:
        """The cost with more of some parts, where what is late loses `loss`."""
        food_safety, colony, crop, comfort = self.food_safety, self.colony, self.crop, self.comfort
        if loss == "food safety":
            food_safety += late
        elif loss == "colony":
            colony += late
        elif loss == "crop":
            crop += late
        else:
            comfort += late
        return Cost(self.unplaced + unplaced, food_safety, colony, crop, comfort, self.moved, self.sittings, self.finishes + SOON[loss] * finish)


def seconds_late(task: Task, at: Placement) -> int:
    """Seconds past the due date of a task, and `HARD` times those past its deadline."""
    if task.fixed:
        return 0
    late = at.finish - task.due if task.due is not None and at.finish > task.due else 0
    return late + (HARD * (at.finish - task.deadline) if task.deadline is not None and at.finish > task.deadline else 0)


def wait_late(task: Task, at: Placement) -> int:
    """Seconds that the end of a task waits for hands longer than it may once its hold is over. A later start may make them fewer."""
    most = task.modes[at.mode].wait_most
    return max(0, at.waited() - most) if most is not None and not task.fixed else 0


def lag_late(relation: Precedence, tasks: Mapping[str, Task], schedule: Schedule) -> int:
    """`HARD` times the seconds past the greatest lag of a relation."""
    if relation.greatest is None or relation.before not in schedule or relation.after not in schedule or tasks[relation.after].fixed:
        return 0
    return HARD * max(0, relation.lag(schedule) - relation.greatest)


def cost_of(network: Network, schedule: Schedule, previous: Mapping[str, int] | None = None, *, waits: bool = True) -> Cost:
    """What a schedule costs, given the starts of the schedule before where there is one; ends that wait too long only if `waits`."""
    tasks = {task.id: task for task in network.tasks}
    late = dict.fromkeys(WEIGHTS, 0)
    for name, at in schedule.items():
        late[tasks[name].loss] += seconds_late(tasks[name], at) + (wait_late(tasks[name], at) if waits else 0)
    for relation in network.precedences:
        if relation.greatest is not None and relation.after in schedule:
            late[tasks[relation.after].loss] += lag_late(relation, tasks, schedule)
    return Cost(
        unplaced=len(tasks) - len(schedule),
        food_safety=late["food safety"],
        colony=late["colony"],
        crop=late["crop"],
        comfort=late["comfort"],
        moved=sum(1 for name, at in schedule.items() if abs(previous.get(name, at.start) - at.start) > QUARTER) if previous else 0,
        sittings=_evenings(tasks, schedule),
        finishes=sum(SOON[tasks[name].loss] * at.finish for name, at in schedule.items()),
    )


def _evenings(tasks: Mapping[str, Task], schedule: Schedule) -> int:
    """How often each pair of hands comes to work, with `APART` at least between; so counted no clock and no zone are asked."""
    work = sorted([(tasks[name].hands, start, end) for name, at in schedule.items() for start, end in (*at.sittings, *at.end_sittings)])
    found, whose, over = 0, None, 0
    for hands, start, end in work:  # what two do together counts with the work of one of them
        if hands != whose or start > over + APART:
            found += 1
        whose, over = hands, end
    return found


def lower_bound(network: Network, schedule: Schedule) -> Cost:
    """What tasks cost by their own times in the schedule of a relaxation: no schedule of the network costs less."""
    return replace(cost_of(replace(network, precedences=()), schedule, waits=False), sittings=0)
