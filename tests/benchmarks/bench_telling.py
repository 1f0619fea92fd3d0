"""How long `done` takes in the evening of a pull, and after a silent month, against the imports that it cannot do without.

The two run in turn and the least time of either counts, so that a busy machine slows both alike. The bound is the project's own (assumed); the smoke
form runs each once and applies none. The yard and its harvest are the invented example, logged three hours after its pull.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from scheduler.application.clock import now
from scheduler.application.tell import log, set_yard
from scheduler.ledger.store import Ledger

ROOT = Path(__file__).resolve().parents[2]
EXAMPLE = ROOT / "examples/kestrel_bank"
GREATEST_RATIO = 3.0
ROUNDS = 10
SILENT = (0, 30, 100)  # days since the harvest was logged
DONE = ("-m", "scheduler", "done", "ridge-2/close-up")
IMPORTS = (
    "-c",
    "import scheduler.cli, scheduler.cli.log_commands, scheduler.ledger.store, scheduler.application.tell_tasks, scheduler.application.lookup, "
    "scheduler.application.ledger_view, scheduler.planning.planner",
)


def pulled(zone: ZoneInfo, days: int) -> datetime:
    """Three hours ago at the yard, and so many days."""
    return (now() - timedelta(days=days, hours=3)).astimezone(zone)


def fill(place: Path, days: int) -> None:
    """A ledger with the yard and the harvest, logged so many days ago; nothing is recorded of it since."""
    moment = int((now() - timedelta(days=days)).timestamp())
    with Ledger.open(place) as ledger:
        yard = set_yard(ledger, (EXAMPLE / "yard.yaml").read_bytes(), str(EXAMPLE / "yard.yaml"), moment)
        text = (
            (EXAMPLE / "ridge-2.yaml").read_text(encoding="utf-8").replace("2026-08-11T10:30", f"{pulled(ZoneInfo(yard.place.timezone), days):%Y-%m-%dT%H:%M}")
        )
        log(ledger, [(text.encode(), "ridge-2.yaml")], moment)


def run(words: tuple[str, ...], place: Path) -> float:
    """Seconds of a process of its own; raises where it fails."""
    began = time.perf_counter()
    subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL, cwd=ROOT, env={**os.environ, "AFTERPULL_LEDGER": str(place)})
    return time.perf_counter() - began


def main(arguments: list[str]) -> int:
    """Print the table. Returns 1 where the bound is passed, except in the smoke form."""
    smoke = "--smoke" in arguments
    slow = 0
    for days in SILENT:
        done, imports = [], []
        with tempfile.TemporaryDirectory() as folder:
            sound, place = Path(folder) / "sound.sqlite", Path(folder) / "ledger.sqlite"
            fill(sound, days)
            for _ in range(1 if smoke else ROUNDS):
                shutil.copy(sound, place)
                done.append(run(DONE, place))
                imports.append(run(IMPORTS, place))
        ratio = min(done) / min(imports)
        slow += ratio > GREATEST_RATIO
        figures = f"{min(done) * 1e3:.0f} ms : {min(imports) * 1e3:.0f} ms; ratio {ratio:.2f}, bound {GREATEST_RATIO}"
        print(f"done : its imports, {days:>3} silent days  {figures}")
    return 0 if smoke or not slow else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
