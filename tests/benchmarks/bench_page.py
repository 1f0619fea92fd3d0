"""The page of the work with 1,000 harvests over forty years in the ledger against the same page with one of them: 95 of 100 answers, as a ratio.

The bound is this project's own (assumed). `--smoke` takes fewer harvests and answers and applies none.
"""

from __future__ import annotations

import asyncio
import sys
import tempfile
import time
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from scheduler.application.page_contents import Pages
from scheduler.application.page_forms import Forms, Teller
from scheduler.application.paired_phones import PairedPhones
from scheduler.application.publish import Feeds
from scheduler.facts.fact import Fact, HarvestLogged, TaskDone, YardSet
from scheduler.ledger.store import Ledger
from scheduler.web.feeds import application
from scheduler.web.guard import Guard
from scheduler.web.page import Page
from tests.benchmarks.bench_keeping import LAST, YARD, written

NOW = int(LAST.timestamp()) + 63 * 86_400  # after the last of the harvests
BOUND = 3.0
STEPS = ("close-up", "reduce-entrances", "a/cut.1", "a/drain.1", "a/pack.1", "a/freeze.1", "b/spin", "b/strain", "b/settle", "b/bottle")


def shown(app: Any) -> int:
    """The status of the page, asked for without a socket."""
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    scope = {"type": "http", "method": "GET", "path": "/", "raw_path": b"/", "query_string": b"", "headers": [(b"host", b"localhost")]}
    more = {"http_version": "1.1", "root_path": "", "scheme": "http", "server": ("127.0.0.1", 1), "client": ("127.0.0.1", 2)}
    asyncio.run(app({**scope, **more}, receive, send))
    return int(sent[0]["status"])


def facts(numbers: Iterable[int], of: int) -> Iterable[Fact]:
    """Harvests with most of their work done, and the yard."""
    first = int(LAST.timestamp()) - 60 * 366 * 86_400
    yield YardSet(occurred_at=first, text=YARD.read_text(encoding="utf-8"), path="yard.yaml")
    for number in numbers:
        name, text, pulled = written(number, of)
        at = int(pulled.timestamp())
        yield HarvestLogged(occurred_at=at, harvest=name, text=text, path=f"{name}.yaml")
        for hours, step in enumerate(STEPS):
            yield TaskDone(occurred_at=at + 3600 * (hours * 10 + 1), task=f"{name}/{step}")


def p95(of: int, numbers: Iterable[int], times: int) -> tuple[float, float, float, float]:
    """
    What 95 of 100 answers take at most after the first, within one minute; the first, for which the plan is made; that of a minute later; and the
    second of two presses, before the plan is made anew [s].
    """
    clock = [NOW]
    with tempfile.TemporaryDirectory() as folder, Ledger.open(Path(folder) / "ledger.sqlite") as ledger:
        ledger.append(facts(numbers, of), NOW)
        pages = Pages(ledger, lambda: clock[0])
        forms = Forms(pages)
        page = Page(pages, forms, Guard(PairedPhones(ledger, lambda: clock[0])))
        app = application(Feeds(ledger, lambda: clock[0]), "", page.routes())
        taken = []
        begun = time.perf_counter()
        assert shown(app) == 200
        first = time.perf_counter() - begun
        for _ in range(times):
            begun = time.perf_counter()
            assert shown(app) == 200
            taken.append(time.perf_counter() - begun)
        clock[0] += 60
        begun = time.perf_counter()
        assert shown(app) == 200
        later = time.perf_counter() - begun
        pressed = 0.0
        for task in [task.id for task in pages.contents().plan.tasks if task.is_open and task.hands][:2]:
            begun = time.perf_counter()
            forms.later({"key": task, "task": task, "until": "tomorrow 18:00"}, Teller())
            pressed = time.perf_counter() - begun
    return sorted(taken)[int(0.95 * (len(taken) - 1))], first, later, pressed


def main(arguments: list[str]) -> int:
    """Print both and their ratio; exit 1 over the bound."""
    smoke = "--smoke" in arguments
    of, times = (10, 2) if smoke else (1_000, 100)
    (empty, *_), (full, first, later, pressed) = p95(of, (), times), p95(of, range(of), times)
    print(f"page of the work: without a harvest {empty:.4f} s, with {of} harvests {full:.4f} s, ratio {full / empty:.2f} (bound {BOUND})")
    print(f"its first answer, which plans: {first:.1f} s; a minute later, when the same plan stands: {later:.3f} s")
    print(f"a second press before the plan is made anew: {pressed:.3f} s")
    return 1 if not smoke and full / empty > BOUND else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
