"""Lines as a sheet: what stands before the names of the columns, the names, the rows, and what stands after them."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Sequence
from typing import NamedTuple

from scheduler.instruments.dates import clock_in, is_epoch, written
from scheduler.instruments.text import Unread, column_at, lines_of

MOST_ROWS = 1_000_000
_DELIMITERS = (",", ";", "\t", "|")
_LONGEST_PREAMBLE = 80  # lines before the names of the columns that are looked at (assumed)
_SEPARATOR = re.compile(r'"?sep=(.)"?\s*')
_SUMMARY = re.compile(r"(total|sum|summe|average|avg|mean|mittel\w*|min\w*|max\w*|end\b|ende\b|eof|count|std|readings|rows|records|samples)\b.*", re.IGNORECASE)

Row = tuple[int, list[str]]  # line, cells without the space around them


class Sheet(NamedTuple):
    """A sheet of cells: `names` of its columns, what they mean by `roles`, `rows`; texts `before` the names; lines left out `after` the rows."""

    delimiter: str
    names_line: int
    names: list[str]
    rows: list[Row]
    before: tuple[str, ...]
    units_row: list[str]
    after: tuple[int, ...]
    repeated: int  # rows that are the names of the columns once more
    lines: list[str]

    def column(self, line: int, cell: int) -> int:
        """Where a cell stands in its line."""
        return column_at(self.lines[line - 1], self.delimiter, cell) if 0 < line <= len(self.lines) else 1


def sheet(text: str, is_names: Callable[[Sequence[str]], bool], time_of: Callable[[Sequence[str]], Sequence[int]], *, lenient: bool = False) -> Sheet:
    """
    The sheet in a text. `is_names` tells whether cells name all columns that are needed; `time_of` which of them are the time.

    `lenient` lets rows be longer than their names.
    Raises `Unread` for no names, for a row longer or shorter than its names, and for what is neither a row nor a summary below the rows.
    """
    lines = lines_of(text)
    if not any(line.strip() for line in lines):
        raise Unread(0, 0, "the table is empty", "a first line that names the columns, such as: time,temperature °C")
    told = _SEPARATOR.fullmatch(lines[0])
    delimiter, at, names = _names(lines, told[1] if told else None, is_names, time_of)
    time = time_of(names)
    rows, units_row, after, repeated = _rows(lines, at, delimiter, names, time, lenient=lenient)
    return Sheet(delimiter, at + 1, names, rows, tuple(lines[1 if told else 0 : at]), units_row, after, repeated, lines)


def _cells(line: str, delimiter: str) -> list[str]:
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, strict=True, skipinitialspace=True), [])]
    except csv.Error:
        return []


def _names(
    lines: list[str], told: str | None, is_names: Callable[[Sequence[str]], bool], time_of: Callable[[Sequence[str]], Sequence[int]]
) -> tuple[str, int, list[str]]:
    """Delimiter, place and cells of the line that names the columns: the first that names what is needed and has a time below it."""
    found: list[tuple[str, int, list[str]]] = []
    for at, line in enumerate(lines[:_LONGEST_PREAMBLE]):
        for delimiter in [told] if told else _DELIMITERS:
            cells = _cells(line, delimiter) if delimiter in line else []
            if len(cells) > 1 and is_names(cells):
                found.append((delimiter, at, cells))
                if _dated_below(lines[at + 1 : at + 6], delimiter, time_of(cells)):
                    return found[-1]
    if found:
        return found[0]
    line = next(line for line in lines if line.strip() and not _SEPARATOR.fullmatch(line))
    delimiter = told or max(_DELIMITERS, key=line.count)
    return delimiter, lines.index(line), _cells(line, delimiter) or [line.strip()]


def _dated_below(lines: list[str], delimiter: str, time: Sequence[int]) -> bool:
    rows = [cells for line in lines if (cells := _cells(line, delimiter))]
    return bool(time) and any(len(cells) > time[0] and is_time(cells[time[0]]) for cells in rows)


def is_time(cell: str) -> bool:
    """Whether a cell is a date, a time of day, or seconds since 1970."""
    return written(cell) is not None or clock_in(cell) is not None or is_epoch(cell)


def _looks_dated(cell: str) -> bool:
    """Whether a cell is meant as a time: quick, for what is none after all is refused where it is read."""
    return cell[:1].isdigit() if cell[4:5] in ("-", "/", ".") or cell[2:3] in ("-", "/", ".", ":") or cell[1:2] in ("/", ".", ":") else is_time(cell)


def _rows(
    lines: list[str], at: int, delimiter: str, names: list[str], time: Sequence[int], *, lenient: bool
) -> tuple[list[Row], list[str], tuple[int, ...], int]:
    rows: list[Row] = []
    units_row: list[str] = []
    undated: list[Row] = []
    repeated, width, key, line = 0, len(names), time[0] if time else 0, at + 1
    reader = csv.reader(lines[at + 1 :], delimiter=delimiter, strict=True, skipinitialspace=True)
    try:
        for read in reader:
            line = at + 1 + reader.line_num
            cells = [cell.strip() for cell in read]
            if not any(cells):
                continue
            if cells == names:
                repeated += 1
                continue
            dated = len(cells) > key and _looks_dated(cells[key])
            if not dated:
                if not rows and not units_row and (len(cells) <= key or not cells[key] or not any(map(str.isdigit, cells[key]))) and _is_units(cells, key):
                    units_row = cells
                    continue
                undated.append((line, cells))
                continue
            if undated:
                raise _not_dated(undated[0], lines, delimiter, key)
            if len(cells) > width and any(cells[width:]) and not lenient:
                column = column_at(lines[line - 1], delimiter, width)
                said = f"{len(cells)} cells, more than the {width} columns that line {at + 1} names"
                raise Unread(line, column, said, "a decimal point or quotes where the decimal comma parts a number, and a cell for each column")
            rows.append((line, cells))
            if len(rows) > MOST_ROWS:
                raise Unread(line, 0, f"more than {MOST_ROWS} rows", "a log of this season only")
    except csv.Error as fault:
        raise Unread(at + 1 + reader.line_num, 0, f"the table cannot be read: {fault}", "plain CSV text, with each quote closed") from None
    for row in undated:
        if not rows or not _is_summary(row[1], key):
            raise _not_dated(row, lines, delimiter, key)
    return rows, units_row, tuple(line for line, _ in undated), repeated


def _is_units(cells: list[str], key: int) -> bool:
    """A row below the names that tells their units: no number in it."""
    return not any(any(map(str.isdigit, cell)) for number, cell in enumerate(cells) if number != key)


def _is_summary(cells: list[str], key: int) -> bool:
    """A line below the rows that is none of them: a remark alone, or a sum or mean by its word."""
    filled = [cell for cell in cells if cell]
    if len(filled) == 1 and not filled[0][0].isdigit():
        return True
    return _SUMMARY.fullmatch(cells[key] if len(cells) > key and cells[key] else filled[0]) is not None


def _not_dated(row: Row, lines: list[str], delimiter: str, key: int) -> Unread:
    line, cells = row
    cell = cells[key] if len(cells) > key else ""
    return Unread(line, column_at(lines[line - 1], delimiter, key), f'"{cell}" is not a time', "2026-08-12T06:00 (local time), or with an offset")
