"""What an amount or a condition says, as a small tree: numbers, names, comparisons, choices and calls of estimates, each with its place in the text.

`scheduler.rules.grammar` makes it of words, `scheduler.rules.old_expressions` of what version 0.1 was written in; here it is worked out. Numbers are SI.
"""

import inspect
import math
import operator
from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple, NoReturn

from scheduler.diagnostics import Fault, instead
from scheduler.estimates.callable_estimates import BY_TRADE, CALLABLES
from scheduler.quantities import Estimate
from scheduler.rules.expressions import EstimateFault, ExpressionFault, position
from scheduler.rules.vocabulary import Value

Worked = Any  # a number, a yes or no, a word, None for what is not known, or for an estimate a whole variable


class Seen:
    """What an expression sees while it is worked out, and the estimates that it called; whether it stands `in_words`, or in the old way."""

    __slots__ = ("estimates", "in_words", "names", "parameters", "text")

    def __init__(self, text: str, names: Mapping[str, Any], parameters: Mapping[str, Value], in_words: bool) -> None:
        self.text, self.names, self.parameters, self.in_words = text, names, parameters, in_words
        self.estimates: list[tuple[str, Estimate]] = []

    def wrong(self, at: int, message: str, write: str) -> NoReturn:
        """Refuse the expression at a place in its text."""
        raise ExpressionFault(self.text, *position(self.text, at), message, write)

    def variable(self, of: str, at: int) -> Any:
        """The fields of a variable. Raises `ExpressionFault` where there is none."""
        if of not in self.names:
            self.wrong(at, f'nothing is named "{of}"', instead(of, self.names))
        return self.names[of]

    def call(self, name: str, given: tuple[Any, ...], at: int) -> Worked:
        """What an estimate gives: the safe end of its range, which is recorded. Raises `EstimateFault`, and `ExpressionFault` for what it does not take."""
        function = CALLABLES[name]
        try:
            result = function(*given, trade=self.names.get("trade", {})) if name in BY_TRADE else function(*given)
        except Fault as fault:
            raise EstimateFault(self.text, *position(self.text, at), f"{name}: {fault.message}", fault.write) from None
        except (TypeError, KeyError, ValueError, ArithmeticError) as error:
            takes = ", ".join(one for one in inspect.signature(function).parameters if one != "trade")
            self.wrong(at, f"{name}: it is not called like this ({error})", f"{name}({takes})")
        if not isinstance(result, Estimate):
            return result
        self.estimates.append((name, result))
        return float(result.safe)


class Constant(NamedTuple):
    """A number, a word, a yes or no, or what is not known."""

    value: Value | None
    measures: str | None
    at: int = 0

    def worked(self, seen: Seen) -> Worked:
        """It is itself."""
        return self.value


class Name(NamedTuple):
    """What the plan knows: `lot.mass`."""

    of: str
    field: str
    measures: str | None
    at: int = 0

    def worked(self, seen: Seen) -> Worked:
        """As it is in the plan, or a sample."""
        try:
            return seen.names[self.of][self.field]
        except KeyError:
            known = seen.variable(self.of, self.at)
            seen.wrong(self.at, f'nothing is named "{self.of}.{self.field}"', instead(self.field, known))


class NamedNumber(NamedTuple):
    """A number of a rule file by its name."""

    name: str
    measures: str | None
    at: int = 0

    def worked(self, seen: Seen) -> Worked:
        """Its value in the set whose card this is."""
        return seen.parameters[self.name]


class Whole(NamedTuple):
    """A lot, a batch, a freezer or a room as an estimate takes it."""

    of: str
    at: int = 0

    def worked(self, seen: Seen) -> Worked:
        """All its fields."""
        return seen.variable(self.of, self.at)


class Made(NamedTuple):
    """The same, made of amounts: a room of another temperature."""

    fields: "tuple[tuple[str, Node], ...]"
    at: int = 0

    def worked(self, seen: Seen) -> Worked:
        """All its fields."""
        return {field: part.worked(seen) for field, part in self.fields}


class Reckoned(NamedTuple):
    """Two amounts added, taken from one another, multiplied or divided; `sign` is one of + - * /."""

    sign: str
    left: "Node"
    right: "Node"
    at: int = 0

    def worked(self, seen: Seen) -> Worked:
        """A number; of two words that are added one word."""
        left, right = self.left.worked(seen), self.right.worked(seen)
        if left.__class__ is not float or right.__class__ is not float:
            if self.sign == "+" and isinstance(left, str) and isinstance(right, str):
                return left + right
            left, right = (_number(part, side, seen) for part, side in ((self.left, left), (self.right, right)))
        return _RECKON[self.sign](left, right)


class Compared(NamedTuple):
    """Two of a kind compared; `sign` is one of == != < <= > >=."""

    sign: str
    left: "Node"
    right: "Node"
    at: int = 0

    def worked(self, seen: Seen) -> Worked:
        """Whether it is so; what is not known is neither more nor less than anything."""
        left, right = self.left.worked(seen), self.right.worked(seen)
        if self.sign in ("==", "!="):
            return (left == right and isinstance(left, bool) == isinstance(right, bool)) == (self.sign == "==")
        if seen.in_words and (left is None or right is None):
            return False
        if not (isinstance(left, str) and isinstance(right, str)) and (left.__class__ is not float or right.__class__ is not float):
            left, right = (_number(part, side, seen) for part, side in ((self.left, left), (self.right, right)))
        return _COMPARE[self.sign](left, right)


