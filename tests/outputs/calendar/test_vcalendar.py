"""A plan as iCalendar: the bytes, the text in them, and what each property means."""

from __future__ import annotations

import unicodedata
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar, Component
from icalendar.parser import Contentline

from scheduler.outputs.calendar.check import check
from scheduler.outputs.calendar.content_lines import LIMIT, folded
from scheduler.outputs.calendar.vcalendar import calendar
from scheduler.outputs.plain_text import one_line, paragraphs
from scheduler.planning.plan import Link, Plan, Reason, Told
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
    content = written(plan(task("drain", at("2026-08-11 18:20"), title=title, reasons=reasons, alerts=(Told(at("2026-08-11 18:00"), title),))))
    assert check(content, "x.ics") == []
    (event,) = Calendar.from_ical(content).events
    assert str(event["SUMMARY"]) == (one_line(title) or "ridge-2/a/drain")
    assert paragraphs(f"card drain: {why}").strip() in str(event["DESCRIPTION"])
    assert not {char for char in content.decode() if unicodedata.category(char) == "Cc"} - {"\r", "\n"}


@pytest.mark.parametrize("letter", ["a", "č", "蜜", "🐝", ",", "\\", ";", "\n", '"', "^"])
def test_a_title_of_5000_characters_is_folded_between_characters(letter: str) -> None:
    """No line above 75 octets, none that splits a character, and the whole title comes back."""
    title = "A" + 4998 * letter + "Z"
    content = written(plan(task("drain", at("2026-08-11 18:20"), title=title)))
    assert check(content, "x.ics") == []
    (event,) = Calendar.from_ical(content).events
    assert str(event["SUMMARY"]) == one_line(title)


def test_bidirectional_controls_do_not_turn_the_line_round() -> None:
    """A title that opens an override and never closes it would show the times after it backwards; Hebrew and Arabic letters stay."""
    entry = only(plan(task("drain", at("2026-08-11 18:20"), title="\u202eדבש \u2067عسل 12")))
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
    assert only(draining).duration == timedelta(minutes=10)
    work, hold = Calendar.from_ical(written(draining, holds=True)).events
    assert (str(work["TRANSP"]), str(hold["TRANSP"])) == ("OPAQUE", "TRANSPARENT")
    assert hold.duration == timedelta(hours=41)


@pytest.mark.parametrize(
    ("status", "event", "todo"),
    [
        ("planned", "CONFIRMED", "NEEDS-ACTION"),
        ("provisional", "TENTATIVE", "NEEDS-ACTION"),
        ("done", "CONFIRMED", "COMPLETED"),
        ("skipped", "CANCELLED", "CANCELLED"),
    ],
)
def test_a_task_s_standing_is_the_status_a_calendar_knows(status: str, event: str, todo: str) -> None:
    """RFC 5545 section 3.8.1.11 has other words for events than for to-dos."""
    one = plan(task("drain", at("2026-08-11 18:20"), status=status))
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
    event = next(part for part in Calendar.from_ical(written(plan(drain, pack))).events if "pack" in part["UID"])
    assert str(event["RELATED-TO"]) == "ridge-2/a/drain.begin@kestrel-bank.afterpull"
    assert event["RELATED-TO"].params["RELTYPE"] == "FINISHTOSTART"
    assert event["RELATED-TO"].params["GAP"] == "P1DT18H"


def test_an_alarm_moves_with_its_entry_and_rings_when_the_plan_says() -> None:
    """Triggers are relative; before the start by the start, after the end by the end."""
    alerts = (Told(at("2026-08-11 18:05"), "Set out the rack"), Told(at("2026-08-13 11:30"), "Cut edges drained"))
    entry = only(plan(task("drain", at("2026-08-11 18:20"), minutes=10, hold=41 * HOUR, alerts=alerts)))
    first, second = entry.walk("VALARM")
    assert entry.start + first.TRIGGER == datetime.fromtimestamp(alerts[0].at, UTC)
    assert second["TRIGGER"].params["RELATED"] == "END"
    assert entry.end + second.TRIGGER == datetime.fromtimestamp(alerts[1].at, UTC)


def test_a_filter_leaves_no_relation_into_the_void() -> None:
    """Only the extracted honey: what it waits for in other streams is not named."""
    give = task("give-back", at("2026-08-12 20:05"), stream="extracted", links=(Link("ridge-2/a/cut"),))
    content = calendar(plan(task("cut", at("2026-08-11 17:30")), give), name="Wet frames", stamp=STAMP, streams={"extracted"})
    assert [str(event["CATEGORIES"].cats[0]) for event in Calendar.from_ical(content).events] == ["extracted"]
    assert check(content, "x.ics") == []


def test_a_plan_without_tasks_is_still_a_calendar() -> None:
    """A subscriber of an empty plan gets a file a reader takes: its header, and nothing to do."""
    assert Calendar.from_ical(written(plan())).events == []


def test_a_renamed_task_keeps_its_uid() -> None:
    """The UID is the task's, not the title's."""
    before, after = (task("drain", at("2026-08-11 18:20"), title=title) for title in ("Drain 24 pieces", "Drain 22 pieces"))
    assert only(plan(before))["UID"] == only(plan(after))["UID"]


@given(st.text(st.sampled_from("ab,;n °€🐝\\^"), max_size=4 * LIMIT))
def test_a_line_folds_where_the_library_folds_it(line: str) -> None:
    """No character and no escape is cut in two, whatever stands at the 75th octet (RFC 5545 section 3.1)."""
    assert folded(line) == Contentline(line).to_ical()
