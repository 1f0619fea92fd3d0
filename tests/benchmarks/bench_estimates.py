"""What one freeze estimate costs, and a daily series of ten years from text to degree days.

Bounds of the project: 1 ms for an estimate (roots of the series kept, and with none kept), 50 ms for the series. The smoke form runs each
once and applies none.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from datetime import date, timedelta

from scheduler.estimates import conduction, degree_days, freeze, tables
from scheduler.estimates.sun import sun_event
from tests.estimates.practice import BY, PACKAGES


def one_freeze() -> None:
    """24 clamshells of 4 x 2 x 1.25 in from a warm room."""
    load = freeze.packed(24, (0.1016, 0.0508, 0.03175), PACKAGES["clamshell"], 21.0, BY, space=0.09)
    freeze.lethal_hold(load, freeze.Freezer(-18.0, BY, rated=9 / 86400))


def one_freeze_from_nothing() -> None:
    """The same, with every root found anew."""
    conduction.terms.cache_clear()
    one_freeze()


def ten_years() -> Callable[[], None]:
    """A table of 3653 days, read and summed by the single sine."""
    first = date(2015, 1, 1)
    text = "\n".join(["date,tmin,tmax", *(f"{first + timedelta(day)},{day % 17 - 3}.5,{day % 17 + 8}.5" for day in range(3653))])

    def read_and_sum() -> None:
        degree_days.accumulate(tables.daily_temperatures(text), 10.0)

    return read_and_sum


def a_year_of_dusk() -> None:
    """365 evenings at one place, none of them kept from before."""
    for day in range(365):
        sun_event(46.31, 14.18, date(2026, 1, 1) + timedelta(day), "dusk", "Europe/Ljubljana")


def milliseconds(task: Callable[[], None], rounds: int) -> float:
    """The least time of one run [ms]."""
    best = float("inf")
    for _ in range(rounds):
        began = time.perf_counter()
        task()
        best = min(best, time.perf_counter() - began)
    return best * 1e3


def main(arguments: list[str]) -> int:
    """Print the table. Returns 1 where a bound is passed, except in the smoke form."""
    smoke = "--smoke" in arguments
    rows = (
        ("one freeze estimate", one_freeze, 50, 1.0),
        ("the same, roots found anew", one_freeze_from_nothing, 50, 1.0),
        ("ten years of days to degree days", ten_years(), 7, 50.0),
        ("a year of dusk, first time", a_year_of_dusk, 1, 500.0),
    )
    within = True
    print(f"{'':40}{'ms':>9}{'bound ms':>10}")
    for name, task, rounds, bound in rows:
        took = milliseconds(task, 1 if smoke else rounds)
        print(f"{name:40}{took:9.2f}{bound:10.0f}")
        within = within and took <= bound
    return 0 if within or smoke else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
