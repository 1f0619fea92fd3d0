"""Whether a pull is the last of its hives: by the keeper's word, by later pulls of the same hives, by the flow. Days and hives are invented."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest

from scheduler.facts.harvest import Harvest, read_harvest
from scheduler.facts.season import Season
from scheduler.planning.draft import Pull
from scheduler.planning.pulls import BEFORE_A_FLOW, NEAR_ITS_END, REFILLED, Place, place_of
from tests.planning.whole import yard

ZONE = ZoneInfo("Europe/Ljubljana")
FLOW = Season.model_validate({"main flow begins": "10 May", "main flow ends": "20 July"})
YARD = yard()


def pull(day: str, hives: str = "[north]", more: str = "", season: str = "2026") -> Pull:
    """A pull at half past ten."""
    lots = "lots: [{id: a, kind: extracted, frames: 9, frame: medium}]"
    harvest: Harvest = read_harvest(f"harvest: p{day}\npulled: {day}T10:30\nhives: {hives}\n{lots}\n{more}".encode(), "p.yaml", YARD)
    return Pull(harvest, int(datetime.fromisoformat(f"{day}T10:30").replace(tzinfo=ZONE).timestamp()), season)


def place(one: Pull, *others: Pull, season: Season = FLOW) -> Place:
    """Where a pull lies among others."""
    return place_of(one, [one, *others], season, ZONE)


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        ("2026-08-11", Place(True, True)),  # the flow ended
        ("2026-07-21", Place(True, True)),
        ("2026-07-20", Place(True, False)),  # in its last two weeks
        ("2026-07-06", Place(True, False)),
        ("2026-07-05", Place(False, True)),  # in full flow
        ("2026-05-11", Place(False, True)),
        ("2026-05-01", Place(False, True)),  # spring honey, ahead of the flow
        ("2026-03-12", Place(False, True)),
        ("2026-03-10", Place(True, True)),  # a pull of winter is of the flow before
    ],
)
def test_the_flow_says_what_is_still_to_come(day: str, expected: Place) -> None:
    """From 10 May to 20 July: before it and in it more comes, near its end that is not sure, after it none does."""
    assert place(pull(day)) == expected


def test_the_edges_are_those_that_are_assumed() -> None:
    """Two months ahead of a flow, two weeks before its end."""
    assert (date(2026, 5, 10) - date(2026, 3, 11), BEFORE_A_FLOW.days) == (BEFORE_A_FLOW, 60)
    assert (date(2026, 7, 20) - date(2026, 7, 6), NEAR_ITS_END.days) == (NEAR_ITS_END, 14)


@pytest.mark.parametrize(("word", "expected"), [("more to come: yes", Place(False, True)), ("more to come: no", Place(True, True))])
def test_the_keepers_word_goes_before_everything(word: str, expected: Place) -> None:
    """Whatever the calendar says, and whatever was pulled later."""
    for day in ("2026-06-01", "2026-08-11"):
        assert place(pull(day, more=word), pull("2026-09-20")) == expected


def test_the_same_hives_pulled_again_had_filled_their_supers_anew() -> None:
    """Three weeks later, in the same season, and every one of them."""
    assert REFILLED == 21 * 86_400
    first = pull("2026-08-11", "[north, ridge]")
    assert place(first, pull("2026-09-02", "[ridge, north, east]")) == Place(False, True)
    assert place(first, pull("2026-09-02", "[north]"), pull("2026-09-03", "[ridge]")) == Place(False, True)
    assert place(first, pull("2026-09-02", "[north]")) == Place(True, True)
    assert place(first, pull("2026-09-01", "[north, ridge]")) == Place(True, True)  # three weeks to the hour: what was left hanging
    assert place(first, pull("2026-09-02", "[north, ridge]", season="2027")) == Place(True, True)


@pytest.mark.parametrize(
    ("season", "day", "expected"),
    [
        ({}, "2026-06-01", Place(True, False)),
        ({"main flow begins": "10 May"}, "2026-05-01", Place(False, True)),
        ({"main flow begins": "10 May"}, "2026-06-01", Place(True, False)),
        ({"main flow ends": "20 July"}, "2026-08-11", Place(True, True)),
        ({"main flow ends": "20 July"}, "2026-06-01", Place(False, False)),
    ],
)
def test_half_a_flow_is_half_an_answer(season: dict[str, str], day: str, expected: Place) -> None:
    """Of nothing it is taken for the last, and asked about; of an end alone, long before it more may come."""
    assert place(pull(day), season=Season.model_validate(season)) == expected
