"""The usual temperatures of the months as a yard file has them, with what they rest on."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from datetime import UTC

from scheduler.estimates.usual_weather import UsualMonth, basis_by_latitude, by_latitude
from scheduler.facts.days import MONTHS
from scheduler.outputs.wording.sentence import Reader, in_words


def normals_text(own: Mapping[int, UsualMonth], latitude: float, units: str) -> str:
    """`normals:` with the months (1 to 12) of the keeper's own years; the others as comments, by latitude [°] alone, so that none is in force by accident."""
    lines = list(_basis(latitude, units)) if len(own) < len(MONTHS) else []
    lines.append(f"{'' if own else '#'}normals: # the usual highest and lowest temperature of a day")
    for number, (name, otherwise) in enumerate(zip(MONTHS, by_latitude(latitude), strict=True), 1):
        month = own.get(number)
        years = f" # {month.years} of your own years" if month and month.years > 1 else " # one year of your own" if month else ""
        lines.append(f"{'' if month else '#'}  {name}: {_of_month(month or otherwise, units)}{years}")
    return "\n".join(lines) + "\n"


def _basis(latitude: float, units: str) -> Iterator[str]:
    """What months by latitude rest on, as comments."""
    yield from textwrap.wrap(in_words(basis_by_latitude(latitude), Reader(units, UTC)), 110, initial_indent="# ", subsequent_indent="# ")


def _of_month(month: UsualMonth, units: str) -> str:
    day, night = (f"{one:.0f} °C" if units == "metric" else f"{one * 9 / 5 + 32:.0f} °F" for one in (month.day, month.night))
    return f"{{day: {day}, night: {night}}}"
