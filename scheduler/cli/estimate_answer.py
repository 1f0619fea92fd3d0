"""How `afterpull estimate` answers: an estimate with its range, basis and sources, as text or as one JSON object."""

from __future__ import annotations

import functools
import json
import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from scheduler.cli.errors import InputRefused, refusals
from scheduler.local_time import HOUR

if TYPE_CHECKING:
    from scheduler.quantities import Estimate

UNITS = {  # dimension: (unit told, factor from SI)
    "duration": ("h", 1 / HOUR),
    "temperature": ("°C", 1.0),
    "share": ("%", 100.0),
    "viscosity": ("Pa s", 1.0),
    "degree days": ("°C d", 1.0),
    "count": ("pieces", 1.0),
    "mass": ("kg", 1.0),
}
Row = dict[str, Any]


def answers(group: click.Group) -> Callable[[str], Callable[[Callable[..., Any]], click.Command]]:
    """Makes commands of a group that print what a function returns, an estimate or an estimate and dated rows; each is given an example of itself."""

    def answer(example: str) -> Callable[[Callable[..., Any]], click.Command]:
        def wrap(function: Callable[..., Any]) -> click.Command:
            @functools.wraps(function)
            def run(as_json: bool, **given: Any) -> None:
                with refusals():
                    found = function(**given)
                    click.echo(_shown(found, as_json))

            with_json = click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")(run)
            return group.command(name=function.__name__.replace("_", "-"), epilog=f"Example: afterpull estimate {example}")(with_json)

        return wrap

    return answer


def _shown(found: Any, as_json: bool) -> str | bytes:
    result, rows = found if type(found) is tuple else (found, None)  # an estimate by itself is a named one
    shape = result if isinstance(result, dict) else shape_of(result)
    if rows is not None:
        shape["rows"] = rows
    return json.dumps(shape, ensure_ascii=False, allow_nan=False).encode() if as_json else _text(shape)


def shape_of(result: Estimate) -> Row:
    """An estimate as the fields of its JSON object. Raises `InputRefused` for one that is refused."""
    from scheduler.outputs.wording.sentence import METRIC, in_words

    if result.refusal:
        raise InputRefused(in_words(result.refusal, METRIC))
    unit, factor = UNITS[result.dimension]
    value, low, high = (rounded(number * factor) for number in (result.value, result.low, result.high))
    return {"value": value, "unit": unit, "low": low, "high": high, "basis": [in_words(line, METRIC) for line in result.basis], "sources": list(result.sources)}


def rounded(number: float) -> float:
    """Seven significant digits: far more than any of these deserves, and no binary dust."""
    return float(f"{number:.7g}") if math.isfinite(number) else number


def _text(shape: Row) -> str:
    def short(number: Any) -> str:
        return f"{number:.4g}" if isinstance(number, float) else str(number)

    head = f"{short(shape['value'])} {shape['unit']}".rstrip() if shape["value"] is not None else "none"
    if shape["low"] != shape["high"]:
        head += f"   ({short(shape['low'])} to {short(shape['high'])})"
    lines = [head, *(f"  {line}" for line in shape["basis"]), *(f"  source: {line}" for line in shape["sources"])]
    for row in shape.get("rows") or []:
        lines.append("  " + "  ".join(short(cell) if cell is not None else "-" for cell in row.values()))
    return "\n".join(lines)
