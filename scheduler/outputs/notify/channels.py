"""Channels: the terminal, services by address, and a time limit for any channel, so that one that hangs holds nobody else up."""

from __future__ import annotations

import logging
import threading
import time
from importlib.util import find_spec
from queue import Empty, SimpleQueue
from typing import TextIO

from scheduler.diagnostics import Fault
from scheduler.local_time import HOUR
from scheduler.outputs.notify.message import Channel, Message, redacted
from scheduler.outputs.plain_text import one_line

LIMIT = 10.0  # s that one message may take (DESIGN)
REST = 300.0  # s that a channel which hangs is left alone, doubled each time up to LONGEST_REST (DESIGN)
LONGEST_REST = float(HOUR)


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


class Terminal:
    """Writes messages to a stream."""

    name = "terminal"

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def send(self, message: Message) -> str | None:
        """Write the message; None where the stream is a terminal, else the reason why this is not yet telling somebody."""
        watched = self._stream.isatty()
        bell = "\a" if watched and message.urgent else ""
        lines = [one_line(message.title), *(f"    {one_line(line)}" for line in message.body.splitlines())]
        try:
            self._stream.write(bell + "\n".join(lines) + "\n")
            self._stream.flush()
        except (OSError, ValueError) as error:
            return f"can not be written: {error}"
        return None if watched else "nobody is looking at it; the message is in the log only"


class Service:
    """One address of a service. Raises `Fault` where the library is missing or does not know the address."""

    def __init__(self, name: str, address: str) -> None:
        if find_spec("apprise") is None:
            raise Fault("other channels than the desktop need the extra that is not installed", 'pip install "afterpull[channels]"')
        import apprise

        logging.getLogger("apprise").propagate = False  # it logs addresses
        self.name, self._address = name, address
        self._service = apprise.Apprise()
        if not self._service.add(address):
            message = f"the address of {name} is not one of a service known here (it begins {redacted(address)})"
            raise Fault(message, "the address as the library apprise documents it for the service")

    def send(self, message: Message) -> str | None:
        """None where the service took the message, else what it said, without the address."""
        import apprise

        kind = apprise.NotifyType.WARNING if message.urgent else apprise.NotifyType.INFO
        with apprise.LogCapture(level=logging.INFO, fmt="%(message)s") as said:  # type: ignore[no-untyped-call]
            if self._service.notify(title=message.title, body=message.body, notify_type=kind):
                return None
            words = " ".join(said.getvalue().split())
        return redacted(words, self._address)[-300:] or "the service did not take it"
