"""A watch through nights, clock changes, sleep and failures, told by a clock that the tests turn. The yard and its harvest are the invented example."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from freezegun import freeze_time

from scheduler.application.alert_ids import alert_key
from scheduler.application.watch import LEASE
from scheduler.daemon import seconds
from scheduler.facts.fact import AlertAcknowledged, TaskBegun, TaskDone, TaskPutOff
from scheduler.ledger.alerts import PlannedAlert, StoredAlert
from scheduler.ledger.store import Ledger
from scheduler.local_time import HOUR, clock, local
from scheduler.outputs.notify.message import URGENT
from scheduler.outputs.wording.sentence import how_of
from scheduler.outputs.wording.sitting_words import sitting_title
from scheduler.planning.sittings import sittings
from tests.application.watched_yard import Fails, Keeps, at, config, season, telling

FREEZE = "ridge-2/a/freeze.1"
SPIN = "ridge-2/b/spin"
TOO_LATE = (  # in September: the plan keeps the wet frames closed instead, and by when to cut and spin is past; that they were not is told
    *("ridge-2/b/give-back", "ridge-2/b/take-off"),
    *("ridge-2/a/work-up-deadline", "ridge-2/b/work-up-deadline"),
)
DAY = 24 * HOUR


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    """A ledger that holds the example."""
    with season(tmp_path) as opened:
        yield opened


def row(ledger: Ledger, task: str, number: int = 0, person: str = "keeper") -> StoredAlert:
    """One alert as the ledger has it."""
    return next(one for one in ledger.alerts.all() if one.id == alert_key(task, number, person))


def test_a_freezer_hold_is_told_when_it_is_done_and_not_before(ledger: Ledger) -> None:
    """What to do comes first; then when it was due, what it was counted from, and why."""
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop})
    watch.look(at("2026-08-11T11:01"))
    due = row(ledger, FREEZE).due_at
    watch.look(due - 1)
    assert not any("16 packages" in title for title in desktop.titles())
    watch.look(due)
    told = next(one for one in desktop.messages if "16 packages" in one.title)
    assert told.title.startswith("Freezer hold done: 16 packages of lot a")
    assert told.urgent
    first, due, assumed, why = told.body.splitlines()
    assert first == told.title
    assert due.startswith("Kestrel Bank, due ")
    assert assumed.startswith("Counted from the planned start")
    assert why.startswith("Moth eggs come in with every comb")
    assert [button.title for button in told.buttons][:2] == ["Done", "In an hour"]


def test_a_message_says_what_to_do_in_its_title_and_first_in_its_body_and_cautions_next(ledger: Ledger) -> None:
    """A channel may show one of the two only; how it is done and a caution are read before why and when."""
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop}, config("repeat: {times: 0}\n"))
    watch.look(at("2026-08-11T18:30"))
    assert watch.plan is not None
    tasks = {task.id: task for task in watch.plan.tasks}
    with_caution = [one for one in desktop.messages if (name := one.key.partition("#")[0]) in tasks and tasks[name].cautions]
    assert with_caution
    for one in with_caution:
        say, *after = one.body.splitlines()
        assert one.title.endswith(say)
        task = tasks[one.key.partition("#")[0]]
        assert after[: len(task.cautions) + 1] == [how_of(task), *task.cautions]


def test_a_hold_that_was_begun_is_counted_from_its_beginning_and_says_nothing_of_the_plan(ledger: Ledger) -> None:
    """Begun three hours later than planned, it is done three hours later."""
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop})
    watch.look(at("2026-08-11T11:01"))
    planned = row(ledger, FREEZE).due_at
    begun = at("2026-08-13T22:45")
    ledger.append([TaskBegun(occurred_at=begun, task=FREEZE)], begun)
    watch.look(begun)
    assert row(ledger, FREEZE).due_at > planned
    watch.look(row(ledger, FREEZE).due_at)
    assert "planned start" not in next(one for one in desktop.messages if "16 packages" in one.title).body


def test_a_hold_that_may_be_running_is_told_though_other_things_were_logged_meanwhile(ledger: Ledger) -> None:
    """A plan made later would begin it anew; the promise stands, for nobody said that it was not begun."""
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop})
    watch.look(at("2026-08-11T11:01"))
    due = row(ledger, FREEZE).due_at
    logged = due - 6 * HOUR
    watch.look(logged - 1)
    ledger.append([TaskDone(occurred_at=logged, task=SPIN)], logged)
    again = telling(ledger, {"desktop": desktop}, owner="after a restart")
    again.look(logged + 2 * LEASE)
    assert row(ledger, FREEZE).due_at == due


def test_through_a_night_the_crop_wakes_the_keeper_and_comfort_waits(ledger: Ledger) -> None:
    """Quiet hours from half past nine; at half past six the rest is told, each once."""
    quiet = config("people: {keeper: {quiet hours: '21:30-06:30'}}\nrepeat: {times: 0}\n")
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop}, quiet)
    night = at("2026-08-12T00:30")
    watch.look(night - 600)
    moth, jars = (alert_key(task, 0, "keeper") for task in ("x/moth", "x/jars"))
    ledger.alerts.offer([PlannedAlert(moth, "x/moth", night, "Moth", "crop"), PlannedAlert(jars, "x/jars", night, "Order jars", "comfort")], night)
    desktop.messages.clear()
    with freeze_time("2026-08-11T22:30:00Z") as clock:
        while seconds() < at("2026-08-12T06:30"):
            watch.look(seconds())
            assert desktop.titles() == ["Moth"]
            clock.tick(600)
        watch.look(seconds())
    assert desktop.titles() == ["Moth", "Late by 6 h: Order jars"]


@pytest.mark.parametrize("evening", [pytest.param("2026-03-28T20:00", id="spring"), pytest.param("2026-10-24T20:00", id="autumn")])
def test_a_morning_summary_comes_by_the_clock_on_the_wall_across_a_clock_change(ledger: Ledger, evening: str) -> None:
    """At seven, once, whatever the night was like."""
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop}, config("people: {keeper: {tell: {comfort: [desktop]}, morning summary: '07:00'}}\n"))
    came: list[int] = []
    for now in range(at(evening), at(evening) + 14 * HOUR, 300):
        before = len(desktop.messages)
        watch.look(now)
        came += [now for one in desktop.messages[before:] if one.title.startswith("Today")]
    assert came == [at(evening[:8] + str(int(evening[8:10]) + 1) + "T07:00")]


def test_after_a_month_asleep_everything_is_told_at_once_in_one_message_that_names_the_most_urgent(ledger: Ledger) -> None:
    """Nothing that fell due is dropped: each alert is written down as told, and printed; but for wet frames that it is too late to give back."""
    once, said = config("repeat: {times: 0}\n"), list[str]()
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop}, once)
    watch.say = said.append
    watch.look(at("2026-08-11T11:01"))
    missed = [one for one in ledger.alerts.all() if at("2026-08-11T11:01") < one.due_at <= at("2026-09-11T04:00") and one.task not in TOO_LATE]
    desktop.messages.clear()
    looked = watch.look(at("2026-09-11T11:00"))
    assert len(missed) > 10
    together = next(one for one in desktop.messages if one.other_keys)
    assert {together.key, *together.other_keys} >= {one.id for one in missed}
    assert len(desktop.messages) <= 3  # what fell due this morning is told by itself
    assert together.title.startswith(f"{1 + len(together.other_keys)} alerts are late; first: ")
    assert together.urgent
    assert row(ledger, together.key.partition("#")[0], int(together.key.partition("#")[2].partition("@")[0])).loss in URGENT
    assert looked.sent == sum(1 + len(one.other_keys) for one in desktop.messages)
    assert all(row(ledger, one.task, int(one.id.partition("#")[2].partition("@")[0])).told_at for one in missed)
    assert all(any(one.say in line for line in said) for one in missed)
    desktop.messages.clear()
    watch.look(at("2026-09-11T12:00"))
    assert desktop.messages == []


def test_what_is_repeated_after_a_month_asleep_is_repeated_together(ledger: Ledger) -> None:
    """Half an hour later, and one message again; comfort is told once."""
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop})
    watch.look(at("2026-08-11T11:01"))
    watch.look(at("2026-09-11T11:00"))
    desktop.messages.clear()
    watch.look(at("2026-09-11T11:31"))
    assert len(desktop.messages) == 1
    assert desktop.messages[0].title.startswith("Again: ")
    assert all(one.loss in URGENT for one in ledger.alerts.all() if one.id in (desktop.messages[0].key, *desktop.messages[0].other_keys))


def test_a_message_that_nobody_took_leaves_every_alert_in_it_to_be_told(ledger: Ledger) -> None:
    """The next channel, or the next look, tells them all."""
    away = Fails("desktop", "no session")
    watch = telling(ledger, {"desktop": away}, config("repeat: {times: 0}\n"))
    watch.look(at("2026-08-11T11:01"))
    missed = {one.id for one in ledger.alerts.all() if at("2026-08-11T11:01") < one.due_at <= at("2026-09-11T04:00") and one.task not in TOO_LATE}
    assert watch.look(at("2026-09-11T11:00")).failed >= len(missed)
    away.reason = ""
    watch.look(at("2026-09-11T13:00"))
    assert {key for one in away.messages for key in (one.key, *one.other_keys)} >= missed


def test_work_that_nobody_did_is_told_again_with_the_next_evenings_work(ledger: Ledger) -> None:
    """As the calendar rings for it: at the time to which it moved as the evening was over, and not before."""
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop}, config("repeat: {times: 0}\n"))
    for evening in ("2026-08-11", "2026-08-12"):
        watch.look(at(f"{evening}T17:30"))
        assert watch.plan is not None
        begins = next(task.start for task in watch.plan.tasks if task.id == SPIN)
        assert row(ledger, SPIN).due_at == begins
        desktop.messages.clear()
        watch.look(begins - 60)
        assert not any(message.key == alert_key(SPIN, 0, "keeper") for message in desktop.messages)
        watch.look(begins)
        watch.look(at(f"{evening}T21:40"))
        assert [message.key for message in desktop.messages].count(alert_key(SPIN, 0, "keeper")) == 1


def test_what_was_done_elsewhere_while_the_machine_slept_is_not_told(ledger: Ledger) -> None:
    """The facts are read before the first word."""
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop})
    watch.look(at("2026-08-11T11:01"))
    done = at("2026-08-11T21:00")
    ledger.append([TaskDone(occurred_at=done, task=SPIN)], done)
    watch.look(at("2026-08-12T11:00"))
    assert not any("Uncap and spin" in title for title in desktop.titles())


def test_what_loses_the_crop_is_repeated_until_it_is_done(ledger: Ledger) -> None:
    """At growing gaps, and no more once somebody has pressed the button."""
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop})
    watch.look(at("2026-08-11T11:01"))
    due = row(ledger, FREEZE).due_at
    for now in range(due, due + 3 * HOUR, 60):
        watch.look(now)
    told = [one for one in desktop.messages if "16 packages" in one.title]
    assert len(told) == 3  # at once, after half an hour, after an hour more
    assert told[1].title.startswith("Again: ")
    watch.press(told[0].key, "done", due + 3 * HOUR, due + 3 * HOUR)
    desktop.messages.clear()
    for now in range(due + 3 * HOUR, due + DAY, 600):
        watch.look(now)
    assert not any("16 packages" in title for title in desktop.titles())
    fact = ledger.facts()[-1].fact
    assert isinstance(fact, TaskDone)
    assert (fact.task, fact.occurred_at) == (FREEZE, due + 3 * HOUR)


def test_in_an_hour_is_in_an_hour(ledger: Ledger) -> None:
    """A task that is to begin is put off in the plan; a hold that is done is only told again. Both answers are facts."""
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop}, config("repeat: {times: 0}\n"))
    watch.look(at("2026-08-11T11:01"))
    for task, kind in ((SPIN, TaskPutOff), (FREEZE, AlertAcknowledged)):
        now = row(ledger, task).due_at
        watch.look(now)
        watch.press(alert_key(task, 0, "keeper"), "hour", now, now)
        assert isinstance(ledger.facts()[-1].fact, kind)
        desktop.messages.clear()
        watch.look(now + HOUR - 1)
        assert not any(one.key == alert_key(task, 0, "keeper") for one in desktop.messages)
        watch.look(now + HOUR)
        assert any(one.key == alert_key(task, 0, "keeper") for one in desktop.messages)


def test_a_channel_that_fails_for_a_day_loses_nothing(ledger: Ledger) -> None:
    """It is tried at growing gaps; the reason can be asked for; what it owed is told when it comes back."""
    push = Fails("push", "429: too many requests")
    watch = telling(ledger, {"push": push}, config("channels: {push: {address: 'push://x'}}\npeople: {keeper: {tell: [push]}}\nrepeat: {times: 0}\n"))
    watch.look(at("2026-08-11T11:01"))
    for now in range(at("2026-08-11T11:01"), at("2026-08-12T11:01"), 10 * 60):
        watch.look(now)
    owed = {one.id for one in ledger.alerts.all() if one.due_at <= at("2026-08-12T11:00")}
    assert "429: too many requests" in str(row(ledger, SPIN).failure)
    assert push.asked < 144 * len(owed)
    push.reason = ""
    watch.look(at("2026-08-12T12:10"))
    assert owed <= {key for one in push.messages for key in (one.key, *one.other_keys)}


def test_each_person_is_told_once_by_their_own_channel(ledger: Ledger) -> None:
    """One whose channel fails is tried again, and the other is not told twice for it."""
    north, hedge = Keeps("north"), Fails("hedge", "unreachable")
    services = "channels: {n: {address: 'n://x'}, h: {address: 'h://x'}}\nrepeat: {times: 0}\n"
    two = config(services + "people: {north: {tell: [n]}, hedge: {tell: {crop: [h], food safety: [h]}}}\n")
    watch = telling(ledger, {"n": north, "h": hedge}, two)
    for minute in range(30):
        watch.look(at("2026-08-11T18:30") + minute * 60)
    assert len({one.key for one in north.messages}) == len(north.messages) > 0
    assert row(ledger, FREEZE, person="hedge").told_at is None
    assert not any(one.loss == "comfort" and one.id.endswith("@hedge") for one in ledger.alerts.all())


def test_a_second_watch_steps_aside_and_takes_over_when_the_first_dies(ledger: Ledger) -> None:
    """Neither tells what the other told."""
    first, second = Keeps(), Keeps()
    one, two = telling(ledger, {"desktop": first}, owner="first"), telling(ledger, {"desktop": second}, owner="second")
    now = at("2026-08-11T18:30")
    one.look(now)
    assert two.look(now + 10).other == "first"
    assert second.messages == []
    assert two.look(now + LEASE + 1).other is None
    assert one.look(now + LEASE + 40).other == "second"
    two.stop()
    assert one.look(now + LEASE + 70).other is None
    assert first.messages
    assert not {message.key for message in first.messages} & {message.key for message in second.messages}


def test_a_clock_set_back_loses_nothing(ledger: Ledger) -> None:
    """What is due by the new clock is told by it; of what was told only that comes again which was told before its time."""
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop}, config("repeat: {times: 0}\n"))
    for now in range(at("2026-08-11T11:01"), at("2026-08-12T20:00"), HOUR // 4):
        watch.look(now)
    early = {one.id for one in ledger.alerts.all() if one.told_at and one.due_at > at("2026-08-12T12:00")}
    desktop.messages.clear()
    for now in range(at("2026-08-12T12:00"), at("2026-08-12T21:30"), HOUR // 4):
        watch.look(now)
    again = {one.key for one in desktop.messages}
    assert early
    assert early <= again
    assert all(one.due_at > at("2026-08-12T12:00") for one in ledger.alerts.all() if one.id in again)
    assert len(desktop.messages) <= len(again) + 2  # what was late and is work of this evening too


def test_a_summary_lists_the_sittings_of_a_day_in_one_message(ledger: Ledger) -> None:
    """With the time of each, and how much work it is together."""
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop}, config("people: {keeper: {evening summary: '20:00'}}\nrepeat: {times: 0}\n"))
    watch.look(at("2026-08-12T19:00"))
    desktop.messages.clear()
    watch.look(at("2026-08-12T20:00"))
    (summary,) = [one for one in desktop.messages if one.title.startswith("Tomorrow, Thu 13 Aug: ")]
    assert "of work" in summary.title
    assert watch.plan is not None
    days = [one for one in sittings(watch.plan.tasks, watch.plan.timezone) if at("2026-08-13T00:00") <= one.start < at("2026-08-14T00:00")]
    tasks = {task.id: task for task in watch.plan.tasks}
    assert set(summary.body.splitlines()) >= {f"{clock(local(one.start, watch.plan.timezone))} {sitting_title(tasks, one.steps)}" for one in days}
    assert len(days) < len({step.task for one in days for step in one.steps})
    assert not summary.buttons


def test_without_a_yard_what_was_offered_before_is_still_told(tmp_path: Path) -> None:
    """A plan that cannot be made is said, and silences nothing."""
    with Ledger.open(tmp_path / "empty.sqlite") as ledger:
        ledger.alerts.offer([PlannedAlert(alert_key("x/moth", 0, "keeper"), "x/moth", 1000, "Moth", "crop")], 1000)
        desktop = Keeps()
        looked = telling(ledger, {"desktop": desktop}).look(1000)
        assert "no yard is set yet" in looked.trouble
        assert desktop.titles() == ["Moth"]
