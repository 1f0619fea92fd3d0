"""What moved since the keeper last looked. The plans are invented."""

from __future__ import annotations

from dataclasses import replace

from scheduler.outputs.text.moves import changes, snapshot
from scheduler.planning.plan import Link, PlannedTask, Reason
from scheduler.quantities import say
from tests.outputs.plans import DAY, HOUR, at, plan, task

NOW = at("2026-08-11 17:00")
SPIN = task("spin", NOW + 2 * HOUR)
PACK = replace(task("pack", NOW + 26 * HOUR), links=(Link(SPIN.id),))


def seen(*tasks: PlannedTask) -> str:
    """What the keeper saw last."""
    return snapshot(plan(*tasks, as_of=NOW))


def later(one: PlannedTask, by: int) -> PlannedTask:
    """The same work at another time."""
    return replace(one, start=one.start + by, finish=one.finish + by, hands=tuple((a + by, b + by) for a, b in one.hands))


def moves(before: str, *tasks: PlannedTask, as_of: int = NOW) -> dict[str, str]:
    """What is told of each task."""
    return {move.task.rpartition("/")[2]: move.words for move in changes(before, plan(*tasks, as_of=as_of), {})[0]}


def test_a_move_of_less_than_an_hour_is_not_told() -> None:
    """Nor what did not move."""
    assert moves(seen(SPIN, PACK), later(SPIN, HOUR - 60), PACK) == {}
    assert moves(seen(SPIN), later(SPIN, HOUR))["spin"].startswith("1 h later; ")
    assert moves(seen(SPIN), later(SPIN, -HOUR))["spin"].startswith("1 h earlier; ")


def test_the_reason_that_bound_a_task_last_is_told() -> None:
    """Not the first that was found."""
    bound = (Reason("rule", say("rule", text="x")), Reason("hands", say("put off")), Reason("resource", say("done in part", part=3.0, count=9.0)))
    assert moves(seen(SPIN), replace(later(SPIN, 3 * HOUR), reasons=bound)) == {"spin": "3 h later; 3 of 9 are done"}


def test_the_greatest_move_comes_first_and_what_follows_another_is_marked() -> None:
    """A keeper reads the first lines."""
    found, _ = changes(seen(SPIN, PACK), plan(later(SPIN, 5 * HOUR), later(PACK, 2 * HOUR), as_of=NOW), {})
    assert [(move.task.rpartition("/")[2], move.follows) for move in found] == [("spin", False), ("pack", True)]


def test_what_came_became_firm_or_fell_away_is_told_in_words() -> None:
    """And what was only done is neither."""
    maybe = replace(PACK, status="provisional")
    assert moves(seen(maybe), PACK) == {"pack": "firm now, Wed 12 Aug 19:00"}
    assert moves(seen(), PACK) == {"pack": "new, Wed 12 Aug 19:00: Pack 24 pieces"}
    assert moves(seen(PACK)) == {"pack": "fell away: Pack 24 pieces"}
    assert moves(seen(replace(PACK, status="done"))) == {}
    assert moves(seen(PACK), replace(PACK, status="done")) == {}


def test_what_was_to_have_begun_by_now_is_overdue_and_not_moved() -> None:
    """Its evening went by without a word."""
    next_day = NOW + 20 * HOUR
    found, overdue = changes(seen(SPIN), plan(later(SPIN, DAY), as_of=next_day), {})
    assert (found, overdue) == ((), (SPIN.id,))


def test_a_card_that_was_renamed_is_neither_gone_nor_new() -> None:
    """Its tasks go by the name of today."""
    old = replace(SPIN, id="ridge-2/a/whirl")
    found, _ = changes(seen(old), plan(SPIN, as_of=NOW), {"whirl": "spin"})
    assert found == ()
