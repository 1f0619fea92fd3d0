"""Marks and spans of the year, and what observations do to them."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.facts.days import DayOfYear, Span
from scheduler.facts.season import MARKS_AND_EDGES, SPANS, Season

PULL = date(2026, 8, 11)


def season(**marks: str) -> Season:
    """A season from its keys with underscores."""
    return Season.model_validate({name.replace("_", " "): text for name, text in marks.items()})


def test_a_mark_is_its_next_occurrence() -> None:
    """The day itself counts; the day after it the next year's is meant."""
    frost = season(first_frost="14 October")
    assert frost.mark("first frost", PULL) == (date(2026, 10, 14), False)
    assert frost.mark("first frost", date(2026, 10, 14)) == (date(2026, 10, 14), False)
    assert frost.mark("first frost", date(2026, 10, 15)) == (date(2027, 10, 14), False)


def test_what_nobody_wrote_is_unknown() -> None:
    """No normal and no observation gives no date; a word that is no mark is refused with the nearest."""
    assert season().mark("spring bloom", PULL) is None
    with pytest.raises(Fault, match='"fist frost" is not a mark of the season') as refused:
        season().mark("fist frost", PULL)
    assert "first frost" in refused.value.write


def test_what_is_known_is_what_was_written_seen_or_follows() -> None:
    """A normal, an observation, or a span that follows from two marks."""
    derived = season(main_flow_ends="20 July", first_frost="14 October").with_observations({"treatment begins": [date(2026, 9, 1)]})
    known = [name for name in (*MARKS_AND_EDGES, *SPANS) if derived.knows(name)]
    assert known == ["main flow ends", "first frost", "robbing begins", "robbing ends", "treatment begins", "robbing", "treatment"]


def test_an_observation_overrules_the_normal_it_lies_near() -> None:
    """Frost seen nine days early moves this year's mark and not the next year's."""
    seen = season(first_frost="14 October").with_observations({"first frost": [date(2026, 10, 5)]})
    assert seen.mark("first frost", PULL) == (date(2026, 10, 5), True)
    assert seen.mark("first frost", date(2026, 11, 1)) == (date(2027, 10, 14), False)


def test_of_several_frosts_the_first_is_the_first() -> None:
    """And of several last frosts the last."""
    frosts = [date(2026, 10, 5), date(2026, 10, 9)]
    assert season(first_frost="14 October").with_observations({"first frost": frosts}).mark("first frost", PULL) == (frosts[0], True)
    assert season(last_frost="14 October").with_observations({"last frost": frosts}).mark("last frost", PULL) == (frosts[1], True)


def test_an_observation_without_a_normal_stands_alone() -> None:
    """What was seen in May is the bloom of that year; of the next nothing is known."""
    seen = season().with_observations({"spring bloom": [date(2027, 5, 2)]})
    assert seen.mark("spring bloom", PULL) == (date(2027, 5, 2), True)
    assert seen.mark("spring bloom", date(2027, 5, 3)) is None


def test_observations_in_the_file_and_from_elsewhere_add_up() -> None:
    """The yard file may carry dates itself."""
    written = Season.model_validate({"first frost": "14 October", "observed": {"first frost": "2025-10-02"}})
    both = written.with_observations({"first frost": [date(2026, 10, 5)]})
    assert both.mark("first frost", date(2025, 8, 1)) == (date(2025, 10, 2), True)
    assert both.mark("first frost", date(2026, 8, 1)) == (date(2026, 10, 5), True)


def test_in_the_south_a_span_runs_over_the_turn_of_the_year() -> None:
    """Beetle season from October to April, asked for a week of January."""
    south = season(beetle="15 October to 20 April")
    assert south.spans("beetle", date(2027, 1, 4), date(2027, 1, 10)) == ((date(2026, 10, 15), date(2027, 4, 20)),)
    assert south.mark("beetle ends", date(2027, 1, 4)) == (date(2027, 4, 20), False)


