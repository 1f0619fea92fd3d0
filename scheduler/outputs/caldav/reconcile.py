"""Both directions of a sync, against any collection: what people did since last time, and what is written so that it shows the plan.

What was sent is remembered by UID, so that a difference is known to be theirs or ours. Nothing depends on that memory alone: an object whose sending
was cut short is found again by its UID, and objects of others are never written.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from hashlib import blake2b
from typing import Literal, Protocol

from scheduler.outputs.caldav.collection import Object
from scheduler.outputs.caldav.merge import Seen, agree, merged, seen, uid_of
from scheduler.outputs.calendar.publication import Published
from scheduler.outputs.calendar.uids import AlarmUid, read_entry_uid

Kind = Literal["ticked", "unticked", "percent", "moved", "dismissed", "deleted", "cancelled"]
_SAVED_EVERY = 20  # objects


class Remote(Protocol):
    """What a sync needs of a collection; see `caldav.collection.Collection`."""

    @property
    def href(self) -> str: ...
    def listed(self) -> dict[str, str | None]: ...
    def fetch(self, hrefs: Sequence[str]) -> list[Object]: ...
    def put(self, href: str, content: bytes, etag: str | None, *, new: bool) -> tuple[bool, str | None]: ...
    def delete(self, href: str, etag: str | None) -> bool: ...


@dataclass(frozen=True, slots=True)
class Change:
    """Something a person did to the entry `uid` at `at` [epoch s, None where it is not told]. `value`: the new start, the percent; `alarm`: which one."""

    kind: Kind
    uid: str
    at: int | None = None
    value: int = 0
    alarm: AlarmUid | None = None


@dataclass(slots=True)
class Record:
    """What is known of one object: where it is, its ETag, which revision of ours it holds, and what a person had done to it when we last looked."""

    href: str
    etag: str | None
    sent: str
    ticked: bool = False
    percent: int = 0
    start: int | None = None
    dismissed: dict[str, int] = field(default_factory=dict)
    cancelled: bool = False
    dropped: bool = False  # tidied away by a person: not written again


@dataclass
class Known:
    """The memory between two syncs of one collection."""

    objects: dict[str, Record] = field(default_factory=dict)
    foreign: dict[str, str | None] = field(default_factory=dict)

    def to_json(self) -> str:
        """One line; the same memory gives the same text."""
        return json.dumps(asdict(self), sort_keys=True, separators=(",", ":"))

    @classmethod
    def from_json(cls, text: str | None) -> Known:
        """What `to_json` wrote; nothing known where there is no text."""
        fields = json.loads(text) if text else {}
        return cls({uid: Record(**one) for uid, one in fields.get("objects", {}).items()}, fields.get("foreign", {}))


@dataclass(frozen=True)
class Pulled:
    """What was found: the changes, the objects that were read, the UIDs that are there."""

    changes: tuple[Change, ...]
    objects: Mapping[str, Object]
    there: frozenset[str]


def pull(remote: Remote, known: Known, yard: str, timezone: str) -> Pulled:
    """What people did since last time. `known` learns where our objects are, and which objects are somebody else's. `yard` is the slug in our UIDs."""
    listed = remote.listed()
    at = {record.href: uid for uid, record in known.objects.items()}
    known.foreign = {href: etag for href, etag in known.foreign.items() if href in listed}

    def same(href: str, etag: str | None) -> bool:
        return etag is not None and (known.objects[at[href]].etag if href in at else known.foreign.get(href)) == etag

    objects: dict[str, Object] = {}
    changes: list[Change] = []
    for one in remote.fetch([href for href, etag in listed.items() if not same(href, etag)]):
        found, named = seen(one.content, timezone), read_entry_uid(uid_of(one.content) or "")
        if found is None or named is None or named.yard != yard:
            known.foreign[one.href] = one.etag if one.etag is not None else listed.get(one.href)
            continue
        objects[found.uid] = one
        changes += _done_to(found, known.objects.get(found.uid))
        _remember(known, found, one)
    there = frozenset(uid for uid, record in known.objects.items() if record.href in listed)
    changes += [Change("deleted", uid) for uid, record in known.objects.items() if uid not in there and not record.dropped]
    return Pulled(tuple(changes), objects, there)


