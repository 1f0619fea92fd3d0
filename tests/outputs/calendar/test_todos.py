"""The to-dos of a plan, one a task."""

from __future__ import annotations

from tests.outputs.calendar.written import only
from tests.outputs.plans import at, plan, task


def test_a_to_do_that_is_done_says_when() -> None:
    """PERCENT-COMPLETE and COMPLETED, so that a task list ticks it."""
    entry = only(plan(task("drain", at("2026-08-11 18:20"), minutes=10, status="done")), todos=True)
    assert entry["PERCENT-COMPLETE"] == 100
    assert entry["COMPLETED"].dt.timestamp() == at("2026-08-11 18:30")


def test_a_to_do_is_due_at_its_due_date() -> None:
    """DUE is the task's due date, not the end of the half hour it takes."""
    entry = only(plan(task("drain", at("2026-08-11 18:20"), due=at("2026-08-14 12:00"))), todos=True)
    assert entry["DUE"].dt.timestamp() == at("2026-08-14 12:00")
