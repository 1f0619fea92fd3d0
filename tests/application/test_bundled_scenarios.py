"""The scenarios beside the bundled cards reach every card, and both ways of every choice that a card makes; what they title fits a phone, in both units."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cache
from statistics import median
from typing import Any, NamedTuple

import pytest

from scheduler.application.scenarios import bundled_files, scenario_problem
from scheduler.documents import read, record
from scheduler.outputs.wording.sentence import how_of, title_of
from scheduler.planning.plan import PlannedTask
from scheduler.planning.planner import plan
from scheduler.rules.card_check import expressions_in, marked
from scheduler.rules.environment import Environment
from scheduler.rules.expression_tree import Choice, Seen
from scheduler.rules.load import load
from scheduler.rules.schema import TITLE, RuleSet, Scenario
from scheduler.rules.short_forms import TemplateText
from scheduler.rules.templates import conditions_in, template_parts

HOW = 120  # characters of a how-line: twice the width of a step's words in the notes of an entry
NOTED = re.compile(r" \((?:[^()]* of [^()]* left|last seen .* ago)\)$|: .*$")  # how much is left, which hives: what the day adds to a card's title


def scenarios() -> Iterator[tuple[RuleSet, Scenario]]:
    """Every scenario with the set beside whose cards it stands."""
    for path in bundled_files():
        rules = record(read(path.read_bytes(), str(path), "rules"), RuleSet)
        yield from ((rules, scenario) for scenario in rules.scenarios)


def test_a_scenario_expects_something_of_every_card() -> None:
    """A card whose task no scenario asks for could say anything."""
    bundled = {card.key for card in load([rules.ruleset for rules, _ in scenarios() if rules.overlay]).cards}
    known_to = cache(lambda overlay: load([overlay] if overlay else []))
    named = set()
    for rules, scenario in scenarios():
        known = known_to(rules.ruleset if rules.overlay else None)
        named |= {known.resolve(rules.ruleset, card) for card, expected in scenario.expect.items() if expected.exists is not False}
    assert bundled - named == set()


def asked(rules: Iterable[RuleSet]) -> Iterator[str]:
    """What the words of cards ask."""
    texts = (one for of in rules for card in of.tasks.values() for one in marked(card))
    return (text for one in texts if isinstance(one.mark, TemplateText) for text in conditions_in(template_parts(one.text)))


def choosing(rules: Iterable[RuleSet]) -> Iterator[str]:
    """The amounts of cards that choose by a condition."""
    texts = (text for of in rules for card in of.tasks.values() for one in marked(card) for text in expressions_in(one))
    return (text for text in texts if re.search(r"\sif\s.*\sotherwise\s|\bby frame\b", text))


class Glanced(NamedTuple):
    """Every scenario planned at a glance: its tasks, and by text and place how what cards ask was answered."""

    tasks: tuple[PlannedTask, ...]
    answers: dict[tuple[str, int], set[bool]]


@pytest.fixture(scope="module")
def glanced() -> Glanced:
    """Titles and choices are the same at a glance; every other scenario is read in US units."""
    found: defaultdict[tuple[str, int], set[bool]] = defaultdict(set)
    work, evaluate, words = Choice.worked, Environment.evaluate, {*asked(rules for rules, _ in scenarios())}
    tasks: list[PlannedTask] = []

    def chosen(choice: Choice, seen: Seen) -> Any:
        found[seen.text, choice.so.at].add(choice.so.worked(seen))
        return work(choice, seen)

    def evaluated(env: Environment, text: str) -> Any:
        value = evaluate(env, text)
        if text in words:
            found[text, 0].add(value[0])
        return value

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Choice, "worked", chosen)
        patch.setattr(Environment, "evaluate", evaluated)
        for number, (rules, scenario) in enumerate(scenarios()):
            given = {**scenario.given, "yard": {**scenario.given.get("yard", {}), "units": ("metric", "us")[number % 2]}}
            tasks += plan(scenario_problem(given, (rules.ruleset,) if rules.overlay else ()), cures=False, search=False).tasks
    return Glanced(tuple(tasks), found)


@pytest.mark.slow
def test_every_choice_of_a_card_goes_both_ways_in_some_scenario(glanced: Glanced) -> None:
    """Whatever a bundled card decides by a condition, amounts and words alike, is decided one way here and the other there."""
    assert {text for (text, _), ways in glanced.answers.items() if len(ways) < 2} == set()
    words = {*asked(rules for rules, _ in scenarios())}
    assert ({*choosing(rules for rules, _ in scenarios())} | words) - {text for text, _ in glanced.answers} == set()


@pytest.mark.slow
def test_titles_and_how_lines_fit_a_phone(glanced: Glanced) -> None:
    """38 characters of a title and of the title of the closing step, 120 of a how-line, which every card has; half of the titles are shorter than 31."""
    titles = {title_of(task): task for task in glanced.tasks}
    closings = {task.closing_title: task for task in glanced.tasks if task.closing_title}
    assert [(len(title), title) for title in (*titles, *closings) if len(NOTED.sub("", title)) > TITLE] == []
    assert [(len(how_of(task)), task.rule, how_of(task)) for task in titles.values() if not 0 < len(how_of(task)) <= HOW] == []
    assert median(map(len, titles)) <= 30


@pytest.mark.slow
def test_every_card_is_among_those_planned(glanced: Glanced) -> None:
    """A card no scenario makes would have a title that nobody has measured."""
    seen = {task.rule.partition("/")[2] for task in glanced.tasks}
    assert {card for rules, _ in scenarios() for card in rules.tasks} - seen == set()
