"""What a fact costs with full sync, against writing and syncing the same bytes to a plain file; and reading a ledger of many facts.

The bounds are this project's own (assumed); the smoke form writes few facts and applies none.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from scheduler.facts.fact import TaskDone, in_force, to_json
from scheduler.ledger.store import Ledger

PULLED = 1_786_000_000
GREATEST_RATIO = 6.0  # of a fact to a write and sync of its bytes


def fact(number: int) -> TaskDone:
    """An invented task that was done."""
    return TaskDone(occurred_at=PULLED + number, task=f"ridge-2.a.task-{number}")


def timed(deed: Callable[[], object]) -> float:
    """How long something takes [s]."""
    began = time.perf_counter()
    deed()
    return time.perf_counter() - began


def medians(folder: Path, ledger: Ledger, count: int) -> tuple[float, float]:
    """The median time of a fact in the ledger and of its bytes in a plain synced file [s]; in turns, so that a busy disk slows both."""
    ours, disk = [], []
    with (folder / "plain").open("ab", buffering=0) as file:
        for number in range(count):
            one = fact(number)
            ours.append(timed(lambda one=one: ledger.append([one], PULLED)))  # type: ignore[misc]
            disk.append(timed(lambda one=one: (file.write(to_json(one).encode()), os.fsync(file.fileno()))))  # type: ignore[misc]
    return statistics.median(ours), statistics.median(disk)


def main(arguments: list[str]) -> int:
    """Print the table. Returns 1 where the bound is passed, except in the smoke form."""
    smoke = "--smoke" in arguments
    count, many = (20, 200) if smoke else (500, 20_000)
    with tempfile.TemporaryDirectory() as folder, Ledger.open(Path(folder) / "ledger.sqlite") as ledger:
        ours, disk = medians(Path(folder), ledger, count)
        ledger.append(map(fact, range(many)), PULLED)
        read = timed(lambda: in_force(ledger.facts()))
    print(f"a fact with full sync {ours * 1e3:8.2f} ms; the disk alone {disk * 1e3:.2f} ms; ratio {ours / disk:.2f}, bound {GREATEST_RATIO}")
    print(f"reading {count + many} facts  {read * 1e3:8.0f} ms; {read / (count + many) * 1e6:.1f} microseconds each")
    return 0 if smoke or ours / disk <= GREATEST_RATIO else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
