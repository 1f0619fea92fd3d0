"""The bytes of one entry (RFC 5545, 9074, 9253). The icalendar library decides how a property is written and escaped; lines fold where it folds them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import Any

from icalendar import Component, Parameters, vCategory, vDDDTypes, vDuration, vInt, vText
from icalendar.parser import Contentline

from scheduler.local_time import is_ambiguous, local
from scheduler.outputs.calendar.content_lines import folded
from scheduler.outputs.calendar.entry import Alarm, Entry
from scheduler.outputs.wording.sitting_words import cut
from scheduler.rules.schema import TITLE

STEPS = "X-AFTERPULL-STEPS"  # which steps a sitting has: a property of our own (RFC 5545 section 3.8.8.2), one key a line
CANCELLED = "Cancelled: "
CACHED_LINES = 1024  # lines that many entries share, such as STATUS:CONFIRMED, are made once


def component_bytes(entry: Entry, *, sequence: int = 0, modified: int) -> bytes:
    """The VEVENT or VTODO of an entry, revision `sequence`, last changed at `modified` [epoch s]."""
    return b"".join(_lines(entry, sequence, modified))


def _lines(entry: Entry, sequence: int, modified: int) -> Iterator[bytes]:
    """The content lines, in the order that the library gives an event: what matters most first, the rest by name."""
    event = entry.kind == "event"
    zone = _zone(entry)
    yield b"BEGIN:VEVENT\r\n" if event else b"BEGIN:VTODO\r\n"
    yield _text("SUMMARY", entry.summary)
    last = "DTEND" if event else "DUE"
    if entry.all_day:
        yield from (_date(name, local(at, entry.timezone).date()) for name, at in (("DTSTART", entry.start), (last, entry.end)))
    else:
        yield from (_moment(name, at, zone) for name, at in (("DTSTART", entry.start), (last, entry.end)))
    yield _moment("DTSTAMP", modified)  # without METHOD it is when the information was last revised (RFC 5545 section 3.8.7.2)
    yield _text("UID", entry.uid)
    yield _shared_number("SEQUENCE", sequence)
    yield _categories(entry.categories)
    if entry.completed is not None:
        yield _moment("COMPLETED", entry.completed)
    if entry.description:  # libical counts a property without a value as an error
        yield _text("DESCRIPTION", entry.description)
    yield _moment("LAST-MODIFIED", modified)
    if entry.location:
        yield _shared_text("LOCATION", entry.location)
    if not event:
        yield _shared_number("PERCENT-COMPLETE", 100 if entry.completed is not None else entry.percent)
    yield _shared_number("PRIORITY", entry.priority)
    for relation in entry.relations:
        gap = {"GAP": _gap(relation.gap)} if relation.gap else {}
        yield _text("RELATED-TO", relation.uid, RELTYPE=relation.kind, **gap)
    yield _shared_text("STATUS", entry.status)
    if event:
        yield _shared_text("TRANSP", "TRANSPARENT" if entry.transparent else "OPAQUE")
    if entry.steps:
        yield _text(STEPS, "\n".join(entry.steps))
    for alarm in entry.alarms:
        yield from _alarm(alarm)
    yield b"END:VEVENT\r\n" if event else b"END:VTODO\r\n"


def cancelled(content: bytes, *, sequence: int, modified: int) -> bytes:
    """The same component with STATUS:CANCELLED, its alarms silenced."""
    component: Any = Component.from_ical(content)
    component["STATUS"], component["SUMMARY"] = vText("CANCELLED"), vText(cut(f"{CANCELLED}{component.get('SUMMARY', '')}", TITLE))
    if component.name == "VEVENT":
        component["TRANSP"] = vText("TRANSPARENT")
    component.subcomponents.clear()
    component["DTSTAMP"] = component["LAST-MODIFIED"] = vDDDTypes(datetime.fromtimestamp(modified, UTC))
    component["SEQUENCE"] = vInt(sequence)
    silenced: bytes = component.to_ical()
    return silenced


def _alarm(alarm: Alarm) -> Iterator[bytes]:
    yield b"BEGIN:VALARM\r\n"
    if alarm.acknowledged is not None:
        yield _moment("ACKNOWLEDGED", alarm.acknowledged)
    yield _shared_text("ACTION", "DISPLAY")
    yield _text("DESCRIPTION", alarm.say)
    yield _trigger(alarm.offset, alarm.related) if alarm.at is None else _absolute(alarm.at)
    yield _text("UID", alarm.uid)
    yield b"END:VALARM\r\n"


def _line(name: str, value: Any) -> bytes:
    """A property as the library writes it."""
    if value.params:
        return folded(Contentline.from_parts(name, value.params, value)) + b"\r\n"
    return folded(f"{name}:{value.to_ical().decode()}") + b"\r\n"  # the same bytes, in a third of the time


def _text(name: str, text: str, **parameters: str) -> bytes:
    return _line(name, vText(text, params=parameters))


@lru_cache(maxsize=CACHED_LINES)
def _shared_text(name: str, text: str) -> bytes:
    return _text(name, text)


@lru_cache(maxsize=CACHED_LINES)
def _shared_number(name: str, number: int) -> bytes:
    return _line(name, vInt(number))


@lru_cache(maxsize=CACHED_LINES)
def _categories(categories: tuple[str, ...]) -> bytes:
    return _line("CATEGORIES", vCategory(list(categories)))


@lru_cache(maxsize=CACHED_LINES)
def _trigger(offset: int, related: str) -> bytes:
    return folded(Contentline.from_parts("TRIGGER", Parameters({"RELATED": "END"} if related == "END" else {}), _elapsed(offset))) + b"\r\n"


def _elapsed(seconds: int) -> str:
    """A duration in hours and minutes: a day is not 24 hours where the clocks change, and readers differ in what they make of it."""
    hours, rest = divmod(abs(seconds), 3600)
    minutes, rest = divmod(rest, 60)
    parts = "".join(f"{number}{unit}" for number, unit in ((hours, "H"), (minutes, "M"), (rest, "S")) if number)
    return f"{'-' if seconds < 0 else ''}PT{parts or '0S'}"


@lru_cache(maxsize=CACHED_LINES)
def _absolute(at: int) -> bytes:
    return f"TRIGGER;VALUE=DATE-TIME:{datetime.fromtimestamp(at, UTC):%Y%m%dT%H%M%SZ}\r\n".encode()


@lru_cache(maxsize=CACHED_LINES)
def _date(name: str, day: date) -> bytes:
    return f"{name};VALUE=DATE:{day:%Y%m%d}\r\n".encode()


@lru_cache(maxsize=CACHED_LINES)
def _moment(name: str, instant: int, zone: str = "UTC") -> bytes:
    """RFC 5545 section 3.3.5, form 2 or 3; the name of a zone needs no quotes."""
    if zone == "UTC":
        return f"{name}:{datetime.fromtimestamp(instant, UTC):%Y%m%dT%H%M%SZ}\r\n".encode()
    return f"{name};TZID={zone}:{local(instant, zone):%Y%m%dT%H%M%S}\r\n".encode()


def _zone(entry: Entry) -> str:
    """The yard's; UTC if start or end falls in an hour that the clocks show twice, where TZID can name the first only (section 3.3.5)."""
    moments = local(entry.start, entry.timezone), local(entry.end, entry.timezone)
    return "UTC" if any(map(is_ambiguous, moments)) else entry.timezone


@lru_cache(maxsize=CACHED_LINES)
def _gap(seconds: int) -> str:
    written: bytes = vDuration(timedelta(seconds=seconds)).to_ical()  # type: ignore[no-untyped-call]
    return written.decode()
