"""Free hours as people write them."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.facts.hours import DAYS, longest, read_hours

TUESDAY, SATURDAY = date(2026, 8, 11), date(2026, 8, 15)
EVENING = (time(17, 30), time(21, 30))


def test_days_that_nobody_named_are_not_free() -> None:
    """Hours on weekdays say nothing about Saturday."""
    hours = read_hours({"mon-fri": "17:30-21:30"})
    assert hours.spans(TUESDAY) == (EVENING,)
    assert hours.spans(SATURDAY) == ()


@pytest.mark.parametrize("key", ["tue", "Tuesday", "tues", "mon, tue, sat", "mon-wed", "sun-tue", "every day", "2026-08-11", "2026-08-10 to 2026-08-14"])
def test_a_tuesday_is_named_in_many_ways(key: str) -> None:
    """Days, lists, ranges, ranges over the weekend, dates and spans of dates."""
    assert read_hours({key: "17:30-21:30"}).spans(TUESDAY) == (EVENING,)


@pytest.mark.parametrize("text", ["17:30-21:30", "17:30 - 21:30", "17:30 to 21:30", "17:30–21:30", "5:30 pm-9:30 pm", "5:30pm to 9:30PM"])
def test_an_evening_is_written_in_many_ways(text: str) -> None:
    """With 24 hours or with am and pm."""
    assert read_hours({"tue": text}).spans(TUESDAY) == (EVENING,)


def test_the_entry_that_names_the_fewest_days_wins() -> None:
    """A date over a holiday of a fortnight, that over a single day of the week, that over a range of days."""
    hours = read_hours({"2026-08-11": "05:00-06:00", "2026-08-03 to 2026-08-16": "none", "tue": "12:00-13:00", "mon-fri": "17:30-21:30"})
    assert hours.spans(TUESDAY) == ((time(5), time(6)),)
    assert hours.spans(TUESDAY + timedelta(1)) == ()
    assert hours.spans(TUESDAY + timedelta(7)) == ((time(12), time(13)),)
    assert hours.spans(TUESDAY + timedelta(8)) == (EVENING,)


def test_a_span_may_pass_midnight() -> None:
    """An end that is not after its start lies on the next day; 24:00 is the end of the day itself."""
    assert read_hours({"sat": "20:00-01:00"}).spans(SATURDAY) == ((time(20), time(1)),)
    assert read_hours({"sat": "20:00-24:00"}).spans(SATURDAY) == ((time(20), time(0)),)


def test_spans_of_a_day_come_in_order_and_joined() -> None:
    """Overlapping and touching spans are one."""
    assert read_hours({"sat": "17:00-19:00, 19:00-21:00"}).spans(SATURDAY) == ((time(17), time(21)),)
    assert read_hours({"sat": "5 pm-9 pm, 6 am-7 am"}).spans(SATURDAY) == ((time(6), time(7)), (time(17), time(21)))
    assert read_hours({"sat": "19:00-21:00, 06:00-07:00, 18:00-20:00"}).spans(SATURDAY) == ((time(6), time(7)), (time(18), time(21)))


@pytest.mark.parametrize("hour", range(24))
@pytest.mark.parametrize("minute", [0, 59])
def test_a_clock_of_twelve_hours_reads_as_everywhere(hour: int, minute: int) -> None:
    """12 am is midnight and 12 pm is noon, as Python's `strptime` has it."""
    spoken = f"{(hour - 1) % 12 + 1}:{minute:02d} {'am' if hour < 12 else 'pm'}"
    meant = datetime.strptime(spoken, "%I:%M %p").time()  # noqa: DTZ007  # a time of day has no zone
    assert read_hours({"sat": f"{spoken} to {hour}:{(minute + 30) % 60:02d}"}).spans(SATURDAY)[0][0] == meant == time(hour, minute)


def test_spans_that_reach_round_the_clock_are_one_day_and_no_more() -> None:
    """From six until seven the next morning, told in two, ends where it began."""
    assert read_hours({"sat": "06:00-09:00, 08:00-07:00"}).spans(SATURDAY) == ((time(6), time(6)),)
    assert read_hours({"sat": "06:00-09:00, 08:00-06:00"}).spans(SATURDAY) == ((time(6), time(6)),)
    assert read_hours({"sat": "06:00-09:00, 08:00-05:59"}).spans(SATURDAY) == ((time(6), time(5, 59)),)


def test_a_span_of_dates_counts_both_its_ends() -> None:
    """A week away, from Monday to Sunday, leaves the Sunday before and the Monday after as they are."""
    hours = read_hours({"every day": "17:30-21:30", "2026-08-10 to 2026-08-16": "none"})
    away = [day for day in range(1, 32) if not hours.spans(date(2026, 8, day))]
    assert away == [10, 11, 12, 13, 14, 15, 16]


def test_of_two_spans_of_dates_the_shorter_wins() -> None:
    """A weekend at home within a fortnight away."""
    hours = read_hours({"mon": "17:30-21:30", "2026-08-03 to 2026-08-16": "none", "2026-08-08 to 2026-08-09": "08:00-20:00"})
    assert [bool(hours.spans(date(2026, 8, day))) for day in (7, 8, 9, 10)] == [False, True, True, False]


