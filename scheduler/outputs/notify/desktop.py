"""The desktop's own notifications: D-Bus on Linux, the notification centres of macOS and Windows, through one library.

The library logs a failure and raises nothing; a message counts as delivered once the library reports it dispatched.
"""

from __future__ import annotations

import asyncio
import html
import logging
import sys
import threading
from concurrent.futures import TimeoutError as FutureTimeout
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.outputs.notify.message import ANSWERS, Message, OnPress

if TYPE_CHECKING:
    from desktop_notifier import DesktopNotifier

ICON = Path(__file__).with_name("icons") / "afterpull.png"
LIMIT = 8.0  # s for one message


class Desktop:
    """Sends notifications from a thread of its own, where presses of their buttons arrive too; `on_press` is called there."""

    name = "desktop"

    def __init__(self, on_press: OnPress) -> None:
        self._on_press = on_press
        self._loop: asyncio.AbstractEventLoop | None = None
        self._notifier: DesktopNotifier | None = None

    def send(self, message: Message) -> str | None:
        """None where the notification service has taken the message, else why not."""
        if self._loop is None:
            self._loop = asyncio.new_event_loop()
            threading.Thread(target=self._loop.run_forever, name="desktop notifications", daemon=True).start()
        sending = asyncio.run_coroutine_threadsafe(self._send(message), self._loop)
        try:
            return sending.result(LIMIT)
        except FutureTimeout:
            sending.cancel()
            return f"the notification service did not answer within {LIMIT:g} s"

    async def _send(self, message: Message) -> str | None:
        if self._notifier is not None and await self._dispatched(self._notifier, message):
            return None
        self._disconnect()  # the service or the bus may have been started again: ask anew
        try:
            notifier = _connected()
            if not await notifier.get_capabilities():
                return "there is no notification service for this program here"
            self._listen(notifier)
        except Exception as error:  # the library lets through whatever the bus or the system raises
            return f"no notification service answers: {str(error) or type(error).__name__}"
        self._notifier = notifier
        return None if await self._dispatched(notifier, message) else "the notification service did not take it"

    async def _dispatched(self, notifier: DesktopNotifier, message: Message) -> bool:
        from desktop_notifier import Button, Urgency

        dispatched: list[bool] = []
        buttons = [Button(one.title, identifier=f"{one.id} {message.key}") for one in message.buttons]
        await notifier.send(
            title=message.title,
            message=_marked_up(message.body),
            urgency=Urgency.Critical if message.urgent else Urgency.Normal,
            buttons=buttons,
            on_dispatched=lambda: dispatched.append(True),
        )
        return bool(dispatched)

    def _listen(self, notifier: DesktopNotifier) -> None:
        """
        Take the presses of buttons, also on notifications that an earlier process left: what is pressed says what it is about.

        The library forgets these, so on D-Bus its signal is taken from the bus itself.
        """
        interface = getattr(getattr(notifier, "_backend", None), "interface", None)
        if interface is not None and hasattr(interface, "on_action_invoked"):
            interface.on_action_invoked(lambda _, action: self._invoked(action))
        else:
            notifier.on_button_pressed = lambda _, action: self._invoked(action)

    def _invoked(self, action: str) -> None:
        button, _, key = action.partition(" ")
        if button in ANSWERS and key:
            self._on_press(key, button)

    def _disconnect(self) -> None:
        bus = getattr(getattr(self._notifier, "_backend", None), "bus", None)  # the library has no way to close its connection
        if bus is not None:
            bus.disconnect()
        self._notifier = None


def _connected() -> DesktopNotifier:
    from desktop_notifier import DesktopNotifier, Icon

    logging.getLogger("desktop_notifier").propagate = False  # its tracebacks would reach a person; `send` returns the reason
    return DesktopNotifier(app_name="afterpull", app_icon=Icon(path=ICON))


def _marked_up(text: str) -> str:
    """The body as the freedesktop.org Desktop Notifications Specification reads it: markup there, plain text elsewhere."""
    return html.escape(text, quote=False) if sys.platform.startswith("linux") else text
