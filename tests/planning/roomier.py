"""Whether more room ever makes a schedule worse: `python -m tests.planning.roomier [YARDS]` prints every yard where it did, and by how much.

A list scheduler has such anomalies (Graham 1969, SIAM J. Appl. Math. 17:416-429): with more room tasks fall into another order. The search
takes most of them out, and its bound leaves the rest. The cost is that of `tests.planning.gaps`.
"""

# ruff: noqa: T201 - it prints its table

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from random import Random

from scheduler.planning.local_search import schedule
from scheduler.planning.network import Network
from scheduler.planning.objective import SOON, cost_of
from tests.planning.yards import NOON, QUARTER, yard


@dataclass(frozen=True)
class Anomaly:
    """A yard that is worse off with more room: its costs with what it has and with more."""

    seed: int
    tasks: int
    before: int
    after: int

    @property
    def share(self) -> float:
        """The share by which more room costs more."""
        return self.after / self.before - 1


def cost(network: Network) -> tuple[int, int]:
    """Tasks without a time; weighted quarters past limits plus the sum of finishes."""
    placed = schedule(network)
    found = cost_of(network, placed)
    finishes = sum(SOON[task.loss] * ((placed[task.id].finish - NOON) // QUARTER) for task in network.tasks if task.id in placed)
    return found.unplaced, found.lateness // QUARTER + finishes


def anomalies(count: int, more: float = 1.5) -> Iterator[Anomaly]:
    """The yards of so many that are worse off when every capacity is `more` times what it was."""
    for seed in range(count):
        network = yard(Random(seed), 20, plain=True)
        roomier = replace(network, capacities={name: amount * more for name, amount in network.capacities.items()})
        (missing, before), (still, after) = cost(network), cost(roomier)
        if still > missing or (still == missing and after > before):
            yield Anomaly(seed, len(network.tasks), before, after)


if __name__ == "__main__":
    yards = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    found = list(anomalies(yards))
    for one in found:
        print(f"yard {one.seed:4}  {one.tasks:2} tasks  {one.before:6} -> {one.after:6}  {one.share:+.2%}")
    print(f"{len(found)} of {yards} yards cost more with half as much room again; the worst {max((one.share for one in found), default=0.0):+.2%}")
