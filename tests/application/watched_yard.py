"""A yard with one harvest in a ledger, and channels that keep, fail, lie or hang. Names and days are invented."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from scheduler.application.watch import AlertSender
from scheduler.facts.fact import HarvestLogged, YardSet
from scheduler.ledger.store import Ledger
from scheduler.outputs.notify.config import NotificationConfig, read_config
from scheduler.outputs.notify.message import Channel, Message

EXAMPLE = Path(__file__).parents[2] / "examples/kestrel_bank"
ZONE = ZoneInfo("Europe/Ljubljana")


def at(text: str) -> int:
    """Local time at the yard as seconds since 1970."""
    return int(datetime.fromisoformat(text).replace(tzinfo=ZONE).timestamp())


LOGGED = at("2026-08-11T11:00")


def config(text: str) -> NotificationConfig:
    """A keeper's file."""
    return read_config(text.encode(), "channels.yaml")


def log_harvest(ledger: Ledger) -> None:
    """Set the example yard and log its harvest, at eleven on the day of the pull."""
    yard, harvest = ((EXAMPLE / name).read_text(encoding="utf-8") for name in ("yard.yaml", "ridge-2.yaml"))
    facts = [YardSet(occurred_at=LOGGED, text=yard, path="yard.yaml"), HarvestLogged(occurred_at=LOGGED, harvest="ridge-2", text=harvest, path="ridge-2.yaml")]
    ledger.append(facts, LOGGED)


@contextmanager
def season(folder: Path) -> Iterator[Ledger]:
    """A ledger that holds the example."""
    with Ledger.open(folder / "ledger.sqlite") as ledger:
        log_harvest(ledger)
        yield ledger


class Keeps:
    """Delivers, and keeps what it delivered."""

    def __init__(self, name: str = "desktop") -> None:
        self.name, self.messages = name, list[Message]()

    def send(self, message: Message) -> str | None:
        self.messages.append(message)
        return None

    def titles(self) -> list[str]:
        return [one.title for one in self.messages]


class Fails:
    """Refuses, with a reason, as long as `reason` is set; it keeps what it delivered after that."""

    def __init__(self, name: str, reason: str) -> None:
        self.name, self.reason, self.asked, self.messages = name, reason, 0, list[Message]()

    def send(self, message: Message) -> str | None:
        self.asked += 1
        if not self.reason:
            self.messages.append(message)
        return self.reason or None


class Breaks:
    """Raises, which a channel must not."""

    name = "breaks"

    def send(self, message: Message) -> str | None:
        raise ConnectionResetError("https://push.invalid/secret-token was reset")


class Hangs:
    """Does not come back before it is let go."""

    name = "hangs"

    def __init__(self) -> None:
        self.let_go, self.asked = threading.Event(), 0

    def send(self, message: Message) -> str | None:
        self.asked += 1
        self.let_go.wait(30)
        return None


def telling(ledger: Ledger, channels: Mapping[str, Channel], told: NotificationConfig | None = None, owner: str = "watch") -> AlertSender:
    """A watch's look at the ledger through these channels."""
    return AlertSender(ledger, told or NotificationConfig(), channels, owner)
