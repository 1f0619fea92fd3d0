"""The end of a hold that was begun: begun plus hold, whenever somebody looks and whether or not anybody said that it is over."""

from __future__ import annotations

import re

import pytest
from icalendar import Calendar

from scheduler.application.watch import AlertSender
from scheduler.ledger.store import Ledger
from scheduler.outputs.calendar.uids import read_entry_uid
from scheduler.outputs.notify.config import NotificationConfig
from tests.application.watched_yard import Keeps
from tests.keeper import Keeper, section

DRAIN = "ridge-2/a/drain.1"


@pytest.fixture
def ridge(new_place: str) -> Keeper:
    """Kestrel Bank: cut at 19:30, set to drain at 20:15 on the evening of the pull."""
    keeper = Keeper(new_place, "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")
    keeper.waits_until("2026-08-11T20:15").types("done", "a/cut.1", "--at", "19:30")
    keeper.types("done", "a/drain.1")
    return keeper


def ends(keeper: Keeper) -> set[str]:
    """When the drain ends, by the plan, `why`, the calendar and the alerts of a watch."""
    drain = keeper.task("a/drain.1")
    assert drain.hold_done is not None
    clock = keeper.clock(drain.hold_done)
    desktop = Keeps()
    with Ledger.open(keeper.ledger) as ledger:
        watch = AlertSender(ledger, NotificationConfig(), {"desktop": desktop}, f"watch {keeper.now}")
        watch.look(keeper.now)
        watch.stop()
        told = {keeper.clock(row.due_at) for row in ledger.alerts.all() if row.task == DRAIN}
    entries = Calendar.from_ical(keeper.types("calendar", "--holds").replace("\n", "\r\n")).events
    [hold] = [part for part in entries if (name := read_entry_uid(str(part["UID"]))) and name.task == DRAIN and name.phase == "hold"]
    assert clock in " ".join(keeper.types("why", "a/drain.1").split())
    return {clock, *told, keeper.clock(int(hold["DTEND"].dt.timestamp()))}


def test_a_begun_hold_that_nobody_closed_ends_when_it_ended_also_weeks_later(ridge: Keeper) -> None:
    """The next noon, two evenings later, five weeks later: one moment everywhere."""
    before = ends(ridge)
    assert len(before) == 1
    for moment in ("2026-08-12T12:00", "2026-08-13T18:00", "2026-09-16T18:00"):
        ridge.waits_until(moment)
        assert ends(ridge) == before


def test_a_hold_that_is_over_is_told_as_over_and_not_as_one_that_runs(ridge: Keeper) -> None:
    """Nobody said so, and the agenda does not say "until" of a moment that is past."""
    assert re.search(r"until \w{3} \d+ Aug \d\d:\d\d Rack", section(ridge.types("agenda"), "WAITING"))
    ridge.waits_until("2026-09-16T18:00")
    assert re.search(r"since \w{3} \d+ Aug \d\d:\d\d over: Take 20 pieces", section(ridge.types("agenda"), "WAITING"))


def test_a_hold_that_was_over_when_it_was_told_did_its_work(ridge: Keeper) -> None:
    """Told two and a half hours later than it ended, by its own end; an hour before its end it may not have."""
    drain = ridge.task("a/drain.1")
    assert drain.hold_done is not None
    ridge.now = drain.hold_done + 9360
    at = ridge.clock(drain.hold_done)
    assert "may not have done its work" not in ridge.types("done", "a/drain.1", "--at", at)
    ridge.types("undo")
    early = ridge.clock(drain.hold_done - 3600)
    assert "may not have done its work" in ridge.types("done", "a/drain.1", "--whole", "--at", early)


def test_work_is_overdue_from_the_evening_after_and_once(ridge: Keeper) -> None:
    """Not yet on its own evening; the morning after it is named in one place, with how to tell; at the next look no more."""
    ridge.waits_until("2026-08-12T09:00")
    packing = ridge.task("a/pack.1")
    ridge.now = packing.start + 5400
    ridge.types("agenda")
    assert packing.id not in section(ridge.types("agenda"), "OVERDUE")
    ridge.now += 86400
    text = ridge.types("agenda", "--all")
    assert packing.id in section(text, "OVERDUE")
    assert packing.id not in section(text, "WARNINGS")
    assert packing.id not in section(ridge.types("agenda"), "OVERDUE")


def test_what_is_done_late_is_warned_about_no_more(ridge: Keeper) -> None:
    """Packed five days after the drain was over: too late, and past changing."""
    ridge.waits_until("2026-08-12T18:00").types("done", "a/drain.1")
    ridge.waits_until("2026-08-17T18:00")
    assert ("waits too long", "ridge-2/a/pack.1") in {(warning.kind, warning.task) for warning in ridge.plan.warnings}
    ridge.types("done", "a/pack.1")
    assert {"ridge-2/a/pack.1", DRAIN}.isdisjoint(warning.task for warning in ridge.plan.warnings)
