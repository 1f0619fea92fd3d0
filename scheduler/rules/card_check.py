"""The amounts, conditions and words of a card, found by their marks in the schema, and whether each can be worked out."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, NamedTuple, get_args

from pydantic import BaseModel

from scheduler.diagnostics import Fault, instead
from scheduler.quantities import reworded, with_article
from scheduler.rules import amounts
from scheduler.rules.environment import Environment, Parameters
from scheduler.rules.expression_dimensions import TEMPERATURES, measured, ways
from scheduler.rules.expression_tree import Choice, Constant, Name, NamedNumber, Node, Whole, parts_of
from scheduler.rules.expressions import EstimateFault, ExpressionFault, position, underscored
from scheduler.rules.grammar import read_words
from scheduler.rules.numbers import LoadedParameter
from scheduler.rules.old_expressions import NUMBER
from scheduler.rules.old_numbers import with_old_numbers
from scheduler.rules.said_anew import name_anew, names_said, said_anew, shown_anew
from scheduler.rules.schema import HIVE, Card, Stop
from scheduler.rules.short_forms import AmountOf, ConditionText, TemplateText
from scheduler.rules.slips import amount_slip, condition_slip, with_signs
from scheduler.rules.spoken_names import WORD, YES_NO, in_words, worded
from scheduler.rules.templates import Placeholder, conditions_in, placeholders_in, template_parts
from scheduler.rules.vocabulary import SAMPLES

Mark = AmountOf | ConditionText | TemplateText
Loc = tuple[str | int, ...]


class Marked(NamedTuple):
    """A text of a card with its place in the card and what it must give."""

    loc: Loc
    mark: Mark
    text: str


def marked(record: BaseModel, loc: Loc = ()) -> Iterator[Marked]:
    """Every amount, condition and template of a record and the records inside it."""
    for name, declared in type(record).model_fields.items():
        value = getattr(record, name)
        if value is not None:
            yield from _marked(value, _mark(type(record), name), (*loc, declared.alias or name))


def _marked(value: Any, mark: Mark | None, loc: Loc) -> Iterator[Marked]:
    if isinstance(value, BaseModel):
        yield from marked(value, loc)
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from _marked(item, mark, (*loc, key))
    elif isinstance(value, tuple):
        for number, item in enumerate(value):
            yield from _marked(item, mark, (*loc, number))
    elif isinstance(value, str) and mark is not None:
        yield Marked(loc, mark, value)


def expressions_in(one: Marked) -> Iterator[str]:
    """The amounts and conditions of a text; several of words with places."""
    if isinstance(one.mark, TemplateText):
        parts = template_parts(one.text)
        yield from (place.text for place in placeholders_in(parts))
        yield from conditions_in(parts)
    else:
        yield one.text


@lru_cache(maxsize=256)
def _mark(model: type[BaseModel], name: str) -> Mark | None:
    declared = model.model_fields[name]
    return next(_marks(declared.metadata, declared.annotation), None)


def _marks(metadata: Any, annotation: Any) -> Iterator[Mark]:
    for one in metadata:
        if isinstance(one, AmountOf | ConditionText | TemplateText):
            yield one
    for inner in get_args(annotation):
        yield from _marks(getattr(inner, "__metadata__", ()), inner)


@dataclass
class CardCheck:
    """The texts of one card checked with sample values; `used` gathers the parameters they read, as written in expressions."""

    parameters: dict[str, LoadedParameter]
    env: Environment
    used: set[str] = field(default_factory=set)

    @classmethod
    def of(cls, card: Card | Stop, parameters: dict[str, LoadedParameter], values: Parameters) -> CardCheck:
        """The names a card can see: a lot only where it is about lots, a hive where it is about each, a batch only where it is split."""
        hidden = set() if {"harvest", "yard", HIVE}.isdisjoint(card.for_) else {"lot"}
        hidden |= set() if HIVE in card.for_ else {"hive"}
        hidden |= set() if card.batches or getattr(card, "wanted", None) else {"batch"}
        return cls(parameters, Environment(with_old_numbers({name: fields for name, fields in SAMPLES.items() if name not in hidden}), values))

    def check(self, one: Marked) -> None:
        """Raise the `Fault` that the planner would meet in this text."""
        if isinstance(one.mark, ConditionText):
            self._condition(one.text)
        elif isinstance(one.mark, AmountOf):
            self._amount(one.text, one.mark.dimension)
        else:
            parts = template_parts(one.text)
            for asked in conditions_in(parts):
                self._condition(asked)
            for placeholder in placeholders_in(parts):
                self._placeholder(placeholder)

    def old_ways(self, one: Marked) -> Iterator[ExpressionFault]:
        """What is to be said otherwise from now on in this text: expressions with signs, and what stood for what is not known."""
        shown = isinstance(one.mark, TemplateText)
        if shown:
            parts = template_parts(one.text)
            asked = [(place.text, place.dimension) for place in placeholders_in(parts)] + [(text, YES_NO) for text in conditions_in(parts)]
        else:
            asked = [(one.text, YES_NO if isinstance(one.mark, ConditionText) else one.mark.dimension if isinstance(one.mark, AmountOf) else None)]
        for text, needs in asked:
            if (needs == YES_NO or amounts.kind_of(text, self.parameters) == "expression") and not in_words(text):
                yield from self._old_way(text, needs, shown=shown and needs != YES_NO)

    def _old_way(self, text: str, needs: str | None, *, shown: bool) -> Iterator[ExpressionFault]:
        tree, known = self.env.parameters.read(text).tree, self.env.parameters.measures
        if not isinstance(tree, Name | Constant):  # a name alone is short for what is said
            words = shown_anew(tree, needs, known) if shown else said_anew(tree, needs, known)
            names = f": {said}" if (said := names_said(tree)) else ""
            write = f'"{words}"' if words else f"it in the words of rulesets/README.md{names}"
            yield self._at(text, 0, "expressions with signs go with the next version", f"{write}; the old way is read for one more version")
        elif isinstance(tree, Name) and needs == YES_NO:
            yield self._at(text, 0, "a condition is said in words now", f'"{said_anew(tree, needs, known)}"; the old way is read for one more version')
        elif isinstance(tree, Name) and (anew := name_anew(tree, shown=shown)):
            yield self._at(text, 0, anew[0], f"{anew[1]}; the old way is read for one more version")

    def _condition(self, text: str) -> None:
        if not in_words(text) and (slip := condition_slip(text)):
            with suppress(Fault):
                known = self.env.parameters
                if words := said_anew(known.read(with_signs(text)).tree, YES_NO, known.measures):
                    slip = ExpressionFault(text, slip.line, slip.column, slip.what, f'"{words}"')
            raise slip
        self._expression(text, YES_NO)

    def _placeholder(self, placeholder: Placeholder) -> None:
        kind = amounts.kind_of(placeholder.text, self.parameters)
        if placeholder.dimension or kind == "parameter":
            self._amount(placeholder.text, placeholder.dimension or "any")
        elif kind == "quantity":
            reworded(placeholder.text, "us")
        else:
            self._expression(placeholder.text, "any")

    def _amount(self, text: str, dimension: str) -> None:
        kind = amounts.kind_of(text, self.parameters)
        if kind == "expression" and not worded(text) and (slip := amount_slip(text, dimension, self.parameters)):
            raise slip
        if kind == "parameter":
            self._parameter(amounts.parameter_name(text), dimension)
        elif kind == "expression":
            self._expression(text, dimension, number=True)
        else:
            amounts.amount(text, dimension, self.env)

    def _expression(self, text: str, dimension: str, *, number: bool = False) -> None:
        """A text gives what is needed here, whichever way it goes, of what this card has."""
        if in_words(text):
            read_words(text, self.env.parameters.measures, "condition" if dimension == YES_NO else "amount")
        tree = self.env.parameters.read(text).tree
        self._names(text, tree)
        measured(tree, text)
        for way in ways(tree):
            self._gives(text, way, dimension, number=number)
        for part in parts_of(tree):
            for one in (part.one, part.other) if isinstance(part, Choice) else (tree,) if part is tree else ():
                with suppress(EstimateFault):  # the sample lot lies outside what the estimate is valid for; a real one may not
                    self.env.worked(text, one)

    def _gives(self, text: str, way: Node, dimension: str, *, number: bool) -> None:
        found = measured(way, text)
        if found in (None, dimension, NUMBER if dimension != YES_NO else None) or {found, dimension} == {*TEMPERATURES} or (dimension == "any" and not number):
            return
        if dimension == YES_NO:
            message = f"a condition must give true or false, and this gives {with_article(found)}"
            raise self._at(text, way.at, message, 'a comparison such as "the lot\'s mass is at least $NAME"')
        if found in (WORD, YES_NO):
            raise self._at(text, way.at, f"a number is needed, and this is {with_article(found)}", 'an amount such as "50 % of the lot\'s mass"')
        if dimension != "any":
            message = f'"{text}" is {with_article(found)}; {with_article(dimension)} is needed here'
            raise Fault(message, f"an amount that is {with_article(dimension)}")

    def _parameter(self, name: str, dimension: str) -> None:
        if name not in self.parameters:
            raise Fault(f'no parameter is named "{name}"', self.env.parameters.meant(name))
        self.used.add(underscored(name))
        parameter = self.parameters[name]
        if parameter.dimension in ("word", "yes or no") or dimension not in ("any", parameter.dimension):
            needed = "number" if dimension == "any" else dimension
            message = f'the parameter "{name}" is {with_article(parameter.dimension)} ({parameter.text}); {with_article(needed)} is needed here'
            raise Fault(message, f"an amount or a parameter that is {with_article(needed)}")

    def _names(self, text: str, tree: Node) -> None:
        """Refuse what this card does not have, in every branch and not only in the one the samples take."""
        for part in parts_of(tree):
            if isinstance(part, NamedNumber):
                self.used.add(underscored(part.name))
            elif isinstance(part, Name | Whole) and part.of not in self.env.names:
                raise self._at(text, part.at, f'this card has no "{part.of}"', instead(part.of, [*self.env.names, "param"]))

    @staticmethod
    def _at(text: str, offset: int, message: str, write: str) -> ExpressionFault:
        return ExpressionFault(text, *position(text, max(0, offset)), message, write)
