"""A measured file, read as one of four kinds: a log of freezer or store, a hive scale, the weather. What was taken for what is part of the answer."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime, tzinfo
from typing import NamedTuple

from scheduler.diagnostics import Fault
from scheduler.instruments import columns, faults
from scheduler.instruments.columns import Kind
from scheduler.instruments.dates import Order
from scheduler.instruments.faults import Faulty, Reading
from scheduler.instruments.moments import RowTimes, moments, zone_told
from scheduler.instruments.numbers import EMPTY, ERRORS, MASSES, SIGNS, TEMPERATURES, Unit, decimal_mark, number, to_si, unit_named, unit_of_name
from scheduler.instruments.sheet import Sheet, sheet
from scheduler.instruments.text import Unread
from scheduler.quantities import Statement, say

_UNIT_BEFORE = re.compile(r"\bunits?\b|\beinheit\b", re.IGNORECASE)
_THOUSAND = re.compile(r"[+-]?[0-9]{1,3},[0-9]{3}")
_NO_CODE = 0.02  # share of readings that cannot be, from which on the unit or the column is doubted rather than the sensor (assumed)
_UNIT_FROM = {
    "told": say("as told"),
    "name": say("by the column's name"),
    "cells": say("by its cells"),
    "units column": say("by the column of units"),
    "units row": say("by the row of units"),
    "line before": say("by a line before"),
    "before": say("as it had before"),
}
_ZONE_FROM = {"told": say("as told"), "column": say("by the column's name"), "yard": say("zone of the yard")}


class AsTold(NamedTuple):
    """What a keeper says of a file: names of columns, the unit, the zone of its times, the order of the numbers of its dates."""

    readings: tuple[str, ...] = ()
    times: tuple[str, ...] = ()
    unit: Unit | None = None
    zone: str | None = None
    order: Order | None = None
    lenient: bool = False  # for what was kept before this reader: never refused for what was taken then


NOTHING_TOLD = AsTold()
ORDERS = ("day first", "month first", "year first")


def as_told(columns: Sequence[str], times: Sequence[str], unit: str | None, zone: str | None, dates: str | None) -> AsTold:
    """What a keeper typed of a file. Raises `Fault` for a unit, a zone or an order of dates that is none."""
    known = unit_named(unit) if unit is not None else None
    if unit is not None and known is None:
        raise Fault(f'"{unit}" is not a unit known here', f"one of: {', '.join(SIGNS.values())}")
    if zone is not None:
        zone_told(zone)
    order = next((one for one in ORDERS if one == (dates or "").replace("-", " ").lower()), None)
    if dates is not None and order is None:
        raise Fault(f'"{dates}" is not an order of dates', " or ".join(f"'{one}'" for one in ORDERS))
    return AsTold(tuple(columns), tuple(times), known, zone, order)  # type: ignore[arg-type]


class MeasuredFile(NamedTuple):
    """
    Rows in the order of their times: moment [s since 1970 UTC; midnight UTC where `dated`], values [°C or kg; None: no reading], and what they were read as.

    `account` says which column, unit, zone and order were taken and why; `faults` which rows count as silence; `odd` what looks odd and counts as read.
    """

    kind: Kind
    rows: tuple[tuple[int, tuple[float | None, ...]], ...]
    dated: bool
    unit: Unit
    unit_from: str
    zone: str
    zone_from: str
    order: Order | None
    account: tuple[Statement, ...]
    faults: tuple[Faulty, ...]
    odd: tuple[Faulty, ...]
    empty: int
    repeated: int


def measured(text: str, kind: Kind, yard: tzinfo, told: AsTold = NOTHING_TOLD, *, until: int | None = None, otherwise: Unit | None = None) -> MeasuredFile:
    """
    The rows of a file of a kind. Times that name no zone are of `yard`; rows after `until` and a day are refused; `otherwise` is the unit where none is said.

    Raises `Unread` with line and column for what cannot be told: two columns that could be it, dates that read two ways, no unit, a row that is none.
    """
    read = sheet(
        text,
        lambda names: bool(
            (times := columns.times(names, told.times)) and _apart(times, columns.readings(names, kind, told.readings, besides=times[0], lenient=told.lenient))
        ),
        lambda names: (columns.times(names, told.times) or [[]])[0],
        lenient=told.lenient,
    )
    names, line = read.names, read.names_line
    ways = columns.times(names, told.times)
    time = columns.one_of(ways, names, line, "the time", "--time", told.times, kind, lenient=told.lenient)
    found = columns.readings(names, kind, told.readings, besides=time, lenient=told.lenient)
    values = columns.one_of(found, names, line, columns.what_is_measured(kind), "--column", told.readings, kind, lenient=told.lenient)
    if not read.rows:
        raise Unread(line, 0, "the table names its columns and has no rows", "a row for each reading below this line")
    if not told.lenient:
        _one_owner(read, [*time, *values])
    when = moments(read, _needed(read, time), yard, zone=told.zone, order=told.order, until=until, lenient=told.lenient)
    if when.dated and kind in columns.LOGS:
        raise Unread(when.lines[0], 1, f"a day without a time of day: a {kind} is read by the hour", "--time with the column of the time of day")
    unit, unit_from = _unit(read, values, kind, told.unit, otherwise)
    rows, bad, empty, places = _values(read, values, kind, when, unit, told.unit is not None)
    ordered = faults.by_the_clock(rows)
    again = (
        faults.of_a_freezer(ordered.rows, 0 if told.lenient else places)
        if kind == "freezer"
        else faults.of_the_weather(ordered.rows)
        if kind == "weather"
        else None
    )
    left, repeated = _once(again.rows if again else ordered.rows, kind, dated=when.dated)
    failed = [*bad, *ordered.faults, *(again.faults if again else ())]
    if not told.lenient:
        _mostly_sound(read, failed, len(read.rows))
    account = _account(read, when, time, values, unit, unit_from)
    return MeasuredFile(
        kind,
        tuple((at, one) for _, at, one in left), when.dated, unit, unit_from, when.zone, when.named, when.order, account,
        tuple(failed), (*ordered.odd, *(again.odd if again else ())), empty, repeated,
    )  # fmt: skip


def _apart(times: list[list[int]], values: list[list[int]]) -> bool:
    return any(not set(time) & set(value) for time in times for value in values)


def _needed(read: Sheet, time: Sequence[int]) -> Sequence[int]:
    """The columns of the time: where the first has the time of day too, the second is something else."""
    _, cells = read.rows[0]
    return time[:1] if len(time) == 2 and ":" in cells[time[0]] else time


def _one_owner(read: Sheet, besides: Sequence[int]) -> None:
    """Refuse rows of several hives or sensors in one file."""
    for column in columns.owners(read.names, besides):
        seen: dict[str, int] = {}
        for line, cells in read.rows:
            if len(cells) > column and cells[column]:
                seen.setdefault(cells[column], line)
        if 1 < len(seen) <= 20 and not any("." in one and number(one, ".") for one in seen):
            line = list(seen.values())[1]
            said = f'rows of {len(seen)} instruments, by the column "{read.names[column]}": {", ".join(list(seen)[:5])}'
            raise Unread(line, read.column(line, column), said, "a file for each, and --of with its name")


def _unit(read: Sheet, values: Sequence[int], kind: Kind, told: Unit | None, otherwise: Unit | None) -> tuple[Unit, str]:
    """The unit, and where it is from: told, the name of the column, the cells, a row or a line of units, or an instrument read before."""
    possible: frozenset[Unit] = MASSES if kind == "scale" else TEMPERATURES
    if told is not None:
        if told not in possible:
            raise Unread(0, 0, f"{SIGNS[told]} is no unit of {columns.what_is_measured(kind)}", " or ".join(f"--unit {SIGNS[one]}" for one in sorted(possible)))
        return told, "told"
    said = _said(read, values)
    said = {where: unit for where, unit in said.items() if unit in possible}
    if len(set(said.values())) > 1 and not {"cells", "units column"} & set(said):
        both = " and ".join(f"{SIGNS[unit]} ({where})" for where, unit in said.items())
        raise Unread(read.names_line, 1, f"two units are named: {both}", f"--unit {SIGNS[next(iter(said.values()))]}, or the other")
    for where in ("cells", "units column", "name", "units row", "line before"):
        if where in said:
            return said[where], where
    if otherwise is not None:
        return otherwise, "before"
    ways = " or ".join(f"--unit {SIGNS[one]}" for one in sorted(possible))
    raise Unread(read.names_line, read.column(read.names_line, values[0]), f'no unit is said of "{read.names[values[0]]}"', ways)


def _said(read: Sheet, values: Sequence[int]) -> dict[str, Unit]:
    """Which unit is said where in the file."""
    said: dict[str, Unit] = {}
    for column in values:
        if unit := unit_of_name(read.names[column]):
            said["name"] = unit
        if len(read.units_row) > column and (below := unit_named(read.units_row[column])):
            said["units row"] = below
    besides = columns.units_column(read.names, values)
    if besides is not None and (per_row := next((unit for _, cells in read.rows if len(cells) > besides and (unit := unit_named(cells[besides]))), None)):
        said["units column"] = per_row
    cell = next((one for _, cells in read.rows if len(cells) > values[0] and (one := number(cells[values[0]], ".") or number(cells[values[0]], ","))), None)
    if cell and cell[1]:
        said["cells"] = cell[1]
    if not said:
        for line in read.before:
            if _UNIT_BEFORE.search(line) and (unit := next((unit for word in re.split(r"[,;:\t|=\s]+", line) if (unit := unit_named(word))), None)):
                said["line before"] = unit
    return said


def _values(read: Sheet, values: Sequence[int], kind: Kind, when: RowTimes, unit: Unit, told: bool) -> tuple[list[Reading], list[Faulty], int, int]:
    """Readings in the order of `when`, the rows that are faults by themselves, how many say nothing, and decimal places as written."""
    besides = None if told else columns.units_column(read.names, values)
    width = max(values) + 1
    for line, cells in read.rows:
        if len(cells) < width:
            said = f"{len(cells)} cells, too few for the columns of line {read.names_line}"
            raise Unread(line, read.column(line, len(cells) - 1), said, "a cell for each column, empty for a missing reading")
    mark = _mark(read, values)
    bad: dict[str, list[int]] = {}
    rows: list[Reading] = []
    empty, places = 0, 0
    in_order = reversed(read.rows) if when.turned else read.rows
    for (line, cells), at in zip(in_order, when.at, strict=True):
        row: list[float | None] = []
        fault = None
        for column in values:
            cell = cells[column]
            found = number(cell, mark)
            if found is None:
                word = cell.lower()
                if word not in EMPTY and word not in ERRORS:
                    cure = "a number such as 12.5, or nothing for a missing reading"
                    raise Unread(line, read.column(line, column), f'"{cell}" is not a number', cure)
                fault = "error word" if word in ERRORS else fault
                row.append(None)
                continue
            own = found[1] or (unit_named(cells[besides]) if besides is not None and len(cells) > besides else None) or unit
            if (own in MASSES) != (kind == "scale"):
                raise Unread(line, read.column(line, column), f'"{cell}" is not {columns.what_is_measured(kind)}', "--column with the column that is")
            fault = faults.impossible(kind, found[0], own) or fault
            if kind in columns.LOGS and mark in cell:
                places = max(places, len(cell.partition(mark)[2].rstrip(" °CF")))
            row.append(to_si(found[0], own))
        if fault:
            bad.setdefault(fault, []).append(line)
        elif kind in columns.LOGS and row == [None]:
            empty += 1
        else:
            rows.append((line, at, tuple(row)))
            _lowest_first(read, kind, line, values, row)
    return rows, [Faulty(fault, tuple(sorted(lines))) for fault, lines in bad.items()], empty, places


def _mark(read: Sheet, values: Sequence[int]) -> str:
    """The decimal mark of a file. In a file of commas "1,234" alone is a thousand to some and a decimal to others."""
    commas = [(line, column, cells[column]) for line, cells in read.rows for column in values if "," in cells[column]]
    if not commas:
        return "."
    try:
        mark = decimal_mark((line, column, cells[column]) for line, cells in read.rows for column in values)
    except Unread as fault:
        raise Unread(fault.line, read.column(fault.line, fault.column), fault.said, fault.write) from None
    if read.delimiter == "," and all(_THOUSAND.fullmatch(cell) for _, _, cell in commas):
        line, column, cell = commas[0]
        said = f'"{cell}" can be a thousand or a decimal comma, and no row shows which'
        raise Unread(line, read.column(line, column), said, "a decimal point, and nothing between thousands")
    return mark


def _lowest_first(read: Sheet, kind: Kind, line: int, values: Sequence[int], row: Sequence[float | None]) -> None:
    if kind == "weather" and len(row) == 2 and row[0] is not None and row[1] is not None and row[0] > row[1]:
        cells = read.lines[line - 1]
        said = f"the lowest of the day is above the highest: {cells.strip()[:60]}"
        raise Unread(line, read.column(line, values[0]), said, "lowest and highest in their own columns")


def _once(rows: list[Reading], kind: Kind, *, dated: bool) -> tuple[list[Reading], int]:
    """Each moment once: of a log the warmer reading; of the others equal rows, and of a scale the one written last."""
    kept: dict[int, Reading] = {}
    repeated = 0
    for row in rows:
        line, at, values = row
        before = kept.get(at)
        if before is None:
            kept[at] = row
            continue
        repeated += 1
        if kind in columns.LOGS:
            kept[at] = max(before, row, key=lambda one: -1e9 if one[2][0] is None else one[2][0])
        elif before[2] != values and dated:
            day = datetime.fromtimestamp(at, UTC).date()
            raise Unread(line, 1, f"{day} stands in line {before[0]} with another reading", "one row a day")
        else:
            kept[at] = row
    return list(kept.values()), repeated


def _mostly_sound(read: Sheet, failed: Sequence[Faulty], rows: int) -> None:
    """Refuse a file of which half is faults, and one with more readings out of range than a sensor gives now and then: its unit is another."""
    out = next((one.lines for one in failed if one.kind == "out of range"), ())
    lost = sum(len(one.lines) for one in failed)
    if lost and lost >= faults.MOST * rows:
        first = min(line for one in failed for line in one.lines)
        raise Unread(
            first,
            0,
            f"{lost} of {rows} rows cannot be readings of this instrument",
            "--unit or --column, if another was meant; else the file of a sound sensor",
        )
    if len(out) > max(2, _NO_CODE * rows):
        raise Unread(
            out[0], 0, f"{len(out)} of {rows} readings are out of the range of this instrument, this one first", "--unit or --column, if another was meant"
        )


def _account(read: Sheet, when: RowTimes, time: Sequence[int], values: Sequence[int], unit: Unit, unit_from: str) -> tuple[Statement, ...]:
    """What the columns were taken for, and what stands beside the table."""
    said = [
        say(
            "read as columns",
            times=" and ".join(f'"{read.names[one]}"' for one in _needed(read, time)),
            values=" and ".join(f'"{read.names[one]}"' for one in values),
        )
    ]
    said.append(say("unit taken", unit=SIGNS[unit], why=_UNIT_FROM[unit_from]))
    if when.named in _ZONE_FROM:
        said.append(say("zone taken", zone=when.zone, why=_ZONE_FROM[when.named]))
    elif when.named:
        said.append(say("offsets in the cells") if when.named == "cells" else say("seconds since 1970"))
    if when.order:
        said.append(say("dates read", order=when.order))
    if when.turned:
        said.append(say("newest first"))
    if any(line.strip() for line in read.before):
        said.append(say("lines before", count=sum(1 for line in read.before if line.strip())))
    if read.after:
        said.append(say("lines after", first=read.after[0], count=len(read.after)))
    return tuple(said)
