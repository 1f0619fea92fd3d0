"""What tells an open page that there is something new: server-sent events (HTML Living Standard, section 9.2) that carry no word of what it is."""

from __future__ import annotations

import asyncio
import contextlib
from collections import Counter
from collections.abc import AsyncIterator, Callable
from secrets import token_urlsafe

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from scheduler.diagnostics import Fault, Refused
from scheduler.web.guard import HEADERS

PAUSE = 1.0  # s between two looks into the ledger, for all streams together; assumed
LASTS = 45.0  # s that a stream is kept, less than a connection may last; the browser then asks again
AGAIN = 2_000  # ms after which it does; assumed
MOST_STREAMS = 30  # at once, a part of the connections there may be; assumed
MOST_EACH = 4  # of one browser: it has six connections to a host (HTTP/1.1), and pages want some of them


class Live:
    """The streams of one run of the server; `position` says where the ledger stands, and what was found since."""

    def __init__(self, position: Callable[[], str]) -> None:
        self.open = Counter[tuple[str, str]]()  # by address and browser
        self._position, self._run = position, token_urlsafe(6)
        self._looked, self._at = float("-inf"), ""
        self._looking = asyncio.Lock()

    def at(self) -> str:
        """What is shown: another word after each fact, and after a new start, since forms made before it are not taken any more."""
        return f"{self._run}.{self._position()}"

    def stream(self, request: Request) -> Response:
        """The stream of one page. One too many is answered by "no content", at which a browser does not ask again by itself."""
        if self.open.total() >= MOST_STREAMS or self.open[_browser(request)] >= MOST_EACH:
            return Response(status_code=204, headers=HEADERS)
        return StreamingResponse(self._events(request), media_type="text/event-stream", headers=HEADERS)

    async def _events(self, request: Request) -> AsyncIterator[str]:
        self.open[_browser(request)] += 1
        try:
            yield f"retry: {AGAIN}\n\n"
            loop, server, last = asyncio.get_running_loop(), request.app.state.server, ""
            ends = loop.time() + LASTS
            while loop.time() < ends and not server.should_exit:
                if (at := await self._look()) != last:
                    yield f"data: {at}\n\n"
                    last = at
                await server.sleeps(max(0.0, self._looked + PAUSE - loop.time()))
        finally:
            self.open[_browser(request)] -= 1
            self.open += Counter()  # forgets who has none left

    async def _look(self) -> str:
        """Where the ledger stands, read at most once in a pause; as it was, where it cannot be read just now."""
        async with self._looking:
            now = asyncio.get_running_loop().time()
            if now >= self._looked + PAUSE:
                with contextlib.suppress(Fault, Refused):
                    self._at = await run_in_threadpool(self.at)
                self._looked = now
            return self._at


def _browser(request: Request) -> tuple[str, str]:
    """Which browser asks, as well as can be known without a mark on it."""
    return request.client.host if request.client is not None else "", request.headers.get("user-agent", "")[:200]
