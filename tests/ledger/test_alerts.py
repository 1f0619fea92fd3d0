"""Alerts in the ledger: claimed, told, failed, moved, withdrawn; by one teller or by several."""

from __future__ import annotations

import threading
from dataclasses import replace

import pytest

from scheduler.ledger.alerts import HELD, SLACK, PlannedAlert
from scheduler.ledger.store import Ledger

DUE = 10_000
HOLD = PlannedAlert("ridge-2.a.freeze/hold done", "ridge-2.a.freeze", DUE, "Freezer hold done: take out 10 pieces", "crop")
DUSK = PlannedAlert("ridge-2.b.give-back/begins", "ridge-2.b.give-back", DUE + 500, "Give 14 wet frames back", "food safety")


def claimed(ledger: Ledger, owner: str, now: int) -> list[str]:
    return [one.id for one in ledger.alerts.claim(owner, now, now + 60)]


def test_nothing_is_told_before_it_is_due(ledger: Ledger) -> None:
    """And then the earliest comes first."""
    ledger.alerts.offer([DUSK, HOLD], DUE)
    assert ledger.alerts.next_due(DUE) == DUE
    assert claimed(ledger, "watch", DUE - 1) == []
    assert claimed(ledger, "watch", DUE + 500) == [HOLD.id, DUSK.id]


def test_what_is_being_told_by_one_is_left_alone_by_the_other(ledger: Ledger) -> None:
    """Two watchers on one ledger tell an alert once."""
    ledger.alerts.offer([HOLD], DUE)
    assert claimed(ledger, "first", DUE) == [HOLD.id]
    assert claimed(ledger, "second", DUE + 1) == []
    assert not ledger.alerts.delivered({HOLD.id: None}, "first", DUE + 2, "desktop")
    assert claimed(ledger, "second", DUE + 1000) == []
    (alert,) = ledger.alerts.all()
    assert (alert.told_at, alert.channel, alert.attempts, alert.next_attempt_at) == (DUE + 2, "desktop", 1, None)


def test_an_alert_whose_teller_died_is_told_by_the_next(ledger: Ledger) -> None:
    """The claim runs out; whoever comes back late learns that it is no longer theirs."""
    ledger.alerts.offer([HOLD], DUE)
    claimed(ledger, "dies", DUE)
    assert claimed(ledger, "lives", DUE + 60) == [HOLD.id]
    assert ledger.alerts.delivered({HOLD.id: None}, "dies", DUE + 61, "desktop") == {HOLD.id}
    assert not ledger.alerts.delivered({HOLD.id: None}, "lives", DUE + 62, "desktop")


def test_a_channel_that_fails_is_tried_again_and_says_why(ledger: Ledger) -> None:
    """The reason is kept for whoever asks why nothing was told."""
    ledger.alerts.offer([HOLD], DUE)
    claimed(ledger, "watch", DUE)
    assert not ledger.alerts.failed({HOLD.id: DUE + 120}, "watch", "no session bus")
    assert claimed(ledger, "watch", DUE + 119) == []
    assert claimed(ledger, "watch", DUE + 120) == [HOLD.id]
    (alert,) = ledger.alerts.all()
    assert (alert.attempts, alert.failure, alert.told_at) == (1, "no session bus", None)


def test_what_loses_the_crop_is_told_again_until_somebody_has_seen_it(ledger: Ledger) -> None:
    """A repeat is set while telling; acknowledging ends it."""
    ledger.alerts.offer([HOLD], DUE)
    claimed(ledger, "watch", DUE)
    ledger.alerts.delivered({HOLD.id: DUE + 900}, "watch", DUE, "desktop")
    assert claimed(ledger, "watch", DUE + 900) == [HOLD.id]
    ledger.alerts.delivered({HOLD.id: DUE + 2700}, "watch", DUE + 900, "desktop")
    ledger.alerts.acknowledge(HOLD.id, DUE + 1000)
    assert ledger.alerts.next_due(DUE + 1000) is None
    assert claimed(ledger, "watch", DUE + 9000) == []


