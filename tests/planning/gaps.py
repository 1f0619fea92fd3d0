"""How far the planner is from proven optima: `python -m tests.planning.gaps --yards 120` prints the table.

With `--least 20 --most 60` the random yards are larger, and are compared with the best that was found in the time, proven or not. The cost
of a yard is its weighted quarters of an hour past limits plus the weighted sum of its finishes, in quarters from the origin; the optimum is
the least of the first, then of the second. The gap of a job shop is that of its makespan.
"""

# ruff: noqa: T201 - it prints its table

from __future__ import annotations

import argparse
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

MORE = 20.0  # times the budget of the search
SMALL = 20  # tasks up to which optima are proven, mostly
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
    proven: bool = True  # whether nothing better can be found

    @property
    def gap(self) -> float:
        """The share by which what was found costs more than the best."""
        return self.found / self.best - 1


def yard_gaps(seeds: Iterable[int | str], least: int = 2, most: int = 20, *, proven: bool = True, seconds: float = 20.0) -> Iterator[Gap]:
    """The gaps of random yards; of those whose optimum must be `proven` the ones are left out where it is not in time."""
    for seed in seeds:
        network = yard(Random(seed), most, plain=True, least=least)
        best = optimum(network, NOON, seconds)
        if proven and not best.proven:
            continue
        costs, passed = [], []
        for placed in (construct(network), schedule(network), *(() if best.proven else (schedule(network, effort=MORE),))):
            cost = cost_of(network, placed)
            if cost.unplaced:
                raise AssertionError(f"yard {seed}: {cost.unplaced} tasks have no time")
            passed.append(cost.lateness)
            losses = {task.id: task.loss for task in network.tasks}
            costs.append(cost.lateness // QUARTER + sum(SOON[losses[name]] * ((at.finish - NOON) // QUARTER) for name, at in placed.items()))
        known = min(best.passed + best.finishes, *costs[1:])
        yield Gap(f"yard {seed}", len(network.tasks), costs[1], known, costs[0] / known - 1, passed[1] // QUARTER > best.passed, best.proven)


def shop_gaps(names: tuple[str, ...] = SHOPS) -> Iterator[Gap]:
    """The gaps of published job shops."""
    for name in names:
        network, best = published(name)
        first = construct(network)["all done"].finish
        found = schedule(network)["all done"].finish
        yield Gap(name, len(network.tasks) - 1, found, best, first / best - 1, found > best)


def main(arguments: list[str]) -> int:
    """Print both tables. Returns 0."""
    parser = argparse.ArgumentParser(prog="python -m tests.planning.gaps")
    parser.add_argument("--yards", type=int, default=120)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--least", type=int, default=2)
    parser.add_argument("--most", type=int, default=20)
    parser.add_argument("--seconds", type=float, default=20.0)
    asked = parser.parse_args(arguments)
    small = asked.most <= SMALL
    if small:
        print(f"{'job shop':12}{'operations':>11}{'found':>8}{'optimum':>9}{'gap':>8}{'before search':>15}")
        for gap in shop_gaps():
            print(f"{gap.name:12}{gap.tasks:11}{gap.found:8}{gap.best:9}{gap.gap:8.1%}{gap.first:15.1%}")
    seeds = (f"{asked.seed} {number}" if asked.seed else number for number in range(asked.yards))
    gaps = list(yard_gaps(seeds, asked.least, asked.most, proven=small, seconds=asked.seconds))
    print(f"\n{len(gaps)} random yards of {asked.least} to {asked.most} tasks, {sum(gap.proven for gap in gaps)} with a proven optimum; --seed {asked.seed}")
    print(f"mean gap {sum(gap.gap for gap in gaps) / len(gaps):.2%}, worst {max(gap.gap for gap in gaps):.1%}")
    print(f"at the best: {sum(gap.gap <= 0 for gap in gaps)}")
    print(f"before the search: mean {sum(gap.first for gap in gaps) / len(gaps):.2%}, worst {max(gap.first for gap in gaps):.1%}")
    print(f"later than need be: {sum(gap.later for gap in gaps)}")
    for gap in sorted(gaps, key=lambda gap: -gap.gap)[:8]:
        print(f"  {gap.name:10}{gap.tasks:4} tasks {gap.gap:7.1%}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
