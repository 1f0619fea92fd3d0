"""When an entry rings."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from icalendar import Calendar

from scheduler.facts.hours import QUIET
from scheduler.planning.plan import PlannedTask, Told
from tests.outputs.calendar.written import written
from tests.outputs.plans import HOUR, at, plan, task


def alarm_of(*tasks: PlannedTask, holding: str) -> tuple[datetime, timedelta | datetime, bytes]:
    """Start, trigger and bytes of the alarm of the one event that holds a step."""
    (event,) = (part for part in Calendar.from_ical(written(plan(*tasks, quiet=QUIET))).events if holding in part.get("X-AFTERPULL-STEPS", ""))
    (ring,) = event.walk("VALARM")
    return event.start, ring.TRIGGER, ring["TRIGGER"].to_ical()


def test_an_alarm_moves_with_its_entry_and_rings_when_the_plan_says() -> None:
    """Relative, in hours and minutes, at or before the start: P1DT15H reads an hour off in some clients across a change of the clocks."""
    soon = task("drain", at("2026-08-11 18:20"), alerts=(Told(at("2026-08-11 18:05"), "Set out the rack"),))
    assert alarm_of(soon, holding="drain")[2] == b"-PT15M"
    ahead = task("treat", at("2026-08-13 17:30"), alerts=(Told(at("2026-08-12 17:30"), "Treatment is next"),))
    assert alarm_of(ahead, holding="treat")[1:] == (timedelta(hours=-10, minutes=-30), b"-PT10H30M")  # 07:00: twelve hours before is quiet


def test_the_end_of_a_hold_that_hands_close_rings_as_they_close_it() -> None:
    """The rack is drained while the keeper is at work: the alarm is that of the sitting that takes the pieces off."""
    told = Told(at("2026-08-12 14:30"), "Cut edges drained")
    hands = ((at("2026-08-11 18:20"), at("2026-08-11 18:30")), (at("2026-08-12 17:30"), at("2026-08-12 17:35")))
    drain = task("drain", at("2026-08-11 18:20"), minutes=10, hold=20 * HOUR, end_minutes=5, alerts=(told,), hands=hands)
    start, trigger, _ = alarm_of(drain, holding="drain end")
    assert (start, trigger) == (datetime.fromtimestamp(hands[1][0], start.tzinfo), timedelta(0))


def test_dawn_and_dusk_in_quiet_hours_are_told_the_evening_before_and_the_rest_in_the_morning() -> None:
    """Ten at night to seven; what wants to be told at half past five for eight o'clock waits until seven."""
    dawn = task("take-off", at("2026-08-12 05:30"), sun_tied=True, alerts=(Told(at("2026-08-12 05:30"), "Take them off"),))
    assert alarm_of(dawn, holding="take-off")[1] == timedelta(hours=-8, minutes=-30)  # 21:00
    later = task("spin", at("2026-08-12 08:00"), alerts=(Told(at("2026-08-12 05:30"), "Warm enough"),))
    assert alarm_of(later, holding="spin")[1] == timedelta(hours=-1)
    night = task("spin", at("2026-08-12 23:00"), alerts=(Told(at("2026-08-12 23:00"), "Spin now"),))
    assert alarm_of(night, holding="spin")[1] == timedelta(0)  # work is planned then, and crop is lost without it


def test_an_alarm_across_a_change_of_the_clocks_is_a_moment() -> None:
    """25 October 2026: nine in the evening before, for half past four; relative to the start some clients would ring an hour off (RFC 5545 section 3.8.6.3)."""
    dawn = task("take-off", at("2026-10-25 04:30"), sun_tied=True, alerts=(Told(at("2026-10-25 04:30"), "Take them off"),))
    assert alarm_of(dawn, holding="take-off")[1:] == (datetime(2026, 10, 24, 19, 0, tzinfo=UTC), b"20261024T190000Z")
