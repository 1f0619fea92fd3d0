"""What a person types for a task or a moment, and what is meant by it."""

from __future__ import annotations

from datetime import datetime, time
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.application.lookup import moment_of
from scheduler.diagnostics import Fault
from scheduler.local_time import spoken
from scheduler.planning.task_ids import codes
from tests.keeper import Keeper

ZONE = ZoneInfo("Europe/Ljubljana")


def at(local: str) -> int:
    """A moment at the yard."""
    return int(datetime.fromisoformat(local).replace(tzinfo=ZONE).timestamp())


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


def test_a_code_from_a_label_names_its_task_in_either_case(ridge: Keeper) -> None:
    """As `plan --json` gives it; a code of nothing is no task."""
    code = codes([ridge.task("a/cut.1").id])[ridge.task("a/cut.1").id]
    ridge.types("done", code.lower(), "--at", "19:30")
    assert ridge.told(ridge.task("a/cut.1")) == "2026-08-11 19:30"
    assert 'no task is named "ZZZZZZ"' in ridge.types("done", "ZZZZZZ", refused=True)


def test_a_code_is_good_for_all_that_a_name_is_good_for(ridge: Keeper) -> None:
    """One hive of several, asked why, dropped, taken back."""
    count, cut = next(task.id for task in ridge.plan.tasks if task.id.endswith("/mite-count")), ridge.task("a/cut.1").id
    code = codes([count, cut])
    assert f"[{cut}]" in ridge.types("why", code[cut])
    assert "north" in ridge.types("done", code[count].lower(), "--hive", "north", "--at", "12:00")
    assert ridge.task("mite-count").is_open
    ridge.types("skip", code[cut], "--because", "no wax")
    assert ridge.task("a/cut.1").status == "skipped"
    assert f"Taken back: task skipped {cut}" in ridge.types("undo", code[cut].lower())
    assert ridge.task("a/cut.1").is_open


def test_a_code_leads_to_a_task_that_the_plan_does_not_hold_just_now(ridge: Keeper) -> None:
    """A label that was printed before another way was chosen: that work may have been done all the same."""
    warm = "ridge-2/b/warm-supers"
    assert not ridge.has("b/warm-supers")
    assert "Warm supers of lot b" in ridge.types("done", codes([warm])[warm], "--at", "12:10")
    assert warm in ridge.view.happened.done


def test_a_label_keeps_its_code_where_its_card_was_renamed(ridge: Keeper) -> None:
    """Freezing a lot that would ferment was called "keep cold" once."""
    before = "ridge-2/b/keep-cold"
    ridge.types("done", codes([before])[before].lower(), "--at", "12:10")
    assert "ridge-2/b/keep-from-fermenting" in ridge.view.happened.done
    ridge.types("undo", codes([before])[before])
    assert "ridge-2/b/keep-from-fermenting" not in ridge.view.happened.done


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("19:40", "2026-08-11 19:40"),
        ("yesterday 19:40", "2026-08-11 19:40"),
        ("yesterday 7:40 pm", "2026-08-11 19:40"),
        ("Tue 7pm", "2026-08-11 19:00"),
        ("yesterday 12 p.m.", "2026-08-11 12:00"),
        ("Tue 11 Aug 11.05 A.M.", "2026-08-11 11:05"),
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
        ("Tue 13 pm", "is not a time"),
        ("Tue 7:75 pm", "is not a time"),
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


NOW = at("2026-08-11T20:00")  # a Tuesday
YEAR = 366 * 86_400


@given(st.integers(NOW - YEAR // 2 + 86_400, NOW), st.sampled_from(["Europe/Ljubljana", "America/New_York", "Australia/Lord_Howe", "UTC"]))
def test_a_moment_that_the_program_prints_reads_back(moment: int, zone: str) -> None:
    """To the minute, within half a year, the hour that comes twice included."""
    minute = moment - moment % 60
    assert moment_of(spoken(minute, ZoneInfo(zone)), NOW, ZoneInfo(zone)) == minute


@given(st.times())
def test_a_clock_time_ahead_is_the_next_one_and_else_that_of_today(clock: time) -> None:
    """At eight in the evening nine is tonight and seven is tomorrow; of what was done, nine is still to come."""
    typed = f"{clock:%H:%M}"
    ahead = moment_of(typed, NOW, ZONE, ahead=True)
    assert NOW < ahead <= NOW + 86_400
    assert f"{datetime.fromtimestamp(ahead, ZONE):%H:%M}" == typed
    if typed <= "20:00":
        assert moment_of(typed, NOW, ZONE) == ahead - 86_400
    else:
        with pytest.raises(Fault, match="is still to come"):
            moment_of(typed, NOW, ZONE)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("29 Feb 2028 12:00", "2028-02-29T12:00"), ("tomorrow", "2026-08-12T00:00"), ("today 23:00", "2026-08-11T23:00"), ("12 Aug", "2026-08-12T00:00")],
)
def test_a_day_ahead_begins_at_midnight_and_a_leap_day_has_its_year(typed: str, meant: str) -> None:
    """Put off until a day is put off until it begins."""
    assert moment_of(typed, NOW, ZONE, ahead=True) == at(meant)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("29 Feb 12:00", "is not a time"),
        ("31 Apr 12:00", "is not a time"),
        ("1800-01-01T12:00", "1800"),
        ("1 Jan 1800 12:00", "1800"),
        ("", "is not a time"),
        ("12", "is not a time"),
    ],
)
def test_what_is_no_moment_of_these_years_is_refused(typed: str, said: str) -> None:
    """29 February of no year among last, this and next (2025 to 2027), a day that no month has, another century, nothing."""
    with pytest.raises(Fault, match=said) as refused:
        moment_of(typed, NOW, ZONE, ahead=True)
    assert refused.value.write