def fault(hours: Any) -> Fault:
    """What is said of hours that are refused."""
    with pytest.raises(ValueError, match="hours") as refused:
        read_hours(hours)
    if isinstance(refused.value, Fault):
        return refused.value
    found = refused.value.errors()[0]["ctx"]["error"]  # type: ignore[attr-defined]
    assert isinstance(found, Fault)
    return found


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("mon-fri", "tue-sat"),
        ("2026-08-10 to 2026-08-14", "2026-08-14 to 2026-08-18"),
        ("2026-08-14 to 2026-08-18", "2026-08-10 to 2026-08-14"),
        ("2026-08-11", "2026-08-11 to 2026-08-11"),
        ("sat", "saturdays"),
    ],
)
def test_two_entries_of_one_width_may_not_name_the_same_day(one: str, other: str) -> None:
    """Neither is the more specific, so nobody knows which is meant."""
    assert "name the same day" in fault({one: "06:00-07:00", other: "08:00-09:00"}).message


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("mon-tue", "wed-thu"),
        ("2026-08-10 to 2026-08-14", "2026-08-15 to 2026-08-19"),
        ("2026-08-15 to 2026-08-19", "2026-08-10 to 2026-08-14"),
        ("2026-08-10 to 2026-08-15", "2026-08-15 to 2026-08-19"),
    ],
)
def test_entries_side_by_side_or_of_two_widths_are_no_rivals(one: str, other: str) -> None:
    """Days apart, or one the narrower."""
    hours = read_hours({one: "06:00-07:00", other: "08:00-09:00"})
    assert {hours.spans(date(2026, 8, day)) for day in range(10, 20)} >= {((time(6), time(7)),), ((time(8), time(9)),)}


@pytest.mark.parametrize(
    ("hours", "said"),
    [
        ({}, "free hours are needed"),
        ("17:30-21:30", "free hours are needed"),
        ({"sat": "none", "sun": "none"}, "no day has free hours"),
        ({"sat": None}, "the hours of this day are missing"),
        ({"sat": " "}, "the hours of this day are missing"),
        ({"2026-08-14 to 2026-08-10": "none"}, "ends before it begins"),
        ({"2026-8-14": "none"}, "is not a date"),
        ({"5 August": "none"}, "is not a date"),
        ({"mon-wed-fri": "06:00-07:00"}, "is not a day or a range of days"),
        ({"mo": "06:00-07:00"}, '"mo" is not a day'),
        ({"sat": "24:00-08:00"}, "begins when the day is over"),
        ({"sat": "08:00-08:00"}, "is no time at all"),
        ({"sat": "8-9"}, '"8" is not a time of day'),
        ({"sat": "0 am-9 am"}, '"0 am" is not a time of day'),
        ({"sat": "1 pm-13 pm"}, '"13 pm" is not a time of day'),
        ({"sat": "08:60-09:00"}, '"08:60" is not a time of day'),
        ({"sat": "08:00-24:01"}, '"24:01" is not a time of day'),
        ({"sat": "late"}, '"late" is not a span of hours'),
        ({"sat": "06:00-07:00-08:00"}, "is not a span of hours"),
    ],
)
def test_what_is_no_hours_is_refused(hours: Any, said: str) -> None:
    """With words that name them."""
    found = fault(hours)
    assert said in found.message
    assert found.write


def test_a_day_misspelt_is_answered_with_the_day_that_was_meant() -> None:
    """By its three letters, as it may be written."""
    assert fault({"tusday": "06:00-07:00"}).write == '"tue"'


def test_hours_that_were_read_are_left_as_they_are() -> None:
    """A record is read once."""
    hours = read_hours({"sat": "06:00-07:00"})
    assert read_hours(hours) is hours


CLOCK = st.integers(0, 1439)
SPAN = st.tuples(CLOCK, CLOCK).filter(lambda span: span[0] != span[1])


def written(spans: list[tuple[int, int]]) -> str:
    """Minutes of the day as a person writes them."""
    return ", ".join(f"{a // 60:02d}:{a % 60:02d}-{b // 60}:{b % 60:02d}" for a, b in spans)


def minutes(spans: tuple[tuple[time, time], ...]) -> set[int]:
    """The minutes from midnight that spans cover, past midnight too."""
    found: set[int] = set()
    for start, end in spans:
        first, last = start.hour * 60 + start.minute, end.hour * 60 + end.minute
        found.update(range(first, last if last > first else last + 1440))
    return found


@given(st.lists(SPAN, min_size=1, max_size=4))
def test_reading_hours_keeps_every_minute_and_adds_none(spans: list[tuple[int, int]]) -> None:
    """Whatever is joined, the minutes are those that were written, and the spans are in order."""
    read = read_hours({"sat": written(spans)}).spans(SATURDAY)
    expected = {minute for a, b in spans for minute in range(a, b if b > a else b + 1440)}
    if max(expected) - min(expected) < 1440:
        assert minutes(read) == expected
    assert list(read) == sorted(read)


@given(st.integers(0, 6), st.integers(0, 6), st.dates(date(2020, 1, 1), date(2030, 1, 1)))
def test_a_range_of_days_runs_forward_through_the_week(first: int, last: int, day: date) -> None:
    """fri-mon is four days, mon-fri five."""
    hours = read_hours({f"{DAYS[first][:3]}-{DAYS[last]}": "06:00-07:00"})
    assert bool(hours.spans(day)) == ((day.weekday() - first) % 7 <= (last - first) % 7)


def test_the_longest_span_of_free_hours_is_known() -> None:
    """Also past midnight, on one date alone, and round the clock."""
    assert longest(read_hours({"mon-fri": "17:30-21:30", "sat": "22:00-05:00"})) == 7 * 3600
    assert longest(read_hours({"mon": "17:30-21:30", "2026-08-15": "08:00-20:00"})) == 12 * 3600
    assert longest(read_hours({"mon": "00:00-24:00"})) == 24 * 3600
