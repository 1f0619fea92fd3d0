"""What was published and seen last; the functions that decide are the outputs' own."""

from __future__ import annotations

import threading

import pytest

from scheduler.ledger.store import Ledger
from scheduler.outputs.calendar.publication import Published

FIRST = Published(0, "d1", 1000, b"BEGIN:VEVENT\r\nSUMMARY:Cut\r\nEND:VEVENT\r\n")
SECOND = Published(1, "d2", 2000, b"BEGIN:VEVENT\r\nSUMMARY:Cut 5 frames\r\nEND:VEVENT\r\n")
GONE = Published(2, "", 3000, b"BEGIN:VEVENT\r\nSTATUS:CANCELLED\r\nEND:VEVENT\r\n", gone_since=3000)


def test_what_was_sent_is_known_at_the_next_sending(ledger: Ledger) -> None:
    """New, changed, cancelled and dropped entries are all kept as they were sent, to the byte."""
    for state in ({"b": FIRST, "a": FIRST}, {"a": SECOND, "b": FIRST}, {"a": GONE}, {}):
        assert ledger.outgoing.publish(Published, lambda before, first, state=state: state) == state  # type: ignore[misc]
        assert ledger.outgoing.published(Published) == state
    assert list(ledger.outgoing.publish(Published, lambda before, first: {"b": FIRST, "a": FIRST})) == ["b", "a"]
    assert list(ledger.outgoing.published(Published)) == ["a", "b"]


def test_a_revision_is_made_from_what_was_really_sent_last(ledger: Ledger) -> None:
    """Ten publishers at once raise the SEQUENCE ten times: none is lost, none is given twice."""

    def revise(before: dict[str, Published], first: int) -> dict[str, Published]:
        sequence = before["a"].sequence + 1 if before else 0
        return {"a": Published(sequence, f"d{sequence}", 1000 + sequence, b"")}

    publishers = [threading.Thread(target=lambda: ledger.outgoing.publish(Published, revise)) for _ in range(10)]
    for one in publishers:
        one.start()
    for one in publishers:
        one.join()
    assert ledger.outgoing.published(Published)["a"].sequence == 9


def test_a_revision_that_fails_leaves_what_was_sent(ledger: Ledger) -> None:
    """A fault in the making of entries is not half a publication."""
    ledger.outgoing.publish(Published, lambda before, first: {"a": FIRST})
    with pytest.raises(ZeroDivisionError, match="by zero"):
        ledger.outgoing.publish(Published, lambda before, first: {"a": SECOND, "b": Published(1 // 0, "", 0, b"")})
    assert ledger.outgoing.published(Published) == {"a": FIRST}


def test_each_reader_has_a_plan_that_was_seen_last(ledger: Ledger) -> None:
    """What moved is told against what this person saw, not what somebody else saw."""
    assert ledger.outgoing.last_seen("ana") is None
    ledger.outgoing.see("ana", 1000, '{"tasks":[]}')
    ledger.outgoing.see("bo", 1500, "{}")
    ledger.outgoing.see("ana", 2000, '{"tasks":["cut"]}')
    assert ledger.outgoing.last_seen("ana") == (2000, '{"tasks":["cut"]}')
    assert ledger.outgoing.last_seen("bo") == (1500, "{}")
