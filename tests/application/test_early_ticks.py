"""A tick on a hold that still runs ends nothing, and is asked about as long as it can be meant. All invented."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduler.application.early_ticks import early_ticks, note_early_ticks
from scheduler.ledger.store import Ledger
from scheduler.planning.plan import PlannedTask
from tests.conftest import PULLED
from tests.outputs.plans import HOUR, plan, task

FREEZE = replace(task("freeze", PULLED, hold=24 * HOUR), hands=(), begun=True)
TICK = PULLED + 5 * HOUR


def asked(ledger: Ledger, one: PlannedTask, now: int = TICK + 60) -> list[str | None]:
    """The tasks that are asked about."""
    return [warning.task for warning in early_ticks(ledger, plan(one, as_of=PULLED), now)]


def test_each_hold_that_was_ticked_is_asked_about(ledger: Ledger) -> None:
    """A second tick, of another task, does not take the first one's place."""
    assert asked(ledger, FREEZE) == []
    note_early_ticks(ledger, {FREEZE.id: TICK}, TICK)
    note_early_ticks(ledger, {"ridge-2/b/settle": TICK}, TICK)
    note_early_ticks(ledger, {}, TICK)
    assert asked(ledger, FREEZE) == [FREEZE.id]


@pytest.mark.parametrize(
    ("changed", "now"),
    [
        ({"status": "done"}, TICK + 60),
        ({"begun": False}, TICK + 60),
        ({"start": TICK}, TICK + 60),  # begun anew after the tick
        ({"hold_done": TICK}, TICK - 60),  # ticked as it was over
        ({}, PULLED + 24 * HOUR + 1800),  # it is over by now
    ],
)
def test_nothing_is_asked_once_it_can_not_be_meant(ledger: Ledger, changed: dict[str, object], now: int) -> None:
    """Done, not begun any more, begun anew, over as it was ticked, over by now."""
    note_early_ticks(ledger, {FREEZE.id: TICK}, TICK)
    assert asked(ledger, replace(FREEZE, **changed), now) == []  # type: ignore[arg-type]
