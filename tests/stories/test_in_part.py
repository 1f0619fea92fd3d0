"""Long work that was done in part: by pieces or by time, and what is left is planned."""

import pytest

from scheduler.outputs.wording.sentence import title_of
from scheduler.planning.plan import PlannedTask
from tests.keeper import Keeper


@pytest.fixture
def keeper(new_place: str) -> Keeper:
    """The invented yard of the examples on the evening of its pull."""
    return Keeper(new_place, "kestrel_bank", "Europe/Ljubljana", "2026-08-11T12:00").logs("ridge-2").waits_until("2026-08-11T19:00")


def _task(keeper: Keeper, name: str) -> PlannedTask:
    return next(task for task in keeper.plan.tasks if task.id == name)


def _minutes(keeper: Keeper, name: str) -> int:
    return sum(end - start for start, end in _task(keeper, name).sittings) // 60


def test_frames_spun_so_far(keeper: Keeper) -> None:
    """6 of 14 frames are spun: six fourteenths of the 70 minutes are gone; what else is done with it stays."""
    before = _minutes(keeper, "ridge-2/b/spin")
    assert "6 done Tue 11 Aug 19:00, 8 left" in keeper.types("done", "b/spin", "--amount", "6")
    assert _minutes(keeper, "ridge-2/b/spin") == before - 30
    assert title_of(_task(keeper, "ridge-2/b/spin")).endswith("(8 of 14 left)")


def test_work_that_is_not_counted_is_told_by_time(keeper: Keeper) -> None:
    """A quarter of an hour of the straining is done; the title counts the straining alone, not the washing up with it."""
    assert "is not counted in pieces" in keeper.types("done", "b/strain", "--amount", "5", refused=True)
    before = _minutes(keeper, "ridge-2/b/strain")
    assert "worked on it for 15 min" in keeper.types("done", "b/strain", "--amount", "15min")
    assert _minutes(keeper, "ridge-2/b/strain") == before - 15
    assert title_of(_task(keeper, "ridge-2/b/strain")).endswith("(5 min of 20 min left)")


def test_parts_add_up_and_one_is_taken_back(keeper: Keeper) -> None:
    """Ten minutes and five; the five were not so."""
    before = _minutes(keeper, "ridge-2/b/strain")
    keeper.types("done", "b/strain", "--amount", "10 min")
    keeper.types("done", "b/strain", "--amount", "5 min")
    assert _minutes(keeper, "ridge-2/b/strain") == before - 15
    keeper.types("undo", "b/strain")
    assert _minutes(keeper, "ridge-2/b/strain") == before - 10


def test_all_the_time_there_is_means_done(keeper: Keeper) -> None:
    """More than straining and what is done with it was to take: it is done."""
    keeper.types("done", "b/strain", "--amount", "95 min", "--yes")
    assert _task(keeper, "ridge-2/b/strain").status == "done"


@pytest.mark.parametrize(("amount", "says"), [("lots", "is not a duration"), ("-3", "cannot be"), ("nan", "cannot be"), ("99", "14 of 14 are left")])
def test_an_amount_that_cannot_be_is_refused(keeper: Keeper, amount: str, says: str) -> None:
    """Nothing is written then."""
    before = keeper.view.recorded
    assert says in keeper.types("done", "b/spin", "--amount", amount, refused=True)
    assert keeper.view.recorded == before


def test_no_part_is_left_of_what_is_begun_or_done(keeper: Keeper) -> None:
    """A drain that runs has no minutes of racking left."""
    keeper.types("done", "a/cut", "a/drain")
    assert "is begun already, so no part of it is left" in keeper.types("done", "a/drain", "--amount", "2min", refused=True)
    assert "is done already, so no part of it is left" in keeper.types("done", "a/cut", "--amount", "2", refused=True)


def test_every_task_that_is_divided_takes_a_part(keeper: Keeper) -> None:
    """Whatever the plan splits over two evenings can be told of the first: by time where it is not counted."""
    for task in keeper.plan.tasks:
        if len(task.sittings) > 1:
            first = (task.sittings[0][1] - task.sittings[0][0]) // 60
            assert "left" in keeper.types("done", task.id, "--amount", f"{first}min", "--yes")
