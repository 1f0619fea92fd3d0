"""channels.yaml: who gets which alerts, through which channels, and when not.

channels:
  mail: {address: "mailto://..."}       # desktop and terminal are there without being named
people:
  keeper:
    tell: [desktop, mail]               # tried in this order until one delivers; or {crop: [desktop, mail], comfort: [mail]}
    quiet hours: "21:30-06:30"          # or by day, as free hours are written; alerts of what loses the crop are sent all the same
    morning summary: "07:00"
    evening summary: "20:00"
  Mira: {hears: own}                    # alerts of her own work in the yard file, and of what it waits for. Default: all
repeat: {first: 30 min, growth: 2, times: 5}
evening: "18:00"
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from datetime import time
from typing import Annotated, Any

from pydantic import Field, model_validator

from scheduler.diagnostics import Diagnostic, Fault, Refused, instead
from scheduler.documents import Document, File, Record, read, record
from scheduler.facts.hours import Hours, read_hours
from scheduler.facts.people import KEEPER
from scheduler.facts.values import Reads, one_of
from scheduler.outputs.notify.message import redacted
from scheduler.quantities import Duration
from scheduler.rules.schema import LOSSES, Loss

BUILT_IN = ("desktop", "terminal")


def _quiet_hours(value: Any) -> Hours:
    return read_hours({"mon-sun": value} if isinstance(value, str) else value)


def _time_of_day(value: Any) -> time:
    if isinstance(value, time):
        return value
    try:
        found = time.fromisoformat(str(value))
    except ValueError:
        found = None
    if found is None or found.tzinfo is not None or len(str(value)) != 5:
        raise Fault(f'"{value}" is not a time of day', '"07:00"')
    return found


def _channels_by_loss(value: Any) -> dict[Loss, tuple[str, ...]]:
    if isinstance(value, list):
        return {loss: tuple(map(str, value)) for loss in LOSSES}
    if not isinstance(value, dict):
        raise Fault("channels are needed", "[desktop], or {crop: [desktop], comfort: [terminal]}")
    for key, names in value.items():
        if key not in LOSSES:
            raise Fault(f'"{key}" is not what can be lost', instead(str(key), LOSSES))
        if not isinstance(names, list):
            raise Fault(f"{key}: a list of channels is needed", "[desktop]")
    return {loss: tuple(map(str, value[loss])) for loss in LOSSES if loss in value}


_Tell = Annotated[dict[Loss, tuple[str, ...]], Reads(_channels_by_loss, {"type": ["object", "array"]})]
TimeOfDay = Annotated[time, Reads(_time_of_day, {"type": "string"})]


class ServiceAddress(Record):
    """A service's address, in the file or in an environment variable that is named, so that the file holds no secret."""

    address: str = Field(default="", repr=False)
    address_from: str = ""

    @model_validator(mode="after")
    def _one(self) -> ServiceAddress:
        if bool(self.address) == bool(self.address_from):
            raise Fault("a channel has one address", 'address: "mailto://...", or address from: NAME of an environment variable')
        return self

    def value(self, environment: Mapping[str, str]) -> str:
        """The address itself. Raises `Fault` where the variable is not set."""
        if self.address:
            return self.address
        if self.address_from not in environment:
            raise Fault(f"the environment variable {self.address_from} is not set", f"export {self.address_from}=... where the watch is started")
        return environment[self.address_from]


class Recipient(Record):
    """Somebody who gets alerts: of whose work, the channels by loss in the order they are tried, the quiet hours, the times of the summaries."""

    hears: Annotated[str, one_of("all", "own")] = "all"
    tell: _Tell = Field(default_factory=lambda: _channels_by_loss(["desktop"]))
    quiet_hours: Annotated[Hours, Reads(_quiet_hours, {"type": ["string", "object"]})] | None = None
    morning_summary: TimeOfDay | None = None
    evening_summary: TimeOfDay | None = None


class RepeatPolicy(Record):
    """Alerts of what loses the crop are repeated until done: after `first` [s], each gap `growth` times the one before, `times` in all (assumed)."""

    first: Annotated[Duration, Field(ge=60)] = 1800.0
    growth: Annotated[float, Field(ge=1, le=10)] = 2.0
    times: Annotated[int, Field(ge=0, le=50)] = 5

    def longest_gap(self) -> float:
        """The gap before the last repeat [s]."""
        return float(self.first * self.growth ** (self.times - 1))


class NotificationConfig(File):
    """The whole file. Default: the keeper at the desktop, no quiet hours, no summaries."""

    channels: dict[str, ServiceAddress] = Field(default_factory=dict)
    people: dict[str, Recipient] = Field(default_factory=lambda: {"keeper": Recipient()}, min_length=1)
    repeat: RepeatPolicy = Field(default_factory=RepeatPolicy)
    evening: TimeOfDay = time(18)


def read_config(content: bytes, path: str) -> NotificationConfig:
    """The file's content, checked. Raises `Refused` with the place of every fault; an address is never in the message."""
    document = read(content, path, "channels")
    try:
        config = record(document, NotificationConfig)
    except Refused as refused:
        raise Refused(one._replace(message=redacted(one.message)) for one in refused.diagnostics) from None
    if faults := list(_unknown_channels(document, config)):
        raise Refused(faults)
    return config


def _unknown_channels(document: Document, config: NotificationConfig) -> Iterator[Diagnostic]:
    known = [*BUILT_IN, *config.channels]
    for name, person in config.people.items():
        if "@" in name:
            yield document.fault(("people", name), f'"{name}" holds an @', "a name without it", key=True)
        for channel in dict.fromkeys(one for names in person.tell.values() for one in names):
            if channel not in known:
                message = f'{name} gets alerts through "{channel}", which is not among the channels'
                yield document.fault(("people", name, "tell"), message, instead(channel, known))


def config_for_yard(config: NotificationConfig, people: Iterable[str]) -> tuple[NotificationConfig, str]:
    """The file for a yard where these people work, and a warning: whoever wants alerts of their own work, and has none there, gets all."""
    unknown = [name for name, person in config.people.items() if person.hears == "own" and name not in (KEEPER, *people)]
    if not unknown:
        return config, ""
    people = {name: person.model_copy(update={"hears": "all"}) if name in unknown else person for name, person in config.people.items()}
    words = f'{", ".join(unknown)}: the yard file names nobody so under "people", and who is to hear of their own work hears of all'
    return config.model_copy(update={"people": people}), words


def address_of(config: NotificationConfig, name: str) -> str:
    """The address of a channel in the file, from there or from the environment. Raises `Fault`."""
    return config.channels[name].value(os.environ)
