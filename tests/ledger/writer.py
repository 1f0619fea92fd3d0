"""A process that writes facts one by one and says each time that it is written: `python -m tests.ledger.writer LEDGER NAME COUNT`."""

from __future__ import annotations

import sys

from scheduler.facts.fact import TaskDone
from scheduler.ledger.store import Ledger
from tests.facts.recorded import PULLED


def main(where: str, name: str, count: int) -> None:
    """Append `count` facts; a line on standard output follows each one that is in the ledger."""
    with Ledger.open(where, patience=120.0) as ledger:
        for number in range(count):
            task = f"{name}-{number}"
            ledger.append([TaskDone(occurred_at=PULLED + number, task=task)], PULLED + number)
            sys.stdout.write(f"{task}\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]))
