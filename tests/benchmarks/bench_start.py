"""How long the command takes to start, against what it cannot do without; and the memory a plan needs.

Each pair is run in turn and the least time of either counts, so that a busy machine slows both sides alike.
The bounds are this project's own (assumed); the smoke form runs each pair once and applies none.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
EXAMPLE = ROOT / "examples/kestrel_bank/ridge-2.yaml"
KEEPERS = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}  # compiled code and checked rules are kept, as at home
PULLED = "2026-08-11T10:30"  # the example is planned as its supers come off, whatever the day of the measurement
LARGEST = 80  # MiB, at the peak of planning the example
ROUNDS = 15


@dataclass(frozen=True)
class Pair:
    """A command, the yardstick it is held against, and the greatest ratio of their wall times."""

    name: str
    command: tuple[str, ...]
    yardstick: tuple[str, ...]
    bound: float


def run(command: tuple[str, ...], folder: str) -> tuple[float, float]:
    """Run a command to its end. Returns wall time [s] and peak resident memory [MiB]; raises `SystemExit` where it fails."""
    began = time.perf_counter()
    with subprocess.Popen(command, cwd=folder, env=KEEPERS, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL) as process:
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    took = time.perf_counter() - began
    if process.returncode:
        raise SystemExit(f"exit {process.returncode} of: {' '.join(command)}")
    return took, usage.ru_maxrss / 1024


def least(pair: Pair, rounds: int, folder: str) -> tuple[float, float, float]:
    """The least wall time of the command and of its yardstick [s], alternating, and the command's peak memory [MiB]."""
    runs = [(run(pair.command, folder), run(pair.yardstick, folder)) for _ in range(rounds)]
    return min(ours[0] for ours, _ in runs), min(other[0] for _, other in runs), max(ours[1] for ours, _ in runs)


def pairs() -> list[Pair]:
    """What is measured."""
    afterpull = str(Path(sys.executable).with_name("afterpull"))
    libraries = (sys.executable, "-c", "import pydantic, icalendar, yaml")
    empty = (sys.executable, "-c", "pass")
    return [
        Pair("plan with --calendar : its libraries", (afterpull, "plan", str(EXAMPLE), "--as-of", PULLED, "--calendar", "out.ics"), libraries, 2.5),
        Pair("--help : an empty interpreter", (afterpull, "--help"), empty, 5.0),
    ]


def main(arguments: list[str]) -> int:
    """Print the table. Returns 1 where a bound is passed, except in the smoke form."""
    smoke = "--smoke" in arguments
    within = True
    print(f"{'':40}{'ours ms':>9}{'other ms':>10}{'ratio':>8}{'bound':>7}{'peak MiB':>10}")
    with tempfile.TemporaryDirectory() as folder:
        for pair in pairs():
            ours, other, memory = least(pair, 1 if smoke else ROUNDS, folder)
            print(f"{pair.name:40}{ours * 1e3:9.0f}{other * 1e3:10.0f}{ours / other:8.2f}{pair.bound:7.1f}{memory:10.0f}")
            within = within and ours / other <= pair.bound and memory <= LARGEST
    return 0 if within or smoke else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
