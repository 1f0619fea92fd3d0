"""The scenarios beside the bundled cards reach every card, and both ways of every choice that a card makes."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Any

import pytest

from scheduler.application.scenarios import bundled_files, scenario_problem
from scheduler.documents import read, record
from scheduler.planning.planner import Planning
from scheduler.rules.card_check import expressions_in, marked
from scheduler.rules.environment import Environment
from scheduler.rules.expression_tree import Choice, Seen
from scheduler.rules.load import load
from scheduler.rules.schema import RuleSet, Scenario
from scheduler.rules.short_forms import TemplateText
from scheduler.rules.templates import conditions_in, template_parts


def scenarios() -> Iterator[tuple[RuleSet, Scenario]]:
    """Every scenario with the set beside whose cards it stands."""
    for path in bundled_files():
        rules = record(read(path.read_bytes(), str(path), "rules"), RuleSet)
        yield from ((rules, scenario) for scenario in rules.scenarios)


def test_a_scenario_expects_something_of_every_card() -> None:
    """A card whose task no scenario asks for could say anything."""
    bundled = {card.key for card in load([rules.ruleset for rules, _ in scenarios() if rules.overlay]).cards}
    named = set()
    for rules, scenario in scenarios():
        known = load([rules.ruleset] if rules.overlay else [])
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


@pytest.mark.slow
def test_every_choice_of_a_card_goes_both_ways_in_some_scenario(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever a bundled card decides by a condition, amounts and words alike, is decided one way here and the other there."""
    found: defaultdict[tuple[str, int], set[bool]] = defaultdict(set)
    work, evaluate, words = Choice.worked, Environment.evaluate, {*asked(rules for rules, _ in scenarios())}

    def chosen(choice: Choice, seen: Seen) -> Any:
        found[seen.text, choice.so.at].add(choice.so.worked(seen))
        return work(choice, seen)

    def evaluated(env: Environment, text: str) -> Any:
        value = evaluate(env, text)
        if text in words:
            found[text, 0].add(value[0])
        return value

    monkeypatch.setattr(Choice, "worked", chosen)
    monkeypatch.setattr(Environment, "evaluate", evaluated)
    for rules, scenario in scenarios():
        Planning(scenario_problem(scenario.given, (rules.ruleset,) if rules.overlay else ()), cures=False, search=False).plan()
    assert {text for (text, _), ways in found.items() if len(ways) < 2} == set()
    assert ({*choosing(rules for rules, _ in scenarios())} | words) - {text for text, _ in found} == set()
