"""The feed as subscribers fetch it: "not modified" against the first answer, which plans, draws and renders, as a ratio within one run."""

from __future__ import annotations

import asyncio
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from scheduler.application.feed_addresses import new
from scheduler.application.publish import Feeds
from scheduler.facts.fact import HarvestLogged, YardSet
from scheduler.ledger.store import Ledger
from scheduler.web.feeds import application

PULLED = 1_786_437_000  # 2026-08-11 10:30 at the example yard
EXAMPLES = Path(__file__).parents[2] / "examples" / "kestrel_bank"
BOUND = 1 / 20  # this project's own, assumed


def fetched(app: Any, path: str, tag: str = "") -> tuple[int, str]:
    """Status and ETag of one request to the ASGI application, without a socket."""
    sent: list[dict[str, Any]] = []
    headers = [(b"if-none-match", tag.encode())] if tag else []
    scope = {"type": "http", "method": "GET", "path": path, "raw_path": path.encode(), "query_string": b"", "headers": headers, "http_version": "1.1"}

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    asyncio.run(app({**scope, "root_path": "", "scheme": "http", "server": ("127.0.0.1", 1), "client": ("127.0.0.1", 2)}, receive, send))
    return sent[0]["status"], dict(sent[0]["headers"])[b"etag"].decode()


def timed(work: Callable[[], object]) -> float:
    """The wall time of one run [s]."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def main(arguments: list[str]) -> int:
    """Print the ratio; exit 1 over the bound, or where a rendering was needed. `--smoke` applies no bound."""
    smoke = "--smoke" in arguments
    with tempfile.TemporaryDirectory() as folder, Ledger.open(Path(folder) / "ledger.sqlite") as ledger:
        yard, harvest = EXAMPLES / "yard.yaml", EXAMPLES / "ridge-2.yaml"
        told = [
            YardSet(occurred_at=PULLED, text=yard.read_text(encoding="utf-8"), path=str(yard)),
            HarvestLogged(occurred_at=PULLED, harvest="ridge-2", text=harvest.read_text(encoding="utf-8"), path=str(harvest)),
        ]
        ledger.append(told, PULLED)
        feeds = Feeds(ledger, lambda: PULLED)
        app, path = application(feeds), f"/feed/{new(ledger, 'kitchen', PULLED)}.ics"
        first = timed(lambda: fetched(app, path))
        tag = fetched(app, path)[1]
        again = min(timed(lambda: fetched(app, path, tag)) for _ in range(3 if smoke else 200))
        status, rendered = fetched(app, path, tag)[0], feeds.renders
    ratio = again / first
    print(f"not modified {again:.5f} s, first answer {first:.3f} s, ratio {ratio:.5f} (bound {BOUND:.3f}), status {status}, rendered {rendered} time")
    return 1 if (status, rendered) != (304, 1) or (not smoke and ratio > BOUND) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
