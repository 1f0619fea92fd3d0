"""How far the planner is from proven optima: `python -m tests.planning.gaps [YARDS]` prints the table.

The cost of a yard is its weighted quarters of an hour past limits plus the weighted sum of its finishes, in quarters from the origin;
the optimum is the least of the first, then of the second. The gap of a job shop is that of its makespan.
"""

# ruff: noqa: T201 - it prints its table

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from random import Random

from scheduler.planning.local_search import schedule
from scheduler.planning.objective import SOON, cost_of
from scheduler.planning.serial_sgs import construct
from tests.planning.cpsat import QUARTER, optimum
from tests.planning.jobshop import published
from tests.planning.yards import NOON, yard

SHOPS = ("ft06", "ft10", "ft20", "la01", "la02", "la03", "la04", "la05", "la06", "la11")


@dataclass(frozen=True)
class Gap:
    """What the planner found, what is best, and how far apart they are (0.02 is 2 %)."""

    name: str
    tasks: int
    found: int
    best: int
    first: float  # the gap of the constructive scheme alone
    later: bool  # whether more is past its limits than must be

    @property
    def gap(self) -> float:
        """The share by which what was found costs more than the best."""
        return self.found / self.best - 1


def yard_gaps(seeds: Iterable[int]) -> Iterator[Gap]:
    """The gaps of random yards of up to 20 tasks; yards whose optimum is not proven in time are left out."""
    for seed in seeds:
        network = yard(Random(seed), 20, plain=True)
        best = optimum(network, NOON)
        if not best.proven:
            continue
        costs, passed = [], 0
        for placed in (construct(network), schedule(network)):
            cost = cost_of(network, placed)
            if cost.unplaced:
                raise AssertionError(f"yard {seed}: {cost.unplaced} tasks have no time")
            passed = cost.lateness
            losses = {task.id: task.loss for task in network.tasks}
            costs.append(passed // QUARTER + sum(SOON[losses[name]] * ((at.finish - NOON) // QUARTER) for name, at in placed.items()))
        least = best.passed + best.finishes
        yield Gap(f"yard {seed}", len(network.tasks), costs[1], least, costs[0] / least - 1, passed // QUARTER > best.passed)


def shop_gaps(names: tuple[str, ...] = SHOPS) -> Iterator[Gap]:
    """The gaps of published job shops."""
    for name in names:
        network, best = published(name)
        first = construct(network)["all done"].finish
        found = schedule(network)["all done"].finish
        yield Gap(name, len(network.tasks) - 1, found, best, first / best - 1, found > best)


def main(arguments: list[str]) -> int:
    """Print both tables. Returns 0."""
    count = int(arguments[0]) if arguments else 120
    print(f"{'job shop':12}{'operations':>11}{'found':>8}{'optimum':>9}{'gap':>8}{'before search':>15}")
    for gap in shop_gaps():
        print(f"{gap.name:12}{gap.tasks:11}{gap.found:8}{gap.best:9}{gap.gap:8.1%}{gap.first:15.1%}")
    gaps = list(yard_gaps(range(count)))
    print(f"\n{len(gaps)} random yards with a proven optimum, of {count}")
    print(f"mean gap {sum(gap.gap for gap in gaps) / len(gaps):.2%}, worst {max(gap.gap for gap in gaps):.1%}")
    print(f"at the optimum: {sum(gap.gap <= 0 for gap in gaps)}")
    print(f"before the search: mean {sum(gap.first for gap in gaps) / len(gaps):.2%}, worst {max(gap.first for gap in gaps):.1%}")
    print(f"later than need be: {sum(gap.later for gap in gaps)}")
    for gap in sorted(gaps, key=lambda gap: -gap.gap)[:8]:
        print(f"  {gap.name:10}{gap.tasks:4} tasks {gap.gap:7.1%}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
