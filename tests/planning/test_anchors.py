"""Which moment an anchor names: the pull, now, or a mark of the season with a lag; and which pulls make one season."""

from __future__ import annotations

import math
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from scheduler.facts.season import Season
from scheduler.outputs.wording.sentence import METRIC, in_words
from scheduler.planning.anchors import Moment, Moments, Unknown, reason, seasons
from scheduler.rules.environment import Environment, Parameters
from scheduler.rules.short_forms import Anchor

ZONE = ZoneInfo("Europe/Ljubljana")
NORMALS = {
    "main flow begins": "10 May",
    "main flow ends": "20 July",
    "robbing": "25 July to 15 October",
    "first frost": "14 October",
    "spring bloom": "20 April",
}
ENV = Environment({}, Parameters({"guard lead": 14 * 86_400.0, "never": math.inf}))
DAY = 86_400


def at(local: str) -> int:
    """A moment at the yard."""
    return int(datetime.fromisoformat(local).replace(tzinfo=ZONE).timestamp())


PULLED, NOW = at("2026-08-11T10:30"), at("2026-08-12T08:00")


def named(anchor: str, pulled: int = PULLED, *, by: bool = False, **observed: list[str]) -> Moment:
    """The moment of an anchor."""
    season = Season.model_validate({**NORMALS, "observed": {name.replace("_", " "): days for name, days in observed.items()}})
    found = Moments(season, ZONE, NOW).of(Anchor.model_validate(anchor), pulled, ENV, by=by)
    assert isinstance(found, Moment)
    return found


def local(moment: Moment) -> str:
    """As a person at the yard reads it."""
    return f"{datetime.fromtimestamp(moment.at, ZONE):%Y-%m-%d %H:%M}"


@pytest.mark.parametrize(
    ("anchor", "expected"),
    [
        ("pulled", "2026-08-11 10:30"),
        ("pulled + 72 h", "2026-08-14 10:30"),
        ("pulled - 2 h", "2026-08-11 08:30"),
        ("pulled + $guard lead", "2026-08-25 10:30"),
        ("as of", "2026-08-12 08:00"),
        ("as of + 1 d", "2026-08-13 08:00"),
    ],
)
def test_a_lag_is_counted_from_the_pull_or_from_now(anchor: str, expected: str) -> None:
    """Neither hangs on the season, and both are certain."""
    found = named(anchor)
    assert (local(found), found.mark, found.firm) == (expected, None, True)
    assert local(named(anchor, by=True)) == expected


@pytest.mark.parametrize(
    ("anchor", "begins", "over"),
    [
        ("first frost", "2026-10-14 00:00", "2026-10-15 00:00"),
        ("first frost - 14 d", "2026-09-30 00:00", "2026-10-01 00:00"),
        ("first frost - $guard lead", "2026-09-30 00:00", "2026-10-01 00:00"),
        ("main flow ends", "2026-07-21 00:00", "2026-07-22 00:00"),
        ("main flow ends + 12 h", "2026-07-21 12:00", "2026-07-22 12:00"),
        ("robbing begins", "2026-07-25 00:00", "2026-07-26 00:00"),
        ("robbing ends", "2026-10-16 00:00", "2026-10-17 00:00"),
    ],
)
def test_a_mark_is_a_day_that_begins_at_midnight_and_what_is_due_by_it_has_that_day(anchor: str, begins: str, over: str) -> None:
    """The last day of a flow or a span belongs to it, so what follows its end begins the day after. A normal is not firm."""
    found = named(anchor)
    assert (local(found), found.firm) == (begins, False)
    assert found.mark is not None
    assert anchor.startswith(found.mark)
    assert local(named(anchor, by=True)) == over


@pytest.mark.parametrize(("day", "over"), [("2026-10-25", "2026-10-26 00:00"), ("2026-03-29", "2026-03-30 00:00")])
def test_a_mark_on_the_day_of_a_clock_change_has_that_whole_day(day: str, over: str) -> None:
    """It has 25 hours in autumn and 23 in spring; in Ljubljana clocks change on the last Sundays of October and March."""
    pulled = PULLED if day > "2026-08" else at("2026-03-20T10:00")
    assert local(named("first frost", pulled, by=True, first_frost=[day])) == over


def test_what_was_seen_is_firm() -> None:
    """A frost on 2 October comes before the normal of 14 October."""
    found = named("first frost", first_frost=["2026-10-02"])
    assert (local(found), found.firm) == ("2026-10-02 00:00", True)


def test_a_mark_up_to_thirty_days_before_the_pull_is_of_its_season() -> None:
    """The flow ended on 20 July: for a pull on 19 August that is this year's, a day later it is the next."""
    assert local(named("main flow ends", at("2026-08-19T10:30"))) == "2026-07-21 00:00"
    assert local(named("main flow ends", at("2026-08-20T10:30"))) == "2027-07-21 00:00"


@pytest.mark.parametrize(("mark", "last"), [("main flow begins", "2026-01-10"), ("spring bloom", "2025-12-21")])
def test_a_mark_that_opens_a_season_is_of_the_next_one(mark: str, last: str) -> None:
    """Comb given back ahead of the flow is given for the next: one that opens within 120 days of the pull is the season of the pull itself."""
    opens = {"main flow begins": "05-10", "spring bloom": "04-20"}[mark]
    assert local(named(mark)) == f"2027-{opens} 00:00"
    assert local(named(mark, at(f"{last}T10:30"))) == f"2026-{opens} 00:00"
    assert local(named(mark, at(f"{last}T10:30") + DAY)) == f"2027-{opens} 00:00"


