"""Rows of what was published: which of them a calendar can show, and which stand once two ledgers have met."""

from __future__ import annotations

import pytest
from sqlalchemy import update

from scheduler.ledger.published_rows import MOST, PublishedRow, add_newer, put_all, readable, rows
from scheduler.ledger.store import Ledger
from scheduler.ledger.tables import published
from scheduler.local_time import AFTER_LATEST, EARLIEST

EVENT = "BEGIN:VEVENT\r\nUID:{uid}\r\nSEQUENCE:{sequence}\r\nDTSTAMP:20260811T083000Z\r\n{start}\r\nSUMMARY:Cut\r\nEND:VEVENT\r\n"
IN_UTC = "DTSTART:20260811T160000Z"


def entry(uid: str = "cut@x", sequence: int = 2, start: str = IN_UTC, **otherwise: object) -> PublishedRow:
    """A published event."""
    content = EVENT.format(uid=uid, sequence=sequence, start=start).encode()
    return PublishedRow(uid, sequence, "d", 1_786_437_000, content, None)._replace(**otherwise)


@pytest.mark.parametrize("start", [IN_UTC, "DTSTART;VALUE=DATE:20260811"])
def test_an_event_under_its_own_uid_and_sequence_can_be_shown(start: str) -> None:
    """At an hour in a zone, or of a day."""
    assert readable(entry(start=start))
    assert readable(entry(start=start, gone_since=1_786_437_000))


@pytest.mark.parametrize(
    "row",
    [
        entry(content=b""),
        entry(content=b"\xff\xfe"),
        entry(content=b"BEGIN:VJOURNAL\r\nUID:cut@x\r\nSEQUENCE:2\r\nEND:VJOURNAL\r\n"),
        entry(uid="cut@x")._replace(uid="pack@x"),
        entry(sequence=2)._replace(sequence=3),
        entry(sequence=-1),
        entry(sequence=MOST + 1),
        entry(start="DTSTART:20260811T160000"),
        entry(start="DTSTART:99990811T160000Z"),
        entry(start="DTSTART:half past five"),
        entry(last_modified=EARLIEST - 1),
        entry(gone_since=AFTER_LATEST),
    ],
)
def test_what_no_calendar_can_show_is_not_taken_over(row: PublishedRow) -> None:
    """No text, another component, another UID or SEQUENCE, a time without a zone or in no year of ours."""
    assert not readable(row)


def test_of_two_publications_of_an_entry_the_later_stands(ledger: Ledger) -> None:
    """A subscriber believes the higher SEQUENCE; what only one ledger published stays."""
    with ledger._connections.writing() as connection:
        put_all(connection, [entry("cut@x", 2), entry("pack@x", 5)])
        add_newer(connection, [entry("cut@x", 3), entry("pack@x", 4), entry("freeze@x", 0)])
        assert {one.uid: one.sequence for one in rows(connection)[0]} == {"cut@x": 3, "pack@x": 5, "freeze@x": 0}


def test_a_row_that_was_changed_by_a_failing_disk_is_left_out(ledger: Ledger) -> None:
    """The others are read."""
    with ledger._connections.writing() as connection:
        put_all(connection, [entry("cut@x"), entry("pack@x")])
        connection.execute(update(published).where(published.c.uid == "cut@x").values(sequence=7))
        assert [one.uid for one in rows(connection)[0]] == ["pack@x"]
