"""CEL, the Common Expression Language (an open specification), with the estimates callable in it; its numbers are SI doubles.

An estimate called from CEL gives the safe end of its range and is recorded, so that a task can say which numbers made its date.
"""

from __future__ import annotations

import inspect
import math
import re
import sys
import types
from collections.abc import Callable, Collection, Mapping
from functools import lru_cache
from typing import Any, NamedTuple

from scheduler.diagnostics import Fault, instead, nearest
from scheduler.estimates.cel_functions import BY_TRADE, CALLABLES
from scheduler.quantities import Estimate, parse
from scheduler.rules.expressions import EstimateFault, ExpressionFault, ValuesFault, dimension_of, position, underscored
from scheduler.rules.grammar import in_cel
from scheduler.rules.old_numbers import compares_with_one, with_old_numbers
from scheduler.rules.spoken_names import worded
from scheduler.rules.vocabulary import Value

LONGEST = 2_000  # characters of one expression; far longer ones bring the evaluator down

_PARAM_FIELD = re.compile(r"""("(?:[^"\\]|\\.)*"|'(?:[^'\\]|\\.)*')|\bparam\.(\w+)""")
_MACRO = re.compile(r"\.(all|exists|exists_one|map|filter)\s*\(")
_WHERE = r"ERROR: <input>:(\d+):(\d+): (?:Syntax error: )?(.*)"  # compiled where something is wrong


@lru_cache(maxsize=8192)
def compiled(text: str) -> _Compiled:
    """The checked and compiled expression. Raises `ExpressionFault` with the place inside it."""
    if len(text) > LONGEST:
        raise ExpressionFault(
            text[:80], 1, 1, f"the expression has {len(text):,} characters; the longest that is read has {LONGEST:,}", "a shorter condition, or two cards"
        )
    macros = list(_MACRO.finditer(text))
    if len(macros) > 1:
        line, column = position(text, macros[1].start() + 1)
        raise ExpressionFault(text, line, column, f'a second "{macros[1][1]}" in one expression', "one of all, exists, exists_one, map, filter at most")
    try:
        program = _cel().compile(text)
    except ValueError as error:
        raise _syntax(text, str(error)) from None
    return _Compiled(program, tuple(program.variables()), tuple(program.functions()), compares_with_one(text))


class _Compiled(NamedTuple):
    program: Any
    variables: tuple[str, ...]
    functions: tuple[str, ...]
    asks_old_numbers: bool


@lru_cache(maxsize=1)
def _cel() -> Any:
    """The CEL library without its command line, which would triple the start-up time."""
    sys.modules.setdefault("cel.cli", types.ModuleType("cel.cli"))
    import cel

    return cel


def _syntax(text: str, message: str) -> ExpressionFault:
    found = re.search(_WHERE, message)
    line, column, what = (int(found[1]), int(found[2]), found[3]) if found else (1, 1, message.splitlines()[0])
    what = re.sub(r" expecting \{.*", "", what).replace("mismatched input '<EOF>'", "it ends too early").replace("'<EOF>'", "the end")
    return ExpressionFault(text, line, column, f"CEL cannot read this: {what}", "CEL, as in: lot.moisture > 0.18 && room.temperature < q('20 °C')")


def has_macro(text: str) -> bool:
    """Whether an expression binds a name of its own with all, exists, map or filter."""
    return bool(_MACRO.search(text))


class _Calls:
    """What the functions that a program calls read and leave behind: the estimates, and the fault of one that failed.

    The context holds these functions, and the collector does not look into it, so they must not hold the context in turn: it would never go.
    """

    def __init__(self) -> None:
        self.estimates: list[tuple[str, Estimate]] = []
        self.fault: tuple[str, Fault] | None = None
        self.trade: Mapping[str, Any] = {}

    def traced(self, name: str, function: Callable[..., Any]) -> Callable[..., Any]:
        """A raising function would be logged by the CEL library, so the fault is kept and raised after the evaluation."""

        def call(*arguments: Any) -> Any:
            try:
                result = function(*arguments, trade=self.trade) if name in BY_TRADE else function(*arguments)
            except Fault as error:
                self.fault = (name, error)
                return math.nan
            except (TypeError, KeyError, ValueError, ArithmeticError) as error:
                self.fault = (name, _misused(name, function, error))
                return math.nan
            if not isinstance(result, Estimate):
                return result
            self.estimates.append((name, result))
            return float(result.safe)

        return call


