"""A temperature logger's table as text (CSV) to moments and °C: any columns, as named or as told; local times, clock changes, gaps.

Pure: it takes the text, not a path, and the zone of times that name none.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from itertools import pairwise
from statistics import median

from scheduler.diagnostics import Fault, instead
from scheduler.estimates.tables import MOST_ROWS, _number, _plain, _separator
from scheduler.local_time import YEARS_OF_RECORDS, in_years
from scheduler.quantities import Statement, say

_TIME = re.compile(r"\b(time|timestamp|date ?time|date|zeit|datum)\b")
_TEMPERATURE = re.compile(r"\b(temp(erature|eratur)?|celsius|fahrenheit)\b")
_FAHRENHEIT = re.compile(r"\b(f|fahrenheit)$")
_CELSIUS = re.compile(r"\b(c|celsius)$")
_DAY_FIRST = re.compile(r"^(\d{1,2})\.(\d{1,2})\.(\d{4})[ T]+(.+)$")  # 12.08.2026 06:00; with dots the day always comes first
_A_GAP = 3  # times the usual interval between rows (assumed)
COLDEST, WARMEST = -100.0, 60.0  # °C that a logger in or beside a freezer can have read


@dataclass(frozen=True, slots=True)
class TemperatureLog:
    """Moments [s since 1970 UTC] and air temperatures [°C], in order; `notes` say what a reader should know; `interval` is the usual one [s]."""

    rows: tuple[tuple[int, float], ...]
    notes: tuple[Statement, ...]
    interval: int

    def gaps(self) -> tuple[tuple[int, int], ...]:
        """Where the logger was silent for more than three usual intervals: last row before, first row after [s since 1970 UTC]."""
        return tuple((before, after) for (before, _), (after, _) in pairwise(self.rows) if after - before > _A_GAP * self.interval)


def temperature_log(text: str, zone: tzinfo, *, time: str | None = None, temperature: str | None = None, unit: str | None = None) -> TemperatureLog:
    """
    The rows of a log. Columns are found by name unless `time` or `temperature` tells which; the unit is told ("C", "F"), else named, else °C.

    A time without an offset is local time in `zone`; an hour that a clock change repeats is told apart by the order of the rows. Two rows of
    one moment keep the warmer reading. Raises `Fault` with the line for what is not a time or a reading, and for rows out of order.
    """
    lines = text.removeprefix("\ufeff").splitlines()
    if not lines or not lines[0].strip():
        raise Fault("the log is empty", "a first line such as: time,temperature")
    separator = _separator(lines[0])
    try:
        reader = csv.reader(lines, delimiter=separator, strict=True)
        header = next(reader)
        columns = _column(header, _TIME, time, "the time"), _column(header, _TEMPERATURE, temperature, "the temperature")
        read = list(_readings(reader, columns, zone, decimal_comma=separator != ","))
    except csv.Error as fault:
        raise Fault(f"the log can not be read: {fault}", "plain CSV text") from None
    name = _plain(header[columns[1]])
    told = unit or ("F" if _FAHRENHEIT.search(name) else "C")
    notes = [] if unit or _FAHRENHEIT.search(name) or _CELSIUS.search(name) else [say("no unit in the log")]
    empty = sum(1 for _, _, value in read if value is None)
    notes += [say("rows without a reading", rows=empty)] if empty else []
    rows = _joined(read, told)
    if len(rows) < 2:
        raise Fault("a log needs two readings at least", "a row for each reading: 2026-08-12T06:00,-17.9")
    return TemperatureLog(rows, tuple(notes), round(median(after - before for (before, _), (after, _) in pairwise(rows))))


def _column(header: list[str], wanted: re.Pattern[str], told: str | None, what: str) -> int:
    if told is not None:
        names = [name.strip() for name in header]
        if told not in names:
            raise Fault(f'there is no column "{told}" for {what}', instead(told, names))
        return names.index(told)
    found = [number for number, name in enumerate(header) if wanted.search(_plain(name))]
    if len(found) != 1:
        seen = "no column" if not found else f"{len(found)} columns"
        raise Fault(f"{seen} could be {what}; the first line names: {', '.join(header)}", "which column it is")
    return found[0]


def _readings(lines: Iterator[list[str]], columns: tuple[int, int], zone: tzinfo, *, decimal_comma: bool) -> Iterator[tuple[int, int, float | None]]:
    """Line, moment, reading as written; each row not earlier than the one before."""
    last: int | None = None
    for line, cells in enumerate(lines, 2):
        if not any(cell.strip() for cell in cells):
            continue
        if line > MOST_ROWS + 1:
            raise Fault(f"more than {MOST_ROWS} rows", "a log of this harvest only")
        if len(cells) <= max(columns):
            raise Fault(f"line {line}: {len(cells)} cells, too few for the columns of the first line", "a cell for each column")
        last = _moment(cells[columns[0]], line, zone, last)
        yield line, last, _number(cells[columns[1]], line, decimal_comma)


def _moment(text: str, line: int, zone: tzinfo, last: int | None) -> int:
    written = _DAY_FIRST.sub(lambda found: f"{found[3]}-{int(found[2]):02}-{int(found[1]):02}T{found[4]}", text.strip()).replace("/", "-")
    try:
        at = datetime.fromisoformat(written)
    except ValueError:
        raise Fault(f'line {line}: "{text.strip()}" is not a time', "2026-08-12T06:00 (local time), or with an offset") from None
    try:
        in_years(at, text.strip(), YEARS_OF_RECORDS)
    except Fault as fault:
        raise Fault(f"line {line}: {fault.message}", fault.write) from None
    local = at.replace(tzinfo=zone) if at.tzinfo is None else at
    moment = round(local.astimezone(UTC).timestamp())
    if last is not None and moment < last:
        moment = round(local.replace(fold=1).astimezone(UTC).timestamp())  # the second of two equal hours
    if last is not None and moment < last:
        raise Fault(f"line {line}: {text.strip()} is earlier than the row before it", "the rows in the order of their times")
    return moment


def _joined(read: list[tuple[int, int, float | None]], unit: str) -> tuple[tuple[int, float], ...]:
    rows: dict[int, float] = {}
    for line, moment, value in read:
        if value is None:
            continue
        celsius = (value - 32) / 1.8 if unit == "F" else value
        if not COLDEST <= celsius <= WARMEST:
            raise Fault(f"line {line}: {value:g} °{unit} is not the air of a freezer", 'the unit, "F" or "C"')
        rows[moment] = max(celsius, rows.get(moment, COLDEST))
    return tuple(rows.items())
