"""From the ledger to a calendar: published once, revised only where something changed, narrowed without a second revision."""

from __future__ import annotations

import re
from collections import Counter
from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from scheduler.application.publish import Feeds, publish_plan, select
from scheduler.diagnostics import Fault
from scheduler.facts.fact import AlertAcknowledged, TaskBegun, TaskDone, TaskSkipped, YardSet
from scheduler.ledger.store import Ledger
from scheduler.outputs.calendar.check import check
from scheduler.outputs.calendar.publication import steps_of
from scheduler.outputs.calendar.uids import read_entry_uid
from tests.conftest import EXAMPLES, PULLED

HOUR = 3600


def names(content: bytes) -> set[str]:
    """The UIDs of a calendar."""
    return {str(part["UID"]) for part in Calendar.from_ical(content).subcomponents if part.name in ("VEVENT", "VTODO")}


def plainly(content: bytes) -> bytes:
    """A calendar without the relations between its entries."""
    return re.sub(rb"RELATED-TO(?:[^\r]|\r\n )*\r\n", b"", content)


def test_the_same_facts_at_the_same_time_give_the_same_bytes(ledger: Ledger) -> None:
    """Published a second time nothing is raised, and both calendars are sound."""
    first = publish_plan(ledger, PULLED)
    second = publish_plan(ledger, PULLED)
    for wanted in (select(), select(todos=True), select(holds=True)):
        assert first.calendar(wanted) == second.calendar(wanted)
        assert check(first.calendar(wanted), "feed.ics") == []


def _moment(at: date | datetime) -> float:
    """A moment [epoch s]; of a day its midnight at the yard."""
    return (at if isinstance(at, datetime) else datetime(at.year, at.month, at.day, tzinfo=ZoneInfo("Europe/Ljubljana"))).timestamp()


def test_every_stretch_of_work_lies_in_one_busy_event_and_every_task_is_one_to_do(ledger: Ledger) -> None:
    """Nothing of the plan is lost on the way to sittings; holds are shown only when asked for."""
    sent = publish_plan(ledger, PULLED)
    content = sent.calendar(select(everything=True))
    spans = [tuple(map(_moment, (event.start, event.end))) for event in Calendar.from_ical(content).events if ".sitting@" in str(event["UID"])]
    whole = [span for span in spans if span[1] - span[0] < 23 * HOUR]
    days = [span for span in spans if span[1] - span[0] >= 23 * HOUR]
    for task in sent.plan.tasks:
        for start, end in task.hands:
            holding = [span for span in whole if span[0] <= start and end <= span[1]]
            assert len(holding) == 1 or (task.all_day and any(first <= start < last for first, last in days))
    todos = Counter((read_entry_uid(name) or ("",))[0] for name in names(sent.calendar(select(todos=True, everything=True))))
    assert todos.keys() >= {task.id for task in sent.plan.tasks if task.hands}
    assert set(todos.values()) == {1}
    holding = names(sent.calendar(select(holds=True))) - names(sent.calendar(select()))
    assert holding
    assert all(read_entry_uid(name)[1] == "hold" for name in holding)  # type: ignore[index]


def test_a_calendar_shows_three_weeks_and_the_next_of_each_series(ledger: Ledger) -> None:
    """DESIGN section 7; --all shows the rest, under the same UIDs."""
    sent = publish_plan(ledger, PULLED)
    shown, everything = (names(sent.calendar(select(everything=all_of_it))) for all_of_it in (False, True))
    assert shown < everything
    far = {task.id for task in sent.plan.tasks if task.is_open and task.start >= PULLED + 21 * 24 * HOUR}
    series = {(task.rule, task.harvest, task.lot) for task in sent.plan.tasks}
    first = {min((task.start, task.id) for task in sent.plan.tasks if (task.rule, task.harvest, task.lot) == one)[1] for one in series}
    todos = {(read_entry_uid(name) or ("",))[0] for name in names(sent.calendar(select(todos=True)))}
    assert todos & far
    assert todos & far <= first
    assert {task.id for task in sent.plan.tasks if task.hands and task.id not in far} <= todos


def test_a_stream_a_place_and_hands_on_narrow_the_feed(ledger: Ledger) -> None:
    """An entry has the same bytes in every feed that shows it, but for relations to entries that this one leaves out."""
    sent = publish_plan(ledger, PULLED)
    everything = plainly(sent.calendar(select(holds=True)))
    for wanted in (select(streams=["extracted"]), select(places=["apiary"]), select(streams=["extracted"], places=["store"]), select(hands_only=True)):
        part = sent.calendar(wanted)
        assert names(part) < names(sent.calendar(select(holds=True)))
        assert check(part, "feed.ics") == []
        assert all(entry in everything for entry in re.findall(rb"BEGIN:VEVENT.*?END:VEVENT\r\n", plainly(part), re.DOTALL))