class _Evaluator:
    """One CEL context, bound name by name as programs ask for them, and the calls of the program that ran last."""

    def __init__(self) -> None:
        self.context = _cel().Context()
        self.bound: dict[str, Any] = {}
        self.calls = _Calls()

    def prepare(self, program: _Compiled, names: Mapping[str, Any]) -> None:
        """Bind what the program refers to, unless that very object is bound already (binding costs far more than evaluating)."""
        for name in program.variables:
            if name in names and self.bound.get(name) is not names[name]:
                self.context.add_variable(name, names[name])
                self.bound[name] = names[name]
        for name in program.functions:
            if name not in self.bound and (function := CALLABLES.get(name) or _OWN.get(name)):
                self.context.add_function(name, self.calls.traced(name, function))
                self.bound[name] = function
        self.calls.estimates.clear()
        self.calls.fault, self.calls.trade = None, names.get("trade", {})


class Parameters(dict[str, Value]):
    """The parameters of one rule set by name, and the expressions of that set compiled with their values in place.

    Values are written into the expression instead of being bound, because the variables are shared by all sets and the parameters are not.
    """

    __slots__ = ("by_field", "own", "programs", "said")

    def __init__(self, own: Mapping[str, Value] | None = None, lent: Parameters | None = None) -> None:
        super().__init__({**(lent or {}), **(own or {})})
        self.own: Collection[str] = own or {}  # the names of this set's own
        fields = {underscored(name): value for name, value in (own or {}).items()}  # as an expression names them
        self.by_field: dict[str, Value] = {**lent.by_field, **fields} if lent else fields
        self.said: dict[str, str] = {}  # what is in words, as CEL
        self.programs: dict[str, _Compiled] = {}

    def __getstate__(self) -> tuple[None, dict[str, Any]]:
        return None, {"own": self.own, "by_field": self.by_field, "said": self.said, "programs": {}}  # no program outlives its process

    def code(self, expression: str) -> str:
        """An expression as CEL, though it may be in words. Raises `ExpressionFault`."""
        if expression not in self.said and worded(expression):
            self.said[expression] = in_cel(expression, dict.fromkeys(self)).cel
        return self.said.get(expression, expression)

    def program(self, text: str) -> _Compiled:
        """The compiled expression. Raises `ExpressionFault`."""
        found = self.programs.get(text)
        if found is None:
            found = self.programs[text] = compiled(_with_parameters(self.code(text), self))
        return found

    def meant(self, name: str, spoken: Callable[[str], str] = str) -> str:
        """What to write for a name that no parameter has: one of the set's own, else the nearest that others lend; `spoken` as an expression has it."""
        own = [spoken(one) for one in self.own]
        near = None if nearest(name, own) else nearest(name, [spoken(one) for one in self])
        return f'"{near}"' if near else instead(name, own or [spoken(one) for one in self])


