"""What was done stays in the calendar as it was last sent: a to-do as completed, an event as it stood, both without alarms."""

from __future__ import annotations

from datetime import UTC, datetime

from scheduler.outputs.publication import Published


def settled(before: Published, done_at: int, as_of: int) -> Published:
    """The entry `before` once its work was done at `done_at` [epoch s]; the same object where that was published already."""
    digest = f"done {done_at}"
    if before.digest == digest:
        return before
    from icalendar import Component, vDDDTypes, vInt, vText

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
