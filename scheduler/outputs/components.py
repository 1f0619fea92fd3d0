"""The bytes of one entry (RFC 5545, 9074, 9253). The icalendar library decides how a property is written and escaped; lines fold where it folds them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from scheduler.local_time import is_ambiguous, local
from scheduler.outputs.content_lines import folded
from scheduler.outputs.entries import Alarm, Entry

if TYPE_CHECKING:
    from icalendar import Component


def component_bytes(entry: Entry, *, sequence: int = 0, modified: int) -> bytes:
    """The VEVENT or VTODO of an entry, revision `sequence`, last changed at `modified` [epoch s]."""
    from icalendar import Event, Todo, vCategory, vInt, vText

    component: Component = Event() if entry.kind == "event" else Todo()
    component["UID"] = vText(entry.uid)
    _revise(component, sequence, modified)
    component["DTSTART"], component["DTEND" if entry.kind == "event" else "DUE"] = _moments(entry)
    component["SUMMARY"] = vText(entry.summary)
    for name, text in (("DESCRIPTION", entry.description), ("LOCATION", entry.location)):
        if text:  # libical counts a property without a value as an error
            component[name] = vText(text)
    component["CATEGORIES"] = vCategory([entry.category])
    component["STATUS"] = vText(entry.status)
    component["PRIORITY"] = vInt(entry.priority)
    if entry.kind == "event":
        component["TRANSP"] = vText("TRANSPARENT" if entry.transparent else "OPAQUE")
    else:
        component["PERCENT-COMPLETE"] = vInt(100 if entry.completed is not None else entry.percent)
        if entry.percent:
            component["STATUS"] = vText("IN-PROCESS")
    if entry.completed is not None:
        component["COMPLETED"] = _utc(entry.completed)
    for relation in entry.relations:
        gap = {"GAP": _gap(relation.gap)} if relation.gap else {}
        component.add("related-to", vText(relation.uid), parameters={"RELTYPE": relation.kind, **gap})
    for alarm in entry.alarms:
        component.add_component(_alarm(alarm))
    return b"".join(folded(line) + b"\r\n" for line in component.content_lines() if line)


def cancelled(content: bytes, *, sequence: int, modified: int) -> bytes:
    """The same component with STATUS:CANCELLED, its alarms silenced."""
    from icalendar import Component, vText

    component = Component.from_ical(content)
    component["STATUS"] = vText("CANCELLED")
    component.subcomponents.clear()
    _revise(component, sequence, modified)
    silenced: bytes = component.to_ical()
    return silenced


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
