"""The events of a plan: sittings, limits and ends of holds."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from icalendar import Calendar

from scheduler.facts.hours import QUIET
from scheduler.outputs.calendar.check import check
from scheduler.outputs.calendar.vcalendar import calendar
from scheduler.planning.plan import Link, Told
from tests.outputs.calendar.written import STAMP, only, written
from tests.outputs.plans import HOUR, at, plan, task


def test_work_in_the_hour_that_comes_twice_is_written_in_utc() -> None:
    """25 October 2026, 02:30 at the yard is two instants; a local time may only name the first (RFC 5545 section 3.3.5)."""
    second = at("2026-10-25 02:30") + HOUR
    entry = only(plan(task("drain", second)))
    assert entry["DTSTART"].to_ical() == b"20261025T013000Z"
    assert "TZID" not in entry["DTSTART"].params


def test_a_hold_takes_no_busy_time() -> None:
    """Draining for 41 hours asks nobody: the event is the ten minutes of work, the hold only shows where wanted, and then as free time."""
    draining = plan(task("drain", at("2026-08-11 18:20"), minutes=10, hold=41 * HOUR))
    work, hold, over = Calendar.from_ical(written(draining, holds=True)).events
    assert work.duration == timedelta(minutes=10)
    assert [str(event["TRANSP"]) for event in (work, hold, over)] == ["OPAQUE", "TRANSPARENT", "TRANSPARENT"]
    assert over.start == hold.end
    assert hold.duration == timedelta(hours=41)


@pytest.mark.parametrize(
    ("status", "event", "todo"),
    [
        ("planned", "CONFIRMED", "NEEDS-ACTION"),
        ("provisional", "TENTATIVE", "NEEDS-ACTION"),
        ("done", "CONFIRMED", "COMPLETED"),
    ],
)
def test_a_task_s_standing_is_the_status_a_calendar_knows(status: str, event: str, todo: str) -> None:
    """RFC 5545 section 3.8.1.11 has other words for events than for to-dos."""
    one = plan(task("drain", at("2026-08-11 18:20"), status=status, work=(1800, 0)))
    assert str(only(one)["STATUS"]) == event
    assert str(only(one, todos=True)["STATUS"]) == todo


def test_what_waits_for_a_hold_says_for_how_long() -> None:
    """RFC 9253: packing waits for the draining, whose work is over 41 hours before it."""
    drain = task("drain", at("2026-08-11 18:20"), minutes=10, hold=41 * HOUR)
    pack = task("pack", at("2026-08-13 17:30"), links=(Link(drain.id, least=HOUR),))
    event = next(part for part in Calendar.from_ical(written(plan(drain, pack))).events if "pack" in part.get("X-AFTERPULL-STEPS", ""))
    assert str(event["RELATED-TO"]) == "2026-08-11/1.sitting@kestrel-bank.afterpull"
    assert event["RELATED-TO"].params["RELTYPE"] == "FINISHTOSTART"
    assert event["RELATED-TO"].params["GAP"] == "P1DT18H"


def test_what_belongs_to_a_day_is_an_entry_of_that_day() -> None:
    """Free all day, told the evening before; with work beside it that has an hour it is part of that."""
    heft = task("heft", at("2026-10-09 19:00"), all_day=True, place="apiary", alerts=(Told(at("2026-10-09 19:00"), "Heft"),))
    event = only(plan(heft, as_of=at("2026-10-08 12:00")))
    assert (event["DTSTART"].to_ical(), event["DTEND"].to_ical(), str(event["TRANSP"])) == (b"20261009", b"20261010", "TRANSPARENT")
    assert event.walk("VALARM")[0]["TRIGGER"].to_ical() == b"-PT6H"
    beside = only(plan(heft, task("feed", at("2026-10-09 19:30"), place="apiary")))
    assert (beside.duration, str(beside["TRANSP"])) == (timedelta(hours=1), "OPAQUE")


def test_a_limit_is_an_entry_of_its_day() -> None:
    """Nobody works on it; its alarm is of the evening before, also where the card would ring at night."""
    limit = task("work-up", at("2026-08-18 10:30"), hands=(), due=at("2026-08-18 10:30"), alerts=(Told(at("2026-08-17 22:30"), "Cut or spin soon"),))
    event = only(plan(limit, quiet=QUIET))
    assert (str(event["SUMMARY"]), event["DTSTART"].to_ical(), str(event["TRANSP"])) == ("ridge-2: by 10:30: work up a", b"20260818", "TRANSPARENT")
    assert event.walk("VALARM")[0]["TRIGGER"].to_ical() == b"-PT6H"


def test_a_hold_that_nobody_closes_stands_where_it_is_over_or_in_the_morning_after() -> None:
    """Its alarm at its start; at night nobody is woken for a tank that has settled: who means to bottle at half past five is called to that."""
    told = (Told(at("2026-08-11 22:30"), "Settled"),)
    settle = task("settle", at("2026-08-11 15:30"), minutes=5, hold=7 * HOUR - 300, alerts=told)
    over = next(event for event in Calendar.from_ical(written(plan(settle, quiet=QUIET))).events if ".over@" in event["UID"])
    assert (over.start, over.walk("VALARM")[0].TRIGGER) == (datetime.fromtimestamp(at("2026-08-12 07:00"), over.start.tzinfo), timedelta(0))
    bottle = task("bottle", at("2026-08-12 05:30"), links=(Link(settle.id),))
    assert not [event for event in Calendar.from_ical(written(plan(settle, bottle, quiet=QUIET))).events if ".over@" in event["UID"]]


def test_a_filter_leaves_no_relation_into_the_void() -> None:
    """Only the extracted honey: what it waits for in other streams is not named."""
    give = task("give-back", at("2026-08-12 20:05"), stream="extracted", links=(Link("ridge-2/a/cut"),))
    content = calendar(plan(task("cut", at("2026-08-11 17:30")), give), name="Wet frames", stamp=STAMP, streams={"extracted"})
    assert [str(event["CATEGORIES"].cats[0]) for event in Calendar.from_ical(content).events] == ["extracted"]
    assert check(content, "x.ics") == []


def test_the_end_of_a_hold_that_work_follows_soon_is_shown_by_that_work() -> None:
    """Honey settles at noon and is bottled that evening: one entry, which rings for both; where the work is of another day, the end stands by itself."""
    told = (Told(at("2026-08-12 12:20"), "Settled: skim and bottle"),)
    settle = task("settle", at("2026-08-11 17:30"), minutes=60, hold=17 * HOUR + 3000, alerts=told)
    bottle = task("bottle", at("2026-08-12 17:30"), links=(Link(settle.id),))
    events = Calendar.from_ical(written(plan(settle, bottle, quiet=QUIET))).events
    assert [str(event["UID"]).partition("@")[0] for event in events] == ["2026-08-11/1.sitting", "2026-08-12/1.sitting"]
    assert [str(ring["DESCRIPTION"]) for ring in events[1].walk("VALARM")] == ["Settled: skim and bottle"]
    late = task("bottle", at("2026-08-13 17:30"), links=(Link(settle.id),))
    assert sum(".over@" in event["UID"] for event in Calendar.from_ical(written(plan(settle, late, quiet=QUIET))).events) == 1


def test_nobody_is_called_to_work_that_waits_where_the_way_home_ends() -> None:
    """Supers are pulled 50 minutes away until three; the spinning planned for when the keeper is home rings no more than the next step of a sitting.

    Wax that nothing is lost by waits an hour's rest without a call, comb does not.
    """
    close = task("close", at("2026-08-15 14:50"), minutes=10, place="Over Fell", way=50 * 60, alerts=(Told(at("2026-08-15 14:50"), "Cover the supers"),))
    spin = task("spin", at("2026-08-15 15:55"), place="honey room", alerts=(Told(at("2026-08-15 15:55"), "Spin"),), loss="crop")
    first, second = Calendar.from_ical(written(plan(close, spin, quiet=QUIET))).events
    assert (len(first.walk("VALARM")), len(second.walk("VALARM"))) == (1, 0)
    for loss, minutes, rings in (("crop", 25, 1), ("comfort", 25, 0), ("comfort", 65, 1)):
        start = at("2026-08-15 15:50") + minutes * 60
        rested = task("spin", start, place="honey room", alerts=(Told(start, "Spin"),), loss=loss)
        assert len(Calendar.from_ical(written(plan(close, rested, quiet=QUIET))).events[1].walk("VALARM")) == rings
