"""The octet rules of iCalendar: where lines fold, and what is read of them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar.parser import Contentline

from scheduler.diagnostics import Diagnostic
from scheduler.outputs.calendar.content_lines import LIMIT, components, content_line, folded, unfolded


@given(st.text(st.sampled_from("ab,;n °€🐝\\^"), min_size=LIMIT - 9, max_size=4 * LIMIT))
def test_a_line_folds_where_the_library_folds_it(line: str) -> None:
    """No character and no escape is cut in two, whatever stands at the 75th octet (RFC 5545 section 3.1)."""
    assert folded(line) == Contentline(line).to_ical()


@given(st.lists(st.text(st.characters(exclude_characters="\r\n", exclude_categories=["Cs", "Cc"]), max_size=200), max_size=6))
def test_what_is_folded_is_unfolded_again(texts: list[str]) -> None:
    """Line for line, with the number of the physical line on which each begins, and no fault."""
    content = b"".join(folded(f"NOTE:{text}") + b"\r\n" for text in texts)
    faults: list[Diagnostic] = []
    found = list(unfolded(content, "x.ics", faults))
    assert ([text for _, text in found], faults) == ([f"NOTE:{text}" for text in texts], [])
    lines = content.split(b"\r\n")
    assert all(lines[number - 1].startswith(b"NOTE:") for number, _ in found)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"NOTE:x", "1:1: the last line has no end"),
        (b"NOTE:x\n", "1:7: the line ends in a line feed alone"),
        (b"NOTE:" + b"x" * 71 + b"\r\n", "1:76: the line has 76 octets, 75 are allowed"),
        (b"NOTE:\xff\r\n", "1:6: not UTF-8"),
        (b"NOTE:\x07\r\n", "1:6: control character U+0007"),
    ],
)
def test_what_breaks_the_octet_rules_is_told_at_its_octet(content: bytes, said: str) -> None:
    """RFC 5545 section 3.1; a line of 75 octets is sound."""
    faults: list[Diagnostic] = []
    assert list(unfolded(content, "x.ics", faults))
    assert any(str(one).startswith(f"x.ics:{said}") for one in faults)
    assert list(unfolded(b"NOTE:" + b"x" * 70 + b"\r\n", "x.ics", fine := [])) == [(1, "NOTE:" + "x" * 70)]
    assert fine == []


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("summary:a:b;c", ("SUMMARY", {}, "a:b;c")),
        ("DTSTART;TZID=Europe/Ljubljana:20260811T103000", ("DTSTART", {"TZID": "Europe/Ljubljana"}, "20260811T103000")),
        ('ATTENDEE;CN="Kim; of: the hill";ROLE=X:mailto:k', ("ATTENDEE", {"CN": "Kim; of: the hill", "ROLE": "X"}, "mailto:k")),
    ],
)
def test_a_line_is_a_name_parameters_and_a_value(text: str, parts: tuple[str, dict[str, str], str]) -> None:
    """Colons and semicolons in quotes are part of a parameter."""
    assert content_line(3, text) == (3, *parts)


@pytest.mark.parametrize("text", ["", ":x", "NO VALUE", 'A;B="x:y', "A;=x:y"])
def test_what_has_no_such_shape_is_no_content_line(text: str) -> None:
    """Nothing is made of it."""
    assert content_line(1, text) is None


def test_every_begin_has_its_end() -> None:
    """What is closed twice, never, or stands outside is told; the rest is read."""
    text = "BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nSUMMARY:x\r\nEND:VEVENT\r\nEND:VEVENT\r\nBEGIN:VTODO\r\n"
    faults: list[Diagnostic] = []
    [calendar] = components(b"UID:y\r\n" + text.encode(), "x.ics", faults)
    assert [(part.name, [line.value for line in part.all("SUMMARY")]) for part in calendar.parts] == [("VEVENT", ["x"]), ("VTODO", [])]
    assert [(one.line, one.message) for one in sorted(faults)] == [
        (1, "UID stands outside a calendar"),
        (2, "BEGIN:VCALENDAR is never closed"),
        (6, "END:VEVENT closes nothing that is open here"),
        (7, "BEGIN:VTODO is never closed"),
    ]
