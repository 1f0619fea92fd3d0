"""One entry on both sides: reading what a person did to it, and writing ours without losing what others added."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from hashlib import blake2b
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from icalendar import Component, vInt, vText

from scheduler.outputs.calendar.uids import AlarmUid, read_alarm_uid
from scheduler.outputs.calendar.vcalendar import calendar_stream

_OWNED = ("SUMMARY", "DESCRIPTION", "LOCATION", "STATUS", "PRIORITY", "TRANSP", "DTSTART", "DTEND", "DUE", "COMPLETED")
_REVISION = ("DTSTAMP", "LAST-MODIFIED", "SEQUENCE")
_WHAT = ("title", "notes", "length")
_DROPPED = ("DURATION", "RELATED-TO", "CATEGORIES", "RRULE", "RDATE", "EXDATE", "RECURRENCE-ID")  # a client's version of these is dropped


_LEDGER, _POSITION, _START, _STATUS, _WORDS = (f"X-AFTERPULL-{name}" for name in ("LEDGER", "POSITION", "START", "STATUS", "WORDS"))
_MARKS = (_LEDGER, _POSITION, _START, _STATUS, _WORDS)


class Stamp(NamedTuple):
    """What we write into an object to know it again: whose it is (the id of a ledger), and how many facts that ledger held then."""

    ledger: str
    position: int


@dataclass(frozen=True, slots=True)
class RemoteEntry:
    """
    What is read back from an entry: status, percent, when it was completed and when it starts [epoch s], dismissed alarms with their time.

    `stamp` says who wrote it, `written` the start, and `wrote` the status with its percentage, that we wrote; `own_words` what a person changed since
    of title, notes and length. Where the entry says nothing of these, None and nothing.
    """

    uid: str
    status: str
    percent: int
    completed: int | None
    start: int | None
    dismissed: Mapping[AlarmUid, int]
    stamp: Stamp | None = None
    written: int | None = None
    wrote: str = ""
    own_words: tuple[str, ...] = ()

    @property
    def is_as_written(self) -> bool:
        """Whether nobody ticked it, took a tick back or said how far they are since we wrote it."""
        return self.wrote == f"{self.status} {self.percent}"

    @property
    def ticked(self) -> bool:
        """Task apps differ in which of the three they write (RFC 5545 sections 3.8.1.11, 3.8.2.1, 3.8.1.8)."""
        return self.status == "COMPLETED" or self.completed is not None or self.percent == 100


def uid_of(content: bytes) -> str | None:
    """The UID of the entry in a calendar object; None where it cannot be read."""
    component = entry_of(content)
    return str(component["UID"]) if component is not None and "UID" in component else None


def entry_of(content: bytes) -> Any:
    """The VEVENT or VTODO of a calendar object or of an entry by itself; None where it cannot be read."""
    try:
        whole = Component.from_ical(content)
        parts = whole.subcomponents if whole.name == "VCALENDAR" else [whole]
    except (ValueError, KeyError, IndexError, AttributeError):
        return None
    return next((part for part in parts if part.name in ("VEVENT", "VTODO")), None)


def read_entry(content: bytes, timezone: str) -> RemoteEntry | None:
    """The entry in a calendar object; a day without a time is its midnight at the yard. None where it cannot be read."""
    component = entry_of(content)
    if component is None or "UID" not in component:
        return None
    try:
        percent = int(component.get("PERCENT-COMPLETE", 0))
        dismissed: dict[AlarmUid, int] = {}
        for alarm in component.subcomponents:
            named = read_alarm_uid(str(alarm.get("UID", "")))
            if named and "ACKNOWLEDGED" in alarm and (at := _moment(alarm["ACKNOWLEDGED"], timezone)) is not None:
                dismissed[named] = at
        completed, start = (_moment(component.get(name), timezone) for name in ("COMPLETED", "DTSTART"))
        stamp = Stamp(str(component[_LEDGER]), int(component.get(_POSITION, 0))) if _LEDGER in component else None
        written = int(component[_START]) if _START in component else None
        before = str(component.get(_WORDS, "")).split()
        own = [what for what, now, then in zip(_WHAT, _words(component), before, strict=False) if now != then]
    except (ValueError, TypeError, AttributeError, OverflowError):
        return None
    return RemoteEntry(
        str(component["UID"]),
        str(component.get("STATUS", "")).upper(),
        percent,
        completed,
        start,
        dismissed,
        stamp,
        written,
        str(component.get(_STATUS, "")),
        tuple(own),
    )


def same_content(ours: bytes, theirs: bytes, timezone: str) -> bool:
    """Whether the server's entry says what ours says; revision numbers and what others added do not count."""
    mine, other = entry_of(ours), entry_of(theirs)
    if other is None:
        return False
    alarms = {str(alarm.get("UID")) for alarm in mine.subcomponents}
    return alarms <= {str(alarm.get("UID")) for alarm in other.subcomponents} and all(
        _plain(name, mine, timezone) == _plain(name, other, timezone) for name in _OWNED
    )


