"""Watches on a machine whose clock was wrong: what it wrote with times still to come does not count. The yard and its harvest are the invented example."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from scheduler.application.alert_offers import alert_key
from scheduler.application.watch import CLAIM, LEASE, WATCH
from scheduler.facts.fact import TaskBegun
from scheduler.ledger.store import Ledger
from scheduler.local_time import DAY, HOUR
from tests.application.test_watch import FREEZE, SPIN, row
from tests.application.watched_yard import Fails, Keeps, at, config, log_harvest, season, telling
from tests.stores import KINDS, place

MORNING = at("2026-08-11T11:01")
YEAR = 365 * DAY
ONCE = "repeat: {times: 0}\n"


@pytest.fixture(params=KINDS)
def ledger(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Ledger]:
    """A ledger that holds the example."""
    with place(request.param, tmp_path) as where, Ledger.open(where) as opened:
        log_harvest(opened)
        yield opened


def looked(folder: Path, *jumps: int, restarted: bool = False) -> list[tuple[int, str]]:
    """What is told, and when, in the two days after a morning on which the clock jumped to these moments and back."""
    folder.mkdir()
    with season(folder) as ledger:
        desktop = Keeps()
        watch = telling(ledger, {"desktop": desktop}, config(ONCE))
        for now in (MORNING, *jumps):
            watch.look(now)
        if restarted:
            watch = telling(ledger, {"desktop": desktop}, config(ONCE), owner="started anew")
        told = []
        for now in range(MORNING + 20, MORNING + 2 * DAY, HOUR // 4):
            desktop.messages.clear()
            assert watch.look(now).other is None
            told += [(now, key) for one in desktop.messages for key in sorted((one.key, *one.other_keys))]
        return told


@pytest.fixture(scope="module")
def right(tmp_path_factory: pytest.TempPathFactory) -> set[tuple[int, str]]:
    """What is told by a clock that was never wrong."""
    return set(looked(tmp_path_factory.mktemp("right") / "ledger"))


@pytest.mark.slow
@pytest.mark.parametrize(("ahead", "restarted"), [(5 * HOUR, False), (30 * DAY, True), (YEAR, False), (YEAR, True)])
def test_one_look_with_a_clock_ahead_changes_nothing_of_what_is_told_later(tmp_path: Path, right: set[tuple[int, str]], ahead: int, restarted: bool) -> None:
    """Set right again, each alert comes at its own time, as if the clock had never been wrong; what it told comes once more."""
    told = set(looked(tmp_path / "jumped", MORNING + ahead, restarted=restarted))
    assert len(right) > 5
    assert right <= told
    assert {now for now, _ in told - right} <= {MORNING + 20}


def test_what_a_clock_ahead_promised_is_kept_by_the_right_one(ledger: Ledger) -> None:
    """A lease beyond the next 90 s, a claim beyond 180 s, a retry beyond an hour, an answer put off for a year: each is anybody's, or due, again."""
    away = Fails("desktop", "no session")
    telling(ledger, {"desktop": away}, config(ONCE), owner="ahead").look(MORNING)
    now = row(ledger, SPIN).due_at
    ledger.alerts.claim("ahead", now + YEAR, now + YEAR + CLAIM)
    assert not ledger.alerts.failed({row(ledger, SPIN).id: now + YEAR + HOUR}, "ahead", "no session")
    ledger.alerts.lease(WATCH, "ahead", now + YEAR, now + YEAR + LEASE)
    ledger.answer((), now, later=[row(ledger, FREEZE).id], until=now + YEAR)
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop}, config(ONCE), owner="right")
    assert watch.look(now).other is None
    assert any("Uncap and spin" in one.title or "alerts are late" in one.title for one in desktop.messages)
    assert row(ledger, SPIN).told_at == now
    watch.look(row(ledger, FREEZE).due_at)
    assert row(ledger, FREEZE).told_at == row(ledger, FREEZE).due_at


def test_what_was_heard_at_a_time_still_to_come_was_not_heard(ledger: Ledger) -> None:
    """ "Done", pressed while the clock was a year ahead, is a fact of next year: the alert asks again."""
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop}, config(ONCE))
    ledger.append([TaskBegun(occurred_at=MORNING, task=FREEZE)], MORNING)
    watch.look(MORNING)
    due = row(ledger, FREEZE).due_at
    watch.look(due)
    watch.press(alert_key(FREEZE, 0, "keeper"), "done", due + YEAR, due + YEAR)
    watch.look(due + YEAR)
    desktop.messages.clear()
    watch.look(due + 60)
    assert any("16 packages" in one.title for one in desktop.messages)


def test_a_step_of_the_clock_by_a_minute_tells_nothing_twice(ledger: Ledger) -> None:
    """As a time server sets it now and then."""
    desktop = Keeps()
    watch = telling(ledger, {"desktop": desktop}, config(ONCE))
    watch.look(MORNING)
    due = row(ledger, SPIN).due_at
    for now in (due, due - 60, due, due + 10):
        watch.look(now)
    assert [one.key for one in desktop.messages].count(row(ledger, SPIN).id) == 1