def test_put_off_an_hour_is_told_in_an_hour(ledger: Ledger) -> None:
    """Also after it was told; an alert that nobody knows is said to be unknown."""
    ledger.alerts.offer([HOLD], DUE)
    claimed(ledger, "watch", DUE)
    ledger.alerts.delivered({HOLD.id: None}, "watch", DUE, "desktop")
    ledger.answer((), DUE, later=[HOLD.id], until=DUE + 3600)
    assert claimed(ledger, "watch", DUE + 3600) == [HOLD.id]


def test_the_same_plan_again_changes_nothing(ledger: Ledger) -> None:
    """An alert that was told is not told again because the plan was made again."""
    ledger.alerts.offer([HOLD], DUE)
    claimed(ledger, "watch", DUE)
    ledger.alerts.delivered({HOLD.id: None}, "watch", DUE, "desktop")
    ledger.alerts.acknowledge(HOLD.id, DUE + 5)
    before = ledger.alerts.all()
    ledger.alerts.offer([HOLD], DUE)
    assert ledger.alerts.all() == before


@pytest.mark.parametrize(
    ("due_at", "told_again"),
    [(DUE + 7200, True), (DUE - 7200, False)],
    ids=["the hold is longer than was told", "the hold was over even earlier"],
)
def test_an_alert_told_too_early_is_told_again_at_its_new_time(ledger: Ledger, due_at: int, told_again: bool) -> None:
    """The freezer stood open: "hold done" was wrong and must be said again when it is right."""
    ledger.alerts.offer([HOLD], DUE)
    claimed(ledger, "watch", DUE)
    ledger.alerts.delivered({HOLD.id: None}, "watch", DUE, "desktop")
    ledger.alerts.offer([replace(HOLD, due_at=due_at)], DUE)
    assert (ledger.alerts.next_due(DUE) == due_at) is told_again
    assert (claimed(ledger, "watch", DUE + 7200) == [HOLD.id]) is told_again


def test_an_alert_not_yet_told_moves_with_the_plan(ledger: Ledger) -> None:
    """Words and time are those of the newest plan."""
    ledger.alerts.offer([HOLD], DUE)
    moved = replace(HOLD, due_at=DUE + 300, say="Freezer hold done: take out 9 pieces")
    ledger.alerts.offer([moved], DUE)
    assert claimed(ledger, "watch", DUE) == []
    (alert,) = ledger.alerts.claim("watch", DUE + 300, DUE + 360)
    assert alert.say == moved.say


def test_an_alert_whose_task_fell_away_is_withdrawn_but_what_was_told_stays_on_record(ledger: Ledger) -> None:
    """Nothing is told for a task that is done or gone, and repeats end."""
    ledger.alerts.offer([HOLD, DUSK], DUE)
    claimed(ledger, "watch", DUE)
    ledger.alerts.delivered({HOLD.id: DUE + 900}, "watch", DUE, "desktop")
    ledger.alerts.offer([], DUE)
    assert [one.id for one in ledger.alerts.all()] == [HOLD.id]
    assert ledger.alerts.next_due(DUE) is None


def test_one_process_watches_and_another_takes_over_when_it_falls_silent(ledger: Ledger) -> None:
    """The lease is renewed by its owner, refused to others, and free once it ran out or was given back."""
    lease = ledger.alerts.lease
    assert lease("watch", "first", 0, 60) == "first"
    assert lease("watch", "second", 30, 90) == "first"
    assert lease("watch", "first", 50, 110) == "first"
    assert lease("watch", "second", 100, 160) == "first"
    assert lease("watch", "second", 110, 170) == "second"
    ledger.alerts.release("watch", "first")
    assert lease("watch", "first", 120, 180) == "second"
    ledger.alerts.release("watch", "second")
    assert lease("watch", "first", 121, 181) == "first"


YEAR = 365 * 86400