def merge(ours: bytes, theirs: bytes | None, stamp: Stamp | None = None) -> bytes:
    """Our entry as a calendar object under our stamp, with what others added to it: their own properties and alarms, and how far they say they are."""
    mine, other = entry_of(ours), entry_of(theirs) if theirs is not None else None
    if other is not None:
        for name, value in other.property_items(recursive=False):
            if name not in mine and name not in (*_OWNED, *_REVISION, *_DROPPED, *_MARKS, "BEGIN", "END", "PERCENT-COMPLETE"):
                mine.add(name, value, encode=0)
        mine.subcomponents += [alarm for alarm in other.subcomponents if alarm.name == "VALARM" and not read_alarm_uid(str(alarm.get("UID", "")))]
        further = int(other.get("PERCENT-COMPLETE", 0))
        if str(mine.get("STATUS")) in ("NEEDS-ACTION", "IN-PROCESS") and int(mine.get("PERCENT-COMPLETE", 0)) < further < 100:
            mine["PERCENT-COMPLETE"], mine["STATUS"] = vInt(further), vText("IN-PROCESS")
        mine["SEQUENCE"] = vInt(max(int(mine.get("SEQUENCE", 0)), int(other.get("SEQUENCE", 0))))
    if stamp is not None:
        start = _moment(mine.get("DTSTART"), "UTC")
        mine[_STATUS] = vText(f"{str(mine.get('STATUS', '')).upper()} {int(mine.get('PERCENT-COMPLETE', 0))}")
        mine[_LEDGER], mine[_POSITION], mine[_WORDS] = vText(stamp.ledger), vText(str(stamp.position)), vText(" ".join(_words(mine)))
        if start is not None:
            mine[_START] = vText(str(start))
    return b"".join(calendar_stream([mine.to_ical()], name="afterpull", uid=str(mine["UID"]), stored=True))


def _words(component: Any) -> tuple[str, ...]:
    """A short digest each of an entry's title, notes and length, by which a change of them is seen."""
    start, end = (component.get(name) for name in ("DTSTART", "DTEND" if "DTEND" in component else "DUE"))
    length = str(end.dt - start.dt) if hasattr(start, "dt") and hasattr(end, "dt") and type(start.dt) is type(end.dt) else ""
    texts = (str(component.get("SUMMARY", "")), str(component.get("DESCRIPTION", "")).replace("\r\n", "\n").strip(), length)
    return tuple(blake2b(text.encode("utf-8", "surrogatepass"), digest_size=4).hexdigest() for text in texts)


def _plain(name: str, component: Any, timezone: str) -> object:
    value = component.get(name)
    if name == "STATUS" and str(value) == "IN-PROCESS":
        return "NEEDS-ACTION"  # how far somebody is does not contradict the plan
    if value is None or not hasattr(value, "dt"):
        return str(value or "").replace("\r\n", "\n").strip()
    return _moment(value, timezone)


def _moment(value: Any, timezone: str) -> int | None:
    if value is None:
        return None
    at = value.dt
    if isinstance(at, date) and not isinstance(at, datetime):
        at = datetime.combine(at, time())
    if at.tzinfo is None:
        at = at.replace(tzinfo=ZoneInfo(timezone))
    return int(at.astimezone(UTC).timestamp())
