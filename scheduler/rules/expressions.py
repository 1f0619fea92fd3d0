"""What all that reads an expression shares: faults with their place in it, names as it writes them, and what a unit tells."""

from __future__ import annotations

import re
from functools import lru_cache

from scheduler.diagnostics import Fault
from scheduler.quantities import dimensions, parse


class ExpressionFault(Fault):
    """A fault inside an expression: `text` is the expression, `line` and `column` count from 1 inside it."""

    def __init__(self, text: str, line: int, column: int, message: str, write: str = "") -> None:
        self.text, self.line, self.column, self.what = text, line, column, message
        shown = text.splitlines()[line - 1] if 0 < line <= len(text.splitlines()) else text
        start = max(0, column - 60)
        super().__init__(f"{message}\n        {shown[start : start + 100]}\n        {' ' * (column - 1 - start)}^", write)


class EstimateFault(ExpressionFault):
    """An estimate cannot be worked out from the values it was given; another lot or room may do."""


def dimension_of(text: str) -> str:
    """The dimension that a quantity's unit tells: "2 K" is a temperature difference, "-15 °C" a temperature, "24" a count."""
    for dimension in sorted(dimensions(), key=lambda name: name == "temperature difference"):
        try:
            parse(text, dimension)
        except Fault:
            continue
        return dimension
    raise Fault(f'"{text}" has no unit known here', '"12 h", "-18 °C", "90 L", "2 K"')


@lru_cache(maxsize=4096)
def underscored(name: str) -> str:
    """A name with spaces as it is written in an expression."""
    return re.sub(r"\W", "_", name)


def position(text: str, offset: int) -> tuple[int, int]:
    """Line and column, from 1, of an offset in a text."""
    before = text[:offset]
    return before.count("\n") + 1, offset - (before.rfind("\n") + 1) + 1
