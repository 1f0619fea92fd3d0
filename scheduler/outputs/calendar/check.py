"""Whether a calendar file keeps to RFC 5545 and its extensions, so that every client reads it the same. All faults at once, each with its place."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from scheduler.diagnostics import Diagnostic
from scheduler.outputs.calendar.content_lines import Component, ContentLine, components

_REQUIRED = {
    "VCALENDAR": ("PRODID", "VERSION"),
    "VEVENT": ("UID", "DTSTAMP", "DTSTART"),
    "VTODO": ("UID", "DTSTAMP"),
    "VJOURNAL": ("UID", "DTSTAMP"),
    "VALARM": ("ACTION", "TRIGGER"),
    "VTIMEZONE": ("TZID",),
    "STANDARD": ("DTSTART", "TZOFFSETFROM", "TZOFFSETTO"),
    "DAYLIGHT": ("DTSTART", "TZOFFSETFROM", "TZOFFSETTO"),
}
_ONCE = frozenset(
    [
        *("PRODID", "VERSION", "CALSCALE", "METHOD", "UID", "DTSTAMP", "DTSTART", "DTEND", "DUE", "DURATION", "SUMMARY", "LOCATION", "STATUS"),
        *("PRIORITY", "SEQUENCE", "TRANSP", "CLASS", "CREATED", "LAST-MODIFIED", "COMPLETED", "PERCENT-COMPLETE", "RECURRENCE-ID", "ORGANIZER"),
        *("URL", "GEO", "ACTION", "TRIGGER", "ACKNOWLEDGED", "TZID", "TZOFFSETFROM", "TZOFFSETTO"),
    ]
)
_MOMENTS = frozenset(["DTSTART", "DTEND", "DUE", "RECURRENCE-ID", "DTSTAMP", "CREATED", "LAST-MODIFIED", "COMPLETED", "ACKNOWLEDGED", "RDATE", "EXDATE"])
_IN_UTC = frozenset(["DTSTAMP", "CREATED", "LAST-MODIFIED", "COMPLETED", "ACKNOWLEDGED"])
_TEXTS = frozenset(["SUMMARY", "DESCRIPTION", "LOCATION", "COMMENT", "CONTACT", "UID", "NAME"])
_STATUS = {
    "VEVENT": ("TENTATIVE", "CONFIRMED", "CANCELLED"),
    "VTODO": ("NEEDS-ACTION", "COMPLETED", "IN-PROCESS", "CANCELLED"),
    "VJOURNAL": ("DRAFT", "FINAL", "CANCELLED"),
}
_NUMBERS = {"SEQUENCE": 2**31 - 1, "PRIORITY": 9, "PERCENT-COMPLETE": 100}
_DURATION = re.compile(r"[+-]?P(?:\d+W|(?=[\dT])(?:\d+D)?(?:T(?=\d)(?:\d+H)?(?:\d+M)?(?:\d+S)?)?)")
_OFFSET = re.compile(r"[+-](?:[01]\d|2[0-3])[0-5]\d(?:[0-5]\d)?")
_DIGITS = re.compile("[0-9]{1,10}")  # more are too many for any number here, and take long to read
_BAD_TEXT = re.compile(r"(?<!\\)(?:\\\\)*(?:\\(?![\\;,nN])|[;,])")
_ENTRIES = ("VEVENT", "VTODO", "VJOURNAL")


def check(content: bytes, path: str) -> list[Diagnostic]:
    """
    Every fault of a calendar file, in order of place; an empty list where it is sound.

    Octets (CRLF, 75 octets, UTF-8 on each line), nesting, required and single properties, values, dates that exist, zones that are defined, an end
    after its start, exactly one of end and duration, unique UIDs, relations to UIDs of this file.
    """
    faults: list[Diagnostic] = []
    calendars = components(content, path, faults)
    if not any(part.name == "VCALENDAR" for part in calendars):
        faults.append(Diagnostic(path, 1, 1, "there is no calendar in this file", "BEGIN:VCALENDAR ... END:VCALENDAR"))
    for part in calendars:
        if part.name != "VCALENDAR":
            faults.append(Diagnostic(path, part.line, 1, f"{part.name} stands outside a calendar", "BEGIN:VCALENDAR first"))
        faults += (Diagnostic(path, line, 1, message, write) for line, message, write in _calendar(part))
    return sorted(set(faults))


_Finding = tuple[int, str, str]


def _calendar(calendar: Component) -> Iterator[_Finding]:
    zones = {line.value for part in calendar.parts if part.name == "VTIMEZONE" for line in part.all("TZID")}
    uids = {line.value for part in calendar.parts if part.name in _ENTRIES for line in part.all("UID")}
    if not calendar.parts:
        yield calendar.line, "the calendar is empty", "at least one component, for example BEGIN:VEVENT"
    for one in _each(calendar):
        yield from _component(one, zones)
    yield from _duplicates(calendar)
    for part in calendar.parts:
        for line in part.all("RELATED-TO") if part.name in _ENTRIES else ():
            if line.value not in uids:
                yield line.line, f"RELATED-TO names {line.value}, which this file does not hold", "the UID of an entry in this file"


def _duplicates(calendar: Component) -> Iterator[_Finding]:
    """Two components under one UID, unless RECURRENCE-ID tells them apart (RFC 5545 section 3.8.4.7); two alarms under one (RFC 9074 section 4)."""

    def names(part: Component) -> tuple[str, str]:
        return tuple(line.value if (line := part.first(name)) else "" for name in ("UID", "RECURRENCE-ID"))  # type: ignore[return-value]

    entries = [part for part in calendar.parts if part.name in _ENTRIES and part.first("UID")]
    alarms = [alarm for part in calendar.parts for alarm in part.parts if alarm.name == "VALARM" and alarm.first("UID")]
    for group in (entries, alarms):
        counted = Counter(names(part) for part in group)
        for part in group:
            if counted[names(part)] > 1:
                yield part.line, f"{part.name} shares its UID {names(part)[0]} with another", "a UID of its own"


def _each(component: Component) -> Iterator[Component]:
    """A component and all within it, however deep."""
    left = [component]
    while left:
        yield (one := left.pop())
        left += one.parts


def _component(component: Component, zones: set[str]) -> Iterator[_Finding]:
    counted = Counter(line.name for line in component.properties)
    for name in _REQUIRED.get(component.name, ()):
        if name not in counted:
            yield component.line, f"{component.name} has no {name}", f"{name}:..."
    for name in sorted(_ONCE & counted.keys()):
        if counted[name] > 1:
            yield component.all(name)[1].line, f"{name} is given {counted[name]} times in one {component.name}", f"{name} once"
    for line in component.properties:
        yield from _property(component, line, zones)
    yield from _start_and_end(component)
    if component.name == "VTIMEZONE" and not component.parts:
        yield component.line, "VTIMEZONE has no observance", "BEGIN:STANDARD ... END:STANDARD"
    if component.name == "VALARM" and _value(component, "ACTION") == "DISPLAY" and not component.first("DESCRIPTION"):
        yield component.line, "a display alarm has no DESCRIPTION", "DESCRIPTION:what to tell"


def _property(component: Component, line: ContentLine, zones: set[str]) -> Iterator[_Finding]:
    name, value = line.name, line.value
    zone = line.parameters.get("TZID")
    if zone is not None and zone not in zones:
        yield line.line, f"{name} is in zone {zone}, which has no VTIMEZONE here", f"BEGIN:VTIMEZONE with TZID:{zone}"
    if name in _MOMENTS:
        yield from _moment_faults(line)
    elif name == "DURATION" or (name == "TRIGGER" and line.parameters.get("VALUE") != "DATE-TIME"):
        if not _DURATION.fullmatch(value):
            yield line.line, f"{name}:{value} is not a duration", "-PT15M or P2DT2H"
    elif name == "TRIGGER" and (not value.endswith("Z") or _moment(value) is None):
        yield line.line, f"TRIGGER:{value} is not a time in UTC", "TRIGGER;VALUE=DATE-TIME:20260811T153000Z"
    elif name in _TEXTS and (bad := _BAD_TEXT.search(value)):
        yield line.line, f"{name} holds {bad[0][-1]!r} that is not escaped", "\\\\ \\; \\, or \\n"
    elif name == "STATUS" and value not in _STATUS.get(component.name, (value,)):
        yield line.line, f"STATUS:{value} is not a status of a {component.name}", " or ".join(_STATUS[component.name])
    elif name in _NUMBERS and not (_DIGITS.fullmatch(value) and int(value) <= _NUMBERS[name]):
        yield line.line, f"{name}:{value} is not a whole number from 0 to {_NUMBERS[name]}", f"{name}:0"
    elif name in ("TZOFFSETFROM", "TZOFFSETTO") and (not _OFFSET.fullmatch(value) or (value.startswith("-00") and not value.strip("-0"))):
        yield line.line, f"{name}:{value} is not an offset from UTC", f"{name}:+0100"


def _moment_faults(line: ContentLine) -> Iterator[_Finding]:
    for value in line.value.split(","):
        if line.parameters.get("VALUE") != "PERIOD" and _moment(value) is None:
            yield line.line, f"{line.name}:{value} is not a date or a time that exists", f"{line.name}:20260811T173000Z"
        if line.name in _IN_UTC and not value.endswith("Z"):
            yield line.line, f"{line.name}:{value} is not in UTC", f"{line.name}:20260811T173000Z"
        if value.endswith("Z") and "TZID" in line.parameters:
            yield line.line, f"{line.name}:{value} is in UTC and in a zone at once", "either Z or TZID"


def _start_and_end(component: Component) -> Iterator[_Finding]:
    """Exactly one of end and duration, and the end after the start (RFC 5545 sections 3.6.1, 3.6.2)."""
    last = {"VEVENT": "DTEND", "VTODO": "DUE"}.get(component.name)
    if last is None:
        return
    start, end, duration = component.first("DTSTART"), component.first(last), component.first("DURATION")
    if end and duration:
        yield end.line, f"{component.name} has both {last} and DURATION", f"one of {last} and DURATION"
    if component.name == "VEVENT" and start and not end and not duration and len(start.value) > 8:
        yield component.line, "VEVENT has neither DTEND nor DURATION", "DTEND:..."
    if component.name == "VTODO" and duration and not start:
        yield duration.line, "VTODO has a DURATION but no DTSTART", "DTSTART:..."
    if start and end:
        begin, finish = _moment(start.value, start.parameters.get("TZID")), _moment(end.value, end.parameters.get("TZID"))
        if (len(start.value) == 8) != (len(end.value) == 8):
            yield end.line, f"{last} is a date and DTSTART a time, or the other way round", "both as dates or both as times"
        elif begin and finish and (begin.tzinfo is None) == (finish.tzinfo is None) and finish <= begin:
            yield end.line, f"{last} does not lie after DTSTART", f"a later {last}"


def _value(component: Component, name: str) -> str:
    line = component.first(name)
    return line.value.upper() if line else ""


def _moment(value: str, zone: str | None = None) -> datetime | None:
    """The date or time a value names, in UTC where it says so or its zone is known; None where there is no such date."""
    form = {8: "%Y%m%d", 15: "%Y%m%dT%H%M%S", 16: "%Y%m%dT%H%M%SZ"}.get(len(value), "")
    try:
        moment = datetime.strptime(value.replace("T235960", "T235959"), form)  # noqa: DTZ007  the zone follows
    except ValueError:
        return None
    if len(value) == 16:
        return moment.replace(tzinfo=UTC)
    try:
        return moment.replace(tzinfo=ZoneInfo(zone)).astimezone(UTC) if zone else moment
    except (ZoneInfoNotFoundError, ValueError, OSError, OverflowError):
        return moment  # a zone of the file's own making, or the edge of the calendar: the clock times are compared as they stand
