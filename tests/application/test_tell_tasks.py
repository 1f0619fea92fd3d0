"""What a keeper reports of tasks is checked against the plan and against what was reported before."""

from __future__ import annotations

from tests.keeper import Keeper


def test_a_hold_can_not_end_before_it_began(ridge: Keeper) -> None:
    """The drain was begun at six."""
    ridge.types("done", "a/drain.1", "--at", "18:00")
    assert "lies before it was begun, Tue 11 Aug 18:00" in ridge.types("done", "a/drain.1", "--at", "17:00", refused=True)


def test_what_is_done_is_done_once(ridge: Keeper) -> None:
    """A second word is refused, with the way to take the first back."""
    ridge.types("done", "close-up")
    assert "afterpull undo" in ridge.types("done", "close-up", refused=True)


def test_putting_off_takes_a_time_to_come(ridge: Keeper) -> None:
    """A clock time means the next one; a day that is over is refused."""
    assert "put off until Wed 12 Aug 18:00" in ridge.types("skip", "b/strain", "--until", "18:00")
    assert "is over" in ridge.types("skip", "b/strain", "--until", "2026-08-10T18:00", refused=True)


def test_what_is_done_begun_or_skipped_is_not_put_off(ridge: Keeper) -> None:
    """Nothing would move, so nothing is said to."""
    ridge.types("done", "close-up", "a/drain.1")
    ridge.types("skip", "b/cappings", "--because", "no wax this year")
    assert "close-up is done already" in ridge.types("skip", "close-up", "--until", "18:00", refused=True)
    assert "a/drain.1 is begun already" in ridge.types("skip", "a/drain.1", "--until", "18:00", refused=True)
    assert "b/cappings is skipped already" in ridge.types("skip", "b/cappings", "--until", "18:00", refused=True)
    ridge.types("undo")
    assert "put off until" in ridge.types("skip", "b/cappings", "--until", "18:00")
