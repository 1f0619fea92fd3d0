"""What the pages show: one plan for all of them while it stands, and the hour of the clock beside it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from scheduler.application.ledger_view import view_at
from scheduler.application.page_contents import Contents, Pages
from scheduler.application.tell import log, set_yard
from scheduler.facts.fact import TaskBegun, TaskDone
from scheduler.ledger.store import Ledger
from scheduler.planning.planner import Planning
from tests.conftest import EXAMPLES, PULLED

HOUR = 3600
MEADOW = PULLED + 11 * 86_400 - HOUR  # half an hour after that pull


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


@pytest.fixture
def late(tmp_path: Path) -> Iterator[Ledger]:
    """A ledger with the meadow in one morning, whose pieces wait too long for a small freezer."""
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        set_yard(ledger, (EXAMPLES / "yard.yaml").read_bytes(), "yard.yaml", MEADOW)
        log(ledger, [((EXAMPLES / "meadow-1.yaml").read_bytes(), "meadow-1.yaml")], MEADOW)
        yield ledger


def test_what_would_cure_a_missed_limit_is_found_behind_the_page(late: Ledger) -> None:
    """The page is answered without it and says so; once it was found, the page has another word for where it stands, and the cure beside the warning."""
    pages = Pages(late, lambda: MEADOW)
    before, words = pages.at(), pages.contents().work()["shown"].warnings[0].words
    assert "What would help is being looked for. It appears here" in words
    assert "What would help is being looked for" in " ".join(pages.contents().task("meadow-1/a/freeze.2")["why"].split())
    pages.look()
    found_within(pages)
    assert pages.at() != before
    work = pages.contents().work()["shown"].warnings[0].words
    assert re.search(r"What would cure it: \d+ frames of meadow-1/a kept whole", work)
    assert "What would cure it" in " ".join(pages.contents().task("meadow-1/a/freeze.2")["why"].split())
    assert not pages.contents().misses_limits
    pages.look()
    assert pages._searches._thread is None


def test_a_fault_in_the_search_for_cures_leaves_the_page_as_it_was(late: Ledger, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture) -> None:
    """It is said once where the server runs, and the same plan is not tried again."""
    pages = Pages(late, lambda: MEADOW)
    words = pages.contents().work()["shown"].warnings[0].words
    with monkeypatch.context() as broken:
        broken.setattr(Planning, "plan", lambda _self: 1 // 0)
        pages.look()
        found_within(pages)
    [record] = caplog.records
    assert record.message.startswith("what would cure the missed limits was not found: ZeroDivisionError: ")
    assert not pages.contents().misses_limits
    assert pages.contents().work()["shown"].warnings[0].words == words


def test_the_search_for_cures_ends_once_another_plan_is_shown_or_the_server_stops(late: Ledger) -> None:
    """Nobody would see what it finds."""
    pages = Pages(late, lambda: MEADOW)
    contents = pages.contents()
    contents.work()
    asked = list[int]()

    def wanted() -> bool:
        asked.append(1)
        return len(asked) < 3

    assert not contents.find_cures(wanted)
    assert len(asked) == 3
    assert contents.misses_limits
    pages.close()
    pages.look()
    assert pages._searches._thread is None
    assert not contents.find_cures(lambda: False)


def found_within(pages: Pages) -> None:
    """Wait for the search to end."""
    if (thread := pages._searches._thread) is not None:
        thread.join(timeout=300)
