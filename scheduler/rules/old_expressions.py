"""Amounts and conditions as version 0.1 wrote them, with signs: `lot.packages > 0.0 && !yard.sells`. Numbers are SI, q('2 h') is a quantity.

They are read for one more version, with a word about how to say them now; this module goes out with the version after.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import NoReturn

from scheduler.diagnostics import Fault, instead
from scheduler.estimates.callable_estimates import CALLABLES
from scheduler.quantities import parse
from scheduler.rules.expression_tree import (
    Called,
    Choice,
    Compared,
    Constant,
    Denied,
    IsKnown,
    Joined,
    Made,
    Name,
    NamedNumber,
    Node,
    Reckoned,
    Rounded,
    Spelt,
    Whole,
)
from scheduler.rules.expressions import ExpressionFault, dimension_of, position, underscored
from scheduler.rules.old_numbers import FLAGS, RENAMED
from scheduler.rules.slips import unquoted
from scheduler.rules.spoken_names import WORD, YES_NO
from scheduler.rules.vocabulary import NAMES

NUMBER = "number"  # what a bare number measures: any dimension, in SI
DEEPEST, MOST = 20, 100  # brackets in each other; terms side by side
_TOKEN = re.compile(
    r"""\s*(?:(?P<number>(?:\d+(?:\.\d+)?|\.\d+)(?:[eE][+-]?\d+)?)|(?P<word>"(?:[^"\\]|\\.)*"|'(?:[^'\\]|\\.)*')|(?P<name>[A-Za-z_]\w*)"""
    r"""|(?P<sign>&&|\|\||[=!<>]=|[-+*/%<>!?:.,()\[\]{}])|(?P<end>$))"""
)
_VALUES = {"true": True, "false": False, "null": None}
_NOT_READ = {"all", "exists", "exists_one", "map", "filter", "size", "contains", "startsWith", "endsWith", "matches", "has", "min", "max", "uint", "bool"}
_IN_WORDS = 'it in words, as rulesets/README.md lists them: "the lot\'s moisture is more than 18 %", "$wiping each jar"'


def read_old(text: str, parameters: Mapping[str, str | None]) -> Node:
    """The tree of an expression with signs; `parameters` are their names with their dimensions. Raises `ExpressionFault` with the place in the text."""
    return _SignReader(text, parameters).whole()