def test_a_calendar_with_nothing_in_it_is_still_one(ledger: Ledger) -> None:
    """RFC 5545 section 3.6 asks for one component at least: the zone of the yard stands where no entry does, and readers take it for an empty calendar."""
    empty = publish_plan(ledger, PULLED).calendar(select(streams=["cut comb"], places=["apiary"]))
    assert names(empty) == set()
    assert check(empty, "feed.ics") == []
    assert [str(zone["TZID"]) for zone in Calendar.from_ical(empty).walk("VTIMEZONE")] == ["Europe/Ljubljana"]


def test_what_is_told_raises_the_entries_it_moves(ledger: Ledger) -> None:
    """Skipping a task cancels its entry; an entry nobody moved keeps its revision."""
    before = publish_plan(ledger, PULLED)
    name = next(task.id for task in before.plan.tasks if task.hands and not task.links)
    ledger.append([TaskSkipped(occurred_at=PULLED, task=name, because="rain")], PULLED)
    after = publish_plan(ledger, PULLED)
    revised = {uid for uid, state in after.published.items() if state.sequence}
    assert any(read_entry_uid(uid)[0] == name and b"STATUS:CANCELLED" in after.published[uid].content for uid in revised)  # type: ignore[index]
    assert all(after.published[uid] == before.published[uid] for uid in before.published.keys() - revised)


def test_what_was_done_stands_where_it_was_done(ledger: Ledger) -> None:
    """The to-do is ticked with the time that was told; the event is titled done, takes no time and does not ring; both stay as they are."""
    task = next(task for task in publish_plan(ledger, PULLED).plan.tasks if task.hands and task.hold_done is None)
    ledger.append([TaskDone(occurred_at=PULLED + 600, task=task.id, started_at=PULLED + 60)], PULLED + 600)
    sent = publish_plan(ledger, PULLED + 600)
    todo = next(part for part in Calendar.from_ical(sent.calendar(select(todos=True))).todos if str(part["UID"]).startswith(f"{task.id}.begin"))
    assert (str(todo["STATUS"]), int(todo["PERCENT-COMPLETE"]), int(todo["COMPLETED"].dt.timestamp())) == ("COMPLETED", 100, PULLED + 600)
    (event,) = (part for part in Calendar.from_ical(sent.calendar(select())).events if task.id in str(part.get("X-AFTERPULL-STEPS")))
    assert str(event["SUMMARY"]).startswith("Done: ")
    assert (str(event["TRANSP"]), event.subcomponents) == ("TRANSPARENT", [])
    assert event.start.timestamp() == PULLED + 60
    assert publish_plan(ledger, PULLED + 600).published == sent.published


def test_a_step_that_is_done_leaves_the_sitting_and_the_rest_keeps_its_uid(ledger: Ledger) -> None:
    """Two of an evening's steps are told: one entry of what is left, under the UID that phones have, and one of what is done."""
    evening = PULLED + 7 * HOUR
    before = publish_plan(ledger, evening)
    plain = {f"{task.id} begin" for task in before.plan.tasks if task.sittings and task.hold_done is None}
    sent = {uid: steps_of(state.content) for uid, state in before.published.items()}
    uid, steps = next((uid, steps) for uid, steps in sent.items() if len(steps) > 2 and plain.issuperset(steps[:2]))
    done = [key.rpartition(" ")[0] for key in steps[:2]]
    ledger.append([TaskDone(occurred_at=evening + 900, task=name, started_at=evening) for name in done], evening + 900)
    after = publish_plan(ledger, evening + 900)
    left = set(steps_of(after.published[uid].content))
    assert left & set(steps[2:])
    assert left.isdisjoint(steps[:2])
    assert after.published[uid].sequence == before.published[uid].sequence + 1
    over = [state for state in after.published.values() if b"SUMMARY:Done: " in state.content]
    assert [set(steps_of(state.content)) for state in over] == [set(steps[:2])]


def test_what_fell_away_is_cancelled_once_and_leaves(ledger: Ledger) -> None:
    """Titled so and transparent in the next refresh; a day later it is gone."""
    before = publish_plan(ledger, PULLED)
    uid, (key,) = next((uid, steps_of(state.content)) for uid, state in before.published.items() if len(steps_of(state.content)) == 1)
    ledger.append([TaskSkipped(occurred_at=PULLED, task=key.rpartition(" ")[0], because="rain")], PULLED + 60)
    content = publish_plan(ledger, PULLED + 60).published[uid].content
    assert all(line in content for line in (b"SUMMARY:Cancelled: ", b"STATUS:CANCELLED", b"TRANSP:TRANSPARENT"))
    assert b"VALARM" not in content
    assert uid not in publish_plan(ledger, PULLED + 25 * HOUR).published


