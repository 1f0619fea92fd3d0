"""How far plans with the bundled cards are from the best known: `python -m tests.planning.best_known --seed N --yards 10 --seconds 60`.

Random yards with little room and short evenings are planned from the beginning until so many have goods past a limit. The best known is the
least of what constraint programming finds in the time and what the planner's own search finds with twenty times its budget; what the first
finds is checked by the verifier. What the plan has later than `DAYS` from the pull is left out. All yards are invented.
"""

# ruff: noqa: T201 - it prints its figures

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from random import Random

from scheduler.application.ledger_view import LedgerView
from scheduler.local_time import DAY, HOUR
from scheduler.planning.local_search import schedule
from scheduler.planning.network import Network, Schedule, violations
from scheduler.planning.objective import Cost, cost_of
from scheduler.planning.planner import WARNED, Planning
from tests.planning.cpsat import DAYS, Model
from tests.planning.followed import Follower
from tests.planning.gaps import MORE
from tests.planning.test_cures import tight

MINUTE = 60


@dataclass(frozen=True)
class Compared:
    """The hours that goods and comfort are past limits in a plan, and in the best known of its yard."""

    name: str
    tasks: int
    goods: float
    best: float
    comfort: float
    best_comfort: float
    by: str

    @property
    def ratio(self) -> float:
        """What the goods of the plan are late over what they are in the best known."""
        return self.goods / self.best if self.best else 1.0 if not self.goods else float("inf")


def first_days(network: Network, placed: Schedule, origin: int) -> tuple[Network, Schedule]:
    """The part of a network that a schedule has over within `DAYS`."""
    tasks = tuple(task for task in network.tasks if task.id in placed and placed[task.id].finish < origin + (DAYS - 5) * DAY)
    names = {task.id for task in tasks}
    relations = tuple(one for one in network.precedences if {one.before, one.after} <= names)
    return replace(network, tasks=tasks, precedences=relations), {name: at for name, at in placed.items() if name in names}


def goods(cost: Cost) -> float:
    """The hours that goods are past their limits."""
    return (cost.food_safety + cost.colony + cost.crop) / HOUR


def compared(seed: object, count: int, seconds: float) -> Iterator[Compared]:
    """Yards whose goods are late, each with the best known."""
    number = found = 0
    while found < count:
        keeper = Follower(tight(Random(f"{seed} {number}")))
        while keeper.coming:
            keeper.log()
        problem = LedgerView(keeper.recorded, keeper.now, keeper.text).problem._replace(in_force=None)
        planning = Planning(problem, cures=False)
        planning.plan()
        if planning.scheduled is None:
            raise ValueError("nothing was planned")
        network, placed = first_days(*planning.scheduled, problem.as_of)
        cost = cost_of(network, placed)
        if goods(cost) >= 1:
            found += 1
            yield best_known(f"{seed} {number}", network, placed, problem.as_of, seconds)
        number += 1


def best_known(name: str, network: Network, placed: Schedule, origin: int, seconds: float) -> Compared:
    """A schedule beside the best that is known."""
    cost = cost_of(network, placed)
    model = Model(network, origin - origin % MINUTE, MINUTE)
    model.hint(placed)
    others: dict[str, Schedule] = {"the plan": placed, "more search": schedule(network, effort=MORE)}
    try:
        _, proven = model.solve(sum(model.passed), seconds)
        others["proven" if proven else "constraints"] = model.schedule()
    except ValueError as error:
        print(f"{name}: {error}")
    for by, one in others.items():
        if wrong := [each for each in violations(network, one) if each.kind not in WARNED]:
            raise AssertionError(f"{name}, {by}: {wrong[:3]}")
    costs = {by: cost_of(network, one) for by, one in others.items()}
    by = min(costs, key=lambda one: (costs[one].lateness, one != "proven"))
    return Compared(name, len(network.tasks), goods(cost), goods(costs[by]), cost.comfort / HOUR, costs[by].comfort / HOUR, by)


def main(arguments: list[str]) -> int:
    """Print each yard, and the sums."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=Random().randrange(10**6))
    parser.add_argument("--yards", type=int, default=10)
    parser.add_argument("--seconds", type=float, default=60.0)
    asked = parser.parse_args(arguments)
    found = []
    print(f"--seed {asked.seed}: hours past limits of goods (and of comfort), in the plan and in the best known")
    for one in compared(asked.seed, asked.yards, asked.seconds):
        found.append(one)
        print(
            f"{one.name:12}{one.tasks:4} tasks {one.goods:9.1f} ({one.comfort:.0f}) {one.best:9.1f} ({one.best_comfort:.0f})  x{one.ratio:.3f}  {one.by}",
            flush=True,
        )
    print(f"in all x{sum(one.goods for one in found) / sum(one.best for one in found):.3f}, worst x{max(one.ratio for one in found):.3f}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
