"""A sync against a server in memory: what people do comes back as facts, nothing of theirs is lost, and whatever breaks is picked up."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from icalendar import Alarm

from scheduler.application.early_ticks import early_ticks
from scheduler.application.publish import publish_plan
from scheduler.application.sync import TODOS, sync
from scheduler.facts.fact import AlertAcknowledged, Fact, TaskBegun, TaskDone, TaskPutOff, TaskSkipped
from scheduler.ledger.alerts import PlannedAlert
from scheduler.ledger.store import Ledger
from scheduler.outputs.caldav.http import SyncStopped
from scheduler.outputs.calendar.publication import steps_of
from scheduler.outputs.calendar.uids import read_entry_uid
from tests.conftest import PULLED
from tests.outputs.caldav.double import Lying, other, tick

HOUR = 3600


def facts(ledger: Ledger, kind: type[Fact]) -> list[Any]:
    """The facts of a kind, oldest first."""
    return [one.fact for one in ledger.facts() if isinstance(one.fact, kind)]


def entry(remote: Lying, wanted: Callable[[str, str, Any], bool]) -> tuple[str, str]:
    """The UID and the task of the first entry that fits (task, phase, entry)."""
    for uid, part in sorted(remote.entries().items()):
        named = read_entry_uid(uid)
        if named is not None and wanted(named[0], named[1], part):
            return uid, named[0]
    raise KeyError


def plain_todo(ledger: Ledger, remote: Lying) -> tuple[str, str]:
    """A to-do without a hold, and its task."""
    simple = {task.id for task in publish_plan(ledger, PULLED).plan.tasks if task.hold_done is None and task.status == "planned"}
    return entry(remote, lambda task, phase, part: task in simple and part.name == "VTODO")


def test_everything_is_put_once_and_then_nothing_moves(ledger: Ledger) -> None:
    """Events and to-dos of every phase; a second sync writes nothing."""
    remote = Lying()
    account = sync(ledger, remote, "double", PULLED)
    assert (account.facts, account.left, account.lines) == (0, 0, [])
    assert {part.name for part in remote.entries().values()} == {"VEVENT", "VTODO"}
    puts = remote.puts
    sync(ledger, remote, "double", PULLED)
    assert remote.puts == puts == len(remote.held)


def test_a_tick_on_the_phone_is_a_task_done(ledger: Ledger) -> None:
    """At the time the phone wrote; heard once, and the phone's tick stays."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED, (TODOS,))
    uid, task = plain_todo(ledger, remote)
    remote.edit(uid, lambda part: tick(part, PULLED + HOUR))
    for _ in range(3):
        sync(ledger, remote, "double", PULLED + 2 * HOUR, (TODOS,))
    assert [(one.task, one.occurred_at) for one in facts(ledger, TaskDone)] == [(task, PULLED + HOUR)]
    assert str(remote.entries()[uid]["STATUS"]) == "COMPLETED"


def test_a_tick_begins_a_hold_and_the_next_ends_it_once_it_is_over(ledger: Ledger) -> None:
    """One to-do a task: begun when the packages went in, in process until the hold is over, done when they came out."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED, (TODOS,))
    held = next(task.id for task in publish_plan(ledger, PULLED).plan.tasks if task.closing)
    uid = f"{held}.begin.todo@kestrel-bank.afterpull"
    remote.edit(uid, lambda part: tick(part, PULLED + HOUR))
    sync(ledger, remote, "double", PULLED + 2 * HOUR, (TODOS,))
    assert [(one.task, one.occurred_at) for one in facts(ledger, TaskBegun)] == [(held, PULLED + HOUR)]
    assert str(remote.entries()[uid]["STATUS"]) == "IN-PROCESS"
    remote.edit(uid, lambda part: tick(part, PULLED + 99 * HOUR))
    sync(ledger, remote, "double", PULLED + 99 * HOUR, (TODOS,))
    assert [(one.task, one.started_at, one.occurred_at) for one in facts(ledger, TaskDone)] == [(held, PULLED + HOUR, PULLED + 99 * HOUR)]


def test_a_tick_before_a_hold_is_over_is_asked_about(ledger: Ledger) -> None:
    """It ends nothing: the to-do is in process again, and the agenda asks until the hold is over."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED, (TODOS,))
    held = next(task.id for task in publish_plan(ledger, PULLED).plan.tasks if task.closing)
    uid = f"{held}.begin.todo@kestrel-bank.afterpull"
    remote.edit(uid, lambda part: tick(part, PULLED + HOUR))
    sync(ledger, remote, "double", PULLED + 2 * HOUR, (TODOS,))
    remote.edit(uid, lambda part: tick(part, PULLED + 3 * HOUR))
    report = sync(ledger, remote, "double", PULLED + 4 * HOUR, (TODOS,))
    assert facts(ledger, TaskDone) == []
    assert (report.facts, len(report.lines)) == (0, 1)
    assert str(remote.entries()[uid]["STATUS"]) == "IN-PROCESS"
    plan = publish_plan(ledger, PULLED + 4 * HOUR).plan
    assert [(one.kind, one.task) for one in early_ticks(ledger, plan, PULLED + 4 * HOUR)] == [("ticked early", held)]
    assert list(early_ticks(ledger, plan, PULLED + 99 * HOUR)) == []


