"""A plan as iCalendar: the bytes, the text in them, and what each property means."""

from __future__ import annotations

import unicodedata
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar, Component

from scheduler.facts.hours import QUIET
from scheduler.outputs.calendar.check import check
from scheduler.outputs.calendar.vcalendar import calendar
from scheduler.outputs.plain_text import one_line
from scheduler.planning.plan import Link, Plan, PlannedTask, Reason, Told
from scheduler.quantities import say
from tests.outputs.plans import HOUR, at, plan, ridge, task

GOLDEN = Path(__file__).parents[1] / "golden"
STAMP = datetime(2026, 8, 11, 8, 30, tzinfo=UTC)
ANYTHING = st.text(st.characters(exclude_categories=()), max_size=300)


def written(of: Plan, **options: bool) -> bytes:
    """The calendar of a plan, written when the supers came off."""
    return calendar(of, name="Kestrel Bank, after the pull", stamp=STAMP, **options)


def only(of: Plan, **options: bool) -> Component:
    """The one entry of a plan's calendar."""
    (entry,) = [part for part in Calendar.from_ical(written(of, **options)).subcomponents if part.name in ("VEVENT", "VTODO")]
    return entry


@pytest.mark.parametrize(("name", "options"), [("ridge.ics", {}), ("ridge-todos.ics", {"todos": True}), ("ridge-holds.ics", {"holds": True})])
def test_the_bytes_of_a_calendar_are_these(name: str, options: dict[str, bool]) -> None:
    """Five frames of cut comb: events, to-dos, and events with the holds shown; compared byte by byte."""
    assert written(ridge(), **options) == (GOLDEN / name).read_bytes()
    assert check((GOLDEN / name).read_bytes(), name) == []


def test_the_same_plan_gives_the_same_bytes() -> None:
    """Two plans made apart from each other, one calendar."""
    assert written(ridge()) == written(ridge())


@given(ANYTHING, ANYTHING)
def test_any_text_of_any_plane_comes_out_sound_and_comes_back(title: str, why: str) -> None:
    """Every Unicode plane, CR, LF, commas, half surrogates, controls: the file is sound and a reader gets the text back, controls made safe."""
    reasons = (Reason("card drain", say("as written", text=why)),)
    drain = task("drain", at("2026-08-11 18:20"), title=title, reasons=reasons, alerts=(Told(at("2026-08-11 18:00"), title),))
    content = written(plan(drain))
    assert check(content, "x.ics") == []
    (event,) = Calendar.from_ical(content).events
    assert str(event["SUMMARY"]) == "ridge-2: drain a"
    assert f"18:20 {(one_line(title) or 'ridge-2/a/drain')[:150]}" in str(event["DESCRIPTION"])
    (todo,) = Calendar.from_ical(written(plan(drain), todos=True)).todos
    assert str(todo["SUMMARY"]) == (one_line(title) or "ridge-2/a/drain")
    assert not {char for char in content.decode() if unicodedata.category(char) == "Cc"} - {"\r", "\n"}


@pytest.mark.parametrize("letter", ["a", "č", "蜜", "🐝", ",", "\\", ";", "\n", '"', "^"])
def test_a_title_of_5000_characters_is_folded_between_characters(letter: str) -> None:
    """No line above 75 octets, none that splits a character, and the whole title comes back."""
    title = "A" + 4998 * letter + "Z"
    content = written(plan(task("drain", at("2026-08-11 18:20"), title=title)), todos=True)
    assert check(content, "x.ics") == []
    (todo,) = Calendar.from_ical(content).todos
    assert str(todo["SUMMARY"]) == one_line(title)


def test_bidirectional_controls_do_not_turn_the_line_round() -> None:
    """A title that opens an override and never closes it would show the times after it backwards; Hebrew and Arabic letters stay."""
    entry = only(plan(task("drain", at("2026-08-11 18:20"), title="\u202eדבש \u2067عسل 12")), todos=True)
    assert str(entry["SUMMARY"]) == "דבש عسل 12"


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


def test_a_to_do_that_is_done_says_when() -> None:
    """PERCENT-COMPLETE and COMPLETED, so that a task list ticks it."""
    entry = only(plan(task("drain", at("2026-08-11 18:20"), minutes=10, status="done")), todos=True)
    assert entry["PERCENT-COMPLETE"] == 100
    assert entry["COMPLETED"].dt.timestamp() == at("2026-08-11 18:30")


