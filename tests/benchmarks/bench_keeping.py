"""`agenda` on a large ledger against its own imports; writing a fact; whole plans of few and many harvests.

The bounds are this project's own (assumed): `agenda` with 1,000 harvests within 3 times its imports, a fact within 20 ms, 30 harvests within
18 times one pass that places their tasks, a task of 1,000 harvests within 1.5 times a task of 100. `--smoke` does each
once on little and applies none.
"""

from __future__ import annotations

import gc
import os
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from scheduler.__main__ import MADE_BETWEEN_SWEEPS
from scheduler.application.tell import set_yard
from scheduler.facts.fact import HarvestLogged, TaskDone
from scheduler.facts.harvest import read_harvest
from scheduler.facts.yard import read_yard
from scheduler.ledger.store import Ledger
from scheduler.planning.expand import Expansion
from scheduler.planning.planner import Planning, plan
from scheduler.planning.problem import Problem
from scheduler.planning.serial_sgs import construct
from scheduler.planning.stops import withhold_followers
from scheduler.rules.load import load

ROOT = Path(__file__).resolve().parents[2]
YARD = ROOT / "examples/kestrel_bank/yard.yaml"
RIDGE = (ROOT / "examples/kestrel_bank/ridge-2.yaml").read_text(encoding="utf-8")
LAST = datetime(2026, 6, 1, 9, 0, tzinfo=UTC)
A_YEAR = 30  # harvests
PASSES = 18.0  # a plan of 30 harvests against one pass that places them
A_SEASON = 25  # harvests; 1,000 are forty years of them
IMPORTS = (
    "import scheduler.cli, scheduler.cli.agenda_commands, scheduler.application.tell, scheduler.outputs.text.agenda, "
    "scheduler.planning.planner, sqlalchemy, alembic"
)


def written(number: int, of: int) -> tuple[str, str, datetime]:
    """Name, text and moment of one of so many harvests, in the summers up to the last."""
    season, place = divmod(of - 1 - number, A_SEASON)
    pulled = LAST.replace(year=LAST.year - season) + timedelta(days=60 * (1 - place / A_SEASON))
    name = f"pull-{number:04}"
    text = RIDGE.replace("harvest: ridge-2", f"harvest: {name}").replace("2026-08-11T10:30", f"{pulled:%Y-%m-%dT%H:%M}")
    return name, text, pulled


def problem_of(count: int) -> Problem:
    """So many harvests in one yard."""
    yard = read_yard(YARD.read_bytes(), "yard.yaml")
    harvests = tuple(read_harvest(written(number, count)[1].encode(), "pull.yaml", yard) for number in range(count))
    return Problem(yard, load(yard.rules), harvests, int(LAST.timestamp()), yard.season)


def planned(count: int) -> tuple[float, float]:
    """Seconds to plan so many harvests, and seconds for each task."""
    problem = problem_of(count)
    began = time.perf_counter()
    tasks = len(plan(problem).tasks)
    took = time.perf_counter() - began
    return took, took / tasks


def placed(count: int) -> float:
    """Seconds of one pass that places the tasks of so many harvests, of which a whole plan takes several."""
    problem = problem_of(count)
    planning = Planning(problem)
    drafts = Expansion(problem, planning.pulls, planning.moments).run()
    withhold_followers(drafts, problem.happened)
    network = planning.network(drafts)
    construct(network)  # works the calendars out
    began = time.perf_counter()
    construct(network)
    return time.perf_counter() - began


def fill(place: Path, count: int) -> float:
    """A ledger of so many harvests, of all but the last of which every task was done; seconds to write one fact more."""
    moments = []
    now = int(datetime(2027, 1, 1, tzinfo=UTC).timestamp())
    with Ledger.open(place) as ledger:
        yard = set_yard(ledger, YARD.read_bytes(), str(YARD), now)
        told = [written(number, count) for number in range(count)]
        logged = [HarvestLogged(occurred_at=int(pulled.timestamp()), harvest=name, text=text, path="pull.yaml") for name, text, pulled in told]
        ledger.append(logged, now)
        one = read_harvest(told[0][1].encode(), "pull.yaml", yard)
        names = [task.id for task in plan(Problem(yard, load(yard.rules), (one,), int(told[0][2].timestamp()), yard.season)).tasks if task.lot]
        done = [
            TaskDone(occurred_at=int((pulled + timedelta(days=2)).timestamp()), task=task.replace(told[0][0], name, 1))
            for name, _, pulled in told[:-1]
            for task in names
        ]
        ledger.append(done, now)
        for number in range(20):
            began = time.perf_counter()
            ledger.append([TaskDone(occurred_at=now + number, task=f"{told[-1][0]}/a/cut.1")], now)
            moments.append(time.perf_counter() - began)
    return statistics.median(moments)


def least(command: list[str], rounds: int, **environment: str) -> float:
    """The least wall time of a command [s]; raises where it fails."""
    times = []
    for _ in range(rounds):
        began = time.perf_counter()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env={**os.environ, **environment}, cwd=ROOT)
        times.append(time.perf_counter() - began)
    return min(times)


def main(arguments: list[str]) -> int:
    """Print the table. Returns 1 where a bound is passed, except in the smoke form."""
    smoke = "--smoke" in arguments
    gc.set_threshold(MADE_BETWEEN_SWEEPS)  # as the command does
    few, many, rounds = (2, 4, 1) if smoke else (100, 1000, 3)
    with tempfile.TemporaryDirectory() as folder:
        ledger = Path(folder) / "ledger.sqlite"
        fact = fill(ledger, many)
        agenda = least([sys.executable, "-m", "scheduler", "agenda"], rounds, AFTERPULL_LEDGER=str(ledger))
    imports = least([sys.executable, "-c", IMPORTS], rounds)
    year = 2 if smoke else A_YEAR
    thirty = min(planned(year)[0] for _ in range(rounds))
    once = min(placed(year) for _ in range(rounds))
    small, large = planned(few), planned(many)
    rows = [
        (f"agenda, {many} harvests : its imports", agenda / imports, 3.0, f"{agenda:.2f} s : {imports:.2f} s"),
        ("writing a fact [ms]", fact * 1e3, 20.0, ""),
        ("planning 30 harvests : placing them once", thirty / once, PASSES, f"{thirty * 1e3:.0f} ms : {once * 1e3:.0f} ms"),
        (
            f"a task of {many} : a task of {few} harvests",
            large[1] / small[1],
            1.5,
            f"{large[1] * 1e3:.2f} ms : {small[1] * 1e3:.2f} ms; {large[0]:.1f} s in all",
        ),
    ]
    print(f"{'':44}{'measured':>10}{'bound':>8}")
    for name, value, bound, told in rows:
        print(f"{name:44}{value:10.2f}{bound:8.1f}  {told}")
    return 0 if smoke or all(value <= bound for _, value, bound, _ in rows) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
