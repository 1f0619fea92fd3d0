"""Channels: the terminal, services by their address, and a time limit for any channel, so that one that hangs does not delay the others."""

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

LIMIT = 10.0  # s that one message may take
BACKOFF = 300.0  # s before a channel that timed out is tried again, doubled each time up to LONGEST_BACKOFF
LONGEST_BACKOFF = float(HOUR)


class TimeLimited:
    """
    Sends through a channel on a thread of its own and waits `limit` seconds at most.

    After a timeout further messages are refused at once, so that a channel that hangs costs the others its limit once. After the backoff it is
    tried again; the stuck thread is abandoned (a daemon thread, it ends with the process).
    """

    def __init__(self, channel: Channel, limit: float = LIMIT, backoff: float = BACKOFF) -> None:
        self._channel, self._limit, self._backoff = channel, limit, backoff
        self._stuck: threading.Thread | None = None
        self._timed_out_at, self._timeouts = 0.0, 0

    @property
    def name(self) -> str:
        """The channel's own name."""
        return self._channel.name

    def send(self, message: Message) -> str | None:
        """None where the message was delivered in time, else why not."""
        if self._stuck is not None and self._stuck.is_alive():
            waited, backoff = time.monotonic() - self._timed_out_at, min(self._backoff * 2.0 ** (self._timeouts - 1), LONGEST_BACKOFF)
            if waited < backoff:
                return f"it has not answered for {waited:.0f} s"
        elif self._stuck is not None:
            self._stuck, self._timeouts = None, 0
        return self._within_limit(message)

    def _within_limit(self, message: Message) -> str | None:
        answers: SimpleQueue[str | None] = SimpleQueue()
        thread = threading.Thread(target=self._send, args=(message, answers), name=f"channel {self.name}", daemon=True)
        thread.start()
        try:
            return answers.get(timeout=self._limit)
        except Empty:
            self._stuck, self._timed_out_at, self._timeouts = thread, time.monotonic(), self._timeouts + 1
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
        """Write the message; None where the stream is a terminal, else why nobody may have seen it."""
        watched = self._stream.isatty()
        bell = "\a" if watched and message.urgent else ""
        lines = [one_line(message.title), *(f"    {one_line(line)}" for line in message.body.splitlines())]
        try:
            self._stream.write(bell + "\n".join(lines) + "\n")
            self._stream.flush()
        except (OSError, ValueError) as error:
            return f"cannot be written: {error}"
        return None if watched else "nobody is looking at it; the message is in the log only"


class AppriseService:
    """A service behind an address, through the library apprise. Raises `Fault` where the library is missing or does not know the address."""

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
        with apprise.LogCapture(level=logging.INFO, fmt="%(message)s") as said:
            if self._service.notify(title=message.title, body=message.body, notify_type=kind, body_format=apprise.NotifyFormat.TEXT):
                return None
            words = " ".join(said.getvalue().split())
        return redacted(words, self._address)[-300:] or "the service did not take it"
