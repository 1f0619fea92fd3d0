"""How many days a keeper misses is counted: days with work on which nothing was recorded. Invented."""

from __future__ import annotations

import pytest

from scheduler.application.ledger_view import keep_in_force, view_at
from scheduler.facts.fact import TaskDone
from scheduler.ledger.store import Ledger
from scheduler.local_time import DAY, HOUR
from tests.chance import LONG
from tests.keeper import Keeper


@pytest.mark.slow
def test_a_keeper_who_misses_one_day_in_three_is_told_odds_by_that(ridge: Keeper) -> None:
    """On two days of three with work he does all of it; after the twentieth day with work his own share counts."""
    assert "1 day in 10 missed, " in " ".join(ridge.types("agenda", "--odds").split())
    morning, days = ridge.moment("2026-08-12T00:30"), 0
    while days < (30 if LONG else 24):
        ridge.now, morning = morning, morning + DAY
        with Ledger.open(ridge.ledger) as ledger:
            view = view_at(ledger, ridge.now)
            keep_in_force(ledger, view)
            today = [task for task in view.plan.tasks if task.is_open and any(ridge.now <= start < ridge.now + 23 * HOUR for start, _ in task.hands)]
            ridge.now += 23 * HOUR
            if today:
                days += 1
                done = [TaskDone(occurred_at=ridge.now, task=task.id) for task in today if days % 3]
                ledger.append(done, ridge.now)
    assert ridge.view.evenings_missed == pytest.approx(1 / 3, abs=0.1)
    assert " by your record, " in " ".join(ridge.types("agenda", "--odds").split())
