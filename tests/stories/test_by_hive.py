"""Work at hives is recorded hive by hive: what is left stays open, and no hive is counted twice. The yard is the invented example."""

from __future__ import annotations

import pytest

from scheduler.facts.fact import TaskDone
from tests.keeper import Keeper


@pytest.mark.parametrize("card", ["yard-2026/mite-count", "ridge-2/reduce-entrances", "yard-2026/mouse-guard", "yard-2026/stores-check"])
def test_one_hive_after_the_other_is_the_whole_apiary(ridge: Keeper, card: str) -> None:
    """North this evening, ridge the next; then nothing is left, and meanwhile it took less time."""
    before = next(task for task in ridge.plan.tasks if task.id == card)
    ridge.waits_until("2026-08-12T18:00")
    assert "Left: ridge" in ridge.types("done", card, "--hive", "north")
    half = next(task for task in ridge.plan.tasks if task.id == card)
    assert half.is_open
    assert half.left == 1
    assert sum(b - a for a, b in half.sittings) < sum(b - a for a, b in before.sittings)
    assert "is done of north already" in ridge.types("done", card, "--hive", "north", refused=True)
    ridge.types("done", card, "--hive", "ridge")
    assert next(task for task in ridge.plan.tasks if task.id == card).status == "done"
    ridge.types("undo", card)
    assert next(task for task in ridge.plan.tasks if task.id == card).is_open


def test_both_at_once_is_done(ridge: Keeper) -> None:
    """And the ledger knows of which hives."""
    ridge.types("done", "mite-count", "--hive", "north", "--hive", "ridge")
    assert ridge.task("mite-count").status == "done"
    [told] = [one.fact for one in ridge.view.facts if isinstance(one.fact, TaskDone)]
    assert told.hives == ("north", "ridge")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("mite-count", "--hive", "nort"), 'no harvest names the hive "nort"'),
        (("b/spin", "--hive", "north"), "b/spin is not done hive by hive"),
        (("mite-count", "mouse-guard", "--hive", "north"), "--hive is of one task"),
    ],
)
def test_what_is_not_done_hive_by_hive_is_refused(ridge: Keeper, words: tuple[str, ...], said: str) -> None:
    """With the hives and cards that are."""
    assert said in ridge.types("done", *words, refused=True)


def test_where_the_queen_was_up_eggs_are_looked_for(new_place: str) -> None:
    """Brood in a super of north: four to seven days after the pull a look for eggs, once; taken back it is gone, and what cannot be is refused."""
    keeper = Keeper(new_place, "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")
    assert "of which hive?" in keeper.types("observe", "queen", refused=True)
    assert '"north"' in keeper.types("observe", "brood", "--of", "nort", refused=True)
    assert "was off by 2026-08-10" in keeper.types("observe", "brood", "--of", "north", "--on", "2026-08-10", refused=True)
    assert "look for eggs below" in keeper.types("observe", "brood", "--of", "north")
    look = keeper.task("look-for-eggs")
    assert keeper.moment("2026-08-15T10:30") <= look.start < look.finish <= keeper.moment("2026-08-18T10:30")
    keeper.types("observe", "queen", "--of", "north")
    assert [task.id for task in keeper.plan.tasks if "look-for-eggs" in task.id] == ["ridge-2/look-for-eggs"]
    keeper.waits_until("2026-08-16T17:00").types("done", "ridge-2/look-for-eggs")
    assert keeper.task("look-for-eggs").status == "done"
    keeper.types("undo")
    keeper.types("undo")
    keeper.types("undo")
    assert not keeper.has("look-for-eggs")
