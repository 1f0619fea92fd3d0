"""What a phone and the machine that serves it bear: `python -m tests.web.measured [SECONDS]` prints first paint and weight of pages, and the load of idling.

First paint is Chromium's own entry (Paint Timing, W3C) with its processor slowed six times, the median of five loads with nothing kept, and as a
ratio to that of a line of plain text from the same server. Idling is the time that the processor gave `afterpull serve`, with its watch, while a page
stood open on a phone, in sight and then hidden, and nobody pressed anything. Exit 1 over a bound; both are the project's own.
"""
# ruff: noqa: T201 - it prints what it measured

from __future__ import annotations

import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Browser as Chromium

from scheduler.application import clock
from scheduler.facts.fact import HarvestLogged, YardSet
from scheduler.ledger.store import Ledger
from tests.conftest import EXAMPLES
from tests.web.chromium import PHONE, SHOWN, chromium
from tests.web.test_weight import heard

LOADS, SLOWER, PORT = 5, 6, 8719
SLOWEST, BUSIEST = 4.0, 0.5  # times as long as plain text until something is seen; % of a core while idling
PAINTED = "() => performance.getEntriesByName('first-contentful-paint')[0]?.startTime"


def painted(launched: Chromium, path: str) -> tuple[float, int]:
    """Until something of a page is seen [ms], and how many octets it took, without the stream."""
    taken, weight = [], 0
    for _ in range(LOADS):
        context = launched.new_context(viewport=PHONE, is_mobile=True, has_touch=True, base_url=f"http://localhost:{PORT}")  # type: ignore[arg-type]
        tab = context.new_page()
        answers = heard(tab)
        context.new_cdp_session(tab).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        tab.goto(path)
        tab.wait_for_function(f"() => ({PAINTED})() !== undefined")
        taken.append(float(tab.evaluate(PAINTED)))
        weight = sum(len(answer.body()) for answer in answers if not answer.url.endswith("/live"))
        context.close()
    return statistics.median(taken), weight


def busy(process: int) -> float:
    """The time that the processor gave a process so far [s] (proc(5), fields 14 and 15 of stat)."""
    fields = Path(f"/proc/{process}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def measure(launched: Chromium, server: int, seconds: float) -> bool:
    """Print what was measured of a server, by its process; whether all of it is within the bounds."""
    plain, _ = painted(launched, "/plain-text-that-is-not-there")
    good = True
    for path in ("/", "/ahead", "/hives", "/season", "/harvest", "/rules"):
        milliseconds, octets = painted(launched, path)
        good &= milliseconds < SLOWEST * plain
        print(
            f"{path:9} first paint {milliseconds:4.0f} ms at a processor {SLOWER} times slower, {milliseconds / plain:.1f} times that of plain text "
            f"(bound {SLOWEST:.0f}), {octets / 1000:.1f} kB"
        )
    tab = launched.new_page(viewport=PHONE)  # type: ignore[arg-type]
    tab.goto(f"http://localhost:{PORT}/")
    for state in ("in sight", "hidden"):
        tab.evaluate(SHOWN, "visible" if state == "in sight" else "hidden")
        time.sleep(20)  # what would help is looked for, and the stream is closed
        before = busy(server)
        time.sleep(seconds)
        share = 100 * (busy(server) - before) / seconds
        good &= share < BUSIEST
        print(f"idling with a page open, {state}: {share:.2f} % of a core over {seconds:.0f} s (bound {BUSIEST})")
    tab.close()
    return good


def main(arguments: list[str]) -> int:
    """Print both. Returns 1 where a bound is passed, else 0."""
    seconds, good = float(arguments[0]) if arguments else 60.0, False
    with tempfile.TemporaryDirectory() as folder:
        place, now = Path(folder) / "ledger.sqlite", int(clock.now().timestamp())
        with Ledger.open(place) as ledger:
            harvest = re.sub(r"pulled: \S+", f"pulled: {clock.now():%Y-%m-%dT%H:%M}", (EXAMPLES / "ridge-2.yaml").read_text(encoding="utf-8"))
            yard = YardSet(occurred_at=now, text=(EXAMPLES / "yard.yaml").read_text(encoding="utf-8"), path="yard.yaml")
            ledger.append([yard, HarvestLogged(occurred_at=now, harvest="ridge-2", text=harvest, path="ridge-2.yaml")], now)
        command = [sys.executable, "-m", "scheduler", "serve", "--port", str(PORT), "--ledger", str(place)]
        with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True) as server:
            try:
                assert server.stderr is not None
                next(line for line in server.stderr if "The page, on this machine" in line)
                with chromium() as launched:
                    good = measure(launched, server.pid, seconds)
            finally:
                server.terminate()
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