def moved(**by: int) -> Callable[[Any], None]:
    """An entry dragged to another time."""

    def change(part: Any) -> None:
        for name in ("DTSTART", "DTEND"):
            part[name].dt += timedelta(**by)

    return change


def sittings_of(ledger: Ledger, now: int) -> dict[str, list[tuple[str, str]]]:
    """Task and phase of the steps of each sitting that was published, by UID."""
    sent = publish_plan(ledger, now).published
    return {uid: [(key.rpartition(" ")[0], key.rpartition(" ")[2]) for key in steps_of(state.content)] for uid, state in sent.items() if ".sitting@" in uid}


def test_a_sitting_moved_later_puts_its_open_steps_off(ledger: Ledger) -> None:
    """The plan takes it up, the event follows, and the sync after that is quiet."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED)
    uid, steps = next((uid, steps) for uid, steps in sittings_of(ledger, PULLED).items() if len(steps) > 4 and {phase for _, phase in steps} == {"begin"})
    start = int(remote.entries()[uid].start.timestamp())
    remote.edit(uid, moved(days=1))
    account = sync(ledger, remote, "double", PULLED + 60)
    assert sorted((one.task, one.until) for one in facts(ledger, TaskPutOff)) == sorted((task, start + 24 * HOUR) for task, _ in steps)
    assert [line for line in account.lines if "put off until" in line] == [account.lines[0]]
    assert int(remote.entries()[uid].start.timestamp()) >= start + 24 * HOUR
    assert sync(ledger, remote, "double", PULLED + 60).facts == 0


def test_a_sitting_moved_in_the_evening_is_read_against_what_the_calendar_shows(ledger: Ledger) -> None:
    """An hour into the evening the calendar stands as it was: half an hour later than it says there is later, not too early."""
    remote, evening = Lying(), PULLED + 7 * HOUR  # 17:30, when the keeper's free hours begin
    sync(ledger, remote, "double", evening)
    here = sittings_of(ledger, evening)
    uid = next(uid for uid, part in sorted(remote.entries().items()) if uid in here and evening < part.start.timestamp() < evening + 4 * HOUR)
    start = int(remote.entries()[uid].start.timestamp())
    remote.edit(uid, moved(minutes=30))
    account = sync(ledger, remote, "double", evening + HOUR)
    assert {one.until for one in facts(ledger, TaskPutOff)} == {start + HOUR // 2}
    assert not any("cannot start" in line for line in account.lines)


def test_a_sitting_moved_before_it_can_be_is_told_and_moved_back(ledger: Ledger) -> None:
    """The plan knows what it waits for."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED)
    here = sittings_of(ledger, PULLED)
    later = datetime.fromtimestamp(PULLED + 48 * HOUR, UTC)
    timed = {uid for uid, part in remote.entries().items() if isinstance(part.start, datetime) and part.start > later}
    uid = min(uid for uid in here.keys() & timed if {phase for _, phase in here[uid]} == {"begin"})
    start = remote.entries()[uid].start
    remote.edit(uid, moved(days=-1))
    account = sync(ledger, remote, "double", PULLED)
    assert facts(ledger, TaskPutOff) == []
    assert any("cannot start" in line and here[uid][0][0] in line for line in account.lines)
    assert remote.entries()[uid].start == start


