"""A daily table as text (CSV) to rows: separators, decimal commas, units and gaps are seen and told, never guessed over.

Pure: it takes the text, not a path. A byte-order mark is dropped.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from scheduler.diagnostics import Fault
from scheduler.local_time import YEARS_OF_RECORDS, in_years
from scheduler.quantities import Statement, say

_DATE = re.compile(r"^(date|day|datum|dt)\b")
_LOW = re.compile(r"^(t ?min|temp(erature)? ?min|min(imum)?|low(est)?|tn)\b")
_HIGH = re.compile(r"^(t ?max|temp(erature)? ?max|max(imum)?|high(est)?|tx)\b")
_MASS = re.compile(r"^(mass|weight|scale|kg|lb|hive)\b")
_FAHRENHEIT = re.compile(r"\b(f|fahrenheit)$")
_CELSIUS = re.compile(r"\b(c|celsius)$")
_POUND = re.compile(r"\b(lbs?|pounds?)$")
_EMPTY = {"", "na", "nan", "null", "none", "-", "m", "."}
MOST_ROWS = 1_000_000


@dataclass(frozen=True, slots=True)
class DatedRow:
    """One dated row; a cell that was empty is None."""

    day: date
    cells: tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Rows in the order of their days, and what a reader should know of them."""

    rows: tuple[DatedRow, ...]
    notes: tuple[Statement, ...]
    unit: str

    def missing(self) -> int:
        """Days between the first and the last row that have no full reading."""
        full = sum(1 for row in self.rows if None not in row.cells)
        return (self.rows[-1].day - self.rows[0].day).days + 1 - full


def possible(table: Table) -> Table:
    """The table as it is. Raises `Fault` where its days lie outside the years that instruments tell of."""
    for day in (table.rows[0].day, table.rows[-1].day):
        in_years(day, day, YEARS_OF_RECORDS)
    return table


def _separator(header: str) -> str:
    return max(";\t,", key=header.count)


def _number(text: str, line: int, decimal_comma: bool) -> float | None:
    cell = text.strip()
    if cell.lower() in _EMPTY:
        return None
    if decimal_comma:
        cell = cell.replace(",", ".")
    try:
        value = float(cell)
    except ValueError:
        raise Fault(f'line {line}: "{text.strip()}" is not a number', "a number such as 12.5, or nothing for a missing reading") from None
    if not -1e4 < value < 1e4:
        raise Fault(f"line {line}: {text.strip()} is not a reading", "a number, or nothing for a missing reading")
    return value


def _day(text: str, line: int) -> date:
    try:
        return date.fromisoformat(text.strip()[:10].replace("/", "-"))
    except ValueError:
        raise Fault(f'line {line}: "{text.strip()}" is not a date', "2026-08-11") from None


def _plain(name: str) -> str:
    """A column's name in lower case, its words apart: "temp_max (°C)" is "temp max c"."""
    return " ".join(re.findall(r"[^\W_]+", name.lower()))


def _column(header: list[str], wanted: re.Pattern[str], what: str) -> int:
    found = [number for number, name in enumerate(header) if wanted.search(_plain(name))]
    if not found:
        raise Fault(f"no column for {what}; the first line names: {', '.join(header)}", "a first line such as: date,tmin,tmax")
    return found[0]


def _rows(lines: Iterable[list[str]], columns: tuple[int, ...], decimal_comma: bool) -> Iterator[DatedRow]:
    before: date | None = None
    for line, cells in enumerate(lines, 2):
        if not any(cell.strip() for cell in cells):
            continue
        if line > MOST_ROWS + 1:
            raise Fault(f"more than {MOST_ROWS} rows", "one row a day")
        if len(cells) <= max(columns):
            raise Fault(f"line {line}: {len(cells)} cells, too few for the columns of the first line", "a cell for each column, empty for a missing reading")
        day = _day(cells[columns[0]], line)
        if before is not None and day <= before:
            raise Fault(f"line {line}: {day} comes after {before}", "one row a day, in the order of the days")
        before = day
        yield DatedRow(day, tuple(_number(cells[column], line, decimal_comma) for column in columns[1:]))


def _read(text: str, patterns: tuple[tuple[re.Pattern[str], str], ...]) -> tuple[list[DatedRow], list[str]]:
    lines = text.removeprefix("\ufeff").splitlines()
    if not lines or not lines[0].strip():
        raise Fault("the table is empty", "a first line such as: date,tmin,tmax")
    separator = _separator(lines[0])
    try:
        reader = csv.reader(lines, delimiter=separator, strict=True)
        header = next(reader)
        columns = (_column(header, _DATE, "the date"), *(_column(header, pattern, what) for pattern, what in patterns))
        rows = list(_rows(reader, columns, separator != ","))
    except csv.Error as fault:
        raise Fault(f"the table can not be read: {fault}", "plain CSV text") from None
    if not rows:
        raise Fault("the table has a first line and no rows", "one row a day")
    return rows, [_plain(header[column]) for column in columns[1:]]


def _gaps(rows: list[DatedRow]) -> list[Statement]:
    notes = [
        say("days missing", days=(after.day - before.day).days - 1, first=before.day + timedelta(1))
        for before, after in pairwise(rows)
        if (after.day - before.day).days > 1
    ]
    empty = sum(1 for row in rows if None in row.cells)
    notes = notes if len(notes) <= 5 else [*notes[:5], say("more gaps", count=len(notes) - 5)]
    return notes + ([say("rows without a reading", rows=empty)] if empty else [])


def daily_temperatures(text: str, unit: str | None = None) -> Table:
    """Rows of (lowest, highest) in °C from a table with a date, a lowest and a highest column, in "C" or "F".

    The unit is taken from the argument, else from the column names, else °C, unless a reading above 60 shows that it can not be. Raises
    `Fault` with the line for text, dates out of order, a lowest above its highest, and readings outside -80 to 60 °C.
    """
    rows, names = _read(text, ((_LOW, "the lowest temperature"), (_HIGH, "the highest temperature")))
    read_unit = unit or ("F" if all(_FAHRENHEIT.search(name) for name in names) else "C")
    stated = unit is not None or any(_FAHRENHEIT.search(name) or _CELSIUS.search(name) for name in names)
    converted = []
    for row in rows:
        cells = tuple(None if cell is None else ((cell - 32) / 1.8 if read_unit == "F" else cell) for cell in row.cells)
        for cell, written in zip(cells, row.cells, strict=True):
            if cell is not None and not -80 <= cell <= 60:
                raise Fault(f"{row.day}: {written:g} °{read_unit} is not a day's temperature", 'the unit, "F" or "C"')
        low, high = cells
        if low is not None and high is not None and low > high:
            raise Fault(f"{row.day}: the lowest, {row.cells[0]:g}, is above the highest, {row.cells[1]:g}", "lowest and highest in their own columns")
        converted.append(DatedRow(row.day, cells))
    notes = _gaps(rows) + ([] if stated else [say("no unit in the table")])
    return Table(tuple(converted), tuple(notes), read_unit)


def hive_scale(text: str) -> Table:
    """Rows of (mass,) in kg from a table with a date and a mass column (pounds where its name says lb), one reading a day."""
    rows, names = _read(text, ((_MASS, "the mass"),))
    factor = 0.45359237 if _POUND.search(names[0]) else 1.0
    converted = tuple(DatedRow(row.day, tuple(None if cell is None else cell * factor for cell in row.cells)) for row in rows)
    return Table(converted, tuple(_gaps(rows)), "lb" if factor != 1.0 else "kg")
