"""What a person types for a task or a moment, and what is meant by it."""

from __future__ import annotations

import pytest

from tests.keeper import Keeper


def test_an_ambiguous_name_lists_what_it_could_be(ridge: Keeper) -> None:
    """Each lot has a record to open."""
    text = ridge.types("done", "lot-record", refused=True)
    assert '"lot-record" could be any of 3 tasks' in text
    assert all(f"ridge-2/{lot}/lot-record" in text for lot in "abc")


@pytest.mark.parametrize(("typed", "meant"), [("freez", "ridge-2/a/freeze.1"), ("a/strian", "b/strain"), ("Close Up", "ridge-2/close-up")])
def test_an_unknown_name_lists_the_near_ones(ridge: Keeper, typed: str, meant: str) -> None:
    """Half a name, two letters changed over, a title."""
    text = ridge.types("done", typed, refused=True)
    assert f'no task is named "{typed}"' in text
    assert meant in text


def test_the_end_of_an_id_is_enough_and_the_only_batch_needs_no_number(ridge: Keeper) -> None:
    """a/cut is ridge-2/a/cut.1."""
    ridge.types("done", "a/cut", "--at", "19:30")
    assert ridge.told(ridge.task("a/cut.1")) == "2026-08-11 19:30"


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("19:40", "2026-08-11 19:40"),
        ("yesterday 19:40", "2026-08-11 19:40"),
        ("2026-08-11T19:40", "2026-08-11 19:40"),
        ("2026-08-11T17:40Z", "2026-08-11 19:40"),
        ("Tue 19:40", "2026-08-11 19:40"),
        ("Tue 11 Aug 19:40", "2026-08-11 19:40"),
        ("11 August 19:40", "2026-08-11 19:40"),
        ("Tue 11 Aug 2026 19:40", "2026-08-11 19:40"),
    ],
)
def test_moments_are_typed_as_people_say_them(ridge: Keeper, typed: str, meant: str) -> None:
    """Local time at the yard, unless an offset is given."""
    if typed.startswith("yesterday"):
        ridge.waits_until("2026-08-12T08:00")
    ridge.types("done", "close-up", "--at", typed)
    assert ridge.told(ridge.task("close-up")) == meant


def test_a_clock_time_of_today_that_is_still_to_come_is_not_taken_for_yesterdays(ridge: Keeper) -> None:
    """Told at eight in the morning, half past nine in the evening may be a slip of the finger."""
    text = ridge.waits_until("2026-08-12T08:00").types("done", "close-up", "--at", "21:30", refused=True)
    assert 'Wed 12 Aug 21:30 is still to come; now it is Wed 12 Aug 08:00\n    write "yesterday 21:30", if that is meant' in text
    assert ridge.task("close-up").status == "planned"


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("soon", '"soon" is not a time'),
        ("25:00", '"25:00" is not a time'),
        ("30 Feb 12:00", '"30 Feb 12:00" is not a time'),
        ("Wed 11 Aug 19:40", "11 Aug 2026 is a Tue"),
        ("Mon", '"Mon" is a day, and no time of it'),
        ("Tue 20:01", "Tue 11 Aug 20:01 is still to come"),
        ("2026-08-12T19:40", "is still to come"),
        ("yesterday 19:40", "lies before the supers came off, Tue 11 Aug 10:30"),
    ],
)
def test_what_can_not_be_a_moment_is_refused(ridge: Keeper, typed: str, words: str) -> None:
    """No time at all, one that is still to come, one before the pull."""
    assert words in ridge.types("done", "close-up", "--at", typed, refused=True)


@pytest.mark.parametrize(
    ("typed", "until"),
    [
        ("tomorrow", "Wed 12 Aug 00:00"),
        ("tomorrow 17:30", "Wed 12 Aug 17:30"),
        ("Sun 14:00", "Sun 16 Aug 14:00"),
        ("Tue 19:00", "Tue 18 Aug 19:00"),
        ("Tue 21:00", "Tue 11 Aug 21:00"),
        ("Wed 26 Aug 17:00", "Wed 26 Aug 17:00"),
        ("5 Jan 09:00", "Tue 5 Jan 09:00"),
    ],
)
def test_putting_off_reads_what_the_program_prints(ridge: Keeper, typed: str, until: str) -> None:
    """A weekday is the next one, a date without its year the nearest; told on Tuesday 11 August at eight in the evening."""
    assert f"put off until {until}" in ridge.types("skip", "b/strain", "--until", typed)
