"""What was published, and what the next publication changes: SEQUENCE and LAST-MODIFIED move only with the entry (RFC 5545 sections 3.8.7.3, 3.8.7.4)."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import NamedTuple

from icalendar import Component, vDDDTypes, vInt, vText

from scheduler.local_time import DAY
from scheduler.outputs.calendar.entry import Entry
from scheduler.outputs.calendar.ical import STEPS, cancelled, component_bytes

_STEPS = re.compile(rb"\r\n" + STEPS.encode() + rb":((?:[^\r]|\r\n[ \t])*)")
SHOWN_CANCELLED = DAY  # a cancelled entry stays in the feed this long [s], so that a subscriber gets it with the next refresh


class Published(NamedTuple):
    """The last published state of a UID: its revision, the entry's digest, when it last changed [epoch s], the component's bytes, when it was cancelled."""

    sequence: int
    digest: str
    last_modified: int
    content: bytes
    gone_since: int | None = None


def publish(current: Iterable[Entry], published: Mapping[str, Published], as_of: int, first: int = 0) -> dict[str, Published]:
    """
    The state after publishing the entries `current` at `as_of`, by UID; only what changed is rendered, the rest is the same object.

    `first` is the SEQUENCE of an entry that is not among what was `published`.
    One that is no longer current is cancelled with a raised SEQUENCE, stays for a day and is then dropped.
    """
    state: dict[str, Published] = {}
    for entry in current:
        before = published.get(entry.uid)
        if before is not None and before.digest == entry.digest:
            state[entry.uid] = before
            continue
        sequence = before.sequence + 1 if before else first
        state[entry.uid] = Published(sequence, entry.digest, as_of, component_bytes(entry, sequence=sequence, modified=as_of))
    for uid, before in published.items():
        if uid in state:
            continue
        if before.gone_since is None:
            sequence = before.sequence + 1
            content = cancelled(before.content, sequence=sequence, modified=as_of)
            state[uid] = Published(sequence, "", as_of, content, gone_since=as_of)
        elif as_of - before.gone_since < SHOWN_CANCELLED:
            state[uid] = before if before.gone_since <= as_of else before._replace(gone_since=as_of)  # the clock was ahead
    return state


def completed(before: Published, done_at: int, as_of: int) -> Published:
    """The entry `before` once its work was done at `done_at` [epoch s]; the same object where that was published already."""
    digest = f"done {done_at}"
    if before.digest == digest:
        return before
    sequence = before.sequence + 1
    component = Component.from_ical(before.content)
    component.subcomponents = [part for part in component.subcomponents if part.name != "VALARM"]
    if component.name == "VTODO":
        component["STATUS"], component["PERCENT-COMPLETE"] = vText("COMPLETED"), vInt(100)
        component["COMPLETED"] = vDDDTypes(datetime.fromtimestamp(done_at, UTC))
    else:
        component["STATUS"] = vText("CONFIRMED")
    component["DTSTAMP"] = component["LAST-MODIFIED"] = vDDDTypes(datetime.fromtimestamp(as_of, UTC))
    component["SEQUENCE"] = vInt(sequence)
    return Published(sequence, digest, as_of, component.to_ical())


def steps_of(content: bytes) -> tuple[str, ...]:
    """The keys of the steps of a published sitting."""
    line = _STEPS.search(content)
    text = re.sub(rb"\r\n[ \t]", b"", line[1]).decode() if line else ""
    return tuple(re.sub(r"\\(.)", lambda escaped: "\n" if escaped[1] in "nN" else escaped[1], text).split("\n")) if text else ()
