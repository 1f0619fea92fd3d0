"""Both directions of a sync, against any collection: the changes that people made, and the writes that make it show the plan.

What was written is remembered by UID, so that a difference is known to be theirs or ours. Nothing depends on that memory alone: an object whose
writing was cut short is found again by its UID, and objects of others are never written.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Container, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from hashlib import blake2b
from typing import Literal, Protocol

from scheduler.outputs.caldav.collection import Object
from scheduler.outputs.caldav.merge import RemoteEntry, Stamp, merge, read_entry, same_content, uid_of
from scheduler.outputs.calendar.publication import Published
from scheduler.outputs.calendar.uids import AlarmUid, read_entry_uid

ChangeKind = Literal["ticked", "unticked", "percent", "moved", "dismissed", "deleted", "cancelled", "reworded"]
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
    """Something a person did to the entry `uid` at `at` [epoch s, None where the client does not say]. `value`: the new start, the percent; `alarm`: which;
    `words`: what of the entry's words."""

    kind: ChangeKind
    uid: str
    at: int | None = None
    value: int = 0
    alarm: AlarmUid | None = None
    words: tuple[str, ...] = ()


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
    taken: dict[str, str] = field(default_factory=dict)  # objects of another ledger: the UID that each holds

    def to_json(self) -> str:
        """One line; the same state gives the same text."""
        return json.dumps(asdict(self), sort_keys=True, separators=(",", ":"))

    @classmethod
    def from_json(cls, text: str | None) -> SyncState:
        """What `to_json` wrote; empty where there is no text."""
        fields = json.loads(text) if text else {}
        return cls({uid: ObjectState(**one) for uid, one in fields.get("objects", {}).items()}, fields.get("foreign", {}), fields.get("taken", {}))


@dataclass(frozen=True)
class Pulled:
    """
    What a pull found: the changes, the objects that were read, the UIDs that are there, and those that another ledger holds there.

    `newest` is how many facts our ledger held when the newest of our objects was written: more than now where the ledger is an older copy.
    """

    changes: tuple[RemoteChange, ...]
    objects: Mapping[str, Object]
    there: frozenset[str]
    taken: frozenset[str] = frozenset()
    newest: int = 0


@dataclass
class Written:
    """What a push did: entries made, changed and deleted, and those left because somebody else changed them meanwhile."""

    made: int = 0
    changed: int = 0
    deleted: int = 0
    left: int = 0


def pull(remote: RemoteCollection, known: SyncState, yard: str, timezone: str, stamp: Stamp, published: Container[str] = ()) -> Pulled:
    """
    What people did since the last sync. Updates `known`: where our objects are, and which objects are somebody else's.

    `yard` is the slug in our UIDs. An object is ours by our `stamp`; one without any is ours where its UID was `published`, or is known.
    """
    listed = remote.etags()
    at = {record.href: uid for uid, record in known.objects.items()}
    known.foreign = {href: etag for href, etag in known.foreign.items() if href in listed}

    def same(href: str, etag: str | None) -> bool:
        return etag is not None and (known.objects[at[href]].etag if href in at else known.foreign.get(href)) == etag

    objects: dict[str, Object] = {}
    changes: list[RemoteChange] = []
    known.taken = {href: uid for href, uid in known.taken.items() if href in listed}
    newest = 0
    for one in remote.fetch([href for href, etag in listed.items() if not same(href, etag)]):
        found, named = read_entry(one.content, timezone), read_entry_uid(uid_of(one.content) or "")
        if found is None or named is None or named.yard != yard:
            known.foreign[one.href] = one.etag if one.etag is not None else listed.get(one.href)
            continue
        if not _is_ours(found, stamp, known, published):
            known.foreign[one.href] = one.etag if one.etag is not None else listed.get(one.href)
            known.taken[one.href] = found.uid
            known.objects.pop(found.uid, None)
            continue
        known.taken.pop(one.href, None)
        newest = max(newest, found.stamp.position if found.stamp else 0)
        objects[found.uid] = one
        changes += _changes_by_people(found, known.objects.get(found.uid))
        _record(known, found, one)
    there = frozenset(uid for uid, record in known.objects.items() if record.href in listed)
    changes += [RemoteChange("deleted", uid) for uid, record in known.objects.items() if uid not in there and not record.dropped]
    return Pulled(tuple(changes), objects, there, frozenset(known.taken.values()), newest)


def _is_ours(found: RemoteEntry, stamp: Stamp, known: SyncState, published: Container[str]) -> bool:
    return found.stamp.ledger == stamp.ledger if found.stamp is not None else found.uid in known.objects or found.uid in published