def test_a_span_that_was_seen_to_begin_early_begins_early() -> None:
    """Its end stays the normal until that is seen too."""
    seen = season(robbing="25 July to 15 October").with_observations({"robbing begins": [date(2026, 7, 10)]})
    assert seen.spans("robbing", date(2026, 7, 1), date(2026, 12, 31)) == ((date(2026, 7, 10), date(2026, 10, 15)),)


def test_an_end_seen_before_the_normal_beginning_leaves_that_one_day() -> None:
    """A treatment finished in July does not last until the next year's end."""
    seen = season(treatment="1 August to 20 August").with_observations({"treatment ends": [date(2026, 7, 25)]})
    assert seen.spans("treatment", date(2026, 7, 1), date(2027, 7, 1)) == ((date(2026, 7, 25), date(2026, 7, 25)),)


def test_an_end_and_a_later_beginning_leave_a_gap() -> None:
    """Knotweed in flower from 20 August to 10 September; the season ends where it usually does, and the next year's is whole."""
    seen = season(robbing="25 July to 15 October").with_observations({"robbing ends": [date(2026, 8, 20)], "robbing begins": [date(2026, 9, 10)]})
    assert seen.spans("robbing", date(2026, 7, 1), date(2027, 12, 31)) == (
        (date(2026, 7, 25), date(2026, 8, 20)),
        (date(2026, 9, 10), date(2026, 10, 15)),
        (date(2027, 7, 25), date(2027, 10, 15)),
    )
    assert seen.mark("robbing begins", date(2026, 8, 1)) == (date(2026, 9, 10), True)
    assert seen.mark("robbing ends", date(2026, 8, 1)) == (date(2026, 10, 15), False)  # of the season, not of its first stretch


def test_a_span_that_begins_again_after_its_usual_end_is_taken_to_last() -> None:
    """And an end told again is a later end, not another one."""
    ended = {"robbing ends": [date(2026, 9, 1), date(2026, 9, 5)]}
    again = season(robbing="25 July to 30 September").with_observations({**ended, "robbing begins": [date(2026, 10, 10)]})
    assert again.spans("robbing", PULL, date(2026, 12, 1)) == ((date(2026, 7, 25), date(2026, 9, 5)), (date(2026, 10, 10), date(2026, 12, 9)))


def test_an_end_seen_months_before_the_usual_one_counts() -> None:
    """A flow of goldenrod from 12 August on, in a season that usually ends in the middle of October."""
    seen = season(robbing="25 July to 15 October").with_observations({"robbing ends": [date(2026, 8, 12)]})
    assert seen.spans("robbing", PULL, date(2026, 12, 1)) == ((date(2026, 7, 25), date(2026, 8, 12)),)


def test_robbing_season_follows_from_the_flow_and_the_cold() -> None:
    """After the main flow, while it is warm enough to fly (common practice); the flow seen to end early draws it with it."""
    derived = season(main_flow_ends="20 July", last_warm_day="5 October", first_frost="14 October")
    assert derived.spans("robbing", PULL, PULL) == ((date(2026, 7, 20), date(2026, 10, 5)),)
    seen = derived.with_observations({"main flow ends": [date(2026, 7, 8)]})
    assert seen.mark("robbing begins", date(2026, 6, 1)) == (date(2026, 7, 8), True)


def test_robbing_season_is_not_derived_where_it_is_denied_or_makes_no_sense() -> None:
    """`robbing: none` is an answer; a flow that ends after the frost leaves no season between."""
    assert season(main_flow_ends="20 July", first_frost="14 October", robbing="none").spans("robbing", PULL, PULL) == ()
    assert season(main_flow_ends="20 November", first_frost="14 October").spans("robbing", PULL, PULL) == ()


