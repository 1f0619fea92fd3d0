"""The timer of the watch: a ledger that is away is said once and taken up again, and an answer is kept until it is written down. All invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.application.press_queue import PressQueue
from scheduler.daemon import Watch
from scheduler.facts.fact import TaskDone
from scheduler.ledger.store import Ledger
from tests.application.watched_yard import LOGGED, Keeps, config, season

FILE = config("people: {keeper: {tell: [desktop]}}")


class Yard:
    """A watch on a ledger, its desktop and what it prints."""

    def __init__(self, where: Path) -> None:
        self.desktop, self.said, self.now = Keeps(), list[str](), LOGGED
        self.watch = Watch(str(where), FILE, lambda *_: {"desktop": self.desktop}, self.said.append, lambda: self.now)

    def looks(self, count: int = 1) -> list[bool]:
        """Whether each look saw the ledger."""
        return [self.watch.look() is not None for _ in range(count)]


@pytest.fixture
def where(tmp_path: Path) -> Path:
    """A ledger with the example in it."""
    with season(tmp_path):
        pass
    return tmp_path / "ledger.sqlite"


def done(where: Path) -> list[str]:
    """The tasks that are recorded as done."""
    with Ledger.open(where) as ledger:
        return [one.fact.task for one in ledger.facts() if isinstance(one.fact, TaskDone)]


def test_a_ledger_that_is_away_is_said_once_and_shown_at_the_second_look(where: Path) -> None:
    """And taken up again once it is back, without a word lost; away a second time it is said again."""
    yard = Yard(where)
    aside = where.with_name("aside.sqlite")
    assert yard.looks() == [True]
    for count in (1, 2):
        where.rename(aside)
        assert yard.looks(3) == [False, False, False]
        assert sum("there is no ledger here" in line for line in yard.said) == count
        assert yard.desktop.titles().count("No alerts come: the watch cannot use its ledger") == count
        aside.rename(where)
        assert yard.looks() == [True]
    yard.watch.stop()


def test_a_ledger_that_another_file_replaced_is_opened_anew(where: Path, tmp_path: Path) -> None:
    """What is recorded in the one that lies there now counts."""
    yard = Yard(where)
    assert yard.looks() == [True]
    (tmp_path / "other").mkdir()
    with season(tmp_path / "other"):
        pass
    where.rename(tmp_path / "old.sqlite")
    (tmp_path / "other/ledger.sqlite").rename(where)
    assert yard.looks() == [True]
    yard.watch._pressed("ridge-2/close-up#0@keeper", "done")
    yard.watch.stop()
    assert done(where) == ["ridge-2/close-up"]


def test_an_answer_waits_on_the_disk_while_the_ledger_is_away(where: Path) -> None:
    """Of a watch that ends meanwhile the next writes it down."""
    yard = Yard(where)
    yard.looks()
    aside = where.with_name("aside.sqlite")
    where.rename(aside)
    yard.looks()
    yard.watch._pressed("ridge-2/close-up#0@keeper", "done")
    yard.watch.stop()
    assert len(PressQueue(str(where)).waiting(LOGGED)) == 1
    aside.rename(where)
    assert done(where) == []
    after = Yard(where)
    after.now = LOGGED + 60
    after.looks()
    after.watch.stop()
    assert done(where) == ["ridge-2/close-up"]
    assert PressQueue(str(where)).waiting(LOGGED) == []


def test_an_answer_that_nothing_takes_is_asked_for_again(where: Path) -> None:
    """Neither the ledger nor the disk: the keeper presses once more."""
    where.with_name(f"{where.name}.presses").write_text("in the way")
    yard = Yard(where.with_name(where.name))
    yard.watch._pressed("ridge-2/close-up#0@keeper", "done")
    assert yard.desktop.titles() == ["Not noted, press again: ridge-2/close-up"]
