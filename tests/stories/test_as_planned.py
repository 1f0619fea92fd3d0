"""A keeper who told nothing for days says in one word that all went as planned, and is asked one by one about what protects food."""

import re

import pytest

from tests.keeper import Keeper


@pytest.fixture
def keeper(new_place: str) -> Keeper:
    """The invented yard of the examples; its harvest of 11 August is logged at noon."""
    return Keeper(new_place, "kestrel_bank", "Europe/Ljubljana", "2026-08-11T12:00").logs("ridge-2")


def test_yesterday_went_as_planned(keeper: Keeper) -> None:
    """Each step is recorded at the time it was planned for; a hold that runs on counts as begun, and the kill is asked."""
    planned = {task.id: task for task in keeper.waits_until("2026-08-11T12:01").plan.tasks}
    said = keeper.waits_until("2026-08-12T07:00").types("done", "--as-planned", "yesterday", "--yes")
    happened = keeper.view.happened
    assert happened.done["ridge-2/b/spin"] == (planned["ridge-2/b/spin"].start, planned["ridge-2/b/spin"].finish)
    assert happened.begun["ridge-2/b/settle"] == planned["ridge-2/b/settle"].holds_from
    assert "Record these one by one, for they protect food or give a reading: afterpull done ridge-2/c/freeze-comb.1" in said
    assert "ridge-2/c/freeze-comb.1" not in happened.begun
    assert not any(task.id.startswith("ridge-2/b/spin") and task.is_open for task in keeper.plan.tasks)


def test_it_asks_first_and_changes_nothing_where_nobody_can_answer(keeper: Keeper) -> None:
    """Without a terminal the list is printed, nothing is written, and the answer says which word does it."""
    before = keeper.view.recorded
    said = keeper.waits_until("2026-08-12T07:00").types("done", "--as-planned", "yesterday", refused=True)
    assert "this would mark" in said
    assert "afterpull done --as-planned yesterday --yes" in said
    assert keeper.view.recorded == before


def test_what_was_told_otherwise_stays_as_it_was_told(keeper: Keeper) -> None:
    """What was recorded with its own time, or dropped, is not recorded again."""
    keeper.waits_until("2026-08-11T22:00").types("done", "b/spin", "--at", "21:40")
    keeper.types("skip", "b/cappings", "--because", "no wax this year")
    own = keeper.view.happened
    keeper.waits_until("2026-08-12T07:00").types("done", "--as-planned", "yesterday", "--yes")
    happened = keeper.view.happened
    assert happened.done["ridge-2/b/spin"] == own.done["ridge-2/b/spin"]
    assert "ridge-2/b/cappings" in happened.skipped
    assert "ridge-2/b/strain" in happened.done


def test_weeks_of_silence_are_one_question_and_one_answer(keeper: Keeper) -> None:
    """On 20 September nothing is recorded since the pull: one question, one word, and what is left is what protects food or lies ahead."""
    said = keeper.waits_until("2026-09-20T08:00").types("agenda")
    assert said.count("Done up to when?") == 1
    keeper.types("done", "--as-planned", "19 Sep", "--yes")
    said = keeper.types("agenda", "--all")
    assert "Done up to when?" not in said
    overdue = re.findall(r"\[([^]]+)]", said.partition("OVERDUE")[2].partition("\n\n")[0])
    cards = {task.id: task.rule for task in keeper.plan.tasks}
    assert {"yard-2026/treatment", "ridge-2/a/freeze.1"} <= set(overdue)
    assert all(keeper.view.rules.by_key[cards[task]].is_told_singly for task in overdue)


def test_a_day_that_is_still_to_come_is_refused(keeper: Keeper) -> None:
    """Nothing can have gone as planned tomorrow."""
    assert "2026-08-13 is still to come" in keeper.waits_until("2026-08-12T07:00").types("done", "--as-planned", "2026-08-13", refused=True)
    assert '"whenever" is not a day' in keeper.types("done", "--as-planned", "whenever", refused=True)
    assert "done: of what?" in keeper.types("done", refused=True)
    assert "--as-planned is of every step" in keeper.types("done", "b/spin", "--as-planned", "yesterday", refused=True)


def test_said_twice_it_says_that_nothing_is_left(keeper: Keeper) -> None:
    """The second time nothing is written, and what has to be told singly is still named."""
    keeper.waits_until("2026-08-12T07:00").types("done", "--as-planned", "yesterday", "--yes")
    said = keeper.types("done", "--as-planned", "yesterday", "--yes", refused=True)
    assert "nothing else that is still open was planned up to the end of 2026-08-11" in said
