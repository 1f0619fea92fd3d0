"""The moment of a plan: an evening of work begins or is over, or something was recorded. The yards are invented."""

from __future__ import annotations

from datetime import datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from scheduler.application.as_of import AsOf, as_of
from scheduler.facts.fact import AlertAcknowledged, Fact, Recorded, SettingChanged, TaskDone
from scheduler.facts.yard import Yard, read_yard

WEEKDAYS = 'mon-fri: "17:30-21:30"'
YARD = """
yard: Two Gates
place: {{latitude: 46.31, longitude: 14.18, timezone: Europe/Ljubljana}}
hands: {{{hands}}}
room: {{temperature: 21 °C, humidity: 55 %}}
people: {people}
"""


def yard(hands: str = WEEKDAYS, people: str = "{}") -> Yard:
    """A yard with these free hours."""
    return read_yard(YARD.format(hands=hands, people=people).encode(), "yard.yaml")


def at(text: str) -> int:
    """Local time at the yard, such as "11 19:40" in August 2026."""
    day, _, clock = text.partition(" ")
    return int(datetime.fromisoformat(f"2026-08-{day}T{clock}").replace(tzinfo=ZoneInfo("Europe/Ljubljana")).timestamp())


def recorded(text: str, fact: type[Fact] = TaskDone, **fields: str) -> Recorded:
    """Something that happened and was written down at once."""
    return Recorded(1, "0" * 32, at(text), fact(occurred_at=at(text), **(fields or {"task": "ridge-2/b/spin"})))


@pytest.mark.parametrize(
    ("now", "moment", "until"),
    [
        ("11 17:30", "11 17:30", "11 21:30"),
        ("11 21:29:59", "11 17:30", "11 21:30"),
        ("11 21:30", "11 21:30", "12 17:30"),
        ("12 03:00", "11 21:30", "12 17:30"),
        ("16 12:00", "14 21:30", "17 17:30"),  # a Sunday without free hours
    ],
)
def test_time_alone_moves_the_moment_as_an_evening_begins_and_as_it_is_over(now: str, moment: str, until: str) -> None:
    """Nothing was recorded: through an evening, a night and a weekend it is the last of these."""
    assert as_of(yard(), (), at(now)) == AsOf(at(moment), at(until))


def test_a_recorded_fact_moves_it_at_once_to_the_end_of_its_minute() -> None:
    """And there it stays until the evening is over."""
    facts = [recorded("11 18:40:33")]
    assert as_of(yard(), facts, at("11 18:40:33")).moment == at("11 18:41")
    assert as_of(yard(), facts, at("11 21:00")) == AsOf(at("11 18:41"), at("11 21:30"))
    assert as_of(yard(), facts, at("11 21:30")).moment == at("11 21:30")


def test_what_is_recorded_late_moves_it_when_it_is_recorded() -> None:
    """What was done at six is told at eight."""
    late = recorded("11 18:00")
    assert as_of(yard(), [Recorded(1, late.id, at("11 20:00"), late.fact)], at("11 20:10")).moment == at("11 20:00")


def test_what_has_not_happened_yet_moves_it_when_it_does() -> None:
    """As after a clock that was set back, or in a ledger from another machine."""
    assert as_of(yard(), [recorded("11 20:00")], at("11 18:00")) == AsOf(at("11 17:30"), at("11 20:00"))


def test_an_alert_that_was_heard_and_the_address_of_a_feed_move_nothing() -> None:
    """A coefficient that the keeper agreed to plan with does."""
    heard = recorded("11 18:40", AlertAcknowledged, alert="ridge-2/b/spin#0@keeper")
    address = recorded("11 18:50", SettingChanged, name="feed address of kitchen", value="0" * 64)
    assert as_of(yard(), [heard, address], at("11 19:00")).moment == at("11 17:30")
    agreed = recorded("11 18:55", SettingChanged, name="surface coefficient of freezer", value="6.5 W/m2K")
    assert as_of(yard(), [heard, address, agreed], at("11 19:00")).moment == at("11 18:55")


def test_hours_of_several_people_that_meet_are_one_evening() -> None:
    """One comes half an hour after the keeper and stays longer, one is there in the morning: the work at hand moves for neither's coming."""
    people = '{ash: {hands: {mon-fri: "18:00-22:00"}, takes: [extracted]}, mira: {hands: {mon-fri: "09:00-11:00"}, takes: [apiary]}}'
    two = yard(people=people)
    assert as_of(two, (), at("11 18:10")) == AsOf(at("11 17:30"), at("11 22:00"))
    assert as_of(two, (), at("11 12:00")) == AsOf(at("11 11:00"), at("11 17:30"))


@pytest.mark.parametrize("hands", ['"2031-05-01": "09:00-10:00"', 'mon-sun: "00:00-24:00"'])
def test_a_yard_without_an_evening_is_planned_anew_once_a_day(hands: str) -> None:
    """One whose only free day is years away, and one that never rests: nothing else could tell when the plan is old."""
    assert as_of(yard(hands), (), at("11 10:30")) == AsOf(at("11 00:00"), at("12 00:00"))


def test_every_moment_lies_in_the_stretch_that_it_is_said_to_hold_for() -> None:
    """Hour by hour through two weeks with a change of the clocks in them, the moment moves when it was said to and never back."""
    begin = at("01 00:00") + 78 * 86400  # the clocks go back on 25 October
    looks = [as_of(yard(), (), now) for now in range(begin, begin + 14 * 86400, 3600)]
    for before, after in pairwise(looks):
        assert after == before or after.moment == before.until
    assert len({look.moment for look in looks}) == 1 + 2 * 10  # ten evenings, and the one before
