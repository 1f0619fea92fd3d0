"""Both directions of a sync, against any collection: the changes that people made, and the writes that make it show the plan.

What was written is remembered by UID, so that a difference is known to be theirs or ours. Nothing depends on that memory alone: an object whose
writing was cut short is found again by its UID, and objects of others are never written.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from hashlib import blake2b
from typing import Literal, Protocol

from scheduler.outputs.caldav.collection import Object
from scheduler.outputs.caldav.merge import RemoteEntry, merge, read_entry, same_content, uid_of
from scheduler.outputs.calendar.publication import Published
from scheduler.outputs.calendar.uids import AlarmUid, read_entry_uid

ChangeKind = Literal["ticked", "unticked", "percent", "moved", "dismissed", "deleted", "cancelled"]
_SAVE_EVERY = 20  # objects


class RemoteCollection(Protocol):
    """What a sync needs of a collection; see `caldav.collection.Collection`."""

    @property
    def href(self) -> str:
        """The address of the collection."""

    def etags(self) -> dict[str, str | None]:
        """ETag by object address."""

    def fetch(self, hrefs: Sequence[str]) -> list[Object]:
        """The objects at these addresses."""

    def put(self, href: str, content: bytes, etag: str | None, *, new: bool) -> tuple[bool, str | None]:
        """Write an object; whether it was written, and its new ETag where the server says it."""

    def delete(self, href: str, etag: str | None) -> bool:
        """Delete an object; whether it was deleted."""


@dataclass(frozen=True, slots=True)
class RemoteChange:
    """Something a person did to the entry `uid` at `at` [epoch s, None where the client does not say]. `value`: the new start, the percent; `alarm`: which."""

    kind: ChangeKind
    uid: str
    at: int | None = None
    value: int = 0
    alarm: AlarmUid | None = None


@dataclass(slots=True)
class ObjectState:
    """One object at the last sync: where it is, its ETag, which revision of ours it holds, and what a person had done to it."""

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
class SyncState:
    """What is remembered between two syncs of one collection, as JSON in the ledger: the names of the fields stay."""

    objects: dict[str, ObjectState] = field(default_factory=dict)
    foreign: dict[str, str | None] = field(default_factory=dict)

    def to_json(self) -> str:
        """One line; the same state gives the same text."""
        return json.dumps(asdict(self), sort_keys=True, separators=(",", ":"))

    @classmethod
    def from_json(cls, text: str | None) -> SyncState:
        """What `to_json` wrote; empty where there is no text."""
        fields = json.loads(text) if text else {}
        return cls({uid: ObjectState(**one) for uid, one in fields.get("objects", {}).items()}, fields.get("foreign", {}))


@dataclass(frozen=True)
class Pulled:
    """What a pull found: the changes, the objects that were read, the UIDs that are there."""

    changes: tuple[RemoteChange, ...]
    objects: Mapping[str, Object]
    there: frozenset[str]


def pull(remote: RemoteCollection, known: SyncState, yard: str, timezone: str) -> Pulled:
    """What people did since the last sync. Updates `known`: where our objects are, and which objects are somebody else's. `yard` is the slug in our UIDs."""
    listed = remote.etags()
    at = {record.href: uid for uid, record in known.objects.items()}
    known.foreign = {href: etag for href, etag in known.foreign.items() if href in listed}

    def same(href: str, etag: str | None) -> bool:
        return etag is not None and (known.objects[at[href]].etag if href in at else known.foreign.get(href)) == etag

    objects: dict[str, Object] = {}
    changes: list[RemoteChange] = []
    for one in remote.fetch([href for href, etag in listed.items() if not same(href, etag)]):
        found, named = read_entry(one.content, timezone), read_entry_uid(uid_of(one.content) or "")
        if found is None or named is None or named.yard != yard:
            known.foreign[one.href] = one.etag if one.etag is not None else listed.get(one.href)
            continue
        objects[found.uid] = one
        changes += _changes_by_people(found, known.objects.get(found.uid))
        _record(known, found, one)
    there = frozenset(uid for uid, record in known.objects.items() if record.href in listed)
    changes += [RemoteChange("deleted", uid) for uid, record in known.objects.items() if uid not in there and not record.dropped]
    return Pulled(tuple(changes), objects, there)


