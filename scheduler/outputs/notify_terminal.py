"""The last channel: the terminal. It counts as told only where a person can be looking at it."""

from __future__ import annotations

from typing import TextIO

from scheduler.outputs.notify import Message
from scheduler.outputs.plain import one_line


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
