"""What amounts and conditions see, the variables of a plan and the parameters of a rule set, and what they give; numbers are SI.

An estimate that one calls gives the safe end of its range and is recorded, so that a task can say which numbers made its date.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import Any, NamedTuple

from scheduler.diagnostics import instead, nearest
from scheduler.quantities import Estimate
from scheduler.rules.expression_tree import Node, Seen
from scheduler.rules.expressions import EstimateFault, ExpressionFault, underscored
from scheduler.rules.grammar import read_words
from scheduler.rules.old_expressions import UnknownParameter, read_old
from scheduler.rules.old_numbers import compares_with_one, with_old_numbers
from scheduler.rules.spoken_names import in_words
from scheduler.rules.vocabulary import Value

LONGEST = 2_000  # characters of one expression


class Read(NamedTuple):
    """An expression as it was read: its tree, whether it stands in words, and whether it asks for numbers that stood for what is not known."""

    tree: Node
    in_words: bool
    asks_old_numbers: bool = False


class Parameters(dict[str, Value]):
    """The parameters of one rule set by name, each with its dimension where that is known, and the expressions of that set as they were read."""

    __slots__ = ("expressions", "measures", "own")

    def __init__(self, own: Mapping[str, Value] | None = None, lent: Parameters | None = None, measures: Mapping[str, str] = {}) -> None:
        super().__init__({**(lent or {}), **(own or {})})
        self.own: Collection[str] = own or {}  # the names of this set's own
        self.measures: Mapping[str, str | None] = {name: measures.get(name) for name in self} if measures else dict.fromkeys(self)
        self.expressions: dict[str, Read] = {}

    def __getstate__(self) -> tuple[None, dict[str, Any]]:
        return None, {"own": self.own, "measures": self.measures, "expressions": self.expressions}

    def read(self, text: str) -> Read:
        """An expression, in words or in the old way. Raises `ExpressionFault` with the place in it."""
        found = self.expressions.get(text)
        if found is None:
            found = self.expressions[text] = self._read(text)
        return found

    def _read(self, text: str) -> Read:
        if len(text) > LONGEST:
            told = f"the expression has {len(text):,} characters; the longest that is read has {LONGEST:,}"
            raise ExpressionFault(text[:80], 1, 1, told, "a shorter condition, or two cards")
        if in_words(text):
            return Read(read_words(text, self.measures).tree, True)
        try:
            return Read(read_old(text, self.measures), False, compares_with_one(text))
        except UnknownParameter as fault:
            raise ExpressionFault(text, fault.line, fault.column, fault.what, self.meant(fault.name, underscored)) from None

    def meant(self, name: str, spoken: Callable[[str], str] = str) -> str:
        """What to write for a name that no parameter has: one of the set's own, else the nearest that others lend; `spoken` as an expression has it."""
        own = [spoken(one) for one in self.own]
        near = None if nearest(name, own) else nearest(name, [spoken(one) for one in self])
        return f'"{near}"' if near else instead(name, own or [spoken(one) for one in self])


class Environment:
    """The names an expression sees: the variables of `scheduler.rules.vocabulary` and the parameters of one rule set (SI numbers)."""

    __slots__ = ("names", "parameters")

    def __init__(self, names: Mapping[str, Any], parameters: Parameters | None = None) -> None:
        self.names = names
        self.parameters = Parameters() if parameters is None else parameters

    def child(self, **changed: Any) -> Environment:
        """The same with some variables replaced: `env.child(batch={"count": 4.0, ...})`."""
        return Environment({**self.names, **changed}, self.parameters)

    def with_parameters(self, parameters: Parameters) -> Environment:
        """The same variables as another rule set sees them."""
        return Environment(self.names, parameters)

    def in_old_numbers(self) -> Environment:
        """The same names as version 0.1 gave them (`scheduler.rules.old_numbers`)."""
        return Environment(with_old_numbers(self.names), self.parameters)

    def evaluate(self, text: str) -> tuple[Any, tuple[tuple[str, Estimate], ...]]:
        """The value of an expression and the estimates called. Raises `Fault` naming the expression."""
        tree, said, asks_old_numbers = self.parameters.read(text)
        if said:
            return self.worked(text, tree, in_words=True)
        if asks_old_numbers:
            return self.worked(text, tree, with_old_numbers(self.names))
        try:
            return self.worked(text, tree, self.names)
        except EstimateFault:
            raise
        except ExpressionFault as fault:
            try:
                return self.worked(text, tree, with_old_numbers(self.names))
            except ExpressionFault:
                raise fault from None

    def worked(self, text: str, tree: Node, names: Mapping[str, Any] | None = None, *, in_words: bool = False) -> tuple[Any, tuple[tuple[str, Estimate], ...]]:
        """The value of a tree that was read from a text, or of a part of it, and the estimates called. Raises `ExpressionFault`."""
        seen = Seen(text, self.names if names is None else names, self.parameters, in_words)
        return tree.worked(seen), tuple(seen.estimates)
