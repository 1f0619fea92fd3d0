"""One entry of a calendar before it becomes bytes, with its alarms and what it waits for."""

from collections.abc import Mapping, MutableMapping
from dataclasses import dataclass, replace
from functools import cached_property
from hashlib import blake2b
from typing import Any, Literal, NamedTuple

from scheduler.outputs.calendar.uids import with_task


class Alarm(NamedTuple):
    """
    A display alarm `offset` seconds after the start of its entry, or after the end of a to-do ("END").

    `at` is its moment [epoch s] where the clocks change in between: relative to the start it would ring an hour off in some clients.
    `acknowledged` is when it was dismissed [epoch s].
    """

    uid: str
    offset: int
    related: str
    say: str
    acknowledged: int | None = None
    at: int | None = None


class Relation(NamedTuple):
    """This entry waits for another: RFC 9253 relation type and gap [s]."""

    uid: str
    kind: str
    gap: int


@dataclass(frozen=True)
class Entry:
    """One VEVENT or VTODO before it becomes bytes. Times are epoch seconds; of an all-day entry the midnights at the yard."""

    uid: str
    kind: Literal["event", "todo"]
    start: int
    end: int
    timezone: str
    summary: str
    description: str
    location: str
    categories: tuple[str, ...]  # streams, places and, where it is not the keeper's work, person
    status: str
    priority: int
    transparent: bool = False
    relations: tuple[Relation, ...] = ()
    alarms: tuple[Alarm, ...] = ()
    completed: int | None = None
    percent: int = 0  # of a to-do whose units are done in part
    all_day: bool = False
    steps: tuple[str, ...] = ()  # the keys of a sitting's steps, by which the next publication knows it again

    @cached_property
    def digest(self) -> str:
        """Changes when, and only when, something a subscriber can see has changed."""
        # names of classes and fields are part of it: renaming one would raise SEQUENCE of everything that was ever published
        return blake2b(repr(self).encode("utf-8", "surrogatepass"), digest_size=16).hexdigest()

    def with_former_ids(self, before: Mapping[str, str]) -> "Entry":
        """The entry with the UIDs it had when its tasks had the ids that `before` gives for their present ones."""
        return replace(
            self,
            uid=with_task(self.uid, before),
            relations=tuple(one._replace(uid=with_task(one.uid, before)) for one in self.relations),
            alarms=tuple(one._replace(uid=with_task(one.uid, before)) for one in self.alarms),
        )


EntryCache = MutableMapping[tuple[str, str], tuple[Any, Entry]]
