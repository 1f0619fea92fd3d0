"""What is told, and what a channel is: it delivers a message or says why it could not; nothing is swallowed."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from scheduler.rules.schema import Loss

URGENT: tuple[Loss, ...] = ("food safety", "crop")

Press = Callable[[str, str], None]  # the message's key and the button's id
_ADDRESS = re.compile(r"\b([A-Za-z][A-Za-z0-9+.-]*)://[^\s'\"]+")


@dataclass(frozen=True, slots=True)
class Button:
    """An answer that a message offers: "done", "hour" or "evening", and its words."""

    id: str
    title: str


@dataclass(frozen=True, slots=True)
class Message:
    """What to do first (`title`), why second (`body`); plain text. `key` comes back with a press; `urgent` is for what loses the crop.

    `others` are the keys of what is told in the same message.
    """

    key: str
    title: str
    body: str
    urgent: bool = False
    buttons: tuple[Button, ...] = ()
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a message fared: the channel that took it, or none and why."""

    channel: str | None
    reason: str = ""


class Channel(Protocol):
    """A way to a person. `send` returns None where the message was delivered, else why it was not; it does not raise."""

    @property
    def name(self) -> str: ...

    def send(self, message: Message) -> str | None: ...


def first_that_delivers(channels: Sequence[Channel], message: Message) -> Outcome:
    """Try channels in their order until one delivers; where none does, say of each why not."""
    reasons: list[str] = []
    for channel in channels:
        try:
            reason = channel.send(message)
        except Exception as error:  # a channel that breaks its word must not stop the others
            reason = f"{type(error).__name__}: {error}"
        if reason is None:
            return Outcome(channel.name, "; ".join(reasons))
        reasons.append(f"{channel.name}: {redacted(reason)}")
    return Outcome(None, "; ".join(reasons) or "no channel is set for this")


def redacted(text: str, address: str = "") -> str:
    """A text without what opens a channel: addresses keep their scheme only, and no longer part of `address` is left standing."""
    for part in sorted(re.split(r"[/:@?&=]+", address.partition("://")[2]), key=len, reverse=True):
        if len(part) >= 4:
            text = text.replace(part, "…")
    return _ADDRESS.sub(r"\1://…", text)