def test_a_to_do_is_due_at_its_due_date() -> None:
    """DUE is the task's due date, not the end of the half hour it takes."""
    entry = only(plan(task("drain", at("2026-08-11 18:20"), due=at("2026-08-14 12:00"))), todos=True)
    assert entry["DUE"].dt.timestamp() == at("2026-08-14 12:00")


def test_what_waits_for_a_hold_says_for_how_long() -> None:
    """RFC 9253: packing waits for the draining, whose work is over 41 hours before it."""
    drain = task("drain", at("2026-08-11 18:20"), minutes=10, hold=41 * HOUR)
    pack = task("pack", at("2026-08-13 17:30"), links=(Link(drain.id, least=HOUR),))
    event = next(part for part in Calendar.from_ical(written(plan(drain, pack))).events if "pack" in part.get("X-AFTERPULL-STEPS", ""))
    assert str(event["RELATED-TO"]) == "2026-08-11/1.sitting@kestrel-bank.afterpull"
    assert event["RELATED-TO"].params["RELTYPE"] == "FINISHTOSTART"
    assert event["RELATED-TO"].params["GAP"] == "P1DT18H"


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


def test_what_belongs_to_a_day_is_an_entry_of_that_day() -> None:
    """Free all day, told the evening before; with work beside it that has an hour it is part of that."""
    heft = task("heft", at("2026-10-09 19:00"), all_day=True, place="apiary", alerts=(Told(at("2026-10-09 19:00"), "Heft"),))
    event = only(plan(heft))
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
    """Its alarm at its start; at three in the night nobody is woken for a tank that has settled, unless somebody means to work on it then."""
    told = (Told(at("2026-08-12 03:00"), "Settled"),)
    settle = task("settle", at("2026-08-11 20:00"), minutes=5, hold=7 * HOUR - 300, alerts=told)
    over = next(event for event in Calendar.from_ical(written(plan(settle, quiet=QUIET))).events if ".over@" in event["UID"])
    assert (over.start, over.walk("VALARM")[0].TRIGGER) == (datetime.fromtimestamp(at("2026-08-12 07:00"), over.start.tzinfo), timedelta(0))
    bottle = task("bottle", at("2026-08-12 03:30"), links=(Link(settle.id),))
    over = next(event for event in Calendar.from_ical(written(plan(settle, bottle, quiet=QUIET))).events if ".over@" in event["UID"])
    assert over.start == datetime.fromtimestamp(at("2026-08-12 03:00"), over.start.tzinfo)


def test_a_filter_leaves_no_relation_into_the_void() -> None:
    """Only the extracted honey: what it waits for in other streams is not named."""
    give = task("give-back", at("2026-08-12 20:05"), stream="extracted", links=(Link("ridge-2/a/cut"),))
    content = calendar(plan(task("cut", at("2026-08-11 17:30")), give), name="Wet frames", stamp=STAMP, streams={"extracted"})
    assert [str(event["CATEGORIES"].cats[0]) for event in Calendar.from_ical(content).events] == ["extracted"]
    assert check(content, "x.ics") == []


def test_a_plan_without_tasks_is_still_a_calendar() -> None:
    """A subscriber of an empty plan gets a file a reader takes: its header, and nothing to do."""
    assert Calendar.from_ical(written(plan())).events == []


def test_the_end_of_a_hold_that_work_follows_at_once_is_shown_by_that_work() -> None:
    """Honey that has cooled is poured: one entry, which rings for both; where the work comes later the end of the hold stands by itself."""
    told = (Told(at("2026-08-12 18:00"), "Pour now"),)
    warm = task("warm", at("2026-08-12 14:00"), minutes=60, hold=3 * HOUR, alerts=told)
    fill = task("fill", at("2026-08-12 18:10"), links=(Link(warm.id),))
    events = Calendar.from_ical(written(plan(warm, fill, quiet=QUIET))).events
    assert [str(event["UID"]).partition("@")[0] for event in events] == ["2026-08-12/1.sitting", "2026-08-12/2.sitting"]
    assert [str(ring["DESCRIPTION"]) for ring in events[1].walk("VALARM")] == ["Pour now"]
    late = task("fill", at("2026-08-12 18:21"), links=(Link(warm.id),))
    assert sum(".over@" in event["UID"] for event in Calendar.from_ical(written(plan(warm, late, quiet=QUIET))).events) == 1
