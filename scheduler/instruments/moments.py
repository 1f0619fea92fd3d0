"""The times of a file as seconds since 1970 UTC: one column or two, local times by their zone, clock changes by the order of the rows."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from itertools import pairwise
from statistics import median
from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduler.diagnostics import Fault
from scheduler.instruments.dates import DateCell, Order, clock_in, day_of, is_epoch, order_of, seconds, written
from scheduler.instruments.sheet import Sheet
from scheduler.instruments.text import Unread
from scheduler.local_time import DAY, HOUR, YEARS_OF_RECORDS, in_years

_OFFSET = re.compile(r"(?:UTC|GMT)?\s*([+-])([0-9]{1,2})(?::?([0-9]{2}))?", re.IGNORECASE)
_IN_NAME = re.compile(r"\b(?:UTC|GMT|Z)\b\s*([+-][0-9]{1,2}(?::?[0-9]{2})?)?", re.IGNORECASE)
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_EPOCH_DAY = date(1970, 1, 1).toordinal()
_QUARTER = 900  # s; every clock change there is falls on one
_SLOWEST = HOUR  # s between rows from which on a clock that did not change cannot be told from one that did


class RowTimes(NamedTuple):
    """Seconds since 1970 UTC by row, in the order of the file or, newest first, turned round; days alone where `dated`."""

    at: list[int]
    lines: list[int]
    order: Order | None
    dated: bool  # no cell has a time of day: `at` is midnight UTC of the day
    turned: bool  # the file has its newest row first
    zone: str  # of times that name none
    named: str  # "told", "column", "cells", "epoch" or "yard": where the zone is from


def zone_told(word: str) -> tzinfo:
    """A zone by its IANA name or as an offset, "UTC" or "+01:00". Raises `Fault`."""
    if word.upper() in ("UTC", "GMT", "Z"):
        return UTC
    if found := _OFFSET.fullmatch(word.strip()):
        return _fixed(found)
    try:
        return ZoneInfo(word)
    except (KeyError, ValueError, OSError):
        raise Fault(f'"{word}" is not a time zone', "Europe/Ljubljana, UTC, or an offset such as +01:00") from None


def _fixed(found: re.Match[str]) -> tzinfo:
    away = timedelta(hours=int(found[2]), minutes=int(found[3] or 0))
    if away >= timedelta(hours=24):
        raise Fault(f'"{found[0]}" is not an offset', "+01:00")
    return timezone(-away if found[1] == "-" else away)


def moments(sheet: Sheet, columns: Sequence[int], yard: tzinfo, *, zone: str | None, order: Order | None, until: int | None, lenient: bool = False) -> RowTimes:
    """
    The moment of each row. Times without an offset are of `zone` where it is told, else of the zone the column's name has, else of the yard.

    An hour that a clock change repeats is told apart by the order of the rows. Raises `Unread` for what is no time; for dates that can be read two
    ways; for rows after `until`; and where the rows show a clock that did not change with the yard's, unless `zone` is told. `lenient` takes those
    as the yard's.
    """
    until_day = None if until is None else datetime.fromtimestamp(until, UTC).date() + timedelta(1)
    lines = [line for line, _ in sheet.rows]
    cells = [[row[column] if len(row) > column else "" for column in columns] for _, row in sheet.rows]
    if all(is_epoch(one[0]) for one in cells) and len(columns) == 1:
        at = [round(float(cell) / (1000 if len(cell) == 13 else 1)) for (cell,) in cells]
        _bounded(sheet, columns[0], lines, at, until)
        return RowTimes(*_turned(at, lines), order=None, dated=False, turned=_falls(at), zone="UTC", named="epoch")
    read = [_cell(sheet, columns, line, one) for line, one in zip(lines, cells, strict=True)]
    found = order_of(((line, one[0], said) for line, one, said in zip(lines, cells, read, strict=True)), until_day, order)
    by_numbers: dict[tuple[tuple[int, int, int], bool], int] = {}
    days = []
    for line, one, said in zip(lines, cells, read, strict=True):
        key = (said.numbers, said.open)
        if key not in by_numbers:
            by_numbers[key] = _day(sheet, columns[0], line, one[0], said, found)
        days.append(by_numbers[key])
    if all(said.clock is None for said in read):
        at = [(day - _EPOCH_DAY) * DAY for day in days]
        _bounded(sheet, columns[0], lines, at, until)
        return RowTimes(*_turned(at, lines), order=found, dated=True, turned=_falls(at), zone="", named="")
    local = [(day - _EPOCH_DAY) * DAY + (said.clock or 0) for day, said in zip(days, read, strict=True)]
    names = " ".join(sheet.names[column] for column in columns)
    in_name = _IN_NAME.search(names)
    used = zone_told(zone) if zone else zone_told(in_name[1] or "UTC") if in_name else yard
    named = "told" if zone else "column" if in_name else "cells" if all(said.zone for said in read) else "yard"
    marks = [said.zone for said in read]
    turned = _falls(local)
    if turned:
        local, lines, marks = local[::-1], lines[::-1], marks[::-1]
    at = _absolute(sheet, columns[0], lines, local, marks, used, told=zone is not None or lenient, lenient=lenient)
    _bounded(sheet, columns[0], lines, at, until)
    return RowTimes(at, lines, found, False, turned, str(used) if named != "cells" else "", named)


def _cell(sheet: Sheet, columns: Sequence[int], line: int, cells: Sequence[str]) -> DateCell:
    said = written(cells[0])
    if said is None:
        raise Unread(line, sheet.column(line, columns[0]), f'"{cells[0]}" is not a time', "2026-08-12T06:00 (local time), or with an offset")
    if len(columns) == 1:
        return said
    clock = clock_in(cells[1])
    at = seconds(clock.groupdict()) if clock else None
    if clock is None or at is None:
        raise Unread(line, sheet.column(line, columns[1]), f'"{cells[1]}" is not a time of day', "06:00, or 6:00 PM")
    return said._replace(clock=at, zone=clock["zone"])


def _day(sheet: Sheet, column: int, line: int, cell: str, said: DateCell, order: Order | None) -> int:
    day = day_of(said, order)
    try:
        if day is not None:
            return in_years(day, cell, YEARS_OF_RECORDS).toordinal()
    except Fault as fault:
        raise Unread(line, sheet.column(line, column), fault.message, fault.write) from None
    raise Unread(line, sheet.column(line, column), f'"{cell}" is not a date', "2026-08-12")


def _falls(at: Sequence[int]) -> bool:
    """Whether the rows have the newest first."""
    return sum(after < before for before, after in pairwise(at)) > sum(after > before for before, after in pairwise(at))


def _turned(at: list[int], lines: list[int]) -> tuple[list[int], list[int]]:
    return (at[::-1], lines[::-1]) if _falls(at) else (at, lines)


def _bounded(sheet: Sheet, column: int, lines: list[int], at: list[int], until: int | None) -> None:
    """No row is ahead of the clock, beyond a day of it: a logger set to another zone."""
    last = max(range(len(at)), key=at.__getitem__) if at else 0
    first_year = datetime(YEARS_OF_RECORDS[0], 1, 1, tzinfo=UTC).timestamp()
    if at and (at[last] >= 8e9 or min(at) < first_year):
        raise Unread(lines[last], sheet.column(lines[last], column), "the time lies outside the years of instruments", "the year that is meant")
    if at and until is not None and at[last] > until + DAY:
        when = datetime.fromtimestamp(at[last], UTC)
        said = f"{when.day} {when:%b %Y} is still to come"
        raise Unread(lines[last], sheet.column(lines[last], column), said, "the file as it was read out; check the logger's clock")


def _absolute(sheet: Sheet, column: int, lines: list[int], local: list[int], marks: list[str | None], zone: tzinfo, *, told: bool, lenient: bool) -> list[int]:
    offsets: dict[int, tuple[int, int]] = {}
    at: list[int] = []
    before: int | None = None
    repeats = False
    for line, shown, mark in zip(lines, local, marks, strict=True):
        if mark is not None:
            offset = _marked(sheet, column, line, mark, shown, zone)
        else:
            quarter = shown // _QUARTER
            first, second = offsets[quarter] if quarter in offsets else offsets.setdefault(quarter, _offsets(quarter, zone))
            if first < second and not lenient:
                raise _unchanged_in_spring(sheet, column, line, zone, first)
            offset = first
            if first > second and before is not None and shown - first < before:
                offset, repeats = second, True
        before = shown - offset
        at.append(before)
    if not told and not repeats and not any(marks):
        _changed_in_autumn(sheet, column, lines, local, offsets)
    return at


def _offsets(quarter: int, zone: tzinfo) -> tuple[int, int]:
    """Seconds from UTC at a local quarter of an hour: by the first and by the second of two equal ones; the first is less where there is no such hour."""
    moment = _EPOCH + timedelta(seconds=quarter * _QUARTER)
    ends = (moment.replace(tzinfo=zone, fold=fold).utcoffset() or timedelta(0) for fold in (0, 1))
    first, second = (round(end.total_seconds()) for end in ends)
    return first, second


def _marked(sheet: Sheet, column: int, line: int, mark: str, shown: int, zone: tzinfo) -> int:
    """The offset [s] that a cell names: as an offset, UTC, or by the zone's own short name for summer or winter time."""
    if mark.upper() in ("Z", "UTC", "GMT"):
        return 0
    if found := _OFFSET.fullmatch(mark):
        sign = -1 if found[1] == "-" else 1
        return sign * (int(found[2]) * HOUR + int(found[3] or 0) * 60)
    moment = _EPOCH + timedelta(seconds=shown)
    for fold in (0, 1):
        there = moment.replace(tzinfo=zone, fold=fold)
        if there.tzname() == mark.upper():
            return round((there.utcoffset() or timedelta(0)).total_seconds())
    raise Unread(line, sheet.column(line, column), f'"{mark}" is not what the clocks there are called then', "the offset from UTC, such as +02:00")


