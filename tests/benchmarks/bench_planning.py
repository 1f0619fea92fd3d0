"""How the time to place tasks grows with their number, what odd hours cost, and the memory a task needs.

Seasons are invented: 45 tasks a harvest, one harvest a day, or thirty a day where the yard is to be full for months. Each figure is the
least of a few rounds, and the two sides of a ratio are run in turn. The bounds are this project's own (assumed); the smoke form applies none.
"""

from __future__ import annotations

import gc
import sys
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace

from scheduler.planning.local_search import schedule
from scheduler.planning.network import Calendar
from scheduler.planning.serial_sgs import construct
from tests.planning.yards import NOON, quarters, season

FULL = 86400 / 30  # seconds from harvest to harvest where thirty a day queue for months


def least(rounds: int, *works: Callable[[], object]) -> list[float]:
    """The least time of each of some works [s], run in turn with the collector at rest."""
    best = [float("inf")] * len(works)
    for _ in range(rounds):
        for i, work in enumerate(works):
            gc.collect()
            gc.disable()
            began = time.perf_counter()
            work()
            best[i] = min(best[i], time.perf_counter() - began)
            gc.enable()
    return best


def show(name: str, value: float, unit: str, bound: float | None) -> bool:
    """Print one line; returns whether it is within its bound."""
    print(f"{name:64}{value:10.2f} {unit:12}" + (f"at most {bound:g}" if bound is not None else ""))
    return bound is None or value <= bound


def growth(rounds: int, large: int) -> list[bool]:
    """Times and ratios of growth, in an ordinary yard and in a full one."""
    year = season(30)
    found = [show("30 harvests, in all", least(rounds, lambda: schedule(year))[0] * 1e3, "ms", 100)]
    for name, every in (("one harvest a day", 86400.0), ("a yard full for months", FULL)):
        small, some, double, many = (season(count, every) for count in (100, large // 4, large // 2, large))
        a, b, c, d = least(rounds, lambda n=small: construct(n), lambda n=some: construct(n), lambda n=double: construct(n), lambda n=many: construct(n))
        found.append(show(f"{name}: {large} harvests, for a task", d / len(many.tasks) * 1e6, "us", None))
        found.append(show(f"{name}: a task of {large} harvests : a task of 100", d / len(many.tasks) / (a / len(small.tasks)), "", 1.5))
        found.append(show(f"{name}: twice as many, {large // 2} : {large // 4}", c / b, "", 2.3))
    return found


def odd(rounds: int, count: int) -> list[bool]:
    """A yard whose hours are in pieces too short for most work but on one day a week, against an ordinary one: its greatest lags are repaired often."""
    usual = season(count)
    short = replace(usual, calendars={"daytime": Calendar(NOON // 86400 - 3, NOON // 86400 + 2000, quarters)})
    construct(usual), construct(short)  # works the calendars out
    a, b = least(rounds, lambda: construct(usual), lambda: construct(short))
    return [show(f"hours in pieces of 8 min : an ordinary yard, {count} harvests", b / a, "", 25)]


def memory(large: int) -> list[bool]:
    """Bytes a task of what planning keeps."""
    network = season(large)
    tracemalloc.start()
    made = construct(network)
    kept, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    count = len(made)
    return [show("kept for a task", kept / count, "bytes", None), show("at the peak, for a task", most / count, "bytes", None)]


def main(arguments: list[str]) -> int:
    """Print the table. Returns 1 where a bound is passed, except in the smoke form."""
    smoke = "--smoke" in arguments
    rounds, large = (1, 100) if smoke else (3, 1000)
    within = [*growth(rounds, large), *odd(rounds, 20), *memory(large)]
    return 0 if smoke or all(within) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
