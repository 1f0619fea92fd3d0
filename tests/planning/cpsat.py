"""The best schedule of a network, by constraint programming (OR-Tools CP-SAT); shares nothing with the planner's search.

Time is counted in units, quarters of an hour in the random networks, minutes in plans with real cards: a length or a lag that is no whole
number of them counts as longer. Work is done in one sitting, but what is too long for most of its free hours may be divided among them.
Travel is not modelled.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from scheduler.local_time import DAY
from scheduler.planning.network import Calendar, Network, Placement, Precedence, Schedule, Task

QUARTER = 900
WEIGHTS = {"food safety": 400, "colony": 300, "crop": 200, "comfort": 1}  # of a quarter past a due date, by what is lost, as the planner's objective has it
SOON = {"food safety": 4, "colony": 3, "crop": 2, "comfort": 1}  # of a quarter sooner, likewise
HARD = 4  # what a quarter past a deadline or a greatest lag weighs against one past a due date, as the planner's objective has it
DAYS = 45
FINE = 100_000  # parts into which cubic metres, pieces and kilograms are counted
LONG_WORK, SHORTEST = 7200, 1800  # work that may be divided, and the least of its parts [s], as the planner has them


@dataclass(frozen=True)
class Optimum:
    """Least weighted quarters past limits, least sum of finishes given that (quarters from the origin), and whether both are proven."""

    passed: int
    finishes: int
    proven: bool


@dataclass(frozen=True)
class Variables:
    """The variables of a task; `modes` are chosen, `parts` are the start, the length and the presence of each part of work that may be divided."""

    start: Any
    begun: Any
    resumed: Any
    finish: Any
    modes: list[Any] = field(default_factory=list)
    parts: list[tuple[Any, Any, Any]] = field(default_factory=list)


class Model:
    """A network as a constraint programme."""

    def __init__(self, network: Network, origin: int, unit: int = QUARTER) -> None:
        from ortools.sat.python import cp_model

        if network.travel:
            raise ValueError("travel is not modelled")
        self.network, self.origin, self.unit = network, origin, unit
        self.model = cp_model.CpModel()
        self.cp = cp_model
        self.last = DAYS * DAY // unit
        self.hands: dict[str, list[Any]] = {whose: [] for task in network.tasks for whose in task.people}
        self.demands: dict[str, list[tuple[Any, int]]] = {name: [] for name in network.capacities}
        self.loads: dict[str, list[tuple[Any, int]]] = {name: [] for name in network.daily}
        self.passed: list[Any] = []
        self.tasks = {task.id: self.fixed(task, *task.fixed) if task.fixed else self.task(task) for task in network.tasks}
        for relation in network.precedences:
            if not self.task_of(relation.after).fixed:
                self.relation(relation)
        for work in self.hands.values():
            self.model.add_no_overlap(work)
        for name, start, end, amount in network.reserved:
            span = self.model.new_fixed_size_interval_var(self.down(start - origin), self.up(end - start), "")
            self.demands[name].append((span, round(FINE * amount)))
        for name, taken in self.demands.items():
            self.model.add_cumulative([span for span, _ in taken], [amount for _, amount in taken], round(FINE * network.capacities[name]))
        for name, taken in self.loads.items():
            self.model.add_cumulative([span for span, _ in taken], [amount for _, amount in taken], round(FINE * network.daily[name]))

    def up(self, seconds: int) -> int:
        """Seconds as units, rounded up."""
        return -(-seconds // self.unit)

    def down(self, seconds: int) -> int:
        """Seconds as units, rounded down."""
        return seconds // self.unit

    def task_of(self, name: str) -> Task:
        """The task of a name."""
        return next(task for task in self.network.tasks if task.id == name)

    def fixed(self, task: Task, start: int, finish: int) -> Variables:
        """What happened already: its moments, and the room that it still takes."""
        begun, over = self.down(start - self.origin), self.up(finish - self.origin)
        if over > 0:
            for name, amount in task.modes[0].demands:
                self.demands[name].append((self.model.new_fixed_size_interval_var(begun, over - begun, ""), round(FINE * amount)))
        for name, mass in task.modes[0].loads:
            if name in self.loads:
                self.loads[name].append((self.model.new_fixed_size_interval_var(begun, self.up(DAY), ""), self.mass(name, mass)))
        return Variables(begun, begun, over, over)

    def mass(self, name: str, mass: float) -> int:
        """A load as a number; one that is more than a day takes goes in alone."""
        return round(FINE * min(mass, self.network.daily[name]))

    def task(self, task: Task) -> Variables:
        """The phases of a task, its modes and its limits."""
        model = self.model
        parts: list[tuple[Any, Any, Any]] = []
        if task.begun:
            start = self.up(task.release - self.origin)
            begun = start + self.up(task.worked)
        elif task.begin_calendar is not None and task.joined_by is None and self.is_divided(self.network.calendars[task.begin_calendar], task.begin):
            parts, start, begun = self.divided(task)
        else:
            start = self.moment(task.begin_calendar, task.begin)
            begun = start + self.up(task.begin)
            if task.begin:
                self.works(task, start, self.up(task.begin))
        resumed = self.moment(task.end_calendar if task.end else None, task.end)
        finish = model.new_int_var(0, self.last, "")
        model.add(finish == resumed + self.up(task.end))
        if task.end:
            self.works(task, resumed, self.up(task.end))
            model.add(resumed >= self.up(task.end_release - self.origin))
        if not task.begun:
            model.add(start >= self.up(task.release - self.origin))
        chosen = [model.new_bool_var("") for _ in task.modes]
        model.add_exactly_one(chosen)
        for mode, taken in zip(task.modes, chosen, strict=True):
            model.add(resumed - begun >= self.up(mode.hold)).only_enforce_if(taken)
            if mode.wait_most is not None:
                late = model.new_int_var(0, 2 * self.last, "")
                model.add(late >= resumed - begun - self.up(mode.hold + mode.wait_most)).only_enforce_if(taken)
                self.passed.append(WEIGHTS[task.loss] * late)
            elif not task.end:
                model.add(resumed - begun == self.up(mode.hold)).only_enforce_if(taken)
            for name, amount in mode.demands:
                size = model.new_int_var(0, self.last, "")
                self.demands[name].append((model.new_optional_interval_var(start, size, finish, taken, ""), round(FINE * amount)))
            for name, mass in mode.loads:
                if name in self.loads:
                    self.loads[name].append((model.new_optional_fixed_size_interval_var(start, self.up(DAY), taken, ""), self.mass(name, mass)))
        for limit, weight in ((task.due, WEIGHTS[task.loss]), (task.deadline, WEIGHTS[task.loss] * HARD)):
            if limit is not None:
                self.over(finish - self.down(limit - self.origin), weight)
        return Variables(start, begun, resumed, finish, chosen, parts)

    def works(self, task: Task, start: Any, length: int) -> None:
        """Take the hands of those who do a piece of work."""
        for whose in task.people:
            self.hands[whose].append(self.model.new_fixed_size_interval_var(start, length, ""))

    def spans(self, calendar: Calendar) -> list[tuple[int, int]]:
        """The free hours of a calendar from the origin on, in units."""
        found, i = [], calendar.index(self.origin)
        while calendar.has(i) and calendar.ends[i] <= self.origin + self.last * self.unit:
            first, over = max(0, self.up(calendar.starts[i] - self.origin)), self.down(calendar.ends[i] - self.origin)
            if first < over:
                found.append((first, over))
            i += 1
        return found

    def is_divided(self, calendar: Calendar, length: int) -> bool:
        """Whether work is long, and longer than most free hours are."""
        spans = self.spans(calendar)
        return length >= LONG_WORK and sum(over - first < self.up(length) for first, over in spans) > len(spans) / 2

    def divided(self, task: Task) -> tuple[list[tuple[Any, Any, Any]], Any, Any]:
        """Work in one part or more, each in other free hours; and when it starts and is over."""
        model, parts = self.model, []
        start, begun = model.new_int_var(0, self.last, ""), model.new_int_var(0, self.last, "")
        for first, over in self.spans(self.network.calendars[task.begin_calendar or ""]):
            if over - first < self.up(SHORTEST):
                continue
            at, length, taken = model.new_int_var(first, over, ""), model.new_int_var(0, over - first, ""), model.new_bool_var("")
            end = model.new_int_var(first, over, "")
            self.hands[task.hands].append(model.new_optional_interval_var(at, length, end, taken, ""))
            model.add(length >= self.up(SHORTEST)).only_enforce_if(taken)
            model.add(length == 0).only_enforce_if(~taken)
            model.add(start <= at).only_enforce_if(taken)
            model.add(begun >= end).only_enforce_if(taken)
            parts.append((at, length, taken))
        model.add(sum(length for _, length, _ in parts) == self.up(task.begin))
        starts, ends = [], []
        for at, length, taken in parts:  # the first part is where it starts, the last where it is over
            is_first, is_last = model.new_bool_var(""), model.new_bool_var("")
            model.add_implication(is_first, taken)
            model.add_implication(is_last, taken)
            model.add(start == at).only_enforce_if(is_first)
            model.add(begun == at + length).only_enforce_if(is_last)
            starts.append(is_first)
            ends.append(is_last)
        model.add_exactly_one(starts)
        model.add_exactly_one(ends)
        return parts, start, begun

    def moment(self, key: str | None, length: int) -> Any:
        """A moment at which work of a length may begin."""
        if key is None:
            return self.model.new_int_var(0, self.last, "")
        spans = [[first, over - self.up(length) - (0 if length else 1)] for first, over in self.spans(self.network.calendars[key])]
        return self.model.new_int_var_from_domain(self.cp.Domain.from_intervals([span for span in spans if span[0] <= span[1]]), "")

    def relation(self, relation: Precedence) -> None:
        """A least lag that must be kept and a greatest one that may be passed at a cost."""
        a, b = self.tasks[relation.before], self.tasks[relation.after]
        left, _, right = relation.kind.partition(" to ")
        lag = (b.start if right == "start" else b.finish) - (a.start if left == "start" else a.finish)
        self.model.add(lag >= self.up(relation.least))
        if relation.greatest is not None:
            weight = WEIGHTS[self.task_of(relation.after).loss]
            self.over(lag - self.down(relation.greatest), weight * HARD)

    def over(self, by: Any, weight: int) -> None:
        """Count what lies past a limit."""
        late = self.model.new_int_var(0, 2 * self.last, "")
        self.model.add(late >= by)
        self.passed.append(weight * late)

    def solve(self, aim: Any, seconds: float) -> tuple[int, bool]:
        """The least value of an aim, and whether it is proven. Raises ValueError where none was found in the time."""
        self.model.minimize(aim)
        self.solver = self.cp.CpSolver()
        self.solver.parameters.max_time_in_seconds = seconds
        self.solver.parameters.num_workers = 2
        status = self.solver.solve(self.model)
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            raise ValueError(f"no schedule: {self.solver.status_name(status)}")
        return round(self.solver.objective_value), status == self.cp.OPTIMAL

    def hint(self, schedule: Schedule) -> None:
        """Where to look first."""
        for name, at in schedule.items():
            one, task = self.tasks[name], self.task_of(name)
            if not task.fixed and not one.parts:
                if not task.begun:
                    self.model.add_hint(one.start, self.up(at.start - self.origin))
                self.model.add_hint(one.resumed, self.up((at.end_sittings[0][0] if at.end_sittings else at.finish) - self.origin))
                for number, taken in enumerate(one.modes):
                    self.model.add_hint(taken, number == at.mode)

    def schedule(self) -> Schedule:
        """The schedule last found [s since 1970]."""
        found, value = {}, self.solver.value
        for name, one in self.tasks.items():
            task = self.task_of(name)
            if task.fixed:
                found[name] = Placement(*task.fixed, task.fixed[1], (), ())
                continue
            start, begun, resumed, finish = (self.origin + value(part) * self.unit for part in (one.start, one.begun, one.resumed, one.finish))
            mode = next(number for number, taken in enumerate(one.modes) if value(taken))
            taken = sorted((self.origin + value(at) * self.unit, value(length) * self.unit) for at, length, taken in one.parts if value(taken))
            work = [(at, at + length) for at, length in taken] if one.parts else [(start, begun)] if task.begin and not task.begun else []
            end = ((resumed, finish),) if task.end else ()
            found[name] = Placement(start, finish, begun + task.modes[mode].hold, tuple(work), end, mode)
        return found


def optimum(network: Network, origin: int, seconds: float = 20.0) -> Optimum:
    """Least limits passed, then least weighted sum of finishes."""
    model = Model(network, origin)
    passed, proven = model.solve(sum(model.passed), seconds) if model.passed else (0, True)
    model.model.add(sum(model.passed) <= passed)
    finishes, also = model.solve(sum(SOON[task.loss] * model.tasks[task.id].finish for task in network.tasks), seconds)
    return Optimum(passed, finishes, proven and also)
