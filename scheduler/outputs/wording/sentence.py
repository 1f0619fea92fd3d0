"""Statements as sentences for one reader: a template for each kind, filled with quantities in the reader's units and moments in the yard's zone.

What a template may ask of a value after a colon: of a quantity its number alone ("bare"), of a duration "hours" or "seconds", of a day "iso", "weekday" or
"short", of several statements what stands between them; of a number a format of the language.
"""

from __future__ import annotations

from datetime import UTC, date, time, tzinfo
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from scheduler.local_time import day as weekday
from scheduler.local_time import spoken
from scheduler.outputs.wording.estimate_words import ESTIMATES
from scheduler.outputs.wording.plan_words import PLAN
from scheduler.planning.plan import Plan
from scheduler.quantities import Quantity, Statement, show

CATALOGUE: dict[str, str] = {**ESTIMATES, **PLAN}


class Reader(NamedTuple):
    """Who reads: the units ("metric" or "us") and the zone of the clock on the wall."""

    units: str
    zone: tzinfo


METRIC = Reader("metric", UTC)


def reader_of(plan: Plan) -> Reader:
    """The keeper whose plan it is."""
    return Reader(plan.units, ZoneInfo(plan.timezone))


def in_words(statement: Statement, reader: Reader) -> str:
    """The sentence of a statement. Raises `KeyError` for a kind without words, which a test finds first."""
    return CATALOGUE[statement.kind].format_map({name: _shown(value, reader) for name, value in statement.values})


def _shown(value: Any, reader: Reader) -> Any:
    if isinstance(value, Quantity):
        return _Measured(value, reader)
    if isinstance(value, Statement):
        return in_words(value, reader)
    if isinstance(value, tuple):
        return _Several(in_words(one, reader) for one in value)
    if isinstance(value, date):
        return _Day(value)
    return f"{value:%H:%M}" if isinstance(value, time) else value


class _Measured:
    def __init__(self, quantity: Quantity, reader: Reader) -> None:
        self.value = quantity.value
        self.text = spoken(int(self.value), reader.zone) if quantity.dimension == "moment" else show(self.value, quantity.dimension, reader.units)

    def __format__(self, spec: str) -> str:
        if spec in ("seconds", "hours"):
            return f"{self.value:g} s" if spec == "seconds" else f"{self.value / 3600:g} h"
        return self.text.partition(" ")[0] if spec == "bare" else self.text


class _Several(tuple[str, ...]):
    def __format__(self, spec: str) -> str:
        return spec.join(self)


class _Day:
    def __init__(self, day: date) -> None:
        self.day = day

    def __format__(self, spec: str) -> str:
        if spec == "weekday":
            return weekday(self.day, self.day.year)
        return self.day.isoformat() if spec == "iso" else f"{self.day.day} {self.day:%B}{'' if spec == 'short' else f' {self.day.year}'}"
