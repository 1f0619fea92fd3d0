"""One entry on both sides: what a person did to it is read, and what others added is not lost. All invented."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from scheduler.outputs.caldav.merge import entry_of, merge, read_entry, same_content, uid_of

ZONE = "Europe/Ljubljana"
UID = "ridge-2/a/drain.begin.todo@kestrel-bank.afterpull"
ALARM = f"BEGIN:VALARM\r\nACTION:DISPLAY\r\nDESCRIPTION:Rack\r\nTRIGGER:PT0S\r\nUID:{UID.replace('.begin', '.alarm-0')}\r\nEND:VALARM\r\n"


def todo(*more: str, status: str = "NEEDS-ACTION", start: str = "DTSTART;TZID=Europe/Ljubljana:20260811T173000", alarm: str = ALARM) -> bytes:
    """A to-do of ours, with more lines."""
    lines = [f"UID:{UID}", "DTSTAMP:20260811T080000Z", "SEQUENCE:2", "SUMMARY:Rack to drain", start, f"STATUS:{status}", *more]
    return ("BEGIN:VTODO\r\n" + "".join(f"{line}\r\n" for line in lines) + alarm + "END:VTODO\r\n").encode()


def on_server(content: bytes) -> bytes:
    """As a calendar object."""
    return b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//x//EN\r\n" + content + b"END:VCALENDAR\r\n"


@pytest.mark.parametrize(
    ("line", "status", "ticked"),
    [
        ("", "COMPLETED", True),
        ("COMPLETED:20260812T180000Z", "NEEDS-ACTION", True),
        ("PERCENT-COMPLETE:100", "IN-PROCESS", True),
        ("PERCENT-COMPLETE:99", "IN-PROCESS", False),
    ],
)
def test_each_way_of_ticking_is_one(line: str, status: str, ticked: bool) -> None:
    """Task apps differ in which of the three they write (RFC 5545 sections 3.8.1.8, 3.8.1.11, 3.8.2.1)."""
    found = read_entry(on_server(todo(*filter(None, [line]), status=status)), ZONE)
    assert found is not None
    assert found.ticked is ticked


@pytest.mark.parametrize(
    ("start", "meant"),
    [
        ("DTSTART;TZID=Europe/Ljubljana:20260811T173000", "2026-08-11T15:30"),
        ("DTSTART:20260811T173000", "2026-08-11T15:30"),  # a clock on the wall: the yard's
        ("DTSTART:20260811T173000Z", "2026-08-11T17:30"),
        ("DTSTART;VALUE=DATE:20260812", "2026-08-11T22:00"),  # midnight at the yard
    ],
)
def test_a_moment_is_read_however_it_was_written(start: str, meant: str) -> None:
    """RFC 5545 section 3.3.5: with a zone, of no zone, in UTC; and a day alone."""
    found = read_entry(on_server(todo(start=start)), ZONE)
    assert found is not None
    assert found.start == int(datetime.fromisoformat(meant).replace(tzinfo=UTC).timestamp())


def test_an_alarm_that_was_dismissed_is_heard_and_another_persons_is_not() -> None:
    """RFC 9074: ACKNOWLEDGED in our own alarm."""
    ours = ALARM.replace("TRIGGER", "ACKNOWLEDGED:20260811T153100Z\r\nTRIGGER")
    others = ours.replace(UID.replace(".begin", ".alarm-0"), "x@example.org")
    found = read_entry(on_server(todo(alarm=ours + others)), ZONE)
    assert found is not None
    assert [(one.task, one.number) for one in found.dismissed] == [("ridge-2/a/drain", 0)]


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"BEGIN:VCALENDAR\r\n",
        b"<html>",
        on_server(b""),
        on_server(b"BEGIN:VJOURNAL\r\nUID:x\r\nEND:VJOURNAL\r\n"),
        b"BEGIN:VTODO\r\nSUMMARY:x\r\nEND:VTODO\r\n",
    ],
)
def test_what_is_no_entry_is_none(content: bytes) -> None:
    """Nothing, a half, a page, a calendar of nothing, a diary, one without a name."""
    assert read_entry(content, ZONE) is None
    assert uid_of(content) is None


def test_what_others_added_counts_for_nothing_and_what_they_changed_does() -> None:
    """Their own properties and the revision may differ; a summary, a start or a missing alarm may not; how far somebody is does not contradict us."""
    ours = todo()
    assert same_content(ours, on_server(todo("X-COLOR:red").replace(b"SEQUENCE:2", b"SEQUENCE:9")), ZONE)
    assert same_content(ours, on_server(todo(status="IN-PROCESS")), ZONE)
    assert same_content(ours, on_server(todo(start="DTSTART:20260811T153000Z")), ZONE)
    assert not same_content(ours, on_server(todo().replace(b"Rack to drain", b"Rack it")), ZONE)
    assert not same_content(ours, on_server(todo(start="DTSTART:20260811T163000Z")), ZONE)
    assert not same_content(ours, on_server(todo(alarm="")), ZONE)
    assert not same_content(ours, on_server(todo(status="COMPLETED")), ZONE)
    assert not same_content(ours, b"<html>", ZONE)


def test_ours_goes_out_with_what_others_added() -> None:
    """Their alarm and their colour stay, our words win, and a client's repetition of the work is dropped; the revision is the higher one."""
    own = ALARM.replace(UID.replace(".begin", ".alarm-0"), "mine@phone").replace("Rack", "Mine")
    theirs = todo("X-COLOR:red", "RRULE:FREQ=DAILY", alarm=ALARM + own).replace(b"SEQUENCE:2", b"SEQUENCE:9").replace(b"Rack to drain", b"Renamed")
    found = entry_of(merge(todo(), on_server(theirs)))
    assert (str(found["SUMMARY"]), str(found["X-COLOR"]), found["SEQUENCE"], "RRULE" in found) == ("Rack to drain", "red", 9, False)
    assert sorted(str(alarm["UID"]) for alarm in found.walk("VALARM")) == sorted([UID.replace(".begin", ".alarm-0"), "mine@phone"])
    assert uid_of(merge(todo(), None)) == UID


@pytest.mark.parametrize(("theirs", "kept"), [(40, 40), (10, 25), (100, 25)])
def test_how_far_somebody_is_is_kept_where_it_is_further(theirs: int, kept: int) -> None:
    """All of it is a tick, which is heard and not copied."""
    ours = todo("PERCENT-COMPLETE:25", status="IN-PROCESS")
    found = entry_of(merge(ours, on_server(todo(f"PERCENT-COMPLETE:{theirs}", status="IN-PROCESS"))))
    assert (found["PERCENT-COMPLETE"], str(found["STATUS"])) == (kept, "IN-PROCESS")
