"""Amounts of a card that are reckoned with what nobody may have read yet, such as a lot's moisture, and do not ask whether it is known."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from typing import Final

from scheduler.diagnostics import Fault
from scheduler.rules import amounts
from scheduler.rules.card_check import CardCheck, Loc, Marked, expressions_in, marked
from scheduler.rules.environment import Environment
from scheduler.rules.expression_tree import Name, parts_of
from scheduler.rules.expressions import EstimateFault, ExpressionFault
from scheduler.rules.schema import Card, Stop
from scheduler.rules.short_forms import AmountOf, ConditionText
from scheduler.rules.templates import render
from scheduler.rules.vocabulary import NAMES

_UNREAD: Final = {(of, field) for of, fields in NAMES.items() for field, name in fields.items() if name.may_be_unknown}


def reckoned_unread(card: Card | Stop, check: CardCheck) -> Iterator[tuple[Loc, Fault]]:
    """The texts in words of a card that would be refused on the day on which something is not known, each once; those it is asked before are not."""
    texts = {one: _unread_in(one, check) for one in marked(card)}
    told: set[Loc] = set()
    for of, field in sorted(set().union(*texts.values())):
        env = check.env.child(**{of: {**check.env.names[of], field: None}})
        conditions = [one for one in texts if isinstance(one.mark, ConditionText)]
        for one, asked in texts.items():
            before = [other for other in conditions if other is not one and other.loc[:-1] == one.loc[: len(other.loc) - 1]]
            if (of, field) in asked and one.loc not in told and all(_holds(other, env) for other in before):
                try:
                    _worked(one, env)
                except EstimateFault:
                    continue  # the sample lies outside what the estimate is valid for
                except ExpressionFault as fault:
                    told.add(one.loc)
                    yield one.loc, fault


def _unread_in(one: Marked, check: CardCheck) -> set[tuple[str, str]]:
    """What may be unknown among the names that a text in words reads."""
    found = set()
    for text in expressions_in(one):
        if isinstance(one.mark, ConditionText) or amounts.kind_of(text, check.parameters) == "expression":
            read = check.env.parameters.read(text)
            found |= {(part.of, part.field) for part in parts_of(read.tree) if read.in_words and isinstance(part, Name)}
    return found & _UNREAD


def _holds(one: Marked, env: Environment) -> bool:
    """Whether a condition holds, or cannot be told here."""
    with suppress(ExpressionFault):
        return amounts.condition(one.text, env)
    return True


def _worked(one: Marked, env: Environment) -> None:
    if isinstance(one.mark, ConditionText):
        amounts.condition(one.text, env)
    elif isinstance(one.mark, AmountOf):
        amounts.amount(one.text, one.mark.dimension, env)
    else:
        render(one.text, env)
