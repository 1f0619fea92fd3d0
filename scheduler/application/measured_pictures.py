"""The picture of a file that was read: a freezer's log with its silences and the mildest cold that kills, a scale, the weather, in the yard's units."""

from __future__ import annotations

from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

from scheduler.estimates.freeze import LETHAL
from scheduler.estimates.tables import table_in
from scheduler.estimates.temperature_log import log_in
from scheduler.instruments.reader import MeasuredFile
from scheduler.outputs.pictures.series import Chart, svg
from scheduler.outputs.wording.sentence import METRIC, Reader, in_words
from scheduler.quantities import celsius, convert, say

_UNITS = {("temperature", "metric"): "°C", ("temperature", "us"): "°F", ("mass", "metric"): "kg", ("mass", "us"): "lb"}


def picture_of(read: MeasuredFile, name: str, told: str, zone: ZoneInfo, units: str) -> bytes:
    """The picture [SVG] of a file; `told` is what is said of it in words, which whoever does not see it hears instead."""
    dimension = "mass" if read.kind == "scale" else "temperature"
    unit = _UNITS[dimension, units]
    if read.kind == "freezer":
        log = log_in(read)
        points = tuple((at, convert(value, dimension, unit)) for at, value in log.rows)
        word = in_words(say("mildest that kills", mildest=celsius(LETHAL[0][0])), Reader(units, zone))
        silent = in_words(say("nothing read"), METRIC)
        return svg(Chart(name, told, unit, (points,), log.gaps(), silent, (convert(LETHAL[0][0], dimension, unit), word)), zone)
    table = table_in(read, zone)
    lines = []
    for column in range(len(table.rows[0].cells)):
        days = ((row.day, row.cells[column]) for row in table.rows)
        at_noon = ((int(datetime.combine(day, time(12), UTC).timestamp()), value) for day, value in days if value is not None)
        lines.append(tuple((at, convert(value, dimension, unit)) for at, value in at_noon))
    words = tuple(in_words(one, METRIC) for one in (say("lowest"), say("highest"))) if len(lines) == 2 else ()
    return svg(Chart(name, told, unit, tuple(line for line in lines if line), line_words=words), UTC)
