"""What a keeper types at the bench: names of tasks, moments, readings, harvests in words; and the words that come back."""

from __future__ import annotations

from tests.keeper import Keeper


def test_several_tasks_are_told_at_once(ridge: Keeper) -> None:
    """A line for each."""
    assert ridge.types("done", "close-up", "reduce-entrances").count("done Tue 11 Aug 20:00") == 2
    assert {ridge.task(name).status for name in ("close-up", "reduce-entrances")} == {"done"}


def test_of_several_tasks_what_can_be_is_recorded_and_of_the_rest_it_is_said_why_not(ridge: Keeper) -> None:
    """One is done, one has no such name, one was done before."""
    ridge.types("done", "b/spin", "--at", "19:00")
    text = ridge.types("done", "close-up", "wobble", "b/spin", refused=True)
    assert "done Tue 11 Aug 20:00" in text
    assert 'no task is named "wobble"' in text
    assert "ridge-2/b/spin is done already, Tue 11 Aug 19:00" in text
    assert ridge.task("close-up").status == "done"


def test_several_are_skipped_at_once(ridge: Keeper) -> None:
    """For one reason; one that was done is not."""
    ridge.types("done", "close-up")
    text = ridge.types("skip", "b/cappings", "b/render-wax", "close-up", "--because", "no wax this year", refused=True)
    assert text.count("skipped, no wax this year") == 2
    assert "ridge-2/close-up is done already, so it is not skipped" in text
    assert {ridge.task(name).status for name in ("b/cappings", "b/render-wax")} == {"skipped"}


def test_skipping_needs_a_reason_or_a_time(ridge: Keeper) -> None:
    """One of the two."""
    assert "--because" in ridge.types("skip", "b/strain", refused=True)
