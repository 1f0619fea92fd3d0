"""iCalendar bytes (RFC 5545, 7986, 9074, 9253). The icalendar library alone decides how a property is written, escaped and folded.

The bytes of an entry are made once and kept by whoever publishes; a feed is a header, the zones, those bytes, and a closing line.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from scheduler.outputs.entries import Alarm, Entry
from scheduler.outputs.local_time import is_ambiguous, local
from scheduler.outputs.plain import one_line
from scheduler.outputs.vtimezone import vtimezone

if TYPE_CHECKING:
    from icalendar import Component

PRODID = "-//afterpull//EN"
REFRESH = timedelta(hours=1)
_ZONED = re.compile(rb"^(?:DTSTART|DTEND|DUE);TZID=([^:\r\n]+):(\d{4})", re.MULTILINE)
_CLOSE = b"END:VCALENDAR\r\n"


def component_bytes(entry: Entry, *, sequence: int = 0, modified: int) -> bytes:
    """The VEVENT or VTODO of an entry, revision `sequence`, last changed at `modified` [epoch s]."""
    from icalendar import Event, Todo, vCategory, vInt, vText

    component: Component = Event() if entry.kind == "event" else Todo()
    component["UID"] = vText(entry.uid)
    _revise(component, sequence, modified)
    component["DTSTART"], component["DTEND" if entry.kind == "event" else "DUE"] = _moments(entry)
    component["SUMMARY"] = vText(entry.summary)
    component["DESCRIPTION"] = vText(entry.description)
    component["LOCATION"] = vText(entry.location)
    component["CATEGORIES"] = vCategory([entry.category])
    component["STATUS"] = vText(entry.status)
    component["PRIORITY"] = vInt(entry.priority)
    if entry.kind == "event":
        component["TRANSP"] = vText("TRANSPARENT" if entry.transparent else "OPAQUE")
    else:
        component["PERCENT-COMPLETE"] = vInt(100 if entry.completed is not None else 0)
    if entry.completed is not None:
        component["COMPLETED"] = _utc(entry.completed)
    for relation in entry.relations:
        gap = {"GAP": _gap(relation.gap)} if relation.gap else {}
        component.add("related-to", vText(relation.uid), parameters={"RELTYPE": relation.kind, **gap})
    for alarm in entry.alarms:
        component.add_component(_alarm(alarm))
    content: bytes = component.to_ical()
    return content


def cancelled(content: bytes, *, sequence: int, modified: int) -> bytes:
    """The same component with STATUS:CANCELLED, its alarms silenced."""
    from icalendar import Component, vText

    component = Component.from_ical(content)
    component["STATUS"] = vText("CANCELLED")
    component.subcomponents.clear()
    _revise(component, sequence, modified)
    silenced: bytes = component.to_ical()
    return silenced


def document(contents: Iterable[bytes], *, name: str, uid: str, refresh: timedelta = REFRESH, source: str = "", modified: int | None = None) -> Iterator[bytes]:
    """
    A whole calendar as a stream: header, one VTIMEZONE for each zone that an entry names, the entries, the closing line.

    `contents` is gone through twice when it is a list; an iterator is held in memory. Zones cover the years of the entries and two more.
    """
    kept = contents if isinstance(contents, list | tuple) else list(contents)
    yield _header(name, uid, refresh, source, modified)
    for zone, (first, last) in sorted(_zones(kept).items()):
        yield vtimezone(zone, first, last + 2).to_ical()
    yield from kept
    yield _CLOSE


def _zones(contents: Iterable[bytes]) -> dict[str, tuple[int, int]]:
    """The zones that the components name, each with the first and the last year it is needed for."""
    spans: dict[bytes, tuple[int, int]] = {}
    for zone, digits in {found for content in contents for found in _ZONED.findall(content)}:
        first, last = spans.get(zone, (9999, 0))
        spans[zone] = min(first, int(digits)), max(last, int(digits))
    return {zone.decode(): span for zone, span in spans.items()}


def _header(name: str, uid: str, refresh: timedelta, source: str, modified: int | None) -> bytes:
    """RFC 7986 properties; it gives REFRESH-INTERVAL and SOURCE no default type, so VALUE is written, which the library leaves out."""
    from icalendar import Calendar, vDuration, vText, vUri

    calendar = Calendar()
    calendar["PRODID"], calendar["VERSION"], calendar["CALSCALE"] = vText(PRODID), vText("2.0"), vText("GREGORIAN")
    calendar["UID"], calendar["NAME"] = vText(uid), vText(one_line(name))
    calendar["REFRESH-INTERVAL"] = vDuration(refresh, params={"VALUE": "DURATION"})
    if source:
        calendar["SOURCE"] = vUri(source, params={"VALUE": "URI"})
    if modified is not None:
        calendar["LAST-MODIFIED"] = _utc(modified)
    content: bytes = calendar.to_ical()
    return content.removesuffix(_CLOSE)


def _revise(component: Any, sequence: int, modified: int) -> None:
    """Without METHOD, DTSTAMP is when the information was last revised (RFC 5545 section 3.8.7.2)."""
    from icalendar import vInt

    component["DTSTAMP"] = component["LAST-MODIFIED"] = _utc(modified)
    component["SEQUENCE"] = vInt(sequence)


def _moments(entry: Entry) -> tuple[Any, Any]:
    """Start and end in the yard's zone; in UTC if either falls in an hour that the clocks show twice, where TZID can name the first only (section 3.3.5)."""
    from icalendar import vDDDTypes

    moments = local(entry.start, entry.timezone), local(entry.end, entry.timezone)
    if any(map(is_ambiguous, moments)) or entry.timezone == "UTC":
        return _utc(entry.start), _utc(entry.end)
    return vDDDTypes(moments[0]), vDDDTypes(moments[1])


def _utc(instant: int) -> Any:
    from icalendar import vDDDTypes

    return vDDDTypes(datetime.fromtimestamp(instant, UTC))


def _alarm(alarm: Alarm) -> Component:
    from icalendar import Alarm as VAlarm
    from icalendar import vDuration, vText

    component = VAlarm()
    component["UID"], component["ACTION"], component["DESCRIPTION"] = vText(alarm.uid), vText("DISPLAY"), vText(alarm.say)
    component["TRIGGER"] = vDuration(timedelta(seconds=alarm.offset), params={"RELATED": "END"} if alarm.related == "END" else {})
    if alarm.acknowledged is not None:
        component["ACKNOWLEDGED"] = _utc(alarm.acknowledged)
    return component


def _gap(seconds: int) -> str:
    from icalendar import vDuration

    written: bytes = vDuration(timedelta(seconds=seconds)).to_ical()  # type: ignore[no-untyped-call]
    return written.decode()
