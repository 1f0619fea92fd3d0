"""The plan on a terminal: a tired person sees what is wrong, what to do now, what holds, and until when."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.outputs.text.table import plan_text
from scheduler.outputs.text.why import why_text
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
    """What cannot be met is read first."""
    text = plan_text(ridge())
    assert 0 < text.index("The freezer holds 18 packages") < text.index("Cut 5 frames")


def test_a_hold_shows_until_when() -> None:
    """And its end is seen again under its own day."""
    text = plan_text(ridge())
    assert "until Thu 13 Aug 11:30" in text
    assert re.search(r"Thu 13 Aug\n 11:30 +Over: Drain 24 cut pieces", text)


def test_a_date_that_rests_on_a_usual_one_is_likely_in_words() -> None:
    """The word, and what it means; no mark stands for it."""
    text = plan_text(ridge())
    assert re.search(r"^ 20:05-20:35 Give 14 wet frames back[^\[]*\(likely\)", text, re.MULTILINE)
    assert "likely: rests on a usual date; firm once you record it" in text


@pytest.mark.parametrize(("status", "word"), [("done", "(done)"), ("skipped", "(dropped)")])
def test_each_standing_has_its_word(status: str, word: str) -> None:
    """Without colour, too."""
    assert word in plan_text(plan(task("drain", at("2026-08-11 18:20"), status=status)))


def test_an_evening_is_one_heading_with_its_steps() -> None:
    """Cut and rack without a gap: one sitting, each step with its clock; a checklist below its step."""
    cut, rack = task("cut", at("2026-08-11 17:30"), title="Cut"), task("rack", at("2026-08-11 18:00"), title="Rack")
    line = replace(task("weigh", at("2026-08-11 18:00"), title="Weigh"), alongside=rack.id, hands=())
    assert plan_text(plan(cut, rack, line)).splitlines()[3:] == [
        " 17:30-18:30 ridge-2: cut a, rack a",
        "   17:30 Cut [ridge-2/a/cut]",
        "   18:00 Rack [ridge-2/a/rack]",
        "         + Weigh [ridge-2/a/weigh]",
    ]


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
    assert "Sun 6 Sep 11:00   Inspect the stored comb; 8 times, the last Sun 31 Jan 2027" in text


def test_a_limit_of_other_work_stands_at_the_hour_by_which_it_is_to_be_over() -> None:
    """Not as work at the hour at which the other work happens to end."""
    limit = task("limit", at("2026-08-11 19:15"), minutes=0, title="Lot a cut", hands=(), due=at("2026-08-14 10:30"))
    lines = plan_text(plan(task("cut", at("2026-08-11 17:30")), limit)).splitlines()
    day = lines.index("Fri 14 Aug")
    assert lines[day + 1] == " by 10:30    Lot a cut: planned for Tue 11 Aug 19:15 [ridge-2/a/limit]"
    assert not any("19:15 " in line for line in lines[:day])
