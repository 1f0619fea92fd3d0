"""What a check of rule files finds, and the places that it is told at."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

import yaml

from scheduler.diagnostics import Diagnostic, Fault
from scheduler.documents import Document
from scheduler.rules.card_check import Loc
from scheduler.rules.expressions import ExpressionFault
from scheduler.rules.rule_set import LoadedSet, Rules
from scheduler.rules.schema import Card, Stop

_AS_LAG = re.compile(r"\s+(?:after|before)\s+(?:the\s+)?[a-z][a-z ]*$")  # what a line of a list of moments says beside its lag


class Finding(NamedTuple):
    """A diagnostic, or advice that refuses nothing."""

    diagnostic: Diagnostic
    advice: bool = False
    old_word: bool = False  # advice that a plan with the file gives too


class PlaceInSet(NamedTuple):
    """A card or a parameter as a place that findings are reported at."""

    document: Document
    at: Loc
    trail: str

    @classmethod
    def of(cls, one: LoadedSet, kind: str, name: str) -> PlaceInSet:
        """The place of a card ("tasks") or a parameter, where it was last written."""
        document, at = one.place(kind, name)
        return cls(document, at, f'{"card" if kind == "tasks" else "parameter"} "{name}"')

    def finding(self, loc: Loc, fault: Fault, *, key: bool = False) -> Finding:
        """A fault at a place inside; one inside an expression is told to the character."""
        trail = " > ".join([self.trail, *self._spelt(loc)])
        line, column = self.document.place((*self.at, *loc), key=key)
        if isinstance(fault, ExpressionFault):
            node = _node(self.document, (*self.at, *loc))
            if not isinstance(node, yaml.ScalarNode) and (entry := _entry(self.document, (*self.at, *loc), fault)):
                node, fault = entry
                line, column = self.document.place_of(node)
            line, column = _inside(node, fault) or (line, column)
        return Finding(Diagnostic(self.document.path, line, column, f"{trail}: {fault.message}", fault.write))

    def _spelt(self, loc: Loc) -> Iterator[str]:
        """The keys of a place inside, as far as the file spells them out: of "hands: 5 min" not the "before" that it stands for."""
        node = _node(self.document, self.at)
        for step in loc:
            pair = self.document.below(node, step)
            if pair is None and self.document.root is not None:
                return
            node = pair[1] if pair else None
            if not isinstance(step, int):
                yield str(step)


def _node(document: Document, loc: Loc) -> yaml.Node | None:
    node = document.root
    for step in loc:
        if (pair := document.below(node, step)) is not None:
            node = pair[1]
    return node


def _entry(document: Document, loc: Loc, fault: ExpressionFault) -> tuple[yaml.ScalarNode, ExpressionFault] | None:
    """The entry of a list whose text an expression is made of that holds the fault's place, and the fault as it stands in that entry."""
    nodes = [_node(document, loc[:steps]) for steps in range(len(loc), 0, -1)]
    for node in (one for one in nodes if isinstance(one, yaml.SequenceNode | yaml.MappingNode)):
        at, found = 0, None
        for scalar in _scalars(node):
            text = _AS_LAG.sub("", scalar.value)
            at = fault.text.find(text, at)
            if at < 0:
                break
            if found is None or at < fault.column:
                found = scalar, ExpressionFault(text, 1, max(1, fault.column - at), fault.what, fault.write)
            at += len(text)
        else:
            return found
    return None


def _scalars(node: yaml.Node) -> Iterator[yaml.ScalarNode]:
    """The amounts and conditions of a first-match list or a table in the order in which they make one text."""
    if isinstance(node, yaml.ScalarNode):
        yield node
    elif isinstance(node, yaml.SequenceNode):
        for item in node.value:
            yield from _scalars(item)
    elif isinstance(node, yaml.MappingNode):
        for _, value in sorted(node.value, key=lambda pair: pair[0].value == "if"):
            yield from _scalars(value)


def _inside(node: yaml.Node | None, fault: ExpressionFault) -> tuple[int, int] | None:
    """The line and column in the file of a place in an expression written on one line; None for other styles."""
    if not isinstance(node, yaml.ScalarNode) or node.style in ("|", ">") or fault.line != 1 or node.start_mark is None:
        return None
    offset = node.value.find(fault.text)
    if offset < 0 or node.end_mark is None or node.start_mark.line != node.end_mark.line:
        return None
    return node.start_mark.line + 1, node.start_mark.column + 1 + (1 if node.style else 0) + offset + fault.column - 1


def all_stops(rules: Rules) -> Iterator[tuple[LoadedSet, PlaceInSet, Stop]]:
    """Every stop in force with its set and its place."""
    for one in rules.sets.values():
        for name, stop in one.stops.items():
            yield one, PlaceInSet(one.document, ("stops", name), f'stop "{name}"'), stop


def all_cards(rules: Rules) -> Iterator[tuple[LoadedSet, str, Card]]:
    """Every card in force with its set and its name."""
    for one in rules.sets.values():
        for name, card in one.cards.items():
            yield one, name, card
