"""Free hours as people write them."""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.facts.hours import DAYS, read_hours

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
    assert read_hours({"sat": "19:00-21:00, 06:00-07:00, 18:00-20:00"}).spans(SATURDAY) == ((time(6), time(7)), (time(18), time(21)))


@pytest.mark.parametrize("text", ["24:00-08:00", "08:00-08:00", "8-9", "13 pm-14 pm", "08:60-09:00", "", "late", "06:00-07:00-08:00"])
def test_what_is_no_span_is_refused(text: str) -> None:
    """With words that name a span."""
    with pytest.raises(ValueError, match="validation error") as refused:
        read_hours({"sat": text})
    fault = refused.value.errors()[0]["ctx"]["error"]  # type: ignore[attr-defined]
    assert isinstance(fault, Fault)
    assert fault.write


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
