"""Titles and how-lines fit a phone, whatever the card: in every scenario beside the rules, which reach every card, in metric and US units."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from statistics import median

import pytest

from scheduler.application.scenarios import bundled_files, scenario_problem
from scheduler.documents import read, record
from scheduler.outputs.wording.sentence import how_of, title_of
from scheduler.planning.plan import PlannedTask
from scheduler.planning.planner import plan
from scheduler.rules.schema import TITLE, RuleSet

HOW = 120  # characters of a how-line: twice the width of a step's words in the notes of an entry
NOTED = re.compile(r" \((?:[^()]* of [^()]* left|last seen .* ago)\)$|: .*$")  # how much is left, which hives: what the day adds to a card's title


@cache
def tasks() -> tuple[PlannedTask, ...]:
    """Every task of every scenario, in the units of either kind of yard; files that are wrong on purpose give none."""
    return tuple(_planned())


def _planned() -> Iterator[PlannedTask]:
    for path in bundled_files():
        document = read(path.read_bytes(), str(path), "rules")
        for number, scenario in enumerate(record(document, RuleSet).scenarios):
            given = {**scenario.given, "yard": {**scenario.given.get("yard", {}), "units": ("metric", "us")[number % 2]}}
            yield from plan(scenario_problem(given), cures=False, search=False).tasks  # titles are the same at a glance


@pytest.mark.slow
def test_titles_and_how_lines_fit_a_phone() -> None:
    """38 characters of a title and of the title of the closing step, 120 of a how-line, which every card has; half of the titles are shorter than 31."""
    titles = {title_of(task): task for task in tasks()}
    closings = {task.closing_title: task for task in tasks() if task.closing_title}
    assert [(len(title), title) for title in (*titles, *closings) if len(NOTED.sub("", title)) > TITLE] == []
    assert [(len(how_of(task)), task.rule, how_of(task)) for task in titles.values() if not 0 < len(how_of(task)) <= HOW] == []
    assert median(map(len, titles)) <= 30


@pytest.mark.slow
def test_every_card_is_among_them() -> None:
    """A card no scenario makes would go unread here."""
    seen = {task.rule.partition("/")[2] for task in tasks()}
    cards = {name for path in bundled_files() for name in record(read(path.read_bytes(), str(path), "rules"), RuleSet).tasks}
    assert cards - seen == set()