def _changes_by_people(found: RemoteEntry, before: ObjectState | None) -> list[RemoteChange]:
    """A person's changes to one entry. Where nothing is known of it, its start may be an older plan's, so only what happened counts."""
    changes = []
    was = before or ObjectState("", None, "", start=found.start)
    if found.ticked != was.ticked:
        changes.append(RemoteChange("ticked", found.uid, found.completed) if found.ticked else RemoteChange("unticked", found.uid))
    elif not found.ticked and found.percent != was.percent and found.percent:
        changes.append(RemoteChange("percent", found.uid, value=found.percent))
    if found.status == "CANCELLED" and before is not None and not was.cancelled:
        changes.append(RemoteChange("cancelled", found.uid))
    if found.start is not None and was.start is not None and found.start != was.start:
        changes.append(RemoteChange("moved", found.uid, value=found.start))
    changes += [RemoteChange("dismissed", found.uid, at, alarm=alarm) for alarm, at in found.dismissed.items() if was.dismissed.get(alarm.alarm, -1) < at]
    return changes


def _record(known: SyncState, found: RemoteEntry, one: Object, sent: str | None = None) -> None:
    """Keep the state of an object. `sent` is the revision of ours that it holds; None keeps the one known before."""
    before = known.objects[found.uid].sent if found.uid in known.objects else ""
    state = found.ticked, found.percent, found.start, {alarm.alarm: at for alarm, at in found.dismissed.items()}, found.status == "CANCELLED"
    known.objects[found.uid] = ObjectState(one.href, one.etag, before if sent is None else sent, *state)


def push(remote: RemoteCollection, known: SyncState, wanted: Mapping[str, Published], pulled: Pulled, timezone: str, save: Callable[[], None]) -> int:
    """
    Write what differs, delete what is no longer published; returns how many objects somebody else changed meanwhile, which the next sync takes up.

    `known` is updated at every step and `save` called now and then, so that a sync that is cut short goes on where it stopped.
    """
    left = 0
    objects = dict(pulled.objects)
    stale = [uid for uid, state in wanted.items() if uid in pulled.there and uid not in objects and known.objects[uid].sent != _revision(state)]
    for one in remote.fetch([known.objects[uid].href for uid in stale]):  # to keep what others added
        if (uid := uid_of(one.content)) in stale and uid is not None:
            objects[uid] = one
    for number, (uid, state) in enumerate(wanted.items()):
        left += not _write(remote, known, uid, state, uid in pulled.there, objects.get(uid), timezone)
        if number % _SAVE_EVERY == _SAVE_EVERY - 1:
            save()
    for uid in [uid for uid in known.objects if uid not in wanted]:
        if uid not in pulled.there or remote.delete(known.objects[uid].href, known.objects[uid].etag):
            del known.objects[uid]
        else:
            left += 1
    return left


def _revision(state: Published) -> str:
    return f"{state.sequence} {state.digest}"


def _write(remote: RemoteCollection, known: SyncState, uid: str, state: Published, there: bool, theirs: Object | None, timezone: str) -> bool:
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
        if record.sent == _revision(state) and same_content(state.content, theirs.content, timezone):
            return True
    href = record.href if record is not None and there else f"{remote.href.rstrip('/')}/{blake2b(uid.encode(), digest_size=16).hexdigest()}.ics"
    content = merge(state.content, theirs.content if theirs is not None else None)
    taken, etag = remote.put(href, content, theirs.etag if theirs is not None else None, new=not there)
    now = read_entry(content, timezone)
    if taken and now is not None:
        _record(known, now, Object(href, etag, content), _revision(state))
    return taken