class Joined(NamedTuple):
    """Two conditions: both of them where `sign` is "and", one of them where it is "or"."""

    sign: str
    left: "Node"
    right: "Node"
    at: int = 0

    def worked(self, seen: Seen) -> Worked:
        """Whether it is so; the second is not looked at where the first decides."""
        found = _so(self.left, seen)
        return found if found == (self.sign == "or") else _so(self.right, seen)


class Denied(NamedTuple):
    """The contrary of a condition."""

    part: "Node"
    at: int = 0

    def worked(self, seen: Seen) -> Worked:
        """Whether it is so."""
        return not _so(self.part, seen)


class IsKnown(NamedTuple):
    """Whether something is known."""

    part: "Node"
    at: int = 0

    def worked(self, seen: Seen) -> Worked:
        """Whether it is so."""
        return self.part.worked(seen) is not None


class Extreme(NamedTuple):
    """The smaller or the larger of two amounts; `sign` is < or >."""

    sign: str
    left: "Node"
    right: "Node"
    at: int = 0

    def worked(self, seen: Seen) -> Worked:
        """One of the two."""
        left, right = (_number(part, part.worked(seen), seen) for part in (self.left, self.right))
        return left if _COMPARE[self.sign](left, right) else right


class Rounded(NamedTuple):
    """A number without what stands after its point."""

    part: "Node"
    at: int = 0

    def worked(self, seen: Seen) -> Worked:
        """A whole number; what is infinite stays so."""
        found = _number(self.part, self.part.worked(seen), seen)
        return float(math.trunc(found)) if math.isfinite(found) else found


class Spelt(NamedTuple):
    """An amount as a word; no form says it, for words with places need none."""

    part: "Node"
    at: int = 0

    def worked(self, seen: Seen) -> Worked:
        """Whole numbers without a point."""
        found = self.part.worked(seen)
        return found if isinstance(found, str) else f"{found:g}" if isinstance(found, float) else shown(found)


class Called(NamedTuple):
    """An estimate of what is given to it."""

    name: str
    given: "tuple[Node, ...]"
    at: int = 0

    def worked(self, seen: Seen) -> Worked:
        """The safe end of its range, or the word that it gives."""
        return seen.call(self.name, tuple([part.worked(seen) for part in self.given]), self.at)


class Choice(NamedTuple):
    """One of two, as a condition decides."""

    so: "Node"
    one: "Node"
    other: "Node"
    at: int = 0

    def worked(self, seen: Seen) -> Worked:
        """The other one is not looked at."""
        return (self.one if _so(self.so, seen) else self.other).worked(seen)


Node = Constant | Name | NamedNumber | Whole | Made | Reckoned | Compared | Joined | Denied | IsKnown | Extreme | Rounded | Spelt | Called | Choice


def parts_of(node: Node) -> Iterator[Node]:
    """A part of an expression and all the parts in it."""
    yield node
    if isinstance(node, Made):
        within: tuple[Node, ...] = tuple(part for _, part in node.fields)
    elif isinstance(node, Called):
        within = node.given
    else:
        within = tuple(part for part in node if isinstance(part, tuple))  # type: ignore[misc]  # a part is a named tuple, and nothing else in one is
    for part in within:
        yield from parts_of(part)


def shown(value: Any) -> str:
    """A value as a message shows it."""
    return str(value).lower() if isinstance(value, bool) else f'"{value}"' if isinstance(value, str) else "what is not known" if value is None else str(value)


def _so(part: Node, seen: Seen) -> bool:
    found = part.worked(seen)
    if not isinstance(found, bool):
        seen.wrong(part.at, f"a condition must give true or false, and this gives {shown(found)}", 'a comparison such as "the lot\'s mass is at least $NAME"')
    return found


def _number(part: Node, found: Any, seen: Seen) -> float:
    if isinstance(found, bool) or not isinstance(found, int | float):
        if found is None:
            seen.wrong(part.at, "a number is needed, and this is not always known", '"... is known" before it')
        seen.wrong(part.at, f"a number is needed, and this gives {shown(found)}", 'an amount such as "the lot\'s mass"')
    return float(found)


def _divided(left: float, right: float) -> float:
    """As IEEE 754 has it: what is divided by nothing is infinite."""
    if right:
        return left / right
    return math.nan if not left or math.isnan(left) else math.copysign(math.inf, left) * math.copysign(1.0, right)


_RECKON: Mapping[str, Callable[[float, float], float]] = {"+": operator.add, "-": operator.sub, "*": operator.mul, "/": _divided}
_COMPARE: Mapping[str, Callable[[Any, Any], bool]] = {"<": operator.lt, "<=": operator.le, ">": operator.gt, ">=": operator.ge}
