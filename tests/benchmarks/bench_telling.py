"""How long `done` takes in the evening of a pull, against the imports that it cannot do without.

The two run in turn and the least time of either counts, so that a busy machine slows both alike. The bound is the project's own (assumed); the smoke
form runs each once and applies none. The yard and its harvest are the invented example, pulled three hours ago.
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
DONE = ("-m", "scheduler", "done", "ridge-2/close-up")
IMPORTS = (
    "-c",
    "import scheduler.cli, scheduler.cli.log_commands, scheduler.ledger.store, scheduler.application.tell_tasks, scheduler.application.lookup, "
    "scheduler.application.ledger_view, scheduler.planning.planner",
)


def pulled(zone: ZoneInfo) -> datetime:
    """Three hours ago at the yard."""
    return (now() - timedelta(hours=3)).astimezone(zone)


def fill(place: Path) -> None:
    """A ledger with the yard and the harvest; nothing is told of it yet."""
    moment = int(now().timestamp())
    with Ledger.open(place) as ledger:
        yard = set_yard(ledger, (EXAMPLE / "yard.yaml").read_bytes(), str(EXAMPLE / "yard.yaml"), moment)
        text = (EXAMPLE / "ridge-2.yaml").read_text(encoding="utf-8").replace("2026-08-11T10:30", f"{pulled(ZoneInfo(yard.place.timezone)):%Y-%m-%dT%H:%M}")
        log(ledger, [(text.encode(), "ridge-2.yaml")], moment)


def run(words: tuple[str, ...], place: Path) -> float:
    """Seconds of a process of its own; raises where it fails."""
    began = time.perf_counter()
    subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL, cwd=ROOT, env={**os.environ, "AFTERPULL_LEDGER": str(place)})
    return time.perf_counter() - began


def main(arguments: list[str]) -> int:
    """Print the table. Returns 1 where the bound is passed, except in the smoke form."""
    smoke = "--smoke" in arguments
    done, imports = [], []
    with tempfile.TemporaryDirectory() as folder:
        sound, place = Path(folder) / "sound.sqlite", Path(folder) / "ledger.sqlite"
        fill(sound)
        for _ in range(1 if smoke else ROUNDS):
            shutil.copy(sound, place)
            done.append(run(DONE, place))
            imports.append(run(IMPORTS, place))
    ratio = min(done) / min(imports)
    print(f"done : its imports  {min(done) * 1e3:.0f} ms : {min(imports) * 1e3:.0f} ms; ratio {ratio:.2f}, bound {GREATEST_RATIO}")
    return 0 if smoke or ratio <= GREATEST_RATIO else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
