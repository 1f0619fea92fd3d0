"""What a long log costs to read: 10 MB in two forms, against taking its cells apart with csv and its times with strptime and nothing more.

Bound of the project: five times that. The smoke form reads a hundredth and applies none.
"""

from __future__ import annotations

import csv
import sys
import time
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from scheduler.instruments.reader import AsTold, measured

SIZE = 10_000_000  # bytes
BOUND = 5.0
FORMS = {"ISO 8601": "%Y-%m-%dT%H:%M:%S", "US, 12 hours": "%m/%d/%Y %I:%M:%S %p"}


def log(form: str, size: int) -> str:
    """A row a minute, with a column beside, until the file is so long."""
    at, lines, written = datetime(2025, 1, 1, tzinfo=UTC), ["time,temperature C,humidity"], 0
    while written < size:
        lines.append(f"{at:{form}},-18.{at.minute % 10},55.{at.minute % 7}")
        written += len(lines[-1]) + 1
        at += timedelta(minutes=1)
    return "\n".join(lines)


def bare(text: str, form: str) -> float:
    """Seconds of csv, strptime and float alone."""
    began = time.perf_counter()
    for row in csv.reader(text.splitlines()[1:]):
        datetime.strptime(row[0], form)  # noqa: DTZ007
        float(row[1])
    return time.perf_counter() - began


def read(text: str) -> float:
    """Seconds of the reader."""
    began = time.perf_counter()
    measured(text, "freezer", ZoneInfo("Europe/Ljubljana"), AsTold(zone="+01:00", order="month first"))
    return time.perf_counter() - began


def main(arguments: list[str]) -> int:
    """Print the table. Returns 1 where a bound is passed, except in the smoke form."""
    smoke = "--smoke" in arguments
    within = True
    print(f"{'':20}{'csv, strptime s':>17}{'reader s':>10}{'ratio':>7}")
    for name, form in FORMS.items():
        text = log(form, SIZE // 100 if smoke else SIZE)
        alone, whole = bare(text, form), read(text)
        within = within and whole <= BOUND * alone
        print(f"{name:20}{alone:17.2f}{whole:10.2f}{whole / alone:7.2f}")
    return 0 if smoke or within else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