def _signed(offset: int) -> str:
    return f"{'-' if offset < 0 else '+'}{abs(offset) // HOUR:02}:{abs(offset) % HOUR // 60:02}"


def _unchanged_in_spring(sheet: Sheet, column: int, line: int, zone: tzinfo, winter: int) -> Unread:
    said = f"there is no such time in {zone}, where the clocks go forward then: the logger's own clock did not change"
    return Unread(line, sheet.column(line, column), said, f"--zone {_signed(winter)}, if it ran on winter time all along, or the zone it was set to")


def _changed_in_autumn(sheet: Sheet, column: int, lines: list[int], local: list[int], offsets: dict[int, tuple[int, int]]) -> None:
    """Refuse rows that run through an hour that the yard's clocks show twice as if there were one of it."""
    twice = [number for number, shown in enumerate(local) if (pair := offsets.get(shown // _QUARTER)) and pair[0] > pair[1]]
    if not twice or len(local) < 3:
        return
    steps = [after - before for before, after in pairwise(local)]
    usual = median(steps)
    for number in twice:
        first, second = offsets[local[number] // _QUARTER]
        if not 0 < number < len(local) - 1 or not 0 < usual <= _SLOWEST:
            continue
        begins = max(0, number - 1 - int(HOUR // usual))
        around = steps[begins : number + 1 + int(HOUR // usual)]
        reaches = local[min(len(local) - 1, number + 1 + int(HOUR // usual))] - local[begins]
        if reaches > HOUR and all(0 < step <= 1.5 * usual for step in around):
            said = "the clocks of the yard show this hour twice, the file once, without a pause: the logger's own clock did not change"
            ways = f"--zone {_signed(second)}, if it ran on winter time all along; --zone {_signed(first)} for summer time"
            raise Unread(lines[number], sheet.column(lines[number], column), said, ways)
