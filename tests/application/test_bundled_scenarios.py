"""The scenarios beside the bundled cards reach every card, and both ways of every choice that a card makes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from typing import Any

import pytest

from scheduler.application.scenarios import bundled_files, scenario_problem
from scheduler.documents import read, record
from scheduler.planning.planner import Planning
from scheduler.rules import cel_branches
from scheduler.rules.card_check import marked
from scheduler.rules.cel import Environment
from scheduler.rules.load import load
from scheduler.rules.schema import RuleSet, Scenario
from scheduler.rules.short_forms import TemplateText
from scheduler.rules.templates import conditions_in, placeholders_in, template_parts


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


class Choices:
    """Of each `condition ? one : other` that was worked out, and of each "{if condition: words}", which ways it went."""

    def __init__(self, asked: Collection[str]) -> None:
        self.ways: dict[tuple[str, str], set[bool]] = defaultdict(set)
        self.asked = asked  # in words
        self.evaluate = Environment.evaluate

    def traced(self, env: Environment, text: str) -> Any:
        """As the environment evaluates it, with its choices noted."""
        if "?" in text:
            self._follow(env, text, text)
        found = self.evaluate(env, text)
        if text in self.asked:
            self.ways[text, text].add(found[0])
        return found

    def _follow(self, env: Environment, text: str, whole: str) -> None:
        found = next(self.of(text), None)
        if found is None:
            return
        asked, one, other, rest = found
        goes = bool(self.evaluate(env, asked)[0])
        self.ways[whole, asked].add(goes)
        self._follow(env, one if goes else other, whole)
        self._follow(env, rest, whole)

    @staticmethod
    def of(text: str) -> Iterator[tuple[str, str, str, str]]:
        """The first choice in a text, where there is one: what it asks, both ways, and what stands behind it."""
        tokens = [(match.start(), match[0]) for match in cel_branches._TOKEN.finditer(text) if not match[1]]
        at = next((i for i, (_, token) in enumerate(tokens) if token == "?"), None)
        if at is not None:
            asked, begins = tokens[at][0], cel_branches._from(tokens, at)
            colon, ends = cel_branches._colon(tokens, at), cel_branches._until(tokens, at, len(text))
            assert colon is not None
            yield text[begins:asked].strip(), text[asked + 1 : colon], text[colon + 1 : ends], text[ends:]


def written(rules: Iterable[RuleSet]) -> Iterator[str]:
    """The expressions of cards that choose, in amounts, conditions and words."""
    for card in (card for one in rules for card in one.tasks.values()):
        for one in marked(card):
            in_words = isinstance(one.mark, TemplateText)
            texts = [part.text for part in placeholders_in(template_parts(one.text))] if in_words else [one.text]
            yield from (text for text in texts if next(Choices.of(text), None))


def asked(rules: Iterable[RuleSet]) -> Iterator[str]:
    """What the words of cards ask."""
    texts = (one for of in rules for card in of.tasks.values() for one in marked(card))
    return (text for one in texts if isinstance(one.mark, TemplateText) for text in conditions_in(template_parts(one.text)))


@pytest.mark.slow
def test_every_choice_of_a_card_goes_both_ways_in_some_scenario(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever a bundled card decides by a condition, amounts and words alike, is decided one way here and the other there."""
    in_words = {*asked(rules for rules, _ in scenarios())}
    choices = Choices(in_words)
    monkeypatch.setattr(Environment, "evaluate", lambda env, text: choices.traced(env, text))
    for rules, scenario in scenarios():
        Planning(scenario_problem(scenario.given, (rules.ruleset,) if rules.overlay else ()), cures=False, search=False).plan()
    assert {f"{asked} in {whole}" for (whole, asked), ways in choices.ways.items() if len(ways) < 2} == set()
    assert (set(written(rules for rules, _ in scenarios())) | in_words) - {whole for whole, _ in choices.ways} == set()