def test_closing_work_that_is_moved_is_told_and_moved_back(ledger: Ledger) -> None:
    """What ends a hold follows from the hold."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED)
    uid = next(uid for uid, steps in sittings_of(ledger, PULLED).items() if {phase for _, phase in steps} == {"end"} and uid in remote.entries())
    remote.edit(uid, moved(days=1))
    account = sync(ledger, remote, "double", PULLED)
    assert (account.facts, ["follows from its hold" in line for line in account.lines]) == (0, [True])


def test_a_dismissed_alarm_is_an_acknowledged_alert(ledger: Ledger) -> None:
    """RFC 9074 section 6.1; event, to-do and the watch are quiet afterwards."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED)
    uid, task = entry(remote, lambda _, phase, part: part.name == "VTODO" and bool(part.subcomponents))
    ledger.alerts.offer([PlannedAlert(f"{task}#0@keeper", task, PULLED + HOUR, "Soon", "crop")], PULLED)
    remote.edit(uid, lambda part: part.subcomponents[0].add("ACKNOWLEDGED", datetime.fromtimestamp(PULLED + 60, UTC)))
    sync(ledger, remote, "double", PULLED + 120)
    sync(ledger, remote, "double", PULLED + 120)
    (heard,) = facts(ledger, AlertAcknowledged)
    assert (heard.alert, heard.occurred_at) == (f"{task}#0@calendar", PULLED + 60)
    assert [one.acknowledged_at for one in ledger.alerts.all()] == [PULLED + 60]
    assert [name for name, part in remote.entries().items() for alarm in part.subcomponents if "ACKNOWLEDGED" in alarm] == [uid]


def test_the_alarm_of_a_sitting_is_that_of_all_its_alerts(ledger: Ledger) -> None:
    """Dismissed once on the phone, none of them is sent again; event and to-dos are quiet."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED)
    plan = publish_plan(ledger, PULLED).plan
    told = {task.id for task in plan.tasks if any(alert.at <= task.start for alert in task.alerts)}
    here = {uid: {task for task, phase in steps if phase == "begin" and task in told} for uid, steps in sittings_of(ledger, PULLED).items()}
    uid = next(uid for uid, tasks in here.items() if len(tasks) > 1 and {phase for _, phase in sittings_of(ledger, PULLED)[uid]} == {"begin"})
    (ring,) = remote.entries()[uid].subcomponents
    assert str(ring["UID"]) == uid.replace(".sitting@", ".alarm-0@")
    remote.edit(uid, lambda part: part.subcomponents[0].add("ACKNOWLEDGED", datetime.fromtimestamp(PULLED + 60, UTC)))
    sync(ledger, remote, "double", PULLED + 120)
    assert {one.alert for one in facts(ledger, AlertAcknowledged)} == {f"{task}#0@calendar" for task in here[uid]}
    assert "ACKNOWLEDGED" in remote.entries()[uid].subcomponents[0]
    assert sync(ledger, remote, "double", PULLED + 120).facts == 0


def test_percent_and_what_others_add_survive_our_writing(ledger: Ledger) -> None:
    """How far somebody is, their note, their own alarm: our next revision keeps them. A percentage of units is so many units done, once."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED, (TODOS,))
    counted = {one.id: one.count for one in publish_plan(ledger, PULLED).plan.tasks if one.count >= 10 and one.hands}
    uid, task = entry(remote, lambda name, phase, part: name in counted and phase == "begin" and part.name == "VTODO")

    def half(part: Any) -> None:
        part["PERCENT-COMPLETE"] = 40
        part["STATUS"] = "IN-PROCESS"
        part.add("comment", "two racks to go")
        part.add_component(Alarm.new_display(trigger=timedelta(minutes=-5), description="mine", uid="mine"))

    remote.edit(uid, half)
    account = sync(ledger, remote, "double", PULLED, (TODOS,))
    sync(ledger, remote, "double", PULLED, (TODOS,))
    assert any("more are done" in line for line in account.lines)
    assert [one.amount for one in facts(ledger, TaskDone)] == [round(counted[task] * 0.4)]
    ledger.append([TaskPutOff(occurred_at=PULLED, task=task, until=PULLED + 30 * HOUR)], PULLED)
    sync(ledger, remote, "double", PULLED, (TODOS,))
    part = remote.entries()[uid]
    assert int(part.start.timestamp()) >= PULLED + 30 * HOUR
    assert (int(part["PERCENT-COMPLETE"]), str(part["STATUS"]), str(part["COMMENT"])) == (40, "IN-PROCESS", "two racks to go")
    assert "mine" in {str(alarm["UID"]) for alarm in part.subcomponents}


