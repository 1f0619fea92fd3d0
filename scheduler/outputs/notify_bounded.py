"""A channel with a time limit: one that hangs holds nobody else up, and is left alone for a while."""

from __future__ import annotations

import threading
import time
from queue import Empty, SimpleQueue

from scheduler.outputs.notify import Channel, Message

LIMIT = 10.0  # s that one message may take (DESIGN)
REST = 300.0  # s that a channel which hangs is left alone, doubled each time up to LONGEST_REST (DESIGN)
LONGEST_REST = 3600.0


class Bounded:
    """
    Sends through a channel on a thread of its own and waits `limit` seconds at most.

    While a send hangs, further messages are refused at once, so that a hanging channel costs the others its limit once and no more. After a
    rest it is tried anew; the thread that hangs is given up (it is a daemon thread and ends with the process).
    """

    def __init__(self, channel: Channel, limit: float = LIMIT, rest: float = REST) -> None:
        self._channel, self._limit, self._rest = channel, limit, rest
        self._hanging: threading.Thread | None = None
        self._hung_at, self._hung = 0.0, 0

    @property
    def name(self) -> str:
        """The channel's own name."""
        return self._channel.name

    def send(self, message: Message) -> str | None:
        """None where the message was delivered in time, else why not."""
        if self._hanging is not None and self._hanging.is_alive():
            waited, rest = time.monotonic() - self._hung_at, min(self._rest * 2.0 ** (self._hung - 1), LONGEST_REST)
            if waited < rest:
                return f"it has not answered for {waited:.0f} s"
        elif self._hanging is not None:
            self._hanging, self._hung = None, 0
        return self._within_limit(message)

    def _within_limit(self, message: Message) -> str | None:
        answers: SimpleQueue[str | None] = SimpleQueue()
        thread = threading.Thread(target=self._send, args=(message, answers), name=f"channel {self.name}", daemon=True)
        thread.start()
        try:
            return answers.get(timeout=self._limit)
        except Empty:
            self._hanging, self._hung_at, self._hung = thread, time.monotonic(), self._hung + 1
            return f"no answer within {self._limit:g} s"

    def _send(self, message: Message, answers: SimpleQueue[str | None]) -> None:
        try:
            answers.put(self._channel.send(message))
        except Exception as error:
            answers.put(f"{type(error).__name__}: {error}")