def test_where_no_frost_and_no_cold_closes_robbing_the_next_flow_does() -> None:
    """Bees that fly all winter rob until there is something to gather again, or for half a year at most (assumed)."""
    warm = {"last_warm_day": "none", "main_flow_begins": "15 May"}
    assert season(main_flow_ends="20 January", **warm).spans("robbing", PULL, date(2027, 12, 31)) == ((date(2027, 1, 20), date(2027, 5, 15)),)
    longest = season(main_flow_ends="20 January", last_warm_day="none", main_flow_begins="15 November")
    assert longest.spans("robbing", PULL, date(2027, 12, 31)) == ((date(2027, 1, 20), date(2027, 7, 22)),)
    light = season(main_flow_ends="20 January", first_frost="20 June", **warm)  # nights of frost, and days on which bees fly all the same
    assert light.spans("robbing", PULL, date(2027, 12, 31)) == ((date(2027, 1, 20), date(2027, 5, 15)),)
    assert season(main_flow_ends="20 January", first_frost="none").knows("robbing")
    assert not season(main_flow_ends="20 January").knows("robbing")
    flying = season(main_flow_ends="20 January", first_frost="none", last_warm_day="1 May")  # a coast without frost, where it is too cool to fly in winter
    assert flying.spans("robbing", PULL, date(2027, 12, 31)) == ((date(2027, 1, 20), date(2027, 5, 1)),)


DAYS = st.dates(date(2001, 1, 1), date(2001, 12, 31)).map(lambda day: DayOfYear(day.month, day.day))
DATES = st.dates(date(2000, 1, 1), date(2100, 1, 1))


@given(DAYS, DATES)
def test_a_mark_lies_within_the_year_that_follows(day: DayOfYear, asked: date) -> None:
    """Never before the day asked for, never more than a leap year on, and on the day it names."""
    found = Season.model_validate({"spring bloom": str(day)}).mark("spring bloom", asked)
    assert found is not None
    assert timedelta(0) <= found[0] - asked < timedelta(366)
    assert (found[0].month, found[0].day) == (day.month, day.day)


@given(DAYS, DAYS, DATES)
def test_a_day_is_in_a_span_when_its_month_and_day_are(begins: DayOfYear, ends: DayOfYear, day: date) -> None:
    """The same by calendar arithmetic on month and day alone."""
    found = Season.model_validate({"beetle": str(Span(begins, ends))}).spans("beetle", day, day)
    here = DayOfYear(day.month, day.day)
    inside = begins <= here <= ends if begins <= ends else here >= begins or here <= ends
    assert bool(found) == inside


@given(DAYS, DAYS, DATES, st.lists(DATES, max_size=6), st.lists(DATES, max_size=6))
def test_spans_are_in_order_and_disjoint_whatever_was_seen(begins: DayOfYear, ends: DayOfYear, first: date, began: list[date], ended: list[date]) -> None:
    """Observations in any order, any number, any year."""
    seen = Season.model_validate({"robbing": str(Span(begins, ends))}).with_observations({"robbing begins": began, "robbing ends": ended})
    found = seen.spans("robbing", first, first + timedelta(1000))
    assert all(begin <= end for begin, end in found)
    assert all(one[1] < other[0] for one, other in pairwise(found))


def test_what_differs_at_an_apiary_takes_the_place_of_the_yards_and_no_more() -> None:
    """Its first frost; the robbing season that is not there; what the weather let expect of the yard's frost goes, what it says of bloom stays."""
    yard = Season.model_validate({"first frost": "14 October", "spring bloom": "20 April", "robbing": "25 July to 15 October"})
    yard = yard.with_expected({"first frost": [date(2026, 10, 20)], "spring bloom": [date(2026, 4, 12)]})
    there = yard.overlaid(Season.model_validate({"first frost": "20 September", "robbing": "none", "observed": {"last frost": "2026-05-20"}}))
    assert there.mark("first frost", date(2026, 8, 1)) == (date(2026, 9, 20), False)
    assert there.mark("spring bloom", date(2026, 1, 1)) == (date(2026, 4, 12), False)
    assert there.mark("last frost", date(2026, 1, 1)) == (date(2026, 5, 20), True)
    assert not there.knows("robbing")
    assert "robbing" in there.model_fields_set
    assert yard.mark("first frost", date(2026, 8, 1)) == (date(2026, 10, 20), False)
