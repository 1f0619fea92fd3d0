"""Presses wait on the disk until they are written down, whoever took them. All invented."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from scheduler.application.press_queue import ABANDONED, Press, PressQueue

NOW = 1_786_437_000  # 2026-08-11 10:30 in Ljubljana


@pytest.fixture
def where(tmp_path: Path) -> str:
    """The place of a ledger."""
    return str(tmp_path / "ledger.sqlite")


def press(number: int = 0, at: int = NOW) -> Press:
    """A press of a button."""
    return Press(f"ridge-2/a/spin#{number}@keeper", "done", at)


def plain(found: list[Press]) -> list[Press]:
    """Without the names of their files."""
    return [one._replace(name="") for one in found]


def test_a_press_waits_in_the_order_it_came_until_it_is_written_down(where: str, tmp_path: Path) -> None:
    """Also of two in one second; then nothing is left of it, nor of its folder."""
    queue = PressQueue(where)
    pressed = [press(1), press(0), press(2, NOW - 60)]
    assert all(queue.keep(one) for one in pressed)
    waiting = queue.waiting(NOW)
    assert plain(waiting) == [pressed[2], pressed[0], pressed[1]]
    for one in waiting:
        queue.drop(one)
        queue.drop(one)  # written by another watch meanwhile
    assert queue.waiting(NOW) == []
    assert list(tmp_path.iterdir()) == []


def test_what_a_watch_left_is_taken_up_by_the_next_at_its_first_look(where: str) -> None:
    """However it ended."""
    PressQueue(where).keep(press())
    assert plain(PressQueue(where).waiting(NOW)) == [press()]


@pytest.mark.parametrize(("later", "taken"), [(ABANDONED, True), (ABANDONED - 1, False)])
def test_what_another_watch_holds_is_left_to_it_for_a_while(where: str, later: int, taken: bool) -> None:
    """It has had several looks by then."""
    ours, other = PressQueue(where), PressQueue(where)
    assert ours.waiting(NOW) == []
    other.keep(press())
    assert bool(ours.waiting(NOW + later)) is taken
    assert other.waiting(NOW + later)


def test_what_is_nothing_of_ours_is_passed_over(where: str, tmp_path: Path) -> None:
    """A file somebody put there, and one that is half written."""
    queue = PressQueue(where)
    queue.keep(press())
    folder = tmp_path / "ledger.sqlite.presses"
    for name, text in (("0.json", "{"), ("1.json", '["a"]'), ("2.json", "null"), ("notes.txt", "x")):
        (folder / name).write_text(text)
    assert plain(queue.waiting(NOW)) == [press()]


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_a_press_is_for_its_owner_to_read(where: str, tmp_path: Path) -> None:
    """It says what a person did and when."""
    PressQueue(where).keep(press())
    assert [one.stat().st_mode & 0o777 for one in (tmp_path / "ledger.sqlite.presses").iterdir()] == [0o600]


def test_where_nothing_can_be_kept_it_is_said(where: str, tmp_path: Path) -> None:
    """The place of the folder is taken by a file; nothing waits then."""
    (tmp_path / "ledger.sqlite.presses").write_text("in the way")
    queue = PressQueue(where)
    assert not queue.keep(press())
    assert queue.waiting(NOW) == []
