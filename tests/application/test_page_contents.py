"""What the pages show: one plan for all of them while it stands, and the hour of the clock beside it."""

from __future__ import annotations

from scheduler.application.ledger_view import view_at
from scheduler.application.page_contents import Contents, Pages
from scheduler.facts.fact import TaskBegun, TaskDone
from scheduler.ledger.store import Ledger
from tests.conftest import PULLED

HOUR = 3600


def test_one_plan_is_shown_until_the_evening_begins_or_something_is_recorded(ledger: Ledger) -> None:
    """At each minute between, the times are those of a plan that is made anew then; what is recorded is followed at once, and so is a clock set back."""
    clock = [PULLED + HOUR]
    pages = Pages(ledger, lambda: clock[0])
    first, until = pages.contents(), view_at(ledger, clock[0]).as_of.until
    first.work()
    for at in (clock[0] + 60, (clock[0] + until) // 2, until - 1):
        clock[0] = at
        assert pages.contents() is first
        assert first.plan == view_at(ledger, at).plan
    clock[0] = until
    evening = pages.contents()
    assert evening is not first
    ledger.append([TaskDone(occurred_at=clock[0] - 60, task="ridge-2/close-up")], clock[0])
    told = pages.contents()
    assert told is not evening
    assert next(task for task in told.plan.tasks if task.id == "ridge-2/close-up").status == "done"
    clock[0] -= 2 * HOUR
    assert pages.contents() is not told


def test_a_plan_is_looked_at_anew_on_the_next_day(ledger: Ledger) -> None:
    """Through the night nothing begins, and yet the day that is over counts as one that was missed or not."""
    clock = [PULLED + 13 * HOUR]
    pages = Pages(ledger, lambda: clock[0])
    evening = pages.contents()
    clock[0] += HOUR
    assert clock[0] < evening.view.as_of.until
    assert pages.contents() is not evening


def test_what_waits_goes_on_while_the_plan_stands(ledger: Ledger) -> None:
    """The pieces drain: the page says the hour that it is, and how far along, though nothing is planned anew."""
    clock = [PULLED + HOUR]
    ledger.append([TaskDone(occurred_at=PULLED + 60, task=f"ridge-2/{task}") for task in ("close-up", "a/cut.1")], clock[0])
    ledger.append([TaskBegun(occurred_at=PULLED + 120, task="ridge-2/a/drain.1")], clock[0])
    pages, shown = Pages(ledger, lambda: clock[0]), []
    for _ in range(2):
        [wait] = pages.contents().work()["shown"].waiting
        shown.append((pages.contents().work()["shown"].moment, wait.share))
        clock[0] += 3 * HOUR
    (first, before), (second, after) = shown
    assert (first, second) == ("Tue 11 Aug 11:30", "Tue 11 Aug 14:30")
    assert 0 < before < after < 100


def test_contents_stand_for_their_own_position_alone(ledger: Ledger) -> None:
    """Another fact, another plan."""
    view = view_at(ledger, PULLED + HOUR)
    contents = Contents(ledger, view, lambda: PULLED + HOUR, 7)
    assert contents.stands(7, PULLED + HOUR)
    assert not contents.stands(8, PULLED + HOUR)
    assert not contents.stands(7, PULLED + HOUR - 1)


def test_who_reads_other_units_sees_the_same_plan_in_them(ledger: Ledger) -> None:
    """The yard is metric: a reader of US units has the same times, titles and reasons in pounds and °F, and the paper of the yard."""
    pages = Pages(ledger, lambda: PULLED + HOUR)
    own, other = pages.contents(), pages.contents("us")
    own.work()
    assert [(task.id, task.start, task.finish, task.hands) for task in own.plan.tasks] == [
        (task.id, task.start, task.finish, task.hands) for task in other.plan.tasks
    ]
    freeze = [one.task("ridge-2/a/freeze.1")["why"].partition("SOURCES")[0] for one in (own, other)]  # a source keeps its own
    assert [("°C" in words, "°F" in words) for words in freeze] == [(True, False), (False, True)]
    assert [one.labels("ridge-2/a", "1")["us"] for one in (own, other)] == [False, False]
    assert pages.contents("us") is other
    assert pages.contents("metric").task("ridge-2/a/freeze.1")["why"].partition("SOURCES")[0] == freeze[0]
