"""Rule files as a person reads them: which cards there are, how one stands with the numbers it reads, which numbers the keeper changed."""

from __future__ import annotations

import re

from scheduler.rules.listing import as_yaml, parameters_of, read_by
from scheduler.rules.numbers import LoadedParameter
from scheduler.rules.rule_set import LoadedCard, LoadedSet, Rules


def sets_lines(rules: Rules) -> list[str]:
    """The cards of every rule set, a line for each."""
    lines: list[str] = []
    for one in rules.sets.values():
        lines += [*([""] if lines else []), set_line(one)]
        lines += [f"  {one.name}/{name}    {card.title}" for name, card in one.cards.items()]
    return lines


def set_line(one: LoadedSet) -> str:
    """A rule set with what it is about."""
    return f"{one.name}: {one.describes}" if one.describes else one.name


def card_lines(rules: Rules, one: LoadedCard, *, page: bool = False) -> list[str]:
    """A card as it is in force, the parameters it reads and what they rest on, and which cards wait for it."""
    lines = [f"{one.key}    {one.path}:{one.line}", "", as_yaml(one, commands=not page).rstrip(), *_readings(rules, one)]
    return lines + [f"source: {source}" for source in one.sources] + [f"waits for it: {key}" for key in read_by(rules, one)]


def parameter_line(of: str, one: LoadedParameter) -> str:
    """A parameter of the set `of`, with what it replaces, rests on and where it stands."""
    changed = f", instead of {one.replaces}" if one.replaces else ""
    usual = f"; usual: {one.range}" if one.range else ""
    noted = f"; {one.note}" if one.note else ""
    cited = f"; {'; '.join(one.sources)}" if one.sources else ""
    return f"{of}, {one.name} = {one.text}{changed} ({one.basis}, checked {one.checked}{usual}{noted}{cited})    {one.path}:{one.line}"


def changed_lines(rules: Rules) -> list[str]:
    """The parameters in force that are not those of the bundled rule file."""
    return [parameter_line(of, one) for of, found in rules.parameters.items() for one in found.values() if one.replaces]


def without_amounts(title: str) -> str:
    """A title as a rule file has it, with a gap where an amount goes in."""
    return re.sub(r"\{[^{}]*\}", "…", title)


def _readings(rules: Rules, one: LoadedCard) -> list[str]:
    lines = [parameter_line(rules.where_stands(one.set, parameter.name), parameter) for parameter in parameters_of(rules, one)]
    cautions = [f"caution {name}: {rules.cautions[name]}" for name in one.card.caution]
    return [*(["", *lines] if lines else []), *(["", *cautions] if cautions else []), *([""] if one.sources else [])]