def test_a_hold_that_was_begun_is_a_to_do_in_process_until_it_is_over(ledger: Ledger) -> None:
    """The work that starts a hold is over; the to-do is due as the hold ends."""
    planned = publish_plan(ledger, PULLED)
    task = next(task for task in planned.plan.tasks if task.closing)
    ledger.append([TaskBegun(occurred_at=PULLED + 600, task=task.id)], PULLED + 600)
    sent = publish_plan(ledger, PULLED + 600)
    (todo,) = (part for part in Calendar.from_ical(sent.calendar(select(todos=True))).todos if str(part["UID"]).startswith(f"{task.id}.begin"))
    hold_done = next(one.hold_done for one in sent.plan.tasks if one.id == task.id)
    assert (str(todo["STATUS"]), todo["DUE"].dt.timestamp()) == ("IN-PROCESS", hold_done)
    over = next(event for event in Calendar.from_ical(sent.calendar(select())).events if f"{task.id} begin" in str(event.get("X-AFTERPULL-STEPS")))
    assert over.start.timestamp() == PULLED + 600 - task.work[0]  # until when it was told as begun


def test_a_dismissed_alert_is_acknowledged_in_event_and_todo(ledger: Ledger) -> None:
    """RFC 9074 section 6.1: ACKNOWLEDGED says when, so that no client rings again."""
    task = next(task for task in publish_plan(ledger, PULLED).plan.tasks if task.id == "ridge-2/b/give-back")
    ledger.append([AlertAcknowledged(occurred_at=PULLED + 60, alert=f"{task.id}#0@keeper")], PULLED + 60)
    sent = publish_plan(ledger, PULLED + 60)
    dismissed = [uid for uid, state in sent.published.items() if b"ACKNOWLEDGED:" in state.content]
    (sitting,) = (uid for uid, state in sent.published.items() if f"{task.id} begin" in steps_of(state.content) and b"VEVENT" in state.content)
    assert set(dismissed) == {sitting, f"{task.id}.begin.todo@kestrel-bank.afterpull"}


def test_a_feed_is_rendered_once_until_something_is_told(ledger: Ledger) -> None:
    """A hundred fetches cost one rendering; a new fact costs one more."""
    clock = [PULLED]
    feeds = Feeds(ledger, lambda: clock[0])
    first = [feeds.rendered(select()) for _ in range(100)][-1]
    assert feeds.renders == 1
    clock[0] += 600
    assert feeds.rendered(select()) is first
    ledger.append([TaskSkipped(occurred_at=PULLED, task=feeds.sent().plan.tasks[0].id, because="rain")], clock[0])
    second = feeds.rendered(select())
    assert (feeds.renders, second.etag == first.etag) == (2, False)


def test_a_stream_that_does_not_exist_is_refused_with_the_nearest() -> None:
    """So is a list of to-dos with holds in it."""
    with pytest.raises(Fault, match="there is no stream") as refused:
        select(streams=("cutcomb",))
    assert "cut comb" in refused.value.write
    with pytest.raises(Fault, match="a hold is nothing to do"):
        select(todos=True, holds=True)


def test_a_ledger_that_has_known_two_yards_shows_either(ledger: Ledger) -> None:
    """The yard is set again under another name: what is planned now goes by that, and what was sent under the old one is cancelled there."""
    publish_plan(ledger, PULLED)
    text = (EXAMPLES / "yard.yaml").read_text(encoding="utf-8").replace("yard: Kestrel Bank", "yard: Alder Shed")
    ledger.append([YardSet(occurred_at=PULLED + 60, text=text, path="yard.yaml")], PULLED + 60)
    sent = publish_plan(ledger, PULLED + 60)
    now, before = (sent.calendar(select(yards=[yard])) for yard in ("Alder Shed", "kestrel-bank"))
    assert names(now) | names(before) == names(sent.calendar(select()))
    assert before.count(b"STATUS:CANCELLED") == len(names(before)) > 0
    assert b"STATUS:CANCELLED" not in now
    with pytest.raises(Fault, match='there is no yard "ridge"'):
        sent.calendar(select(yards=["ridge"]))


def test_time_alone_moves_the_feed_as_an_evening_begins_and_as_it_is_over(ledger: Ledger) -> None:
    """Nobody tells what was done. Through the evening every fetch has the same bytes; after it the work left over stands on the next."""
    start, end = PULLED + 7 * HOUR, PULLED + 11 * HOUR  # 17:30 to 21:30
    clock = [start]
    feeds = Feeds(ledger, lambda: clock[0])
    evening = []
    for clock[0] in range(start, end, 20 * 60):
        evening.append(feeds.rendered(select()).content)
    assert len(set(evening)) == 1
    assert evening[0] == publish_plan(ledger, end - 60).calendar(select())
    clock[0] = end
    later = feeds.rendered(select()).content
    assert b"DTSTART;TZID=Europe/Ljubljana:20260811T1" in evening[0]
    assert b"DTSTART;TZID=Europe/Ljubljana:20260811T1" not in later.replace(b"20260811T10", b"")


def test_all_that_was_published_passes_the_check_of_the_ledger(ledger: Ledger) -> None:
    """Entries of a whole day among it; nothing of it is made anew the next time."""
    sent = publish_plan(ledger, PULLED)
    assert any(b"DTSTART;VALUE=DATE:" in state.content for state in sent.published.values())
    assert ledger.check() == []
    assert not publish_plan(ledger, PULLED).remade