def test_what_was_done_in_part_at_the_bench_is_a_percentage_on_the_phone(ledger: Ledger) -> None:
    """So many of the units told to the ledger are that share of the to-do (RFC 5545 section 3.8.1.8); hearing it back adds nothing."""
    remote = Lying()
    counted = {one.id: one.count for one in publish_plan(ledger, PULLED).plan.tasks if one.count >= 10 and one.hands}
    task, count = next(iter(sorted(counted.items())))
    ledger.append([TaskDone(occurred_at=PULLED, task=task, amount=count / 2)], PULLED)
    for _ in range(3):
        sync(ledger, remote, "double", PULLED, (TODOS,))
    uid, _ = entry(remote, lambda name, phase, part: name == task and phase == "begin" and part.name == "VTODO")
    part = remote.entries()[uid]
    assert (int(part["PERCENT-COMPLETE"]), str(part["STATUS"])) == (50, "IN-PROCESS")
    assert [one.amount for one in facts(ledger, TaskDone)] == [count / 2]


def test_a_deleted_entry_is_put_back_and_told_a_finished_one_is_not(ledger: Ledger) -> None:
    """Deleting on the phone is no decision about the honey; tidying away what is done is fine."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED, (TODOS,))
    uid, _ = plain_todo(ledger, remote)
    remote.remove(uid)
    account = sync(ledger, remote, "double", PULLED, (TODOS,))
    assert any("put back" in line for line in account.lines)
    assert uid in remote.entries()
    remote.edit(uid, lambda part: tick(part, PULLED + 60))
    sync(ledger, remote, "double", PULLED + 120, (TODOS,))
    remote.remove(uid)
    for _ in range(2):
        assert sync(ledger, remote, "double", PULLED + 180, (TODOS,)).lines == []
    assert uid not in remote.entries()


def test_what_happened_beats_what_was_planned(ledger: Ledger) -> None:
    """Skipped at the desk, ticked in the honey house: it counts as done, and that is told. A tick taken back is told and changes nothing."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED, (TODOS,))
    uid, task = plain_todo(ledger, remote)
    ledger.append([TaskSkipped(occurred_at=PULLED, task=task, because="rain")], PULLED)
    remote.edit(uid, lambda part: tick(part, PULLED + 60))
    account = sync(ledger, remote, "double", PULLED + 120, (TODOS,))
    assert [one.task for one in facts(ledger, TaskDone)] == [task]
    assert any("counts as done" in line for line in account.lines)

    def untick(part: Any) -> None:
        part["STATUS"] = "NEEDS-ACTION"
        part["PERCENT-COMPLETE"] = 0
        del part["COMPLETED"]

    remote.edit(uid, untick)
    account = sync(ledger, remote, "double", PULLED + 180, (TODOS,))
    assert any("taken back" in line for line in account.lines)
    assert str(remote.entries()[uid]["STATUS"]) == "COMPLETED"


