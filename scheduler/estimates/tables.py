"""Daily tables: of a hive scale its mass, of the weather its lowest and highest; from a file by the day or by the hour."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from itertools import pairwise

from scheduler.instruments.moments import zone_told
from scheduler.instruments.numbers import SIGNS, Unit
from scheduler.instruments.reader import NOTHING_TOLD, AsTold, MeasuredFile, measured
from scheduler.instruments.text import Unread
from scheduler.local_time import DAY, HOUR, YEARS_OF_RECORDS, in_years
from scheduler.quantities import Statement, say

_BEFORE_DAWN = (4, 3, 5, 2, 6, 1, 7, 0, 23, 8, 22, 9, 21, 10, 20, 11, 19, 12, 18, 13, 17, 14, 16, 15)  # hours, foragers at home first (assumed)
_MOST_DAYS = 0.8  # share of the days on which an hour of the day has a reading, to be the hour of the table (assumed)
_OFTEN = 3 * HOUR  # s between readings that still show a day's lowest and highest (assumed)


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


def daily_temperatures(text: str, told: AsTold = NOTHING_TOLD, *, yard: tzinfo = UTC, otherwise: Unit | None = "C") -> Table:
    """Rows of (lowest, highest) [°C] by the day; raises `Unread` with line and column. See `table_in`."""
    return table_in(measured(text, "weather", yard, told, otherwise=otherwise), yard, assumed=True)


def hive_scale(text: str, told: AsTold = NOTHING_TOLD, *, yard: tzinfo = UTC, otherwise: Unit | None = "kg") -> Table:
    """Rows of (mass,) [kg] by the day; raises `Unread` with line and column. See `table_in`."""
    return table_in(measured(text, "scale", yard, told, otherwise=otherwise), yard, assumed=True)


def table_in(read: MeasuredFile, yard: tzinfo, *, assumed: bool = False) -> Table:
    """
    The daily table in a file that was read, its unit perhaps `assumed`.

    Of a scale with several readings a day the one of one hour counts, before dawn where it has that; of a thermometer the lowest and highest of each
    day that has a reading at least every three hours.
    """
    notes = [say("no unit in the table")] if assumed and read.unit_from == "before" else []
    if read.dated:
        rows = [DatedRow(datetime.fromtimestamp(at, UTC).date(), cells) for at, cells in read.rows]
    else:
        own = zone_told(read.zone) if read.zone else UTC
        local = [(datetime.fromtimestamp(at, own), cells) for at, cells in read.rows]
        if len({at.time() for at, _ in local}) > 1:  # else a row a day, stamped alike
            local = [(at.astimezone(yard), cells) for at, cells in local]
        rows, hour = _at_one_hour(local) if read.kind == "scale" else (_extremes(local), None)
        notes += [say("one hour of the day", hour=hour)] if hour is not None else []
    if not rows:
        raise Unread(0, 0, "no day of it has enough readings", "a reading at least every three hours, or a row for each day")
    return Table(tuple(rows), (*_gaps(rows), *notes), SIGNS[read.unit])


Local = list[tuple[datetime, tuple[float | None, ...]]]


def _at_one_hour(local: Local) -> tuple[list[DatedRow], int | None]:
    """One row a day: all of them where there is one, else those nearest to the hour that most days have; and that hour."""
    days = Counter(at.date() for at, _ in local)
    if max(days.values(), default=0) <= 1:
        return [DatedRow(at.date(), cells) for at, cells in local], None
    by_hour = Counter(hour for _, hour in {(at.date(), at.hour) for at, _ in local})
    most = max(by_hour.values())
    enough = next((hour for hour in _BEFORE_DAWN if by_hour[hour] >= _MOST_DAYS * len(days)), None)
    chosen = enough if enough is not None else next(hour for hour in _BEFORE_DAWN if by_hour[hour] == most)
    rows: dict[date, DatedRow] = {}
    for at, cells in local:
        if at.hour == chosen:
            rows.setdefault(at.date(), DatedRow(at.date(), cells))
    return list(rows.values()), chosen


def _extremes(local: Local) -> list[DatedRow]:
    """Lowest and highest of each day; None where readings are too far apart to show them. Two columns already are that."""
    days: dict[date, Local] = {}
    for row in local:
        days.setdefault(row[0].date(), []).append(row)
    return [DatedRow(day, _of_a_day(rows)) for day, rows in days.items()]


def _of_a_day(rows: Local) -> tuple[float | None, ...]:
    if len(rows[0][1]) == 2:
        lows, highs = ([cells[number] for _, cells in rows] for number in (0, 1))
        return _over(lows, min), _over(highs, max)
    begins = rows[0][0].replace(hour=0, minute=0, second=0, fold=0).timestamp()
    at = [begins, *(one.timestamp() for one, (value, *_) in rows if value is not None), begins + DAY]
    if any(after - before > _OFTEN for before, after in pairwise(at)):
        return None, None
    values = [value for _, (value, *_) in rows if value is not None]
    return min(values), max(values)


def _over(values: Iterable[float | None], of: Callable[[list[float]], float]) -> float | None:
    found = [value for value in values if value is not None]
    return of(found) if found else None


def _gaps(rows: list[DatedRow]) -> list[Statement]:
    notes = [
        say("days missing", days=(after.day - before.day).days - 1, first=before.day + timedelta(1))
        for before, after in pairwise(rows)
        if (after.day - before.day).days > 1
    ]
    empty = sum(1 for row in rows if None in row.cells)
    notes = notes if len(notes) <= 5 else [*notes[:5], say("more gaps", count=len(notes) - 5)]
    return notes + ([say("rows without a reading", rows=empty)] if empty else [])
