"""How late a watch is with 1,000 alerts due in one minute, what it costs while nothing is due, and how much memory it holds.

The watch runs in a process of its own, on a ledger with the example yard and harvest, with the tick it has for keepers; its channel writes down
the moment of each delivery. The alerts are invented. The bounds are this project's own (assumed); the smoke form applies none.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping
from pathlib import Path

from scheduler.application.alert_ids import alert_key
from scheduler.daemon import TICK, Watch, run
from scheduler.ledger.alerts import PlannedAlert
from scheduler.ledger.store import Ledger
from scheduler.outputs.notify.config import NotificationConfig
from scheduler.outputs.notify.desktop import Desktop
from scheduler.outputs.notify.message import Button, Channel, Message, OnPress
from tests.application.watched_yard import log_harvest

IDLE = 0.5  # % of one core
MEMORY = 90.0  # MiB
SETTLED = 25.0  # s for the first look, which plans


class Stamped:
    """Writes the key of each message and the moment it came [s since 1970]."""

    name = "desktop"

    def __init__(self, path: str) -> None:
        self._file = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o644)

    def send(self, message: Message) -> str | None:
        """Takes every message."""
        os.write(self._file, f"{message.key} {time.time()}\n".encode())  # noqa: TID251 lateness is measured by the clock on the wall
        return None


def watch(where: str, stamps: str) -> None:
    """The process that is measured; the desktop's library is loaded in it, as it is for a keeper."""
    Desktop(lambda *_: None).send(Message("test", "A test", "", buttons=(Button("done", "Done"),)))
    stamped = Stamped(stamps)

    def channels(_: NotificationConfig, __: OnPress) -> Mapping[str, Channel]:
        return {"desktop": stamped}

    run(Watch(where, NotificationConfig(), channels, lambda _: None))


def offered(where: Path, count: int, begins: int, within: int) -> dict[str, int]:
    """Alerts that fall due evenly from a moment on, beside those of the plan: due time by id."""
    found = {alert_key(f"x/{number}", 0, "keeper"): begins + number * within // count for number in range(count)}
    with Ledger.open(where) as ledger:
        there = [PlannedAlert(one.id, one.task, one.due_at, one.say, one.loss) for one in ledger.alerts.all()]
        ledger.alerts.offer([*there, *(PlannedAlert(key, key.partition("#")[0], at, "Look", "comfort") for key, at in found.items())], begins)
    return found


def processor(pid: int) -> float:
    """Processor time of a process so far [s] (proc(5), fields 14 and 15 of stat)."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def resident(pid: int) -> tuple[float, float]:
    """Resident memory of a process now and at its peak [MiB] (proc(5), status)."""
    fields = dict(line.split(":", 1) for line in Path(f"/proc/{pid}/status").read_text().splitlines())
    return float(fields["VmRSS"].split()[0]) / 1024, float(fields["VmHWM"].split()[0]) / 1024


def lateness(stamps: Path, due: Mapping[str, int], seconds: float) -> list[float]:
    """How late each alert came [s], in order, once all have come or the time is over; one that did not come counts as that long."""
    end = time.monotonic() + seconds
    came: dict[str, float] = {}
    while time.monotonic() < end and len(came) < len(due):
        time.sleep(0.5)
        came = {key: float(at) for key, at in (line.split() for line in stamps.read_text().splitlines()) if key in due} if stamps.exists() else {}
    return sorted(came.get(key, at + seconds) - at for key, at in due.items())


def main(arguments: list[str]) -> int:
    """Print the table. Returns 1 where a bound is passed, except in the smoke form."""
    smoke = "--smoke" in arguments
    count, within, idle_for = (50, 5, 5) if smoke else (1000, 60, 120)
    with tempfile.TemporaryDirectory() as folder:
        where, stamps = Path(folder) / "ledger.sqlite", Path(folder) / "stamps"
        with Ledger.open(where) as ledger:
            log_harvest(ledger)
        with subprocess.Popen([sys.executable, "-m", "tests.benchmarks.bench_watch", "--watch", str(where), str(stamps)]) as process:
            try:
                time.sleep(5 if smoke else SETTLED)
                before = processor(process.pid)
                time.sleep(idle_for)
                idle = 100 * (processor(process.pid) - before) / idle_for
                due = offered(where, count, int(time.time()) + 2, within)  # noqa: TID251 as above
                late = lateness(stamps, due, within + 60)
                now, peak = resident(process.pid)
            finally:
                process.terminate()
    p99 = late[int(0.99 * (len(late) - 1))]
    print(f"{count} alerts due within {within} s, a look every {TICK} s")
    print(f"  lateness     median {late[len(late) // 2]:.1f} s, p99 {p99:.1f} s, greatest {late[-1]:.1f} s (bound for p99: {TICK + 1} s)")
    print(f"  while idle   {idle:.2f} % of one core over {idle_for} s (bound {IDLE} %)")
    print(f"  memory       {now:.0f} MiB, {peak:.0f} MiB at its peak (bound {MEMORY:.0f} MiB)")
    return 0 if smoke or (p99 <= TICK + 1 and idle <= IDLE and peak <= MEMORY) else 1


if __name__ == "__main__":
    if "--watch" in sys.argv:
        watch(*sys.argv[-2:])
    else:
        sys.exit(main(sys.argv[1:]))