def _changes_by_people(found: RemoteEntry, before: ObjectState | None) -> list[RemoteChange]:
    """A person's changes to one entry. Where nothing is known of it, its start may be an older plan's, so only what happened counts."""
    changes = []
    was = before or ObjectState("", None, "", start=found.start)
    if found.is_as_written:
        pass  # our own tick, or a status that an older copy of the ledger does not know it wrote
    elif found.ticked != was.ticked:
        changes.append(RemoteChange("ticked", found.uid, found.completed) if found.ticked else RemoteChange("unticked", found.uid))
    elif not found.ticked and found.percent != was.percent and found.percent:
        changes.append(RemoteChange("percent", found.uid, value=found.percent))
    if found.status == "CANCELLED" and before is not None and not was.cancelled and not found.is_as_written:
        changes.append(RemoteChange("cancelled", found.uid))
    written = found.written if found.written is not None else was.start
    if found.start is not None and written is not None and found.start not in (written, was.start):
        changes.append(RemoteChange("moved", found.uid, value=found.start))
    if found.own_words and before is not None:
        changes.append(RemoteChange("reworded", found.uid, words=found.own_words))
    changes += [RemoteChange("dismissed", found.uid, at, alarm=alarm) for alarm, at in found.dismissed.items() if was.dismissed.get(alarm.alarm, -1) < at]
    return changes


def _record(known: SyncState, found: RemoteEntry, one: Object, sent: str | None = None) -> None:
    """Keep the state of an object. `sent` is the revision of ours that it holds; None keeps the one known before."""
    before = known.objects[found.uid].sent if found.uid in known.objects else ""
    state = found.ticked, found.percent, found.start, {alarm.alarm: at for alarm, at in found.dismissed.items()}, found.status == "CANCELLED"
    known.objects[found.uid] = ObjectState(one.href, one.etag, before if sent is None else sent, *state)


def push(
    remote: RemoteCollection, known: SyncState, wanted: Mapping[str, Published], pulled: Pulled, timezone: str, save: Callable[[], None], stamp: Stamp
) -> Written:
    """
    Write what differs, delete what is no longer published; what somebody else changed meanwhile is left, and the next sync takes it up.

    What another ledger holds under a UID of ours is left alone too.

    `known` is updated at every step and `save` called now and then, so that a sync that is cut short goes on where it stopped.
    """
    done = Written()
    wanted = {uid: state for uid, state in wanted.items() if uid not in pulled.taken}
    objects = dict(pulled.objects)
    stale = [uid for uid, state in wanted.items() if uid in pulled.there and uid not in objects and known.objects[uid].sent != _revision(state)]
    for one in remote.fetch([known.objects[uid].href for uid in stale]):  # to keep what others added
        if (uid := uid_of(one.content)) in stale and uid is not None:
            objects[uid] = one
    for number, (uid, state) in enumerate(wanted.items()):
        _write(remote, known, uid, state, uid in pulled.there, objects.get(uid), timezone, stamp, done)
        if number % _SAVE_EVERY == _SAVE_EVERY - 1:
            save()
    for uid in [uid for uid in known.objects if uid not in wanted]:
        if uid not in pulled.there:
            del known.objects[uid]
        elif remote.delete(known.objects[uid].href, known.objects[uid].etag):
            del known.objects[uid]
            done.deleted += 1
        else:
            done.left += 1
    return done


def _revision(state: Published) -> str:
    return f"{state.sequence} {state.digest}"


def _write(
    remote: RemoteCollection, known: SyncState, uid: str, state: Published, there: bool, theirs: Object | None, timezone: str, stamp: Stamp, done: Written
) -> None:
    """Bring one object to `state`, and count it; one that somebody else changed since it was looked at is left."""
    record = known.objects.get(uid)
    cancelled = b"\r\nSTATUS:CANCELLED\r\n" in state.content
    if not there and (cancelled or b"\r\nSTATUS:COMPLETED\r\n" in state.content):
        if record is not None:
            record.dropped = True  # finished and tidied away
        return
    if record is not None and there:
        if cancelled and record.ticked:
            return  # somebody did it: what happened is not overwritten by a plan without it
        if theirs is None:
            done.left += record.sent != _revision(state)
            return
        if theirs.etag != record.etag:
            done.left += 1
            return
        if record.sent == _revision(state) and same_content(state.content, theirs.content, timezone):
            return
    href = record.href if record is not None and there else f"{remote.href.rstrip('/')}/{blake2b(uid.encode(), digest_size=16).hexdigest()}.ics"
    content = merge(state.content, theirs.content if theirs is not None else None, stamp)
    taken, etag = remote.put(href, content, theirs.etag if theirs is not None else None, new=not there)
    now = read_entry(content, timezone)
    if taken and now is not None:
        _record(known, now, Object(href, etag, content), _revision(state))
        done.made, done.changed = done.made + (not there), done.changed + there
    done.left += not taken
