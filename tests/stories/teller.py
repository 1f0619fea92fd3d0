"""A watch in a process of its own that writes each delivery to a file: `python -m tests.stories.teller LEDGER DELIVERED AHEAD [PAUSE]`.

Its clock runs AHEAD seconds before the machine's, so that a claim left by a dead watch need not be waited for. After
delivery number PAUSE it rests for a second before that is written down.
"""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Mapping

from scheduler.daemon import Watch, run, seconds
from scheduler.outputs.notify.config import NotificationConfig
from scheduler.outputs.notify.message import Channel, Message, OnPress


class Written:
    """Appends the keys of each message to a file, as one line in one write."""

    name = "desktop"

    def __init__(self, path: str, pause: int) -> None:
        self._left = pause
        self._file = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o644)

    def send(self, message: Message) -> str | None:
        os.write(self._file, f"{' '.join((message.key, *message.other_keys))}\n".encode())
        self._left -= 1
        if self._left == 0:
            time.sleep(1)
        return None


def main(where: str, delivered: str, ahead: int, pause: int = 0) -> None:
    """Watch until the process is ended."""
    written = Written(delivered, pause)

    def channels(_: NotificationConfig, __: OnPress) -> Mapping[str, Channel]:
        return {"desktop": written}

    watch = Watch(where, NotificationConfig(), channels, lambda _: None, lambda: seconds() + ahead)
    run(watch, 0.05, threading.Event())


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], *map(int, sys.argv[3:]))
