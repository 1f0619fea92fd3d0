"""Days and spans that come round every year, as people write them."""

from __future__ import annotations

import calendar
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.facts.days import DayOfYear, Span, read_day, read_span

DAYS = st.dates(date(2001, 1, 1), date(2001, 12, 31)).map(lambda day: DayOfYear(day.month, day.day))


@pytest.mark.parametrize("text", ["20 July", "July 20", "20 Jul", "jul 20th", "20. July", "20th of July", "07-20"])
def test_a_day_is_written_in_many_ways(text: str) -> None:
    """Month by name or month first in figures; 7/20 and 20/7 are refused, since they are read both ways."""
    assert read_day(text) == DayOfYear(7, 20)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        *((text, f'"{text}" is not a day of the year') for text in ("7/20", "20/7", "July", "20")),
        ("29 February", "comes only in leap years"),
        ("31 June", "June has no day 31"),
        ("0 May", "May has no day 0"),
        ("13-01", "there is no month 13"),
        ("2026-07-20", "is one date; a day of every year is needed"),
        ("20 Jly", '"jly" is not a month'),
    ],
)
def test_what_is_not_a_day_of_every_year_is_refused(text: str, said: str) -> None:
    """29 February too: a normal has to come round every year."""
    with pytest.raises(Fault, match=said) as refused:
        read_day(text)
    assert refused.value.write


@pytest.mark.parametrize("month", range(1, 13))
def test_a_month_has_its_last_day_and_none_after_it(month: int) -> None:
    """By its name, by three letters of it, and in figures; February has 28, for a normal comes every year."""
    name, last = calendar.month_name[month], 28 if month == 2 else calendar.monthrange(2026, month)[1]
    for text in (f"{last} {name}", f"{calendar.month_abbr[month]} {last}", f"{month:02d}-{last}"):
        assert read_day(text) == DayOfYear(month, last)
    with pytest.raises(Fault, match=r"has no day|leap years"):
        read_day(f"{last + 1} {name}")


def test_two_letters_are_no_month() -> None:
    """ "ma" may be March or May."""
    with pytest.raises(Fault, match='"ma" is not a month'):
        read_day("3 ma")
    with pytest.raises(Fault, match="there is no month 00"):
        read_day("00-03")


@pytest.mark.parametrize("text", ["25 July to 15 October", "25 July until 15 October", "25 July - 15 October", "25 July – 15 October", "07-25 to 10-15"])
def test_a_span_is_written_in_many_ways(text: str) -> None:
    """With a word or a dash between its ends."""
    assert read_span(text) == Span(DayOfYear(7, 25), DayOfYear(10, 15))


@pytest.mark.parametrize("text", ["25 July", "25 July to 15 October to 1 November", ""])
def test_what_has_not_two_ends_is_no_span(text: str) -> None:
    """One day, three days and nothing."""
    with pytest.raises(Fault, match="is not a span of the year"):
        read_span(text)


def test_a_span_over_the_turn_of_the_year_ends_in_the_next() -> None:
    """Robbing season in the south begins in December; one day alone begins and ends in one year."""
    assert read_span("1 December to 31 March").from_year(2026) == (date(2026, 12, 1), date(2027, 3, 31))
    assert read_span("25 July to 15 October").from_year(2026) == (date(2026, 7, 25), date(2026, 10, 15))
    assert read_span("25 July to 25 July").from_year(2026) == (date(2026, 7, 25), date(2026, 7, 25))
    assert read_span("25 July to 24 July").from_year(2026) == (date(2026, 7, 25), date(2027, 7, 24))


@given(DAYS)
def test_a_day_reads_back_as_it_is_shown(day: DayOfYear) -> None:
    """In words and in figures."""
    assert read_day(str(day)) == day == read_day(f"{day.month:02d}-{day.day:02d}")


@given(DAYS, DAYS)
def test_a_span_reads_back_as_it_is_shown(begins: DayOfYear, ends: DayOfYear) -> None:
    """Whichever end comes first in the year."""
    assert read_span(str(Span(begins, ends))) == Span(begins, ends)
