"""A watch in a process of its own that writes each delivery to a file: `python -m tests.stories.teller LEDGER DELIVERED CLOCK [PAUSE]`.

The file CLOCK holds two numbers: how many seconds time has gone on beyond the machine's, so that a claim left by a dead watch need not be
waited for, and by how many the clock is wrong. After delivery number PAUSE it rests for a second before that is written down.
"""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Mapping
from pathlib import Path

from scheduler.daemon import Watch, run, seconds
from scheduler.outputs.notify.config import NotificationConfig
from scheduler.outputs.notify.message import Channel, Message, OnPress


def set_clock(clock: Path, passed: int, wrong: int = 0) -> None:
    """Let time go on, or the clock be wrong [s], for every watch that reads it."""
    beside = clock.with_suffix(".new")
    beside.write_text(f"{passed} {wrong}")
    beside.replace(clock)


def moments(clock: Path) -> tuple[int, int]:
    """What time it is, and what the clock says [s since 1970]."""
    passed, wrong = map(int, clock.read_text().split())
    now = seconds() + passed
    return now, now + wrong


class Written:
    """
    Appends the true moment, the clock's and the keys of each message to a file, as one line in one write.

    The clock's is that of the look which sends: it may be set right while a look sends what it found by the wrong one.
    """

    name = "desktop"

    def __init__(self, path: str, clock: Path, pause: int) -> None:
        self._left, self._clock, self._looked = pause, clock, 0
        self._file = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o644)

    def clock(self) -> int:
        """What the clock says to the watch."""
        self._looked = moments(self._clock)[1]
        return self._looked

    def send(self, message: Message) -> str | None:
        now, _ = moments(self._clock)
        os.write(self._file, f"{' '.join((str(now), str(self._looked), message.key, *message.other_keys))}\n".encode())
        self._left -= 1
        if self._left == 0:
            time.sleep(1)
        return None


def main(where: str, delivered: str, clock: Path, pause: int = 0) -> None:
    """Watch until the process is ended."""
    written = Written(delivered, clock, pause)

    def channels(_: NotificationConfig, __: OnPress) -> Mapping[str, Channel]:
        return {"desktop": written}

    watch = Watch(where, NotificationConfig(), channels, lambda _: None, written.clock)
    run(watch, 0.05, threading.Event())


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], Path(sys.argv[3]), *map(int, sys.argv[4:]))