def test_skipping_at_the_desk_what_was_ticked_leaves_the_tick(ledger: Ledger) -> None:
    """The plan drops the task, the phone goes on showing that it was done."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED, (TODOS,))
    uid, task = plain_todo(ledger, remote)
    remote.edit(uid, lambda part: tick(part, PULLED + 60))
    sync(ledger, remote, "double", PULLED + 120, (TODOS,))
    ledger.append([TaskSkipped(occurred_at=PULLED + 180, task=task, because="a mistake")], PULLED + 180)
    sync(ledger, remote, "double", PULLED + 180, (TODOS,))
    assert str(remote.entries()[uid]["STATUS"]) == "COMPLETED"


def test_a_tick_on_what_was_sent_when_the_line_broke_is_heard(ledger: Ledger) -> None:
    """The entry is there, but nothing was written down of it; a person ticks it before the next sync."""
    remote = Lying(failing=2)  # the listing, then the first entry, which is written before the line breaks
    with pytest.raises(SyncStopped, match="the line broke after the server had written"):
        sync(ledger, remote, "double", PULLED, (TODOS,))
    remote.failing = 0
    (uid,) = remote.entries()
    remote.edit(uid, lambda part: tick(part, PULLED + 60))
    assert sync(ledger, remote, "double", PULLED + 120, (TODOS,)).facts == 1


def test_objects_of_others_are_never_written(ledger: Ledger) -> None:
    """A choir's evening, another yard's task, and something that is no calendar stay as they are, octet for octet."""
    remote = Lying()
    theirs = {
        "/keeper/kestrel-bank/choir.ics": other(),
        "/keeper/kestrel-bank/yard.ics": other("ridge-2/a/cut.begin@pelican-bend.afterpull"),
        "/keeper/kestrel-bank/odd.ics": b"BEGIN:VCALENDAR\r\nthis is none",
    }
    for href, content in theirs.items():
        remote.others(href, content)
    for now in (PULLED, PULLED + HOUR):
        sync(ledger, remote, "double", now, (TODOS,))
    assert {href: remote.held[href][1] for href in theirs} == theirs


@pytest.mark.slow
@pytest.mark.parametrize("failing", [11, 50])
def test_a_sync_that_is_cut_short_goes_on_where_it_stopped(ledger: Ledger, failing: int) -> None:
    """However often the line breaks, also after the server had written: in the end everything is there once, and a tick was heard once."""
    whole = Lying()
    sync(ledger, whole, "whole", PULLED, (TODOS,))
    remote = Lying(failing=failing)
    _until_through(ledger, remote, PULLED)
    assert remote.entries().keys() == whole.entries().keys()
    uid, task = plain_todo(ledger, remote)
    remote.edit(uid, lambda part: tick(part, PULLED + HOUR))
    _until_through(ledger, remote, PULLED + 2 * HOUR)
    assert [one.task for one in facts(ledger, TaskDone)] == [task]


@pytest.mark.parametrize("lies", [{"restless": True}, {"silent": True}, {"restless": True, "silent": True}])
def test_etags_that_change_or_are_not_told_cost_reading_not_writing(ledger: Ledger, lies: dict[str, bool]) -> None:
    """A second sync reads again, finds the plan there, and writes nothing."""
    remote = Lying(**lies)
    sync(ledger, remote, "double", PULLED, (TODOS,))
    puts = remote.puts
    assert sync(ledger, remote, "double", PULLED, (TODOS,)).left == 0
    assert remote.puts == puts


def test_somebody_who_edits_between_our_look_and_our_writing_is_not_overwritten(ledger: Ledger) -> None:
    """The write is refused (412), the next round hears the tick, and both are there."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED, (TODOS,))
    uid, task = plain_todo(ledger, remote)
    ledger.append([TaskPutOff(occurred_at=PULLED, task=task, until=PULLED + 30 * HOUR)], PULLED)
    real = remote.put

    def interrupted(*given: Any, **named: Any) -> tuple[bool, str | None]:
        remote.put = real  # type: ignore[method-assign]
        remote.edit(uid, lambda part: tick(part, PULLED + 60))
        return real(*given, **named)

    remote.put = interrupted  # type: ignore[method-assign]
    assert sync(ledger, remote, "double", PULLED + 120, (TODOS,)).left == 0
    assert [one.task for one in facts(ledger, TaskDone)] == [task]


def _until_through(ledger: Ledger, remote: Lying, now: int) -> None:
    for _ in range(400):
        try:
            if sync(ledger, remote, "double", now, (TODOS,)).left == 0:
                return
        except SyncStopped:
            continue
    raise AssertionError("never through")
