"""The plan on a terminal: a tired person sees what is wrong, what to do now, what holds, and until when."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.outputs.text.table import plan_text, why_text
from tests.outputs.plans import DAY, HOUR, at, plan, ridge, task

GOLDEN = Path(__file__).parents[1] / "golden"


@pytest.mark.parametrize(("name", "width"), [("ridge.txt", 80), ("ridge-narrow.txt", 48)])
def test_the_plan_looks_like_this(name: str, width: int) -> None:
    """Five frames of cut comb at the yard's terminal and on a phone's, compared byte by byte."""
    assert plan_text(ridge(), width=width) == (GOLDEN / name).read_text(encoding="utf-8")


@given(st.integers(40, 120), st.text(max_size=200))
def test_no_line_is_wider_than_the_terminal(width: int, title: str) -> None:
    """Whatever the title, the lines fit; letters of double width aside."""
    drain = task("drain", at("2026-08-11 18:20"), hold=41 * HOUR, title=title, due=at("2026-08-16 12:00"))
    assert max(map(len, plan_text(plan(drain), width=width).split("\n"))) <= width


def test_warnings_come_before_the_work() -> None:
    """What can not be met is read first."""
    text = plan_text(ridge())
    assert 0 < text.index("The freezer holds 18 packages") < text.index("Cut 5 frames")


def test_a_hold_shows_how_long_and_until_when() -> None:
    """And its end is seen again under its own day."""
    text = plan_text(ridge())
    assert "holds 41 h, until Thu 13 Aug 11:30" in text
    assert re.search(r"Thu 13 Aug\n   11:30 +Hold done: Drain 24 cut pieces", text)


def test_a_date_that_rests_on_a_normal_is_marked() -> None:
    """The mark, and what it means."""
    text = plan_text(ridge())
    assert re.search(r"^ ~ 20:05-20:35 Give 14 wet frames back", text, re.MULTILINE)
    assert "~ provisional: rests on a normal" in text


@pytest.mark.parametrize(("status", "mark"), [("done", "x"), ("skipped", "-")])
def test_each_standing_has_its_mark(status: str, mark: str) -> None:
    """Without colour, too."""
    text = plan_text(plan(task("drain", at("2026-08-11 18:20"), status=status)))
    assert re.search(rf"^ {re.escape(mark)} 18:20", text, re.MULTILINE)


def test_colour_adds_nothing_but_colour() -> None:
    """With the codes taken out, the text is the one without colour; without colour, there are none."""
    plain, painted = (plan_text(ridge(), colour=colour) + why_text(ridge(), "ridge-2/a/drain", colour=colour) for colour in (False, True))
    assert "\x1b" not in plain
    assert painted != plain
    assert re.sub("\x1b\\[[0-9;]*m", "", painted) == plain


def test_a_year_is_named_where_it_is_not_this_one() -> None:
    """Spring work of next year, planned in August."""
    text = plan_text(plan(task("give comb back", at("2027-04-20 17:30")), as_of=at("2026-08-11 10:30")))
    assert "Tue 20 Apr 2027" in text


def test_the_hour_that_comes_twice_is_told_apart() -> None:
    """25 October 2026 at the yard: 02:30 before and after the clocks go back."""
    first = at("2026-10-25 02:30")
    text = plan_text(plan(task("a", first), replace(task("b", first + HOUR), title="Pack again")))
    assert "02:30 +02:00" in text
    assert "02:30 +01:00" in text


def test_why_gives_reasons_numbers_rules_and_sources() -> None:
    """All that the task carries."""
    text = why_text(ridge(), "ridge-2/a/drain")
    assert "estimate drain_time: 41 h (36 h to 48 h) at 21 °C and 17.4 % moisture" in text
    assert "comb_honey.yaml:38 drain; assumed film thickness" in text
    assert "The freezer holds 18 packages" in why_text(ridge(), "ridge-2/a/freeze")


def test_why_of_an_unknown_task_names_the_nearest() -> None:
    """A slip of the finger is put right."""
    with pytest.raises(Fault, match='has no task "ridge-2/a/drian"') as refused:
        why_text(ridge(), "ridge-2/a/drian")
    assert refused.value.write.startswith('"ridge-2/a/drain"')


def test_an_empty_plan_says_so() -> None:
    """Nothing to do is an answer."""
    assert "Nothing to do." in plan_text(plan())


def test_work_that_comes_again_is_told_once_beyond_ten_days() -> None:
    """Eight looks at the stored comb, three weeks apart: the first, how often, and the last."""
    cut = task("cut", at("2026-08-11 17:30"))
    looks = [
        task(f"inspect.{number}", at("2026-09-06 11:00") + number * 21 * DAY, title="Inspect the stored comb", rule="dry comb/inspect") for number in range(8)
    ]
    text = plan_text(plan(cut, *looks))
    assert text.count("Inspect the stored comb") == 1
    assert "Sun 6 Sep 11:00  Inspect the stored comb; 8 times, the last Sun 31 Jan 2027" in text


def test_a_limit_of_other_work_stands_at_the_hour_by_which_it_is_to_be_over() -> None:
    """Not as work at the hour at which the other work happens to end."""
    limit = task("limit", at("2026-08-11 19:15"), minutes=0, title="Lot a cut", hands=(), due=at("2026-08-14 10:30"))
    lines = plan_text(plan(task("cut", at("2026-08-11 17:30")), limit)).splitlines()
    day = lines.index("Fri 14 Aug")
    assert lines[day + 1 : day + 3] == ["   by 10:30    Lot a cut: planned for Tue 11 Aug 19:15", "               ridge-2/a/limit"]
    assert not any("19:15 " in line for line in lines[:day])
