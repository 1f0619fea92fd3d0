"""Statements as sentences for one reader: a template for each kind, filled with quantities in the reader's units and moments in the yard's zone.

What a template may ask of a value after a colon: of a quantity its number alone ("bare"), of a duration "hours", "seconds" or "days" (whole ones, from two
on), of a day "iso", "weekday" or "short", of several statements what stands between them; of a number a format of the language.
"""

from __future__ import annotations

from datetime import UTC, date, time, tzinfo
from functools import cache
from string import Formatter
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from scheduler.local_time import DAY, HOUR, spoken
from scheduler.local_time import day as weekday
from scheduler.outputs.wording.estimate_words import ESTIMATES
from scheduler.outputs.wording.instrument_words import INSTRUMENTS
from scheduler.outputs.wording.plan_words import PLAN
from scheduler.outputs.wording.told_words import ON_PAGE, SYNCED, TOLD
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.quantities import Quantity, Statement, Words, show

CATALOGUE: dict[str, str] = {**ESTIMATES, **INSTRUMENTS, **PLAN, **SYNCED, **TOLD}


class Reader(NamedTuple):
    """Who reads: the units ("metric" or "us"), the zone of the clock on the wall, and whether it is read on the page, where nobody types a command."""

    units: str
    zone: tzinfo
    page: bool = False


METRIC = Reader("metric", UTC)


def reader_of(plan: Plan, *, page: bool = False) -> Reader:
    """The keeper whose plan it is, in the shell or on the page."""
    return Reader(plan.units, ZoneInfo(plan.timezone), page)


def in_words(statement: Statement, reader: Reader) -> str:
    """The sentence of a statement. Raises `KeyError` for a kind without words, which a test finds first."""
    values = dict(statement.values)
    return "".join([text if name is None else text + _told(values[name], spec, reader) for text, name, spec in _pieces(statement.kind, reader.page)])


def words_of(said: Words) -> str:
    """What somebody wrote, with what the program says along with it. It holds no quantity, so it reads alike for everybody."""
    return said if isinstance(said, str) else in_words(said, METRIC)


def title_of(task: PlannedTask) -> str:
    """What a task is called, with how much is left of it."""
    return words_of(task.title)


def how_of(task: PlannedTask, *, page: bool = False) -> str:
    """
    How a task is done, in a line, where its load lies first: "In the garage freezer, one layer, air between. Closed and dry".

    The command that says so comes last, and not on the page, where nobody types one.
    """
    lies = words_of(task.lies)
    return ". ".join(filter(None, [f"{lies[:1].upper()}{lies[1:]}", f"{task.how}: {task.by}" if task.by and not page else task.how]))


@cache
def _pieces(kind: str, page: bool) -> tuple[tuple[str, str | None, str], ...]:
    """The words of a kind, each with the name and the format of the value that follows them."""
    words = ON_PAGE.get(kind, CATALOGUE[kind]) if page else CATALOGUE[kind]
    return tuple((text, name, spec or "") for text, name, spec, _ in Formatter().parse(words))


def _told(value: Any, spec: str, reader: Reader) -> str:
    if isinstance(value, Quantity):
        return _measured(value, spec, reader)
    if isinstance(value, Statement):
        return in_words(value, reader)
    if isinstance(value, tuple):
        return spec.join([in_words(one, reader) for one in value])
    if isinstance(value, date):
        return _day(value, spec)
    return f"{value:%H:%M}" if isinstance(value, time) else format(value, spec)


def _measured(quantity: Quantity, spec: str, reader: Reader) -> str:
    value, dimension = quantity
    if dimension == "moment":
        return spoken(int(value), reader.zone)
    if spec in ("hours", "seconds"):
        return f"{value / HOUR:g} h" if spec == "hours" else f"{value:g} s"
    if spec == "days" and value >= 2 * DAY:
        return f"{value / DAY:.0f} days"
    text = show(value, dimension, reader.units)
    return text.partition(" ")[0] if spec == "bare" else text


def _day(day: date, spec: str) -> str:
    if spec == "weekday":
        return weekday(day, day.year)
    return day.isoformat() if spec == "iso" else f"{day.day} {day:%B}{'' if spec == 'short' else f' {day.year}'}"
