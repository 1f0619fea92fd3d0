"""The best schedule of a small network, proven by constraint programming (OR-Tools CP-SAT); shares nothing with the planner's search.

Time is counted in quarters of an hour, so all lengths and moments of the network must be whole quarters. Work is done in one sitting.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from scheduler.planning.network import Network, Precedence, Task

QUARTER = 900
WEIGHTS = {"food safety": 400, "colony": 300, "crop": 200, "comfort": 1}  # of a quarter past a due date, by what is lost, as the planner's objective has it
SOON = {"food safety": 4, "colony": 3, "crop": 2, "comfort": 1}  # of a quarter sooner, likewise
HARD = 4  # what a quarter past a deadline or a greatest lag weighs against one past a due date, as the planner's objective has it
DAYS = 45


@dataclass(frozen=True)
class Optimum:
    """Least weighted quarters past limits, least sum of finishes given that (quarters from the origin), and whether both are proven."""

    passed: int
    finishes: int
    proven: bool


@dataclass(frozen=True)
class Variables:
    """The variables of a task."""

    start: Any
    begun: Any
    resumed: Any
    finish: Any


class Model:
    """A network as a constraint programme."""

    def __init__(self, network: Network, origin: int) -> None:
        from ortools.sat.python import cp_model

        self.network, self.origin = network, origin
        self.model = cp_model.CpModel()
        self.cp = cp_model
        self.last = DAYS * 96
        self.hands: dict[str, list[Any]] = {whose: [] for task in network.tasks for whose in task.people}
        self.demands: dict[str, list[tuple[Any, int]]] = {name: [] for name in network.capacities}
        self.passed: list[Any] = []
        self.tasks = {task.id: self.task(task) for task in network.tasks}
        for relation in network.precedences:
            self.relation(relation)
        for work in self.hands.values():
            self.model.add_no_overlap(work)
        for name, start, end, amount in network.reserved:
            span = self.model.new_fixed_size_interval_var(self.quarters(start), (end - start) // QUARTER, "")
            self.demands[name].append((span, round(amount)))
        for name, taken in self.demands.items():
            self.model.add_cumulative([span for span, _ in taken], [amount for _, amount in taken], round(network.capacities[name]))

    def quarters(self, moment: int) -> int:
        """A moment as a number of quarters from the origin."""
        assert (moment - self.origin) % QUARTER == 0
        return (moment - self.origin) // QUARTER

    def task(self, task: Task) -> Variables:
        """The phases of a task, its modes and its limits."""
        model = self.model
        start = self.moment(task.begin_calendar, task.begin)
        begun = start + task.begin // QUARTER
        resumed = self.moment(task.end_calendar if task.end else None, task.end)
        finish = model.new_int_var(0, self.last, "")
        model.add(finish == resumed + task.end // QUARTER)
        model.add(start >= self.quarters(task.release))
        chosen = [model.new_bool_var("") for _ in task.modes]
        model.add_exactly_one(chosen)
        for mode, taken in zip(task.modes, chosen, strict=True):
            model.add(resumed - begun >= mode.hold // QUARTER).only_enforce_if(taken)
            if mode.wait_most is not None:
                late = model.new_int_var(0, 2 * self.last, "")
                model.add(late >= resumed - begun - (mode.hold + mode.wait_most) // QUARTER).only_enforce_if(taken)
                self.passed.append(WEIGHTS[task.loss] * late)
            elif not task.end:
                model.add(resumed - begun == mode.hold // QUARTER).only_enforce_if(taken)
            for name, amount in mode.demands:
                size = model.new_int_var(0, self.last, "")
                self.demands[name].append((model.new_optional_interval_var(start, size, finish, taken, ""), round(amount)))
        for moment, length in ((start, task.begin), (resumed, task.end)):
            if length:
                for whose in task.people:
                    self.hands[whose].append(model.new_fixed_size_interval_var(moment, length // QUARTER, ""))
        for limit, weight in ((task.due, WEIGHTS[task.loss]), (task.deadline, WEIGHTS[task.loss] * HARD)):
            if limit is not None:
                self.over(finish - self.quarters(limit), weight)
        return Variables(start, begun, resumed, finish)

    def moment(self, key: str | None, length: int) -> Any:
        """A moment at which work of a length may begin."""
        if key is None:
            return self.model.new_int_var(0, self.last, "")
        calendar, spans = self.network.calendars[key], []
        i = calendar.index(self.origin)
        while calendar.has(i) and calendar.ends[i] <= self.origin + self.last * QUARTER:
            first, last = max(0, self.quarters(calendar.starts[i])), self.quarters(calendar.ends[i] - length)
            if not length:
                last -= 1
            if first <= last:
                spans.append([first, last])
            i += 1
        return self.model.new_int_var_from_domain(self.cp.Domain.from_intervals(spans), "")

    def relation(self, relation: Precedence) -> None:
        """A least lag that must be kept and a greatest one that may be passed at a cost."""
        a, b = self.tasks[relation.before], self.tasks[relation.after]
        left, _, right = relation.kind.partition(" to ")
        lag = (b.start if right == "start" else b.finish) - (a.start if left == "start" else a.finish)
        self.model.add(lag >= relation.least // QUARTER)
        if relation.greatest is not None:
            weight = next(WEIGHTS[task.loss] for task in self.network.tasks if task.id == relation.after)
            self.over(lag - relation.greatest // QUARTER, weight * HARD)

    def over(self, by: Any, weight: int) -> None:
        """Count what lies past a limit."""
        late = self.model.new_int_var(0, 2 * self.last, "")
        self.model.add(late >= by)
        self.passed.append(weight * late)

    def solve(self, aim: Any, seconds: float) -> tuple[int, bool]:
        """The least value of an aim, and whether it is proven."""
        self.model.minimize(aim)
        solver = self.cp.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = 2
        status = solver.solve(self.model)
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            raise ValueError(f"no schedule: {solver.status_name(status)}")
        return round(solver.objective_value), status == self.cp.OPTIMAL


def optimum(network: Network, origin: int, seconds: float = 20.0) -> Optimum:
    """Least limits passed, then least weighted sum of finishes."""
    model = Model(network, origin)
    passed, proven = model.solve(sum(model.passed), seconds) if model.passed else (0, True)
    model.model.add(sum(model.passed) <= passed)
    finishes, also = model.solve(sum(SOON[task.loss] * model.tasks[task.id].finish for task in network.tasks), seconds)
    return Optimum(passed, finishes, proven and also)