def test_no_lease_and_no_claim_counts_that_lies_further_ahead_than_any_is_given(ledger: Ledger) -> None:
    """A clock a year ahead took them; by the right one they are free."""
    ledger.alerts.offer([HOLD], DUE)
    assert ledger.alerts.lease("watch", "ahead", DUE + YEAR, DUE + YEAR + 90) == "ahead"
    assert claimed(ledger, "ahead", DUE + YEAR) == [HOLD.id]
    assert ledger.alerts.lease("watch", "right", DUE, DUE + 90) == "right"
    assert claimed(ledger, "right", DUE) == [HOLD.id]
    assert ledger.alerts.lease("watch", "beside", DUE + 1, DUE + 91) == "right"
    assert claimed(ledger, "beside", DUE + 1) == []


def test_nothing_that_is_marked_with_a_time_still_to_come_counts(ledger: Ledger) -> None:
    """Told, heard, refused or put off by a clock a year ahead; what was told a moment ago, waits for the morning or is yet to come stays as it is."""
    ahead, late, soon = DUE + YEAR, DUE - 7200, DUE + 7200
    due = {"told now": late, "told late": late, "heard": late, "refused": late, "put off": late, "at night": late, "told early": soon, "to come": soon}
    ledger.alerts.offer([PlannedAlert(name, name, at, "Look", "crop") for name, at in due.items()], DUE)
    ledger.alerts.claim("ahead", ahead, ahead + 60)
    for name, at in {"told now": DUE + SLACK, "told late": ahead, "told early": ahead, "heard": late, "put off": late}.items():
        ledger.alerts.delivered({name: None}, "ahead", at, "desktop")
    ledger.alerts.acknowledge("heard", ahead)
    ledger.answer((), ahead, later=["put off"], until=ahead + 60)
    ledger.alerts.failed({"refused": ahead + 60}, "ahead", "no session")
    ledger.alerts.failed({"at night": DUE + 9 * 3600}, "ahead", HELD)
    before = ledger.alerts.all()
    assert claimed(ledger, "behind", DUE - YEAR) == []
    assert not ledger.alerts.take_back(DUE - YEAR)
    assert ledger.alerts.all() == before, "a clock that is a year behind undoes nothing"
    assert claimed(ledger, "right", DUE) == ["heard", "put off", "refused", "told late"]
    assert {one.told_at for one in ledger.alerts.all() if one.id in ("heard", "told late")} == {None}
    assert set(claimed(ledger, "right", soon)) == {"heard", "put off", "refused", "told late", "told early", "to come"}


def test_what_was_told_by_a_clock_hours_ahead_is_told_though_everybody_slept_until_then(ledger: Ledger) -> None:
    """Once the clock is right the mark is taken back, before time goes past it and nobody can know any more."""
    ledger.alerts.offer([HOLD], 0)
    claimed(ledger, "ahead", DUE + 3600)
    ledger.alerts.delivered({HOLD.id: None}, "ahead", DUE + 3600, "desktop")
    assert ledger.alerts.take_back(DUE - 3600)
    assert not ledger.alerts.take_back(DUE - 3600)
    assert claimed(ledger, "right", DUE - 3600) == []
    assert claimed(ledger, "right", DUE + 86400) == [HOLD.id]


def test_four_tellers_share_four_hundred_alerts_without_telling_one_twice(ledger: Ledger) -> None:
    """Each alert is claimed by exactly one of them."""
    ledger.alerts.offer([PlannedAlert(f"task-{number}/due", f"task-{number}", DUE, "Look", "crop") for number in range(400)], DUE)
    taken: list[str] = []

    def tell(owner: str) -> None:
        while due := ledger.alerts.claim(owner, DUE, DUE + 60, limit=17):
            taken.extend(one.id for one in due)

    tellers = [threading.Thread(target=tell, args=(f"teller-{number}",)) for number in range(4)]
    for one in tellers:
        one.start()
    for one in tellers:
        one.join()
    assert len(taken) == len(set(taken)) == 400
