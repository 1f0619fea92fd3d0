"""What a planned task says of itself: its sittings, its closing work, its hold, and whether it is only a limit."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import pytest

from scheduler.planning.plan import OPEN, WITHOUT_TIME
from scheduler.rules.schema import Status
from tests.outputs.plans import HOUR, at, task

START = at("2026-08-11 17:30")
FREEZE = task("freeze", START, minutes=20, hold=50 * HOUR, end_minutes=15)
SPIN = replace(task("spin", START), hands=((START, START + HOUR), (START + 24 * HOUR, START + 25 * HOUR)))
DRAIN = task("drain", START, minutes=10, hold=41 * HOUR)
LIMIT = replace(task("limit", START), hands=(), due=START + HOUR)


def test_work_before_the_hold_is_sittings_and_work_after_it_closes() -> None:
    """A freezer is filled and emptied, honey is spun on two evenings, a rack drains by itself."""
    assert [(len(one.sittings), len(one.closing)) for one in (FREEZE, SPIN, DRAIN, LIMIT)] == [(1, 1), (2, 0), (1, 0), (0, 0)]
    assert FREEZE.closing == (FREEZE.hands[1],)


def test_a_hold_runs_from_the_end_of_its_last_sitting() -> None:
    """Of what was begun, and has only its end left, from its start."""
    assert FREEZE.holds_from == START + 20 * 60
    assert SPIN.holds_from == START + 25 * HOUR
    begun = replace(FREEZE, hands=FREEZE.hands[1:])
    assert (begun.holds_from, begun.sittings, begun.closing) == (START, (), begun.hands)


def test_a_limit_is_what_nobody_works_on_and_nothing_holds() -> None:
    """And only while it is to come, and has a date."""
    assert LIMIT.limit
    assert not replace(LIMIT, status="done").limit
    assert not replace(LIMIT, due=None).limit
    assert not replace(LIMIT, hold_done=START + HOUR).limit
    assert not replace(SPIN, due=START).limit


@pytest.mark.parametrize("status", get_args(Status))
def test_a_status_is_open_or_over_and_has_a_time_or_none(status: Status) -> None:
    """What has no time is not open; only work to come is."""
    one = replace(SPIN, status=status)
    assert one.is_open is (status in ("planned", "provisional"))
    assert one.has_time is (status in ("planned", "provisional", "done", "skipped"))
    assert not set(OPEN) & set(WITHOUT_TIME)
