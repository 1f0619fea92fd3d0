"""Options that take a quantity with its unit, in either system."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click


class QuantityType(click.ParamType):  # type: ignore[type-arg]
    """An option such as "-18 °C": a number with its unit, in either system, as an SI number."""

    def __init__(self, dimension: str) -> None:
        self.dimension, self.name = dimension, dimension

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The SI number; a wrong or missing unit is refused with what to write."""
        from scheduler.diagnostics import Fault
        from scheduler.quantities import parse

        if isinstance(value, float):
            return value
        try:
            return parse(str(value), self.dimension)
        except Fault as fault:
            self.fail(f"{fault.message}; write {fault.write}" if fault.write else fault.message, param, ctx)


class Size(click.ParamType):  # type: ignore[type-arg]
    """Two or three lengths: "102 x 51 x 32 mm", or a unit on each."""

    name = "size"

    def __init__(self, sides: int) -> None:
        self.sides = sides

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, ...]:
        """The sides in metres; the last unit holds for sides that have none."""
        from scheduler.diagnostics import Fault
        from scheduler.quantities import parse

        if isinstance(value, tuple):
            return value
        parts = [part.strip() for part in str(value).replace("×", "x").replace("X", "x").split("x")]
        sample = '"102 x 51 x 32 mm"' if self.sides == 3 else '"4 x 2 in"'
        if len(parts) != self.sides:
            self.fail(f'"{value}" has {len(parts)} sides, {self.sides} are needed; write {sample}', param, ctx)
        unit = parts[-1].lstrip("0123456789./ ")
        try:
            return tuple(parse(part if part.lstrip("0123456789./ ") else f"{part} {unit}", "length") for part in parts)
        except Fault as fault:
            self.fail(f"{fault.message}; write {sample}", param, ctx)


def option(name: str, dimension: str, text: str, **more: Any) -> Callable[[Any], Any]:
    """An option that takes a quantity."""
    return click.option(name, type=QuantityType(dimension), help=text, **more)