class Environment:
    """The names an expression sees: the variables of `scheduler.rules.vocabulary` and the parameters of one rule set (SI numbers).

    Environments made from one another share an evaluator, so use those of one plan from one thread only.
    """

    __slots__ = ("evaluator", "names", "parameters")

    def __init__(self, names: Mapping[str, Any], parameters: Parameters | None = None, evaluator: _Evaluator | None = None) -> None:
        self.names = names
        self.parameters = Parameters() if parameters is None else parameters
        self.evaluator = evaluator or _Evaluator()

    def child(self, **changed: Any) -> Environment:
        """The same with some variables replaced: `env.child(batch={"count": 4.0, ...})`."""
        return Environment({**self.names, **changed}, self.parameters, self.evaluator)

    def with_parameters(self, parameters: Parameters) -> Environment:
        """The same variables as another rule set sees them."""
        return Environment(self.names, parameters, self.evaluator)

    def in_old_numbers(self) -> Environment:
        """The same names as version 0.1 gave them (`scheduler.rules.old_numbers`)."""
        return Environment(with_old_numbers(self.names), self.parameters, self.evaluator)

    def evaluate(self, text: str) -> tuple[Any, tuple[tuple[str, Estimate], ...]]:
        """The value of a CEL expression and the estimates called. Raises `Fault` naming the expression."""
        program = self.parameters.program(text)
        if program.asks_old_numbers:
            return self._evaluated(text, program, with_old_numbers(self.names))
        try:
            return self._evaluated(text, program, self.names)
        except EstimateFault:
            raise
        except ExpressionFault as fault:
            try:
                return self._evaluated(text, program, with_old_numbers(self.names))
            except ExpressionFault:
                raise fault from None

    def _evaluated(self, text: str, program: _Compiled, names: Mapping[str, Any]) -> tuple[Any, tuple[tuple[str, Estimate], ...]]:
        self.evaluator.prepare(program, names)
        try:
            value = program.program.execute(self.evaluator.context)
        except (LookupError, TypeError, RuntimeError, ValueError, ArithmeticError) as error:
            raise self._explained(text, error) from None
        calls = self.evaluator.calls
        if calls.fault:
            name, fault = calls.fault
            kind = ExpressionFault if name in _OWN or isinstance(fault, _Misuse) else EstimateFault
            raise kind(text, *position(text, max(0, text.find(name))), f"{name}: {fault.message}", fault.write)
        return value, tuple(calls.estimates)

    def _explained(self, text: str, error: Exception) -> ExpressionFault:
        if isinstance(error, KeyError):
            name = str(error).strip("\"'")
            at = re.search(rf"(\w+)\.{re.escape(name)}\b", text)
            known = [*self.names.get(at[1], ())] if at else []
            return ExpressionFault(text, *position(text, at.start(1) if at else 0), f'nothing is named "{at[0] if at else name}"', instead(name, known))
        if isinstance(error, TypeError) and re.search(r"\bint [-+*/%]|[-+*/%] int\b", str(error)):
            return ExpressionFault(text, 1, 1, "a whole number and a number with a point do not mix", "3.0 for 3, or double(x)")
        undefined = re.search(r"Undefined variable or function: '(\w+)'", str(error))
        if undefined:
            return ExpressionFault(text, *position(text, text.find(undefined[1])), f'nothing is named "{undefined[1]}"', instead(undefined[1], self.names))
        kind = ValuesFault if isinstance(error, ZeroDivisionError | IndexError) else ExpressionFault
        return kind(text, 1, 1, f"CEL: {str(error).split('. C')[0][:200]}", "values of one type on both sides")


class _Misuse(Fault):
    """A function called with other arguments than it takes."""


def _misused(name: str, function: Callable[..., Any], error: Exception) -> _Misuse:
    return _Misuse(f"it is not called like this ({error})", f"{name}({', '.join(one for one in inspect.signature(function).parameters if one != 'trade')})")


def _quantity(text: str) -> float:
    return parse(text, dimension_of(text))


def _known(value: Any) -> bool:
    return value is not None


_OWN: dict[str, Callable[..., Any]] = {"q": _quantity, "known": _known}


def param_names(text: str) -> tuple[str, ...]:
    """The parameters an expression reads, as written after "param."."""
    return tuple(match[2] for match in _PARAM_FIELD.finditer(text) if match[2])


def _with_parameters(text: str, parameters: Parameters) -> str:
    """The expression with each `param.name` replaced by its value."""

    def literal(match: re.Match[str]) -> str:
        if match[1]:
            return match[1]
        if match[2] not in parameters.by_field:
            raise ExpressionFault(text, *position(text, match.start()), f'no parameter is named "{match[2]}"', parameters.meant(match[2], underscored))
        return _literal(parameters.by_field[match[2]])

    return _PARAM_FIELD.sub(literal, text)


def _literal(value: Value) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return f"({float(value)!r})" if value < 0 else repr(float(value))
