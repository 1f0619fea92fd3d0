"""The bytes of one entry are those that the icalendar library writes; a cancelled entry is the same one, silenced."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from icalendar import Component

from scheduler.outputs.calendar.entry import Alarm, Entry, Relation
from scheduler.outputs.calendar.ical import cancelled, component_bytes
from scheduler.outputs.wording.sitting_words import cut
from scheduler.rules.schema import TITLE
from tests.outputs.plans import HOUR, at

BEGIN = at("2026-08-11 10:30")
TEXT = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=120)
MOMENTS = st.integers(at("1971-01-01 00:00"), at("2149-12-31 00:00"))


@st.composite
def any_entry(draw: st.DrawFn) -> Entry:
    """An entry of any kind, with or without relations, alarms and a completion."""
    start = draw(MOMENTS)
    kind: Any = draw(st.sampled_from(["event", "todo"]))
    relations = draw(st.lists(st.builds(Relation, TEXT, st.sampled_from(["FINISHTOSTART", "STARTTOSTART"]), st.integers(0, 10**7)), max_size=2))
    alarms = draw(
        st.lists(
            st.builds(Alarm, TEXT, st.integers(-(10**6), 10**6), st.sampled_from(["START", "END"]), TEXT, st.none() | MOMENTS, st.none() | MOMENTS), max_size=2
        )
    )
    return Entry(
        uid=draw(TEXT),
        kind=kind,
        start=start,
        end=start + draw(st.integers(60, 10**6)),
        timezone=draw(st.sampled_from(["Europe/Ljubljana", "America/St_Johns", "Australia/Lord_Howe"])),
        summary=draw(TEXT),
        description=draw(TEXT),
        location=draw(TEXT),
        categories=tuple(draw(st.lists(TEXT.filter(bool), min_size=1, max_size=3))),
        status="CONFIRMED" if kind == "event" else "NEEDS-ACTION",
        priority=draw(st.integers(0, 9)),
        transparent=draw(st.booleans()),
        relations=tuple(relations),
        alarms=tuple(alarms),
        completed=draw(st.none() | MOMENTS) if kind == "todo" else None,
        percent=draw(st.integers(0, 99)) if kind == "todo" else 0,
    )


@given(any_entry(), st.integers(0, 10**6), MOMENTS)
def test_an_entry_is_written_as_the_library_writes_it(entry: Entry, sequence: int, modified: int) -> None:
    """Read by the icalendar library and written by it again, line for line: names, escapes, zones and folds; of an event in the same order.

    A trigger may be written another way, and is the same.
    """
    content = component_bytes(entry, sequence=sequence, modified=modified)
    found = Component.from_ical(content)
    ours, theirs = ([line for line in re.split(rb"\r\n(?! )", text) if not line.startswith(b"TRIGGER")] for text in (content, found.to_ical()))
    assert sorted(ours) == sorted(theirs)
    assert entry.kind == "todo" or ours == theirs
    assert [alarm.TRIGGER for alarm in found.walk("VALARM")] == [
        timedelta(seconds=alarm.offset) if alarm.at is None else datetime.fromtimestamp(alarm.at, UTC) for alarm in entry.alarms
    ]
    assert (str(found["UID"]), found["SEQUENCE"]) == (entry.uid, sequence)
    assert int(found["DTSTART"].dt.timestamp()) == entry.start


@given(any_entry(), MOMENTS)
def test_what_is_cancelled_rings_no_more_and_is_the_same_entry(entry: Entry, modified: int) -> None:
    """RFC 5545 section 3.8.1.11; its revision and its date are new."""
    before = component_bytes(entry, modified=BEGIN)
    found = Component.from_ical(cancelled(before, sequence=4, modified=modified))
    assert (str(found["STATUS"]), found["SEQUENCE"], found.walk("VALARM")) == ("CANCELLED", 4, [])
    assert int(found["DTSTAMP"].dt.timestamp()) == int(found["LAST-MODIFIED"].dt.timestamp()) == modified
    assert str(found["SUMMARY"]) == cut(f"Cancelled: {Component.from_ical(before)['SUMMARY']}", TITLE)


def test_an_hour_that_comes_twice_is_written_in_utc() -> None:
    """Clocks go back in Ljubljana on 25 October 2026 at 03:00 (IANA time zone database)."""
    text = component_bytes(_entry(at("2026-10-25 02:30") + HOUR), modified=BEGIN)
    assert b"DTSTART:20261025T013000Z" in text
    assert b"DTSTART;TZID=Europe/Ljubljana:20261025T043000" in component_bytes(_entry(at("2026-10-25 04:30")), modified=BEGIN)


def _entry(start: int) -> Entry:
    return Entry("u", "event", start, start + 600, "Europe/Ljubljana", "s", "d", "", ("x",), "CONFIRMED", 5)
