"""Mail, push and chat services by address, through a library that is an extra. What the address holds is a secret."""

from __future__ import annotations

import logging
from importlib.util import find_spec

from scheduler.diagnostics import Fault
from scheduler.outputs.notify import Message, redacted


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
