"""Amounts and conditions of a card worked out: quantities, `$parameters`, and expressions.

These are in words (`scheduler.rules.grammar`).
"""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Mapping
from functools import lru_cache
from typing import Any, Literal, NamedTuple

from scheduler.diagnostics import Fault
from scheduler.quantities import Estimate, looks_like_quantity, parse, show
from scheduler.rules.environment import Environment
from scheduler.rules.expression_tree import shown
from scheduler.rules.expressions import ExpressionFault, dimension_of
from scheduler.rules.spoken_names import worded
from scheduler.rules.vocabulary import Value

Kind = Literal["quantity", "parameter", "expression"]

_QUANTITY = re.compile(r"^\s*[-+−]?\s*(\d+(\.\d+)?|\.\d+)?\s*(\d+/\d+)?\s*([A-Za-z°%µ][\w°²% /]*)?\s*$")
_PARAMETER = re.compile(r"^\s*\$(?P<name>[\w' -]+?)\s*$")


class Amount(NamedTuple):
    """A number [SI] with the estimates that were called for it and the parameter it came from, if it is one."""

    value: float
    estimates: tuple[tuple[str, Estimate], ...] = ()
    parameter: str | None = None


def kind_of(text: str, names: Collection[str] = ()) -> Kind:
    """Which of the three kinds an amount's text is; a number with an unknown unit still counts as a quantity.

    `names` are those of the parameters: one such as "$eggs of any age" holds a word of a form.
    """
    plain = text.strip()
    return "parameter" if plain[:1] == "$" and plain[1:].strip() in names else _kind_of(text)


@lru_cache(maxsize=8192)
def _kind_of(text: str) -> Kind:
    if looks_like_quantity(text):
        return "quantity"
    if worded(text):
        return "expression"
    if text.lstrip().startswith("$"):
        return "parameter"
    match = _QUANTITY.match(text)
    return "quantity" if match and (match[1] or match[3]) else "expression"


def parameter_name(text: str) -> str:
    """The name in "$drain floor"."""
    match = _PARAMETER.match(text)
    if not match:
        reckoned = text.strip()
        for sign, word in ((r"\s*\+\s*", " plus "), (r"\s+[-−]\s+", " less "), (r"\s*/\s*", " divided by ")):
            reckoned = re.sub(sign, word, reckoned)
        reckoned = re.sub(r"(\$[\w' -]+?)\s*\*\s*(\d+(?:\.\d+)?)\s*$", lambda found: f"{float(found[2]) * 100:g} % of {found[1]}", reckoned)
        raise Fault(f'"{text}" does not name one parameter', f'"$drain floor", or to reckon with it: {reckoned}')
    return match["name"]


def amount(text: str, dimension: str, env: Environment) -> Amount:
    """The SI number of an amount of a dimension ("any": whichever its unit says), which may be infinite where an estimate is refused."""
    kind = kind_of(text, env.parameters)
    if kind == "quantity":
        return Amount(_literal_amount(text, dimension))
    if kind == "parameter":
        name = parameter_name(text)
        if name not in env.parameters:
            raise Fault(f'no parameter is named "{name}"', env.parameters.meant(name))
        return Amount(number(env.parameters[name], text), (), name)
    value, estimates = env.evaluate(text)
    if value is None and not env.parameters.read(text).in_words:
        value, estimates = env.in_old_numbers().evaluate(text)
    return Amount(number(value, text), estimates)


@lru_cache(maxsize=8192)
def _literal_amount(text: str, dimension: str) -> float:
    if dimension == "duration" and text.strip() == "0":
        return 0.0
    return parse(text, dimension_of(text) if dimension == "any" else dimension)


def number(value: Any, text: str) -> float:
    """The number that an expression gave; anything else is refused."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ExpressionFault(text, 1, 1, f"a number is needed, and this gives {shown(value)}", 'an amount such as "50 % of the lot\'s mass"')
    return float(value)


def condition(text: str, env: Environment) -> bool:
    """Whether a condition holds; anything but true or false is refused."""
    value, _ = env.evaluate(text)
    if not isinstance(value, bool):
        raise ExpressionFault(text, 1, 1, f"a condition must give true or false, and this gives {shown(value)}", 'a comparison such as "there are pieces"')
    return value


def temperature_limits(row: Mapping[str, Value], units: str) -> str:
    """What a row of the table of treatments asks of the weather, in words: "days of at least 10 °C"; empty where it asks nothing."""
    asked = (("days at least", "days of at least"), ("days at most", "days of at most"), ("mean at least", "a mean of at least"))
    return ", ".join(f"{words} {show(float(row[key]), 'temperature', units)}" for key, words in asked if key in row)


def plain(value: float) -> str:
    """A number for a person: whole numbers in full, others to three significant digits."""
    if not math.isfinite(value):
        return "never"
    if value == round(value):
        return str(round(value))
    return f"{value:.{max(0, 2 - math.floor(math.log10(abs(value))))}f}"
