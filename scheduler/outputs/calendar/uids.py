"""The UIDs of a calendar (RFC 5545 section 3.8.4.7). They lie on phones and servers, so their grammar stays as it is.

2026-08-11/1.sitting@kestrel-bank.afterpull      an evening's work or a visit, by the id of its sitting
ridge-2/b/settle.over@kestrel-bank.afterpull     the moment at which a hold is over that nobody closes
ridge-2/a/work-up-deadline.limit@...             a limit, on its day
ridge-2/a/drain.hold@kestrel-bank.afterpull      a hold, where holds are shown
ridge-2/a/drain.begin.todo@kestrel-bank.afterpull a task in a task list, from its beginning to its end
ridge-2/a/drain.alarm-0@kestrel-bank.afterpull   the first alarm of a task; of a sitting the same by the id of the sitting
feed@kestrel-bank.afterpull                      the calendar as a whole

Version 0.1.0 sent an event for each phase of a task, ridge-2/a/drain.begin@..., .begin-2@... and .end@..., and to-dos of the same names.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from functools import lru_cache
from hashlib import blake2b
from typing import NamedTuple

from scheduler.outputs.plain_text import one_line

Phase = str  # "sitting", "over", "limit", "hold", and "begin" of a to-do
_ENTRY = r"(?s)^(?P<task>.*)\.(?P<phase>(?:begin|end)(?:-\d+)?|hold|sitting|over|limit)(?:\.todo)?@(?P<yard>.*)\.afterpull$"
_ALARM = r"(?s)^(?P<alarm>(?P<task>.*)\.alarm-(?P<number>\d+))(?:\.todo)?@(?P<yard>.*)\.afterpull$"


class EntryUid(NamedTuple):
    """What the UID of an entry says; the yard as its slug."""

    task: str
    phase: Phase
    yard: str


class AlarmUid(NamedTuple):
    """What the UID of an alarm says; `alarm` names it among events and to-dos alike."""

    alarm: str
    task: str
    number: int
    yard: str


@lru_cache(maxsize=64)
def yard_slug(name: str) -> str:
    """A yard's name as part of a UID: ASCII letters, digits and hyphens; a short digest where nothing of the name is left."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or blake2b(name.encode("utf-8", "surrogatepass"), digest_size=6).hexdigest()


def entry_uid(task: str, phase: Phase, yard: str, *, todo: bool = False) -> str:
    """The UID of a phase, the same for as long as the task exists."""
    return _uid(f"{one_line(task)}.{phase}", yard, todo)


def alarm_uid(task: str, number: int, yard: str, *, todo: bool = False) -> str:
    """The UID of a task's alarm (RFC 9074 section 4)."""
    return _uid(f"{one_line(task)}.alarm-{number}", yard, todo)


def calendar_uid(yard: str, part: str = "") -> str:
    """The UID of a whole calendar (RFC 7986 section 5.3), or of one that shows a part of a yard's work."""
    return _uid(f"feed.{yard_slug(part)}" if part else "feed", yard, False)


def _uid(name: str, yard: str, todo: bool) -> str:
    return f"{name}{'.todo' if todo else ''}@{yard_slug(yard)}.afterpull"


def with_task(uid: str, ids: Mapping[str, str]) -> str:
    """The UID of the same entry or alarm where its task goes by the id that `ids` leads to from the present one."""
    named = read_entry_uid(uid) or read_alarm_uid(uid)
    return ids.get(named.task, named.task) + uid.removeprefix(named.task) if named else uid


def read_entry_uid(uid: str) -> EntryUid | None:
    """None for an entry of someone else's."""
    match = re.match(_ENTRY, uid)
    return EntryUid(match["task"], match["phase"], match["yard"]) if match else None


def read_alarm_uid(uid: str) -> AlarmUid | None:
    """None for an alarm of someone else's."""
    match = re.match(_ALARM, uid)
    return AlarmUid(match["alarm"], match["task"], int(match["number"]), match["yard"]) if match else None
