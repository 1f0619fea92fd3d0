"""The amounts, conditions and words of a card, found by their marks in the schema, and whether each can be worked out."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, NamedTuple, get_args

from pydantic import BaseModel

from scheduler.diagnostics import Fault, instead
from scheduler.estimates.cel_functions import CALLABLES
from scheduler.quantities import reworded, with_article
from scheduler.rules import amounts
from scheduler.rules.amount_words import TEMPERATURES
from scheduler.rules.cel import Environment, Parameters, has_macro, param_names
from scheduler.rules.cel_branches import branches
from scheduler.rules.expressions import EstimateFault, ExpressionFault, ValuesFault, position, underscored
from scheduler.rules.grammar import in_cel
from scheduler.rules.numbers import LoadedParameter
from scheduler.rules.old_numbers import advice_on, with_old_numbers
from scheduler.rules.schema import HIVE, Card, Stop
from scheduler.rules.short_forms import AmountOf, ConditionText, TemplateText
from scheduler.rules.slips import amount_slip, condition_slip, unquoted
from scheduler.rules.spoken_names import YES_NO, in_words, worded
from scheduler.rules.templates import Placeholder, conditions_in, placeholders_in, template_parts
from scheduler.rules.vocabulary import FIELD, SAMPLES

Mark = AmountOf | ConditionText | TemplateText
Loc = tuple[str | int, ...]
_STANDARD = {
    "size", "contains", "startsWith", "endsWith", "matches", "double", "int", "uint", "string", "bool", "min", "max", "has", "q",
    "known", "all", "exists", "exists_one", "map", "filter",
}  # fmt: skip


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
        """What is to be asked otherwise from now on in an expression of this text."""
        shown = isinstance(one.mark, TemplateText)
        for text in [placeholder.text for placeholder in placeholders_in(template_parts(one.text))] if shown else [one.text]:
            if isinstance(one.mark, ConditionText) or amounts.kind_of(text, self.parameters) == "expression":
                yield from (self._at(text, offset, message, write) for offset, message, write in advice_on(text, shown=shown))

    def _condition(self, text: str) -> None:
        if in_words(text):
            self._in_words(text, YES_NO)
            return
        if slip := condition_slip(text):
            raise slip
        self._names(text)
        self._sampled(text, lambda tried: amounts.condition(tried, self.env))

    def _placeholder(self, placeholder: Placeholder) -> None:
        kind = amounts.kind_of(placeholder.text, self.parameters)
        if placeholder.dimension or kind == "parameter":
            self._amount(placeholder.text, placeholder.dimension or "any")
        elif kind == "quantity":
            reworded(placeholder.text, "us")
        elif worded(placeholder.text):
            self._in_words(placeholder.text, "any")
        else:
            self._names(placeholder.text)
            self._sampled(placeholder.text, self.env.evaluate)

    def _amount(self, text: str, dimension: str) -> None:
        kind = amounts.kind_of(text, self.parameters)
        if kind == "expression" and worded(text):
            self._in_words(text, dimension)
            return
        if kind == "expression" and (slip := amount_slip(text, dimension, self.parameters)):
            raise slip
        if kind == "parameter":
            self._parameter(amounts.parameter_name(text), dimension)
        elif kind == "expression":
            self._names(text)
            self._sampled(text, lambda tried: amounts.number(self.env.evaluate(tried)[0], tried))
        else:
            amounts.amount(text, dimension, self.env)

    def _in_words(self, text: str, dimension: str) -> None:
        """A text in words gives what is needed here, of what this card has."""
        said = in_cel(text, {name: parameter.dimension for name, parameter in self.parameters.items()}, "condition" if dimension == YES_NO else "amount")
        if said.measures not in (None, dimension) and dimension not in ("any", YES_NO) and {said.measures, dimension} != {*TEMPERATURES}:
            message = f'"{text}" is {with_article(str(said.measures))}; {with_article(dimension)} is needed here'
            raise Fault(message, f"an amount that is {with_article(dimension)}")
        try:
            self._names(said.cel)
            self._sampled(said.cel, self.env.evaluate)
        except ExpressionFault as fault:
            raise ExpressionFault(text, 1, 1, fault.what, fault.write) from None

    def _parameter(self, name: str, dimension: str) -> None:
        if name not in self.parameters:
            raise Fault(f'no parameter is named "{name}"', self.env.parameters.meant(name))
        self.used.add(underscored(name))
        parameter = self.parameters[name]
        if parameter.dimension in ("word", "yes or no") or dimension not in ("any", parameter.dimension):
            needed = "number" if dimension == "any" else dimension
            message = f'the parameter "{name}" is {with_article(parameter.dimension)} ({parameter.text}); {with_article(needed)} is needed here'
            raise Fault(message, f"an amount or a parameter that is {with_article(needed)}")

    def _names(self, text: str) -> None:
        """Refuse names that nothing has, in every branch and not only in the one the samples take."""
        self.used.update(param_names(text))
        program = self.env.parameters.program(text)
        for match in FIELD.finditer(text):
            variable, name = match[2], match[3]
            if variable in self.env.names and name not in self.env.names[variable]:
                raise self._at(text, match.start(2), f'nothing is named "{variable}.{name}"', instead(name, SAMPLES[variable]))
        for name in program.functions:
            if name.isidentifier() and not name.startswith("_") and name not in _STANDARD and name not in CALLABLES:
                raise self._at(text, text.find(name), f'no estimate is named "{name}"', instead(name, [*CALLABLES, "q", "known"]))
        for name in program.variables:
            if name not in self.env.names and not has_macro(text):
                hidden = f'this card has no "{name}"' if name in SAMPLES else f'nothing is named "{name}"'
                at = text.find(name)
                raise self._at(text, at, hidden, unquoted(text, at, name) or instead(name, [*self.env.names, "param"]))

    @staticmethod
    def _at(text: str, offset: int, message: str, write: str) -> ExpressionFault:
        return ExpressionFault(text, *position(text, max(0, offset)), message, write)

    @staticmethod
    def _sampled(text: str, work: Callable[[str], object]) -> None:
        """Work a text out, then each branch that the samples do not take."""
        for number, tried in enumerate((text, *branches(text))):
            try:
                work(tried)
            except EstimateFault:
                continue  # the sample lot lies outside what the estimate is valid for; a real one may not
            except ExpressionFault as fault:
                if number and isinstance(fault, ValuesFault):
                    continue  # what the condition is there to keep off
                column = max(fault.column, _begins(tried)) if number else fault.column
                raise ExpressionFault(text, fault.line, column, fault.what, fault.write) from None


def _begins(text: str) -> int:
    """The column, from 1, of the first sign of a text."""
    return len(text) - len(text.lstrip(" ")) + 1
