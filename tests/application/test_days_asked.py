"""How many frames a day takes, asked on the page: what is found behind it is what the command says; nothing is recorded."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from scheduler.application import days_asked
from scheduler.application.before_pull import PullToCome, days, template_of
from scheduler.application.days_asked import DaysAsked, likes
from scheduler.application.ledger_view import LedgerView, view_at
from scheduler.application.page_contents import Pages
from scheduler.application.tell import log, set_yard
from scheduler.diagnostics import Fault
from scheduler.facts.fact import HarvestLogged
from scheduler.ledger.store import Ledger
from scheduler.local_time import DAY, midnight
from scheduler.outputs.text.pull_table import Day, best_words, day_words
from tests.conftest import EXAMPLES, PULLED

LATER = PULLED + 3600
FELL = "harvest: fell-3\npulled: 2026-08-22T09:00\nhives: [north]\nlots: [{id: a, kind: extracted, frames: 9, frame: medium}]\n"


@pytest.fixture
def planned(ledger: Ledger) -> LedgerView:
    """The example, with another pull that is planned."""
    ledger.append([HarvestLogged(occurred_at=PULLED, harvest="fell-3", text=FELL, path="fell-3.yaml")], PULLED)
    return view_at(ledger, LATER, page="")


def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two days, each found at once: 12 frames, then 10, of which 7 and none make it in nine of ten weeks."""
    monkeypatch.setattr(days_asked, "COUNT", 2)
    monkeypatch.setattr(
        PullToCome, "day", lambda self, at, free: Day(at, free, 12 if at < LATER + 2 * DAY else 10, (("a", 12),), False, None, None, None, None)
    )
    monkeypatch.setattr(
        PullToCome, "likely", lambda self, day: day._replace(safe=7 if day.frames == 12 else 0, safe_lots=(("a", 7),) if day.frames == 12 else ())
    )