def _done_to(found: Seen, before: Record | None) -> list[Change]:
    """A person's changes. Where it is not known what was sent, a start may be an older plan's, so only what happened is taken."""
    changes = []
    was = before or Record("", None, "", start=found.start)
    if found.ticked != was.ticked:
        changes.append(Change("ticked", found.uid, found.completed) if found.ticked else Change("unticked", found.uid))
    elif not found.ticked and found.percent != was.percent and found.percent:
        changes.append(Change("percent", found.uid, value=found.percent))
    if found.status == "CANCELLED" and before is not None and not was.cancelled:
        changes.append(Change("cancelled", found.uid))
    if found.start is not None and was.start is not None and found.start != was.start:
        changes.append(Change("moved", found.uid, value=found.start))
    changes += [Change("dismissed", found.uid, at, alarm=alarm) for alarm, at in found.dismissed.items() if was.dismissed.get(alarm.alarm, -1) < at]
    return changes


def _remember(known: Known, found: Seen, one: Object, sent: str | None = None) -> None:
    """What a person had done as of now; the revision of ours that the object holds, where it is not told, is the one known before."""
    before = known.objects[found.uid].sent if found.uid in known.objects else ""
    state = found.ticked, found.percent, found.start, {alarm.alarm: at for alarm, at in found.dismissed.items()}, found.status == "CANCELLED"
    known.objects[found.uid] = Record(one.href, one.etag, before if sent is None else sent, *state)


def push(remote: Remote, known: Known, wanted: Mapping[str, Published], pulled: Pulled, timezone: str, save: Callable[[], None]) -> int:
    """
    Write what differs, delete what is no longer published; returns how many objects somebody else changed meanwhile, which the next sync takes up.

    `known` follows every step, and `save` keeps it now and then, so that a sync that is cut short goes on where it stopped.
    """
    left = 0
    objects = dict(pulled.objects)
    stale = [uid for uid, state in wanted.items() if uid in pulled.there and uid not in objects and known.objects[uid].sent != _revision(state)]
    for one in remote.fetch([known.objects[uid].href for uid in stale]):  # to keep what others added
        if (uid := uid_of(one.content)) in stale and uid is not None:
            objects[uid] = one
    for number, (uid, state) in enumerate(wanted.items()):
        left += not _write(remote, known, uid, state, uid in pulled.there, objects.get(uid), timezone)
        if number % _SAVED_EVERY == _SAVED_EVERY - 1:
            save()
    for uid in [uid for uid in known.objects if uid not in wanted]:
        if uid not in pulled.there or remote.delete(known.objects[uid].href, known.objects[uid].etag):
            del known.objects[uid]
        else:
            left += 1
    return left


def _revision(state: Published) -> str:
    return f"{state.sequence} {state.digest}"


def _write(remote: Remote, known: Known, uid: str, state: Published, there: bool, theirs: Object | None, timezone: str) -> bool:
    """Bring one object to `state`. False where somebody else changed it since it was looked at."""
    record = known.objects.get(uid)
    cancelled = b"\r\nSTATUS:CANCELLED\r\n" in state.content
    if not there and (cancelled or b"\r\nSTATUS:COMPLETED\r\n" in state.content):
        if record is not None:
            record.dropped = True  # finished and tidied away
        return True
    if record is not None and there:
        if cancelled and record.ticked:
            return True  # somebody did it: what happened is not overwritten by a plan without it
        if theirs is None:
            return record.sent == _revision(state)
        if theirs.etag != record.etag:
            return False
        if record.sent == _revision(state) and agree(state.content, theirs.content, timezone):
            return True
    href = record.href if record is not None and there else f"{remote.href.rstrip('/')}/{blake2b(uid.encode(), digest_size=16).hexdigest()}.ics"
    content = merged(state.content, theirs.content if theirs is not None else None)
    taken, etag = remote.put(href, content, theirs.etag if theirs is not None else None, new=not there)
    now = seen(content, timezone)
    if taken and now is not None:
        _remember(known, now, Object(href, etag, content), _revision(state))
    return taken
