"""What is told of a measured file that was read: its rows, what was taken for what, what was left out; in words and as a picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

from scheduler.estimates.tables import possible, table_in
from scheduler.estimates.temperature_log import TemperatureLog, log_in
from scheduler.instruments.columns import LOGS
from scheduler.instruments.faults import WHAT, Faulty
from scheduler.instruments.reader import MeasuredFile
from scheduler.outputs.pictures.series import Chart, svg
from scheduler.outputs.wording.sentence import METRIC, Reader, in_words
from scheduler.quantities import Quantity, Statement, celsius, convert, elapsed, instant, kilograms, say

_LISTED = 5  # lines of a fault that are named
_GAPS = 3  # that are named
SHOWN_IN = {("temperature", "metric"): "°C", ("temperature", "us"): "°F", ("mass", "metric"): "kg", ("mass", "us"): "lb"}
SHOWN_IN |= {("degree days", "metric"): "°C d", ("degree days", "us"): "°F d"}


def picture_of(read: MeasuredFile, name: str, told: str, zone: ZoneInfo, units: str, mildest: float) -> bytes:
    """The picture [SVG] of a file; `told` is what is said of it in words, which whoever does not see it hears instead.

    `mildest` is the warmest air [°C] that kills, which the picture of a freezer's log shows.
    """
    dimension = "mass" if read.kind == "scale" else "temperature"
    unit = SHOWN_IN[dimension, units]
    if read.kind in LOGS:
        log = log_in(read)
        points = tuple((at, convert(value, dimension, unit)) for at, value in log.rows)
        word = in_words(say("mildest that kills", mildest=celsius(mildest)), Reader(units, zone))
        silent = in_words(say("nothing read"), METRIC)
        limit = (convert(mildest, dimension, unit), word) if read.kind == "freezer" else None
        return svg(Chart(name, told, unit, (points,), log.gaps(), silent, limit), zone)
    table = table_in(read, zone)
    lines = []
    for column in range(len(table.rows[0].cells)):
        days = ((row.day, row.cells[column]) for row in table.rows)
        at_noon = ((int(datetime.combine(day, time(12), UTC).timestamp()), value) for day, value in days if value is not None)
        lines.append(tuple((at, convert(value, dimension, unit)) for at, value in at_noon))
    words = tuple(in_words(one, METRIC) for one in (say("lowest"), say("highest"))) if len(lines) == 2 else ()
    return svg(Chart(name, told, unit, tuple(line for line in lines if line), line_words=words), UTC)


def understood(read: MeasuredFile, encoding: str, zone: ZoneInfo, reader: Reader) -> list[str]:
    """How a file was read: its rows first, then what was taken for what, then what was left out."""
    first, ends = _rows_of(read, zone, reader.units)
    ways = list(read.account) if encoding == "UTF-8" else [*read.account, say("encoding", name=encoding)]
    lines = [first, in_words(say("read as", ways=tuple(ways)), reader), in_words(ends, reader)]
    silent, odd = (tuple(_fault(one) for one in faulty) for faulty in (read.faults, read.odd))
    lines += [in_words(say("left out as silence", faults=silent), reader)] if silent else []
    lines += [in_words(say("looks odd", faults=odd), reader)] if odd else []
    return lines + ([in_words(say("rows twice", rows=read.repeated), reader)] if read.repeated else [])


def _fault(one: Faulty) -> Statement:
    lines = ", ".join(map(str, one.lines[:_LISTED])) + (", ..." if len(one.lines) > _LISTED else "")
    return say("rows at fault", rows=len(one.lines), what=WHAT[one.kind], lines=lines)


def _rows_of(read: MeasuredFile, zone: ZoneInfo, units: str) -> tuple[str, Statement]:
    reader = Reader(units, zone)
    if read.kind not in LOGS:
        table = possible(table_in(read, zone))
        first, last = table.rows[0], table.rows[-1]
        missing = table.missing()
        gaps = [say("day not full") if missing == 1 else say("days not full", days=missing)] if missing else []
        ends = say("first and last day", first=first.day, read=_shown(read, first.cells), last=last.day, then=_shown(read, last.cells))
        said = say("days of a table", days=len(table.rows), first=first.day, last=last.day, unit=table.unit)
        return "; ".join(in_words(one, reader) for one in (said, *gaps, *table.notes)), ends
    log = log_in(read)
    values = [value for _, value in log.rows]
    at, until = log.rows[0], log.rows[-1]
    said = say("readings of a log", readings=len(log.rows), first=instant(at[0]), last=instant(until[0]), interval=elapsed(log.interval))
    span = say("lowest to highest", low=celsius(min(values)), high=celsius(max(values)))
    ends = say("first and last reading", first=instant(at[0]), read=celsius(at[1]), last=instant(until[0]), then=celsius(until[1]))
    return "; ".join(in_words(one, reader) for one in (said, span, *_gaps(log), *log.notes)), ends


def _shown(read: MeasuredFile, cells: Sequence[float | None]) -> tuple[Statement, ...]:
    quantities: Iterator[Quantity | None] = (None if cell is None else kilograms(cell) if read.kind == "scale" else celsius(cell) for cell in cells)
    return tuple(say("no reading") if one is None else say("a reading", value=one) for one in quantities)


def _gaps(log: TemperatureLog) -> list[Statement]:
    gaps = log.gaps()
    shown = [say("silent from to", first=instant(first), last=instant(last)) for first, last in gaps[:_GAPS]]
    return [*shown, say("more gaps", count=len(gaps) - _GAPS)] if len(gaps) > _GAPS else shown
