"""The plan in force is kept as text and read again; what cannot be read is made anew. All invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from zoneinfo import ZoneInfo

import pytest

from scheduler.application.plan_in_force import days_with_work, read, share_missed, terms, written
from scheduler.facts.fact import AlertAcknowledged, Fact, Observed, Recorded, TaskDone
from scheduler.planning.plan import PlannedTask
from tests.outputs.plans import HOUR, at, plan, task

NOW = at("2026-08-11 10:30")
SPIN = task("spin", NOW + HOUR)
FREEZE = replace(task("freeze", NOW + 2 * HOUR, hold=24 * HOUR, end_minutes=10), count=16.0, occupies=(("freezer", 0.01),))
PLAN = plan(SPIN, FREEZE, as_of=NOW)


def recorded(sequence: int, fact: Fact) -> Recorded:
    """A fact in the ledger."""
    return Recorded(sequence=sequence, id=f"{sequence:032x}", recorded_at=NOW, fact=fact)


def test_what_is_kept_is_read_again() -> None:
    """Times, sittings and rooms of each task; under the same terms it is not old."""
    found = read(written(PLAN, 7), {}, 7)
    assert found is not None
    assert found.tasks[SPIN.id].start == SPIN.start
    assert found.tasks[FREEZE.id].finish == FREEZE.finish
    assert found == read(written(PLAN, 7), {}, 7)
    assert read(written(PLAN, 7), {}, 8) != found


def test_a_card_that_was_renamed_is_found_by_its_name_of_today() -> None:
    """What was planned of it is its own."""
    old = replace(SPIN, id="ridge-2/a/whirl")
    found = read(written(plan(old, as_of=NOW), 1), {"whirl": "spin"}, 1)
    assert found is not None
    assert list(found.tasks) == [SPIN.id]


@pytest.mark.parametrize("text", [None, "", "null", "{}", '{"tasks": {"a": [1]}, "counts": {}, "terms": 1}', '{"tasks": [], "counts": {}, "terms": 1}'])
def test_what_can_not_be_read_is_no_plan_in_force(text: str | None) -> None:
    """The next is made anew."""
    assert read(text, {}, 1) is None


def test_the_terms_are_the_last_word_about_anything_but_tasks() -> None:
    """Work that was done, and an alarm that was heard, change none of them."""
    frost = recorded(1, Observed(occurred_at=NOW, mark="first frost", on=date(2026, 8, 11)))
    done = recorded(2, TaskDone(occurred_at=NOW, task=SPIN.id))
    heard = recorded(3, AlertAcknowledged(occurred_at=NOW, alert="x"))
    assert terms([frost, done, heard]) == 1
    assert terms([done, heard]) == 0


def moved(hours: int) -> PlannedTask:
    """The spinning, so much later."""
    start, finish = SPIN.start + hours * HOUR, SPIN.finish + hours * HOUR
    return replace(SPIN, start=start, finish=finish, hands=((start, finish),))


def test_the_days_that_had_work_are_remembered_from_plan_to_plan() -> None:
    """Of the plan before and of those it remembers; what is still to come is not among them. Put off ever again, work no longer makes a day one with work."""
    zone, text = ZoneInfo("Europe/Ljubljana"), written(PLAN, 1)
    assert days_with_work(text, NOW, zone).days == set()
    then = NOW
    for day in range(5):
        then = NOW + (24 * day + 3) * HOUR
        worked = days_with_work(text, then, zone)
        assert worked.days == {date(2026, 8, 11 + past) for past in range(min(day, 2) + 1)}
        text = written(plan(moved(24 * (day + 1)), as_of=then), 1, worked)
    assert read(text, {}, 1) == read(written(plan(moved(24 * 5), as_of=then), 1), {}, 1)


def test_the_days_missed_are_those_without_anything_recorded() -> None:
    """Seven of 28 days of August; today is not over; of a few days, or of a keeper who never records, nothing is said."""
    august = {date(2026, 8, day) for day in range(1, 29)}
    worked = {day for day in august if day.day % 4}
    assert share_missed(august, worked, date(2026, 8, 29)) == 0.25
    assert share_missed(august, worked | {date(2026, 7, 1)}, date(2026, 8, 29)) == 0.25
    assert share_missed(august, worked, date(2026, 8, 28)) == pytest.approx(6 / 27)
    assert share_missed(august, worked, date(2026, 8, 15)) is None
    assert share_missed(august, set(), date(2026, 8, 29)) is None


@pytest.mark.parametrize("text", ["", "null", "[]", '{"tasks": {"a": [1, 2]}}', '{"tasks": {}, "days": ["never"]}', '{"tasks": 1}'])
def test_a_kept_plan_that_cannot_be_read_had_no_days(text: str) -> None:
    """It is written anew with the next."""
    assert days_with_work(text, NOW, ZoneInfo("UTC")).days == set()