class _SignReader:
    """A text read from left to right; `kind`, `token` and `begun` are what comes next and where."""

    def __init__(self, text: str, parameters: Mapping[str, str | None]) -> None:
        self.text, self.parameters = text, parameters
        self.by_field = {underscored(name): name for name in parameters}
        self.at = self.depth = 0
        self.pass_on()

    def pass_on(self) -> str:
        """What stood here; the next is read."""
        was = getattr(self, "token", "")
        found = _TOKEN.match(self.text, self.at)
        if found is None:
            at = self.at + len(self.text[self.at :]) - len(self.text[self.at :].lstrip())
            self.wrong(at, f'"{self.text[at]}" is no sign of an expression', _IN_WORDS)
        self.kind = str(found.lastgroup)
        self.token, self.begun, self.at = found[self.kind], found.start(self.kind), found.end()
        return was

    def wrong(self, at: int, message: str, write: str) -> NoReturn:
        """Refuse the text at a place."""
        raise ExpressionFault(self.text, *position(self.text, at), message, write)

    def take(self, *signs: str) -> str | None:
        """One of several signs, where it stands here; passed over then."""
        return self.pass_on() if self.kind in ("sign", "name") and self.token in signs else None

    def needed(self, sign: str) -> None:
        """Pass over a sign that has to stand here."""
        if not self.take(sign):
            self.unread(f'"{sign}" is missing')

    def unread(self, told: str = "") -> NoReturn:
        """Refuse what stands here."""
        here = "it ends too early" if self.kind == "end" else f'"{self.token}" stands where nothing of the kind can'
        self.wrong(self.begun, f"{told} here: {here}" if told and self.kind != "end" else told or here, _IN_WORDS)

    def whole(self) -> Node:
        """All of it."""
        found = self.choice()
        if self.kind != "end":
            self.unread()
        return found

    def choice(self) -> Node:
        """ "CONDITION ? ONE : OTHER", or what it is made of."""
        self.depth += 1
        if self.depth > DEEPEST:
            self.wrong(self.begun, f"more than {DEEPEST} amounts in each other", "a parameter for part of it, or two cards")
        found = self.side_by_side(self.both, {"||": lambda one, other, _: Joined("or", one, other, one.at)})
        if self.take("?"):
            one = self.choice()
            self.needed(":")
            found = Choice(found, one, self.choice(), found.at)
        self.depth -= 1
        return found

    def both(self) -> Node:
        """Conditions that have to be so together."""
        return self.side_by_side(self.compared, {"&&": lambda one, other, _: Joined("and", one, other, one.at)})

    def compared(self) -> Node:
        """A comparison, or a word that is one of several."""
        found = self.sum()
        while True:
            if self.take("in"):
                found = self.one_of(found)
            elif sign := self.take("==", "!=", "<", "<=", ">", ">="):
                found = Compared(sign, found, self.sum(), found.at)
            else:
                return found

    def one_of(self, asked: Node) -> Node:
        """ "lot.frame in ['shallow', 'medium']" """
        self.needed("[")
        found: Node = Compared("==", asked, self.choice(), asked.at)
        while self.take(","):
            found = Joined("or", found, Compared("==", asked, self.choice(), asked.at), asked.at)
        self.needed("]")
        return found

    def sum(self) -> Node:
        """Amounts added and taken from one another."""
        return self.side_by_side(self.product, {sign: lambda one, other, by: Reckoned(by, one, other, one.at) for sign in "+-"})

    def product(self) -> Node:
        """Amounts multiplied and divided."""
        return self.side_by_side(self.signed, {sign: lambda one, other, by: Reckoned(by, one, other, one.at) for sign in "*/"})

    def side_by_side(self, part: Callable[[], Node], joins: Mapping[str, Callable[[Node, Node, str], Node]]) -> Node:
        """Parts joined by signs that bind alike, from left to right."""
        found = part()
        for _ in range(MOST):
            if not (sign := self.take(*joins)):
                return found
            found = joins[sign](found, part(), sign)
        self.wrong(self.begun, f"more than {MOST} terms side by side", "a parameter for part of it, or two cards")

    def signed(self) -> Node:
        """An amount with its sign, or a condition that is denied."""
        at, signs = self.begun, ""
        while sign := self.take("!", "-"):
            signs += sign
            if len(signs) > DEEPEST:
                self.wrong(at, f"more than {DEEPEST} signs before one thing", "one or none of them")
        found = self.one()
        for sign in reversed(signs):
            if sign == "!":
                found = Denied(found, at)
            elif isinstance(found, Constant) and isinstance(found.value, float):
                found = Constant(-found.value, found.measures, at)
            else:
                found = Reckoned("-", Constant(0.0, NUMBER, at), found, at)
        return found

    def one(self) -> Node:
        """A number, a word, a name, a call, or something in brackets."""
        at, kind = self.begun, self.kind
        if kind == "number":
            return Constant(float(self.pass_on()), NUMBER, at)
        if kind == "word":
            return Constant(re.sub(r"\\(.)", r"\1", self.pass_on()[1:-1]), WORD, at)
        if kind == "name":
            name = self.pass_on()
            if name in _VALUES:
                return Constant(_VALUES[name], YES_NO if name != "null" else None, at)
            return self.called(name, at) if self.take("(") else self.named(name, at)
        if self.take("("):
            found = self.choice()
            self.needed(")")
            return found
        if self.take("{"):
            return self.made(at)
        if self.token == "[":
            self.wrong(at, "lists are not read any more", _IN_WORDS)
        self.unread()

    def made(self, at: int) -> Node:
        """ "{'volume': batch.volume, 'mass': batch.mass}" """
        fields: list[tuple[str, Node]] = []
        while self.kind == "word":
            field = self.pass_on()[1:-1]
            self.needed(":")
            fields.append((field, self.choice()))
            if not self.take(","):
                break
        self.needed("}")
        return Made(tuple(fields), at)

    def named(self, of: str, at: int) -> Node:
        """ "lot.mass", "param.drain_floor", or a whole lot for an estimate."""
        if not self.take("."):
            if of not in NAMES:
                self.wrong(at, f'nothing is named "{of}"', unquoted(self.text, at, of) or instead(of, [*NAMES, "param"]))
            return Whole(of, at)
        if self.kind != "name":
            self.unread(f'after "{of}." a name is missing')
        field = self.pass_on()
        if self.token == "(":
            self.not_called(field, at)
        if of == "param":
            if field not in self.by_field:
                raise UnknownParameter(self.text, *position(self.text, at), field)
            name = self.by_field[field]
            return NamedNumber(name, self.parameters[name], at)
        if of not in NAMES:
            self.wrong(at, f'nothing is named "{of}"', instead(of, [*NAMES, "param"]))
        if (of, field) in FLAGS:
            return Name(of, field, YES_NO, at)
        now, asked = RENAMED.get((of, field), (of, field))
        if asked not in NAMES[now]:
            self.wrong(at, f'nothing is named "{of}.{field}"', instead(field, NAMES[of]))
        return Name(of, field, NAMES[now][asked].measures, at)

    def not_called(self, name: str, at: int) -> NoReturn:
        if name in _NOT_READ:
            self.wrong(at, f'"{name}" is not read any more', _IN_WORDS)
        self.wrong(at, f'no estimate is named "{name}"', instead(name, [*CALLABLES, "q", "known"]))

    def called(self, name: str, at: int) -> Node:
        """An estimate, a quantity, or what is asked of a value."""
        given: list[Node] = []
        if not self.take(")"):
            given.append(self.choice())
            while self.take(","):
                given.append(self.choice())
            self.needed(")")
        if name in CALLABLES:
            return Called(name, tuple(given), at)
        if name not in ("q", "known", "int", "double", "string"):
            self.not_called(name, at)
        if len(given) != 1:
            self.wrong(at, f'"{name}" is of one thing', "q('2 h')" if name == "q" else f"{name}(lot.moisture)")
        [one] = given
        if name == "q":
            return self.quantity(one, at)
        if name == "known":
            return IsKnown(one, at)
        return Rounded(one, at) if name == "int" else Spelt(one, at) if name == "string" else one

    def quantity(self, written: Node, at: int) -> Node:
        if not isinstance(written, Constant) or not isinstance(written.value, str):
            self.wrong(at, "q is of a quantity in quotes", "q('2 h')")
        try:
            measures = dimension_of(written.value)
            return Constant(parse(written.value, measures), measures, at)
        except Fault as fault:
            self.wrong(at, f"q: {fault.message}", fault.write)


class UnknownParameter(ExpressionFault):
    """No parameter has this name, in an expression with signs; who knows the file says which was meant."""

    def __init__(self, text: str, line: int, column: int, name: str, write: str = "") -> None:
        self.name = name
        super().__init__(text, line, column, f'no parameter is named "{name}"', write)