@pytest.mark.slow
def test_a_day_takes_what_the_command_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The first of the days, with and without evenings that are missed; its frames are those of the form that plans it."""
    monkeypatch.setattr(days_asked, "COUNT", 1)
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        set_yard(ledger, (EXAMPLES / "yard.yaml").read_bytes(), "yard.yaml", PULLED)
        log(ledger, [(FELL.replace("08-22T09:00", "08-11T10:30").replace("extracted, frames: 9", "cut comb, frames: 6").encode(), "fell-3.yaml")], PULLED)
        view = view_at(ledger, LATER, page="")
    asked, first = DaysAsked(view, "fell-3", "2026-08-18", LATER, 1), midnight(date(2026, 8, 18), view.zone)
    assert asked.go_on(lambda: True)
    template = template_of(view, "fell-3", ())
    [limits] = days(view, template, first, 1, LATER)
    [shown] = asked.shown()["days"]
    first_words, *more = day_words(limits, view.zone, page=True)
    assert [one.lower() for one in shown.words] == [one.lower() for one in (first_words, days_asked.PENDING, *more)]
    assert shown.pulled == "2026-08-18T17:30"
    assert asked.go_on(lambda: True)
    [likely] = days(view, template, first, 1, LATER, likely=True)
    [shown] = asked.shown()["days"]
    assert any(one.startswith("In 9 of 10 weeks: ") for one in shown.words)
    assert shown.lots == ",".join(f"{lot}={count}" for lot, count in likely.safe_lots or likely.lots)
    assert asked.over
    assert asked.shown()["best"] == best_words([likely], view.zone)


@pytest.mark.slow
def test_a_planned_pull_on_another_day_is_no_second_one(planned: LedgerView) -> None:
    """What it takes itself is not counted against it: at the frames for which it is planned, the plan of that day has its tasks once."""
    template = days_asked.template_like(days_asked.harvest_named(planned, "fell-3"))
    at = midnight(date(2026, 8, 20), planned.zone) + 18 * 3600
    for moves, names in ((True, {"ridge-2", "fell-3"}), (False, {"ridge-2", "fell-3", "a-pull-to-come"})):
        plan = PullToCome(planned, template._replace(moves=moves))._planned(9, at)
        assert {task.harvest for task in plan.tasks if task.harvest} == names


def test_days_are_found_one_by_one_and_what_is_not_known_says_so(planned: LedgerView, monkeypatch: pytest.MonkeyPatch) -> None:
    """First what each takes, then how many make it in nine of ten weeks; the best are named once all of it is known."""
    quick(monkeypatch)
    asked, seen = DaysAsked(planned, "ridge-2", "", LATER, 1), []
    while not asked.over:
        assert asked.go_on(lambda: True)
        shown = asked.shown()
        seen.append((["being worked out" in one.words[1] for one in shown["days"]], bool(shown["best"])))
    assert seen == [([True], False), ([True, True], False), ([False, True], False), ([False, False], True)]
    assert [one.words[:2] for one in asked.shown()["days"]] == [
        ("12 frames (a 12)", "In 9 of 10 weeks: 7 frames (a 7)"),
        ("10 frames (a 12)", "In 9 of 10 weeks: none"),
    ]
    assert asked.shown()["best"] == "Most in 9 of 10 weeks: Wed 12 Aug 17:30, 7"


@pytest.mark.parametrize(
    ("like", "first", "said"),
    [
        ("ridge-3", "", "no harvest"),
        ("pyproject.toml", "", "no harvest"),
        ("ridge-2", "soon", "is not a date"),
        ("ridge-2", "2026-08-01", "these days are over"),
        ("ridge-2", "9999-12-31", "lies outside the years"),
    ],
)
def test_what_cannot_be_asked_is_refused(planned: LedgerView, like: str, first: str, said: str) -> None:
    """A file among it, for whoever has the page has not the machine."""
    with pytest.raises(Fault, match=said):
        DaysAsked(planned, like, first, LATER, 1)


def test_days_begin_tomorrow_or_some_before_the_one_that_is_planned(planned: LedgerView) -> None:
    """And the harvests that are planned are offered first."""
    assert DaysAsked(planned, "ridge-2", "", LATER, 1).first == date(2026, 8, 12)
    assert DaysAsked(planned, "fell-3", "", LATER, 1).first == date(2026, 8, 19)
    assert [name for name, _ in likes(planned)] == ["fell-3", "ridge-2"]


def test_what_nobody_waits_for_is_given_up_and_a_fault_is_said_once(
    planned: LedgerView, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """Given up, it can go on later; after a fault it is over, and the page says so."""
    asked = DaysAsked(planned, "ridge-2", "", LATER, 1)
    assert not asked.go_on(lambda: False)
    assert not asked.over
    assert asked.shown()["days"] == []
    monkeypatch.setattr(PullToCome, "day", lambda self, at, free: 1 // 0)
    assert asked.go_on(lambda: True)
    assert (asked.over, asked.shown()["failed"], asked.shown()["best"]) == (True, True, "")
    [record] = caplog.records
    assert record.message.startswith("how many frames a day takes was not found: ZeroDivisionError")


def test_the_same_question_is_worked_out_once_until_something_is_recorded(planned: LedgerView, ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """Behind the page, which is another one with each day that is found; of many questions the last few are kept."""
    quick(monkeypatch)
    clock = [LATER]
    pages = Pages(ledger, lambda: clock[0])
    assert pages.days("", "", "")["asked"] is None
    before = pages.at()
    assert pages.days("", "ridge-2", "")["asked"]["days"] == []
    pages.look()
    thread: Callable[[], object] | None = pages._searches._thread.join if pages._searches._thread else None
    assert thread is not None
    thread()
    assert re.sub(r"\.\d+$", "", pages.at()) == re.sub(r"\.\d+$", "", before)
    assert pages.at() == f"{before[:-1]}4"
    assert pages.days("", "ridge-2", "")["asked"]["over"]
    for number in range(5):
        pages.days("", "ridge-2", f"2026-08-2{number}")
    assert not pages.days("", "ridge-2", "")["asked"]["over"]
    ledger.append([HarvestLogged(occurred_at=PULLED, harvest="fell-4", text=FELL.replace("fell-3", "fell-4"), path="fell-4.yaml")], clock[0])
    assert pages.days("", "fell-4", "")["asked"]["moves"]
    pages.close()
