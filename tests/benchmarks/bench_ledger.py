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

from scheduler.facts.happenings import TaskDone, to_json
from scheduler.facts.standing import standing
from scheduler.ledger.store import Ledger

PULLED = 1_786_000_000
GREATEST_RATIO = 6.0  # of a fact to a write and sync of its bytes


def fact(number: int) -> TaskDone:
    """An invented task that was done."""
    return TaskDone(occurred_at=PULLED + number, task=f"ridge-2.a.task-{number}")


def median(count: int, write: Callable[[int], None]) -> float:
    """The median time of one write [s]."""
    took = []
    for number in range(count):
        began = time.perf_counter()
        write(number)
        took.append(time.perf_counter() - began)
    return statistics.median(took)


def plain(path: Path, count: int) -> float:
    """Append each fact's bytes to a file and sync it: what the disk itself takes [s]."""
    with path.open("ab", buffering=0) as file:

        def write(number: int) -> None:
            file.write(to_json(fact(number)).encode())
            os.fsync(file.fileno())

        return median(count, write)


def main(arguments: list[str]) -> int:
    """Print the table. Returns 1 where the bound is passed, except in the smoke form."""
    smoke = "--smoke" in arguments
    count, many = (20, 200) if smoke else (500, 20_000)
    with tempfile.TemporaryDirectory() as folder, Ledger.open(Path(folder) / "ledger.sqlite") as ledger:
        disk = plain(Path(folder) / "plain", count)
        ours = median(count, lambda number: ledger.append([fact(number)], PULLED) and None)
        ledger.append(map(fact, range(many)), PULLED)
        began = time.perf_counter()
        stand = len(standing(ledger.facts()))
        read = time.perf_counter() - began
    print(f"a fact with full sync {ours * 1e3:8.2f} ms; the disk alone {disk * 1e3:.2f} ms; ratio {ours / disk:.2f}, bound {GREATEST_RATIO}")
    print(f"reading {stand} facts  {read * 1e3:8.0f} ms; {read / stand * 1e6:.1f} microseconds each")
    return 0 if smoke or ours / disk <= GREATEST_RATIO else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
