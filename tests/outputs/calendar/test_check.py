"""Our checker names every damage by its place, and has nothing to say of a sound file."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.outputs.calendar.check import check

SOUND = (Path(__file__).parents[1] / "golden" / "ridge.ics").read_bytes()
CUT = b"UID:2026-08-11/1.sitting@kestrel-bank.afterpull\r\n"
START = b"DTSTART;TZID=Europe/Ljubljana:20260811T173000\r\n"
END = b"DTEND;TZID=Europe/Ljubljana:20260811T183000\r\n"
STAMP = b"DTSTAMP:20260811T083000Z\r\n"
ACTION = b"ACTION:DISPLAY\r\n"

DAMAGE = {
    "month 13": (START, START.replace(b"0811", b"1311"), "DTSTART:20261311T173000 is not a date or a time that exists"),
    "30 February": (START, START.replace(b"0811", b"0230"), "DTSTART:20260230T173000 is not a date or a time that exists"),
    "end and duration": (END, END + b"DURATION:PT50M\r\n", "VEVENT has both DTEND and DURATION"),
    "no end": (END, b"", "VEVENT has neither DTEND nor DURATION"),
    "end before the start": (END, END.replace(b"183000", b"172000"), "DTEND does not lie after DTSTART"),
    "end at the start": (END, END.replace(b"183000", b"173000"), "DTEND does not lie after DTSTART"),
    "end a day, start a time": (END, b"DTEND;VALUE=DATE:20260812\r\n", "DTEND is a date and DTSTART a time"),
    "alarm without a trigger": (b"TRIGGER:-PT15M\r\n", b"", "VALARM has no TRIGGER"),
    "alarm with half a trigger": (b"TRIGGER:-PT15M\r\n", b"TRIGGER:-PT\r\n", "TRIGGER:-PT is not a duration"),
    "alarm in local time": (b"TRIGGER:-PT15M\r\n", b"TRIGGER;VALUE=DATE-TIME:20260811T173000\r\n", "TRIGGER:20260811T173000 is not a time in UTC"),
    "alarm that says nothing": (b"DESCRIPTION:Make room in the freezer\r\n", b"", "a display alarm has no DESCRIPTION"),
    "no producer": (b"PRODID:-//afterpull//EN\r\n", b"", "VCALENDAR has no PRODID"),
    "no version": (b"VERSION:2.0\r\n", b"", "VCALENDAR has no VERSION"),
    "no stamp": (END + STAMP, END, "VEVENT has no DTSTAMP"),
    "stamp in local time": (END + STAMP, END + STAMP.replace(b"Z", b""), "DTSTAMP:20260811T083000 is not in UTC"),
    "no UID": (CUT, b"", "VEVENT has no UID"),
    "UID twice": (CUT, CUT + CUT, "UID is given 2 times in one VEVENT"),
    "two entries under one UID": (b"UID:2026-08-12/1.sitting", b"UID:2026-08-11/1.sitting", "shares its UID 2026-08-11/1.sitting@kestrel-bank.afterpull"),
    "two alarms under one UID": (b"2026-08-16/1.alarm-0", b"2026-08-13/1.alarm-0", "VALARM shares its UID"),
    "never closed": (b"END:VCALENDAR\r\n", b"", "BEGIN:VCALENDAR is never closed"),
    "closed by another": (b"END:VTIMEZONE", b"END:VEVENT", "END:VEVENT closes nothing that is open here"),
    "zone not defined": (b"TZID:Europe/Ljubljana", b"TZID:Europe/Zagreb", "is in zone Europe/Ljubljana, which has no VTIMEZONE here"),
    "zone and UTC at once": (START, START.replace(b"3000\r", b"3000Z\r"), "DTSTART:20260811T173000Z is in UTC and in a zone at once"),
    "zone without an offset": (b"TZOFFSETTO:+0200\r\n", b"", "DAYLIGHT has no TZOFFSETTO"),
    "offset of no clock": (b"TZOFFSETTO:+0200", b"TZOFFSETTO:+2700", "TZOFFSETTO:+2700 is not an offset from UTC"),
    "bare line feed": (STAMP, STAMP.replace(b"\r", b""), "the line ends in a line feed alone"),
    "no last line end": (b"END:VCALENDAR\r\n", b"END:VCALENDAR", "the last line has no end"),
    "long line": (b"SUMMARY:ridge-2: cut a", b"SUMMARY:" + b"c" * 68, "octets, 75 are allowed"),
    "not UTF-8": (b"SUMMARY:ridge-2: cut a", b"SUMMARY:\xff", "not UTF-8"),
    "character split by folding": (b"SUMMARY:ridge-2: cut a", b"SUMMARY:\xc4\r\n \x8d", "not UTF-8 (or a character split by folding)"),
    "control character": (b"SUMMARY:ridge-2: cut a", b"SUMMARY:\x07", "control character U+0007"),
    "comma not escaped": (b"SUMMARY:ridge-2: cut a", b"SUMMARY:Cut, drain", "SUMMARY holds ',' that is not escaped"),
    "backslash before nothing": (b"SUMMARY:ridge-2: cut a", b"SUMMARY:C\\ut", "SUMMARY holds '\\\\' that is not escaped"),
    "not a line": (STAMP, STAMP + b"drain well\r\n", "not a content line: 'drain well'"),
    "a to-do's status on an event": (b"STATUS:TENTATIVE", b"STATUS:COMPLETED", "STATUS:COMPLETED is not a status of a VEVENT"),
    "negative revision": (b"SEQUENCE:0", b"SEQUENCE:-1", "SEQUENCE:-1 is not a whole number"),
    "priority of 12": (b"PRIORITY:1\r", b"PRIORITY:12\r", "PRIORITY:12 is not a whole number from 0 to 9"),
    "relation to nobody": (b"FINISHTOSTART:2026-08-11/1.sitting", b"FINISHTOSTART:2026-08-11/9.sitting", "which this file does not hold"),
}


@pytest.mark.parametrize("name", DAMAGE)
def test_each_damage_is_told_with_its_place(name: str) -> None:
    """One fault of the file, one line of the report that names it, and what to write."""
    old, new, message = DAMAGE[name]
    assert old in SOUND
    faults = check(SOUND.replace(old, new, 1), "feed.ics")
    told = [fault for fault in faults if message in fault.message]
    assert told
    assert all(fault.path == "feed.ics" and fault.line > 0 and fault.write for fault in told)


def test_a_sound_file_has_no_fault() -> None:
    """Nor has one with an escaped backslash before an ordinary letter, or an event without a time of day."""
    assert check(SOUND, "feed.ics") == []
    assert check(SOUND.replace(b"SUMMARY:ridge-2: cut a", rb"SUMMARY:C\\ut\, drain\; pack\n"), "feed.ics") == []
    whole_day = SOUND.replace(START, b"DTSTART;VALUE=DATE:20260811\r\n").replace(END, b"DTEND;VALUE=DATE:20260812\r\n")
    assert check(whole_day, "feed.ics") == []


def test_the_place_is_the_line_of_the_fault() -> None:
    """The reader opens the file at that line."""
    damaged = SOUND.replace(START, START.replace(b"0811", b"1311"), 1)
    (fault,) = check(damaged, "feed.ics")
    assert damaged.split(b"\r\n")[fault.line - 1].startswith(b"DTSTART;TZID=Europe/Ljubljana:20261311")


@pytest.mark.parametrize("content", [b"", b"\r\n", b"yard: Kestrel Bank\n", b"BEGIN:VEVENT\r\nEND:VEVENT\r\n"])
def test_what_is_no_calendar_is_told_so(content: bytes) -> None:
    """An empty file, a yard file, a lone event."""
    assert any("there is no calendar in this file" in fault.message for fault in check(content, "feed.ics"))


@given(st.binary(max_size=400), st.integers(0, len(SOUND)))
def test_no_bytes_make_the_checker_fail(noise: bytes, place: int) -> None:
    """Whatever stands in the file, the answer is a list of faults."""
    for content in (noise, SOUND[:place] + noise + SOUND[place:]):
        assert all(fault.message for fault in check(content, "feed.ics"))