def test_a_mark_that_nobody_wrote_is_unknown_and_a_lag_without_end_is_never() -> None:
    """A yard without a normal for the last frost; a table that never reaches its sum."""
    moments = Moments(Season.model_validate(NORMALS), ZONE, NOW)
    assert moments.of(Anchor.model_validate("last frost + 1 d"), PULLED, ENV) == Unknown("last frost")
    assert moments.of(Anchor.model_validate("pulled + $never"), PULLED, ENV) is None
    assert moments.of(Anchor.model_validate("last frost - $never"), PULLED, ENV) is None


def test_parts_of_a_minute_are_waited_for_and_no_limit_is_stretched_by_them() -> None:
    """A minute and a half after the pull is two minutes for what begins then, one for what is due by then; before the pull the same way round."""
    assert (named("pulled + 1.5 min").at, named("pulled + 1.5 min", by=True).at) == (PULLED + 120, PULLED + 60)
    assert (named("pulled - 1.5 min").at, named("pulled - 1.5 min", by=True).at) == (PULLED - 60, PULLED - 120)


def test_anchors_of_one_yard_ask_the_season_for_each_pull() -> None:
    """Two harvests of one yard have each their own season's marks, however often they are asked."""
    moments = Moments(Season.model_validate(NORMALS), ZONE, NOW)
    frost = Anchor.model_validate("first frost")
    found = [moments.of(frost, pulled, ENV) for pulled in (PULLED, PULLED + 365 * DAY, PULLED)]
    assert [local(one) for one in found if isinstance(one, Moment)] == ["2026-10-14 00:00", "2027-10-14 00:00", "2026-10-14 00:00"]


@pytest.mark.parametrize(
    ("anchor", "words"),
    [
        ("pulled", "the pull"),
        ("pulled + 72 h", "the pull + 3 d"),
        ("pulled - 2 h", "the pull - 2 h"),
        ("as of", "now"),
        ("first frost - 14 d", "first frost (14 October 2026, usual date in the yard file) - 14 d"),
    ],
)
def test_a_moment_says_what_it_is_counted_from(anchor: str, words: str) -> None:
    """With its lag as the card has it, and whether a mark was seen."""
    assert in_words(named(anchor).says, METRIC) == words
    assert in_words(named("first frost", first_frost=["2026-10-02"]).says, METRIC) == "first frost (2 October 2026, observed)"


def test_a_reason_names_the_mark_it_hangs_on() -> None:
    """So that an observation of it can be told to move the date; what begins not before a moment and what is due by one are told as what they are."""
    assert reason("due", named("first frost"), "colony/guard").label == "season first frost"
    assert reason("due", named("pulled + 72 h"), "cut comb/cut").label == "due"
    assert reason("not before", named("pulled"), "cut comb/cut").label == "not before"
    assert reason("not before", named("pulled"), "cut comb/cut").says.kind != reason("due", named("pulled"), "cut comb/cut").says.kind == "due by a moment"


def test_pulls_with_no_longer_gap_than_120_days_are_one_season() -> None:
    """Counted from the last pull, not from the first: June, September and January are one season."""
    first = at("2026-06-01T10:00")
    assert seasons([("a", first), ("b", first + 120 * DAY), ("c", first + 240 * DAY)]) == dict.fromkeys("abc", "2026")
    assert seasons([("a", first), ("b", first + 120 * DAY + 1)]) == {"a": "2026a", "b": "2026b"}
    assert seasons([]) == {}


def test_a_season_over_the_turn_of_the_year_has_the_year_of_its_first_pull() -> None:
    """In the south: pulled in December and in February. The order in which pulls are told makes no difference."""
    pulls = [("late", at("2027-02-20T09:00")), ("early", at("2026-12-10T09:00")), ("next", at("2027-12-12T09:00"))]
    assert seasons(pulls) == seasons(pulls[::-1]) == {"early": "2026", "late": "2026", "next": "2027"}


def test_three_seasons_that_begin_in_one_year_have_letters() -> None:
    """Two spring pulls and an autumn pull four months apart; another year has none."""
    pulls = [("a", at("2026-01-02T09:00")), ("b", at("2026-05-20T09:00")), ("c", at("2026-10-01T09:00")), ("d", at("2027-06-01T09:00"))]
    assert seasons(pulls) == {"a": "2026a", "b": "2026b", "c": "2026c", "d": "2027"}


@pytest.mark.parametrize(
    ("anchor", "by", "expected"),
    [
        ("1 October", False, "2026-10-01 00:00"),
        ("1 October", True, "2026-10-02 00:00"),  # it may be done until the day is over
        ("2 weeks after October 1st", False, "2026-10-15 00:00"),
        ("3 d before 1 March", False, "2027-02-26 00:00"),
        ("5 August", False, "2026-08-05 00:00"),  # of this pull's season, like a mark that was a few days before it
        ("5 July", False, "2027-07-05 00:00"),
    ],
)
def test_a_day_of_ones_own_is_the_next_of_the_season(anchor: str, by: bool, expected: str) -> None:
    """A fair, a holiday, the day on which a permit ends: the same day every year, which nobody has to see."""
    assert local(named(anchor, by=by)) == expected
    assert (named(anchor).mark, named(anchor).firm) == (None, True)


def test_why_a_day_of_ones_own_says_the_day() -> None:
    """As it comes this year."""
    assert in_words(reason("due", named("2 weeks after 1 October", by=True), "mine").says, METRIC) == "1 October 2026 + 14 d"
