"""Messages, and what a channel is: it delivers a message or says why it could not; no failure is swallowed."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from scheduler.rules.schema import Loss

URGENT: tuple[Loss, ...] = ("food safety", "colony", "crop")

ANSWERS = {"done": "Done", "begun": "Begun", "hour": "In an hour", "evening": "Later"}  # the ids of buttons and their usual words
OnPress = Callable[[str, str], None]  # the message's key and the button's id
_ADDRESS = re.compile(r"\b([A-Za-z][A-Za-z0-9+.-]*)://[^\s'\"]+")


@dataclass(frozen=True, slots=True)
class Button:
    """An answer that a message offers: "done", "begun", "hour" or "evening", and its words."""

    id: str
    title: str


@dataclass(frozen=True, slots=True)
class Message:
    """What to do (`title`, and the first line of `body`, for a channel may show one of them only), then cautions, then why; plain text.
    `key` comes back when a button is pressed; `urgent` is for what loses the crop.

    `other_keys` are those of the other alerts in the same message.
    """

    key: str
    title: str
    body: str
    urgent: bool = False
    buttons: tuple[Button, ...] = ()
    other_keys: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Delivery:
    """The channel that took a message, or None; and why the channels before it did not."""

    channel: str | None
    reason: str = ""


class Channel(Protocol):
    """A way to reach a person. `send` returns None where the message was delivered, else why it was not; it does not raise."""

    @property
    def name(self) -> str:
        """The name in the channels file."""

    def send(self, message: Message) -> str | None:
        """None where the message was delivered, else why it was not."""


def deliver(channels: Sequence[Channel], message: Message) -> Delivery:
    """Try channels in their order until one delivers; where none does, say of each why not."""
    reasons: list[str] = []
    for channel in channels:
        try:
            reason = channel.send(message)
        except Exception as error:  # a channel that raises after all must not stop the others
            reason = f"{type(error).__name__}: {error}"
        if reason is None:
            return Delivery(channel.name, "; ".join(reasons))
        reasons.append(f"{channel.name}: {redacted(reason)}")
    return Delivery(None, "; ".join(reasons) or "no channel is set for this")


def redacted(text: str, address: str = "") -> str:
    """A text without secrets: of addresses the scheme is left, and no part of `address` longer than three characters."""
    for part in sorted(re.split(r"[/:@?&=]+", address.partition("://")[2]), key=len, reverse=True):
        if len(part) >= 4:
            text = text.replace(part, "…")
    return _ADDRESS.sub(r"\1://…", text)
