"""What moved since the keeper last looked, and what stands under which heading. The plans are invented."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduler.outputs.text.agenda import BRIEF, Move, agenda, changes, snapshot
from scheduler.planning.plan import Link, Plan, PlannedTask, Reason
from scheduler.quantities import say
from tests.keeper import section
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


HOLD = replace(task("drain", NOW - 10 * HOUR, hold=41 * HOUR), hands=(), status="planned")
FAR = [replace(task(f"look-{number}", NOW + (10 + number) * DAY), rule=f"x/look {number}") for number in range(3)]


def read(found: Plan, **more: object) -> str:
    """The agenda as at now."""
    return agenda(found, NOW, **more)  # type: ignore[arg-type]


def test_work_stands_under_the_day_it_belongs_to() -> None:
    """Today, what holds, the next seven days; later only counted, unless all is asked for."""
    text = read(plan(HOLD, SPIN, PACK, *FAR, as_of=NOW))
    assert "19:00-19:30 Spin 24 pieces [ridge-2/a/spin]" in section(text, "TODAY")
    assert "until then: Drain 24 pieces" in section(text, "HOLDING")
    assert "Wed 12 Aug 19:00 Pack 24 pieces" in section(text, "NEXT 7 DAYS")
    assert section(text, "LATER").startswith("3 more, the first on Fri 21 Aug 17:00")
    assert section(read(plan(*FAR, as_of=NOW), everything=True), "LATER").count("Look-") == 3


def test_a_hold_that_is_over_says_since_when() -> None:
    """It waits for hands."""
    over = replace(HOLD, hold_done=NOW - HOUR)
    assert "over since: Drain" in section(read(plan(over, as_of=NOW)), "HOLDING")


def test_what_is_late_is_late_by_the_clock_and_the_worst_first() -> None:
    """The plan may have been made this morning; what loses the crop stands above comfort."""
    due = replace(SPIN, due=NOW - 60, loss="comfort")
    worse = replace(PACK, due=NOW - 60, loss="food safety")
    text = section(read(plan(due, worse, as_of=NOW)), "OVERDUE")
    assert text.index("Pack 24 pieces, due Tue 11 Aug 16:59") < text.index("Spin 24 pieces")
    assert "afterpull done ridge-2/a/pack" in text
    assert "OVERDUE" not in read(plan(replace(due, due=NOW + 60), as_of=NOW))


@pytest.mark.parametrize(("count", "shown"), [(BRIEF + 1, BRIEF + 1), (BRIEF + 2, BRIEF)])
def test_a_long_list_is_cut_and_counted(count: int, shown: int) -> None:
    """One more than fits is shown, for the line that counts it would take its place."""
    told = [Move(f"t{number}", "new") for number in range(count)]
    text = section(read(plan(SPIN, as_of=NOW), moves=told), "MOVED")
    assert text.count(": new") == shown
    assert (f"{count - shown} more; all of them" in text) is (count > shown)
    assert section(read(plan(SPIN, as_of=NOW), moves=told, everything=True), "MOVED").count(": new") == count


def test_what_only_follows_is_counted_unless_nothing_else_moved() -> None:
    """One cause, and how many follow from it."""
    follows = [Move("b", "1 h later", True), Move("c", "1 h later", True)]
    text = section(read(plan(SPIN, as_of=NOW), moves=[Move("a", "1 h later"), *follows]), "MOVED")
    assert text == "- a: 1 h later 2 more follow from these"
    assert "more follow" not in section(read(plan(SPIN, as_of=NOW), moves=follows), "MOVED")


def test_an_empty_agenda_says_what_makes_one() -> None:
    """Of a part of the work it says which."""
    assert "Nothing is planned. After a harvest: afterpull log" in read(plan(as_of=NOW))
    assert "Nothing is planned for Mira" in read(plan(as_of=NOW), part="for Mira")
