"""HTTP connections that nobody keeps for good: a head arrives within seconds, an answer is taken within a minute, and there are only so many at once."""

from __future__ import annotations

import asyncio
from email.utils import formatdate

from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD = 5.0  # s within which a request's head arrives, counted from the connection or from the last answer; assumed
ANSWER = 60.0  # s within which a request is answered and the answer taken; the first one plans; assumed
MOST = 100  # connections at once; a household has a few; assumed


class BoundedHttp(H11Protocol):
    """
    A connection with an end: it is cut where its time is over.

    One beyond `MOST` takes the place of whoever has sent no request for longest; where all are being answered, it is cut itself.
    """

    _limit: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Counts a new connection, and its time."""
        super().connection_made(transport)
        open_ = [one for one in self.connections if isinstance(one, BoundedHttp) and not one.transport.is_closing()]
        if len(open_) > MOST:
            idle = [one for one in open_ if one is not self and not one.answering]
            min(idle, key=lambda one: one.cut_at, default=self).transport.abort()
        self._allow(HEAD)

    def data_received(self, data: bytes) -> None:
        """A head that is whole gives its answer time; a part of one gives nothing."""
        before = self.answering
        self.server_state.default_headers = [(b"date", formatdate(usegmt=True).encode())]  # RFC 9110 section 6.6.1; no tick of the server renews it
        super().data_received(data)
        if self.answering and not before:
            self._allow(ANSWER)

    def on_response_complete(self) -> None:
        """Waits for the next head, which may be here already."""
        super().on_response_complete()
        self._allow(ANSWER if self.answering else HEAD)

    def connection_lost(self, exc: Exception | None) -> None:
        """Forgets the time."""
        super().connection_lost(exc)
        if self._limit is not None:
            self._limit.cancel()

    @property
    def answering(self) -> bool:
        """Whether a request is being answered."""
        return self.cycle is not None and not self.cycle.response_complete

    @property
    def cut_at(self) -> float:
        """When the connection is cut, by the clock of its loop [s]."""
        return self._limit.when() if self._limit is not None else 0.0

    def _allow(self, seconds: float) -> None:
        if self._limit is not None:
            self._limit.cancel()
        self._limit = self.loop.call_later(seconds, self._cut)

    def _cut(self) -> None:
        if not self.answering and self.transport.get_write_buffer_size():
            self._limit = self.loop.call_later(ANSWER, self.transport.abort)  # a slow phone still takes the answer
        else:
            self.transport.abort()
