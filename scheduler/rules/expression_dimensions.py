"""What an expression measures: the dimension of each name, quantity and estimate in it, and whether what is added is of one kind."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Mapping
from contextlib import suppress

from scheduler.diagnostics import Fault
from scheduler.estimates.cel_functions import CALLABLES
from scheduler.quantities import with_article
from scheduler.rules.cel import LONGEST
from scheduler.rules.cel_branches import branches
from scheduler.rules.expressions import dimension_of, underscored
from scheduler.rules.vocabulary import NAMES

NUMBER = "number"  # stands for any dimension: a bare number is SI
_BARE = (NUMBER, "count", "share")  # a quantity times one of these stays what it is
_TEMPERATURE, _DIFFERENCE = "temperature", "temperature difference"
_OTHERWISE = {"dew_point": _TEMPERATURE, "fermentation": "word"}  # what an estimate gives that is no time
_SIGNS = re.compile(r"""("(?:[^"\\]|\\.)*"|'(?:[^'\\]|\\.)*')|(&&)|(\|\|)|(!(?!=))""")

Parameters = Mapping[str, tuple[object, str]]  # SI values with their dimension


def measured(code: str, parameters: Parameters) -> str | None:
    """The dimension of an expression; None where it is not known, and in what this does not read.

    Raises `Fault` where quantities of two kinds are added, in any branch.
    """
    if len(code) > LONGEST:
        return None
    found = {_of(tree.body, parameters) for tried in (*branches(code), *(() if "?" in code else (code,))) if (tree := _parsed(tried)) is not None}
    return found.pop() if len(found) == 1 else None


def name_measures(of: str, field: str, parameters: Parameters) -> str | None:
    """The dimension of "lot.mass" or "param.rest"; None where it is not known."""
    if of == "param":
        return next((dimension for name, (_, dimension) in parameters.items() if underscored(name) == field), None)
    name = NAMES.get(of, {}).get(field)
    return name.measures if name else None


def _parsed(text: str) -> ast.Expression | None:
    """The expression as Python reads it: but for and, or and not, the signs are the same. None of one that it cannot read."""
    with suppress(SyntaxError, ValueError, RecursionError, MemoryError):
        return ast.parse(_SIGNS.sub(lambda sign: sign[1] or (sign[2] and " and ") or (sign[3] and " or ") or " not ", text).strip(), mode="eval")
    return None


def _of(node: ast.expr, parameters: Parameters) -> str | None:
    if isinstance(node, ast.Constant):
        return NUMBER if isinstance(node.value, int | float) else "word"
    if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
        found = name_measures(node.value.id, node.attr, parameters)
        return None if node.value.id == "param" and found == "count" else found  # a density has no unit here, and is written as a count
    if isinstance(node, ast.UnaryOp):
        return _of(node.operand, parameters)
    if isinstance(node, ast.BinOp):
        one, other = _of(node.left, parameters), _of(node.right, parameters)
        reckon = _RECKONED.get(type(node.op))
        return reckon(one, other) if reckon else None
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        return _called(node.func.id, node.args, parameters)
    for part in ast.iter_child_nodes(node):
        if isinstance(part, ast.expr):
            _of(part, parameters)
    return None


def _called(name: str, given: list[ast.expr], parameters: Parameters) -> str | None:
    if name == "q" and given and isinstance(given[0], ast.Constant):
        with suppress(Fault):
            return dimension_of(str(given[0].value))
        return None
    if name in CALLABLES:
        return _OTHERWISE.get(name, "duration")
    found = [_of(one, parameters) for one in given]
    return found[0] if found and name in ("min", "max", "double") and len({*found}) == 1 else None


def _added(one: str | None, other: str | None) -> str | None:
    if one is None or other is None or NUMBER in (one, other):
        return None
    if {one, other} == {_TEMPERATURE, _DIFFERENCE}:
        return _TEMPERATURE
    if one != other:
        raise Fault(f"{with_article(one)} and {with_article(other)} are added, or one is taken from the other", "two of a kind, such as q('2 h') + q('30 min')")
    return one


def _taken(one: str | None, other: str | None) -> str | None:
    return _DIFFERENCE if one == other == _TEMPERATURE else _added(one, other)


def _multiplied(one: str | None, other: str | None) -> str | None:
    if one in _BARE and other not in _BARE:
        return other
    return one if other in _BARE and one not in _BARE else None


def _divided(one: str | None, other: str | None) -> str | None:
    return one if other in _BARE and one not in _BARE else None


_RECKONED: dict[type[ast.operator], Callable[[str | None, str | None], str | None]] = {
    ast.Add: _added,
    ast.Sub: _taken,
    ast.Mult: _multiplied,
    ast.Div: _divided,
}
