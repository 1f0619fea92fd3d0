"""How long 200 futures of one harvest take against one plan of it, and with what a miss hangs on and what would help.

Both run in turn in one process and the least time of each counts, after one run that fills what is kept of the sun. The bounds are the project's own
(assumed); the smoke form samples few futures and applies none. The harvests are the invented examples.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

from scheduler.application.plan_files import problem_of
from scheduler.planning.odds import FUTURES
from scheduler.planning.planner import plan, plan_with_odds

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
HARVESTS = {"kestrel_bank/ridge-2": "2026-08-11T10:30", "pelican_bend/levee-1": "2026-06-20T08:15", "wattle_gully/gully-1": "2026-02-21T09:30"}
GREATEST = {"futures": 10.0, "what a miss hangs on, and help": 50.0}  # times one plan
ROUNDS = 5


def least(work: Callable[[], object], rounds: int) -> float:
    """The least seconds of some runs."""
    found = []
    for _ in range(rounds):
        began = time.perf_counter()
        work()
        found.append(time.perf_counter() - began)
    return min(found)


def main(arguments: list[str]) -> int:
    """Print the table. Returns 1 where a bound is passed, except in the smoke form."""
    smoke = "--smoke" in arguments
    futures, rounds, passed = (4, 1, 0) if smoke else (FUTURES, ROUNDS, 0)
    for name, at in HARVESTS.items():
        problem = problem_of((EXAMPLES / f"{name}.yaml",), None, (), at)
        plan(problem, cures=False)
        alone = least(lambda problem=problem: plan(problem, cures=False), rounds)  # type: ignore[misc]
        for what, more in zip(GREATEST, (False, True), strict=True):
            with_odds = least(lambda problem=problem, more=more: plan_with_odds(problem, futures, cures=False, causes=more, help=more), rounds)  # type: ignore[misc]
            ratio = with_odds / alone
            passed += ratio > GREATEST[what]
            print(f"{name:22} {futures} {what:30} {with_odds * 1e3:6.0f} ms : {alone * 1e3:4.0f} ms; ratio {ratio:5.1f}, bound {GREATEST[what]:g}")
    return 0 if smoke or not passed else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
