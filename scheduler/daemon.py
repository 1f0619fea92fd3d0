"""The watch: one timer that looks at the ledger every few seconds and sends what is due.

Each look asks for the alerts that are due; no timer is set for a moment, so sleep and clock changes only make a look late.
"""

from __future__ import annotations

import logging
import os
import signal
import socket
import sys
import threading
from collections.abc import Callable, Mapping
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

from scheduler.application.alert_ids import read_alert_key
from scheduler.application.clock import now
from scheduler.application.press_queue import Press, PressQueue
from scheduler.application.watch import AlertSender, LookResult
from scheduler.diagnostics import Refused
from scheduler.ledger.location import file_of
from scheduler.ledger.store import Ledger
from scheduler.outputs.notify.channels import AppriseService, Terminal, TimeLimited
from scheduler.outputs.notify.config import BUILT_IN, NotificationConfig, address_of
from scheduler.outputs.notify.desktop import Desktop
from scheduler.outputs.notify.message import Channel, Message, OnPress, deliver
from scheduler.outputs.notify.words import not_looking_message, not_noted_message

TICK = 10  # s between two looks (DESIGN)
PATIENCE = 5.0  # s that a look waits for others who write to the ledger; the next look comes anyway

MakeChannels = Callable[[NotificationConfig, OnPress], Mapping[str, Channel]]


def seconds() -> int:
    """This moment [s since 1970]."""
    return int(now().timestamp())


def channels_of(config: NotificationConfig, on_press: OnPress) -> dict[str, Channel]:
    """Every channel by name, each with its time limit. Raises `Fault` where an address is wrong or missing."""
    services = {name: TimeLimited(AppriseService(name, address_of(config, name))) for name in config.channels if name not in BUILT_IN}
    return {"desktop": TimeLimited(Desktop(on_press)), "terminal": Terminal(sys.stdout), **services}


class Watch:
    """Looks at the ledger at a place, also when it is moved away, replaced or locked for a time."""

    def __init__(
        self,
        where: str,
        config: NotificationConfig,
        make_channels: MakeChannels | None = None,
        say: Callable[[str], None] = print,
        clock: Callable[[], int] | None = None,
    ) -> None:
        self.where, self.config, self._say, self._clock = where, config, say, clock or seconds
        self.owner = f"{socket.gethostname()}:{os.getpid()}:{uuid4().hex[:8]}"
        self._channels = (make_channels or channels_of)(config, self._pressed)
        self._sender: AlertSender | None = None
        self._file: tuple[int, int] | None = None
        self._said, self._away = "", ""
        self._presses = PressQueue(where)
        self._answering = threading.Lock()

    def look(self) -> LookResult | None:
        """One look; None where the ledger cannot be used now. A reason is said once, not at every look."""
        try:
            sender = self._opened()
            self._answer()
            looked = sender.look(self._clock())
            self._answer()  # what waited for a plan
        except Refused as refused:
            self._close()
            self._can_not_look(str(refused))
            return None
        self._away = ""
        self._say_once(f"another watch sends what is due ({looked.other}); this one waits" if looked.other else looked.trouble)
        return looked

    def stop(self) -> None:
        """Close the ledger and give up the right to send. What was answered and cannot be written down is kept for the next watch."""
        self._answer()
        if self._sender is not None:
            try:
                self._sender.stop()
            except Refused as refused:
                self._say(str(refused))  # the lease runs out by itself
        self._close()

    def _opened(self) -> AlertSender:
        file = _identity(self.where)
        if self._sender is None or file != self._file:
            self._close()
            ledger = Ledger.open(self.where, create=False, patience=PATIENCE)
            self._sender, self._file = AlertSender(ledger, self.config, self._channels, self.owner, self._say), _identity(self.where)
        return self._sender

    def _close(self) -> None:
        if self._sender is not None:
            self._sender.ledger.close()
            self._sender = None

    def _pressed(self, key: str, button: str) -> None:
        """Keep an answer on the disk until it is written down: now, or at one of the next looks. Where neither takes it, it is asked for again."""
        press = Press(key, button, self._clock())
        if self._presses.keep(press):
            self._answer()
            return
        with self._answering:
            noted = self._write_down(press)
        if not noted:
            self._show(not_noted_message(key, button, read_alert_key(key).task))

    def _answer(self) -> None:
        """Write down what was answered, in its order, as far as the ledger takes it."""
        with self._answering:
            for press in self._presses.waiting(self._clock()) if self._sender is not None else ():
                if not self._write_down(press):
                    return
                self._presses.drop(press)

    def _write_down(self, press: Press) -> bool:
        if self._sender is None:
            return False
        try:
            self._sender.press(press.key, press.button, press.at, max(press.at, self._clock()))
        except Exception as error:  # whatever it is, the answer is kept
            self._say_once(f"an answer waits to be written down: {error}")
            return False
        return True

    def _can_not_look(self, words: str) -> None:
        """Say why on the terminal, and where it is so at a second look too, on the desktop, once."""
        self._say_once(words)
        if self._away == "":
            self._away = "once"
        elif self._away == "once":
            self._away = "shown"
            self._show(not_looking_message(words))

    def _show(self, message: Message) -> None:
        """Show a message of the watch's own on the desktop; where there is none it is printed at least."""
        outcome = deliver([channel for name, channel in self._channels.items() if name == "desktop"], message)
        if outcome.channel is None:
            self._say(f"{message.title}\n{message.body}")

    def _say_once(self, words: str) -> None:
        if words and words != self._said:
            self._say(words)
        self._said = words


def run(watch: Watch, tick: float = TICK, stop: threading.Event | None = None) -> None:
    """Look every `tick` seconds until SIGTERM, Ctrl-C or `stop`."""
    from apscheduler.schedulers.background import BackgroundScheduler  # type: ignore[import-untyped]

    stopped = stop or threading.Event()
    logging.getLogger("apscheduler").setLevel(logging.ERROR)
    timer = BackgroundScheduler(timezone="UTC")
    settings = {"coalesce": True, "misfire_grace_time": None, "max_instances": 1}
    scheduled = timer.add_job(watch.look, "interval", seconds=tick, next_run_time=now(), **settings)
    if threading.current_thread() is threading.main_thread():
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda *_: stopped.set())
    timer.start()
    try:
        while not stopped.wait(tick):
            if scheduled.next_run_time - now() > timedelta(seconds=2 * tick):  # the clock was set back: the timer would wait for it
                scheduled.modify(next_run_time=now())
    finally:
        timer.shutdown(wait=True)
        watch.stop()


def _identity(where: str) -> tuple[int, int] | None:
    """Which file lies at a place now; None for a server, or where there is none."""
    path: Path | None = file_of(where)
    try:
        found = path.stat() if path is not None else None
    except OSError:
        return None
    return (found.st_dev, found.st_ino) if found is not None else None
