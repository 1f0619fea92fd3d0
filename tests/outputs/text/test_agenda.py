"""The agenda: one screen, what to do now first, dates as headings. Plans made by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.outputs.text.agenda import FEW, agenda
from scheduler.outputs.text.moves import Move
from scheduler.planning.plan import Plan, Warning
from scheduler.quantities import say
from tests.keeper import section
from tests.outputs.plans import DAY, HOUR, at, plan, task

EVENING = at("2026-08-11 17:30")


def _two_weeks() -> Plan:
    """An evening of four steps, a drain that runs since yesterday, work on each day of the next two weeks."""
    drain = replace(task("drain", EVENING - DAY, hold=26 * HOUR, title="Drain 20 pieces"), hands=())
    evening = [task(f"cut-{n}", EVENING + n * HOUR // 2, title=f"Cut frame {n}") for n in range(4)]
    days = [task(f"spin-{n}", EVENING + n * DAY, minutes=60, title=f"Spin box {n}") for n in range(1, 15)]
    return plan(drain, *evening, *days, as_of=EVENING)


def test_now_comes_first_with_its_steps_then_what_waits_then_dates() -> None:
    """The sitting at hand step by step; the rest by its title."""
    text = agenda(_two_weeks(), EVENING + 10 * 60)
    assert text.index("NOW") < text.index("WAITING") < text.index("UNTIL TUE 18 AUG") < text.index("AFTER TUE 18 AUG")
    assert "18:00 Cut frame 1 [ridge-2/a/cut-1]" in section(text, "NOW")
    assert section(text, "WAITING") == "until Tue 11 Aug 20:00 Drain 20 pieces [ridge-2/a/drain]"
    assert section(text, "AFTER TUE 18 AUG") == "7 more, the first on Wed 19 Aug 17:30: afterpull agenda --all"


def test_before_the_evening_its_steps_are_shown_under_today() -> None:
    """At noon nothing is to be done now."""
    text = agenda(replace_as_of(_two_weeks(), EVENING - 5 * HOUR), EVENING - 5 * HOUR)
    assert "NOW" not in text
    assert "17:30 Cut frame 0" in section(text, "TODAY")


def replace_as_of(found: Plan, as_of: int) -> Plan:
    """The same plan made at another moment."""
    return found._replace(as_of=as_of)


def test_a_hold_that_is_over_says_since_when() -> None:
    """Nobody recorded that it was taken up."""
    text = agenda(_two_weeks(), EVENING + 4 * HOUR)
    assert section(text, "WAITING") == "since Tue 11 Aug 20:00 over: Drain 20 pieces [ridge-2/a/drain]"


def test_all_of_it_is_shown_day_by_day_with_every_step() -> None:
    """Under dates, each step with its id."""
    text = agenda(_two_weeks(), EVENING, everything=True)
    assert "\nTue 25 Aug\n" in text
    assert text.count("[ridge-2/a/spin-") == 14
    assert "afterpull agenda --all" not in text


def test_at_most_three_warnings_and_three_moves() -> None:
    """What is left out is counted."""
    warnings = tuple(Warning("unknown mark", None, say("unknown mark", mark=f"mark {n}", title="Feed")) for n in range(9))
    moves = [Move(f"ridge-2/a/cut-{n}", f"{n + 1} h later") for n in range(9)]
    text = agenda(_two_weeks()._replace(warnings=warnings), EVENING, moves)
    assert section(text, "WARNINGS").count(" ! ") + section(text, "WARNINGS").startswith("! ") == 4
    assert "6 more kinds of warning" in section(text, "WARNINGS")
    assert "6 more: afterpull agenda --all" in section(text, "MOVED")


def test_an_ordinary_evening_fits_one_screen() -> None:
    """44 rows of eighty columns where every section there is has something to say; 25 where only work is to be told."""
    warnings = tuple(Warning("unknown mark", None, say("unknown mark", mark=f"mark {n}", title="Feed")) for n in range(9))
    moves = [Move(f"ridge-2/a/cut-{n}", f"{n + 1} h later") for n in range(9)]
    text = agenda(_two_weeks()._replace(warnings=warnings), EVENING, moves, ["ridge-2/a/cut-0", "ridge-2/a/cut-1"])
    assert len(text.splitlines()) <= 44
    assert len(agenda(_two_weeks(), EVENING).splitlines()) <= 25


@given(st.integers(40, 120), st.text(max_size=200), st.booleans())
def test_no_line_is_wider_than_the_terminal(width: int, title: str, everything: bool) -> None:
    """Whatever the title, the lines fit; letters of double width aside."""
    found = plan(task("drain", EVENING, hold=41 * HOUR, title=title, due=at("2026-08-16 12:00")), as_of=EVENING)
    assert max(map(len, agenda(found, EVENING, everything=everything, width=width).split("\n"))) <= width


NOW = at("2026-08-11 17:00")
SPIN = task("spin", NOW + 2 * HOUR)
PACK = task("pack", NOW + 26 * HOUR)


def read(found: Plan, **more: object) -> str:
    """The agenda as at now."""
    return agenda(found, NOW, **more)  # type: ignore[arg-type]


def test_what_is_late_is_late_by_the_clock_and_the_worst_first() -> None:
    """The plan may have been made this morning; what loses the crop stands above comfort."""
    due = replace(SPIN, due=NOW - 60, loss="comfort")
    worse = replace(PACK, due=NOW - 60, loss="food safety")
    text = section(read(plan(due, worse, as_of=NOW)), "OVERDUE")
    assert text.index("Pack 24 pieces, due Tue 11 Aug 16:59") < text.index("Spin 24 pieces")
    assert "afterpull done ridge-2/a/pack" in text
    assert "OVERDUE" not in read(plan(replace(due, due=NOW + 60), as_of=NOW))


@pytest.mark.parametrize(("count", "shown"), [(FEW + 1, FEW + 1), (FEW + 2, FEW)])
def test_a_long_list_is_cut_and_counted(count: int, shown: int) -> None:
    """One more than fits is shown, for the line that counts it would take its place."""
    told = [Move(f"t{number}", "new") for number in range(count)]
    text = section(read(plan(SPIN, as_of=NOW), moves=told), "MOVED")
    assert text.count(": new") == shown
    assert (f"{count - shown} more: afterpull agenda --all" in text) is (count > shown)
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


def test_work_of_an_evening_that_is_over_says_of_which() -> None:
    """At nine the next morning its clock alone would be read as tonight's."""
    text = agenda(plan(SPIN, as_of=NOW), NOW + 16 * HOUR)
    assert "planned for Tue 11 Aug, not recorded:" in section(text, "NOW")
    assert "planned for" not in agenda(plan(SPIN, as_of=NOW), NOW + 3 * HOUR)
