"""Which alerts are promised to whom, and which promises stay where a new plan starts things later. The plans are invented."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from scheduler.application.alert_ids import alert_key
from scheduler.application.alert_offers import OfferedAlerts, offers, slept_through, starts, summaries, tasks_reported
from scheduler.facts.fact import Fact, Recorded, Retracted, TaskDone, TaskSkipped
from scheduler.ledger.alerts import StoredAlert
from scheduler.outputs.notify.config import NotificationConfig
from scheduler.planning.plan import Link, Plan, PlannedTask, Told
from tests.application.watched_yard import ZONE, at, config
from tests.outputs.plans import HOUR, plan, task

NOW = at("2026-08-12T12:00")
SPIN = replace(task("spin", NOW + 2 * HOUR), alerts=(Told(NOW + 2 * HOUR, "Spin"),))
FREEZE = replace(task("freeze", NOW - HOUR, hold=24 * HOUR), alerts=(Told(NOW - HOUR, "Freeze"), Told(NOW + 23 * HOUR, "Frozen through")))
KEY = alert_key(SPIN.id, 0, "keeper")


def row(key: str, due_at: int, told_at: int | None = None, again: int | None = None) -> StoredAlert:
    """What was offered before: due, and perhaps told, and to be told again."""
    return StoredAlert(key, SPIN.id, due_at, "Spin", "crop", again, told_at, None, None, 0, None, None, None)


def due(found: Plan, *rows: StoredAlert, offered: OfferedAlerts | None = None, reported: tuple[str, ...] = (), **more: Any) -> dict[str, int]:
    """When each alert is due, by its id."""
    told = more.get("told") or NotificationConfig()
    return {one.id: one.due_at for one in offers(found, told, rows, offered or OfferedAlerts(), frozenset(reported), more.get("put_off") or {}, NOW)}


def later(one: PlannedTask, by: int) -> PlannedTask:
    """The same, and its alerts, later."""
    return replace(one, start=one.start + by, alerts=tuple(told._replace(at=told.at + by) for told in one.alerts))


def test_an_alert_is_told_when_the_plan_says() -> None:
    """It moves with the plan, earlier and later, as long as it is still to come."""
    assert due(plan(SPIN, as_of=NOW)) == {KEY: NOW + 2 * HOUR}
    for by in (-HOUR, HOUR):
        assert due(plan(later(SPIN, by), as_of=NOW), row(KEY, NOW + 2 * HOUR)) == {KEY: NOW + 2 * HOUR + by}


@pytest.mark.parametrize(
    ("before", "moves"),
    [
        (row(KEY, NOW), False),  # fell due and was not told
        (row(KEY, NOW + 60), True),
        (row(KEY, NOW - HOUR, told_at=NOW + HOUR + 60), False),  # told within the hour before
        (row(KEY, NOW - HOUR, told_at=NOW + HOUR), True),
        (row(KEY, NOW - HOUR, told_at=NOW - 60, again=NOW + 60), False),  # still being repeated
    ],
)
def test_a_promise_stays_where_a_plan_starts_it_later(before: StoredAlert, moves: bool) -> None:
    """What fell due is told at once, what was told is not told anew within the hour; what the keeper reports of the task moves it all the same."""
    found = plan(SPIN, as_of=NOW)
    assert due(found, before)[KEY] == (NOW + 2 * HOUR if moves else before.due_at)
    assert due(found, before, reported=(SPIN.id,))[KEY] == NOW + 2 * HOUR


def test_a_hold_that_may_be_running_ends_when_it_was_said_to() -> None:
    """It was planned to begin an hour ago and nobody said otherwise; the plan has put it off, the alert stays."""
    key = alert_key(FREEZE.id, 1, "keeper")
    moved = plan(later(FREEZE, 5 * HOUR), as_of=NOW)
    before = row(key, NOW + 23 * HOUR)
    assert due(moved, before, offered=OfferedAlerts(1, {FREEZE.id: NOW - HOUR}))[key] == NOW + 23 * HOUR
    assert due(moved, before, offered=OfferedAlerts(1, {FREEZE.id: NOW + 60}))[key] == NOW + 28 * HOUR
    assert due(moved, before, offered=OfferedAlerts(1, {}))[key] == NOW + 28 * HOUR


def test_in_an_hour_is_in_an_hour() -> None:
    """Also where the work can only be done tomorrow; never later than the plan says, and only the first alert."""
    assert due(plan(SPIN, as_of=NOW), put_off={SPIN.id: NOW + HOUR}) == {KEY: NOW + HOUR}
    assert due(plan(SPIN, as_of=NOW), put_off={SPIN.id: NOW + 3 * HOUR}) == {KEY: NOW + 2 * HOUR}
    assert due(plan(SPIN, as_of=NOW), put_off={SPIN.id: NOW}) == {KEY: NOW + 2 * HOUR}
    held = due(plan(later(FREEZE, 2 * HOUR), as_of=NOW), put_off={FREEZE.id: NOW + 60})
    assert held[alert_key(FREEZE.id, 1, "keeper")] == NOW + 25 * HOUR


def test_each_hears_of_that_loss_and_that_work() -> None:
    """Who hears of their own work hears of what it waits for too; nobody hears of a loss for which no channel is set."""
    told = config("people: {keeper: {tell: {crop: [desktop]}}, Mira: {hears: own, tell: [desktop]}}")
    pack = replace(task("pack", NOW + 30 * HOUR), person="Mira", alerts=(Told(NOW + 30 * HOUR, "Pack"),), links=(Link(FREEZE.id),), loss="comfort")
    heard = due(plan(SPIN, FREEZE, pack, as_of=NOW), told=told)
    assert sorted(heard) == sorted(
        [
            KEY,
            *(alert_key(FREEZE.id, number, who) for number in (0, 1) for who in ("keeper", "Mira")),
            alert_key(pack.id, 0, "Mira"),
        ]
    )


def test_where_a_task_was_planned_to_begin_is_kept_once_it_is_past() -> None:
    """Until something is reported of it; what is no longer open is forgotten."""
    offered = OfferedAlerts(1, {FREEZE.id: NOW - HOUR, SPIN.id: NOW + HOUR})
    moved = plan(later(FREEZE, 5 * HOUR), later(SPIN, HOUR), as_of=NOW)
    assert starts(moved, offered, frozenset(), NOW) == {FREEZE.id: NOW - HOUR, SPIN.id: NOW + 3 * HOUR}
    assert starts(moved, offered, frozenset([FREEZE.id]), NOW)[FREEZE.id] == NOW + 4 * HOUR
    assert starts(plan(replace(FREEZE, status="done"), as_of=NOW), offered, frozenset(), NOW) == {}


def recorded(sequence: int, fact: Fact) -> Recorded:
    """A fact in the ledger."""
    return Recorded(sequence=sequence, id=f"{sequence:032x}", recorded_at=NOW, fact=fact)


def test_what_was_reported_since_is_of_the_tasks_it_names_and_takes_back() -> None:
    """A word taken back is a word on its task; what was said before counts no more."""
    done = recorded(1, TaskDone(occurred_at=NOW, task="a/spin"))
    skipped = recorded(2, TaskSkipped(occurred_at=NOW, task="a/feed", because="x"))
    undone = recorded(3, Retracted(occurred_at=NOW, replaces=done.id, because="undone"))
    assert tasks_reported([done, skipped, undone], 0) == {"a/spin", "a/feed"}
    assert tasks_reported([done, skipped, undone], 2) == {"a/spin"}
    assert tasks_reported([done, skipped, undone], 3) == frozenset()


@pytest.mark.parametrize("text", ["", "null", "{}", '{"position": "x", "starts": {}}', '{"position": 1, "starts": []}'])
def test_what_was_kept_by_somebody_else_counts_for_nothing(text: str) -> None:
    """And what was kept by this program reads back."""
    assert OfferedAlerts.from_json(text) == OfferedAlerts()
    kept = OfferedAlerts(7, {"a/spin": NOW})
    assert OfferedAlerts.from_json(kept.to_json()) == kept


def test_a_summary_whose_time_had_passed_before_it_was_offered_is_not_made_up_for() -> None:
    """Today's at seven is over at noon, unless it was offered before and not told; tomorrow's is to come."""
    told = config('people: {keeper: {tell: [desktop], morning summary: "07:00"}}')
    found = summaries(told, [], NOW, ZONE)
    assert [(one.due_at, one.say) for one in found] == [(at("2026-08-13T07:00"), "morning summary")]
    today = row("summary/morning/2026-08-12@keeper", at("2026-08-12T07:00"))
    assert len(summaries(told, [today], NOW, ZONE)) == 2
    assert summaries(NotificationConfig(), [], NOW, ZONE) == []


def test_what_fell_due_while_no_watch_looked_is_told_though_it_has_lapsed_unless_it_was_told_or_answered() -> None:
    """The reminder never came; that it is over now is no reason to keep silent about it."""
    lapsed = plan(replace(SPIN, status="lapsed", alerts=()))
    missed = row(KEY, NOW - 20 * HOUR)
    assert [(one.id, one.due_at) for one in slept_through(lapsed, [missed], (), NOW)] == [(KEY, NOW - 20 * HOUR)]
    assert slept_through(lapsed, [missed], {SPIN.id}, NOW) == []
    assert slept_through(lapsed, [row(KEY, NOW - 20 * HOUR, told_at=NOW - 20 * HOUR), row(KEY, NOW + HOUR)], (), NOW) == []
    assert slept_through(plan(SPIN), [missed], (), NOW) == []
