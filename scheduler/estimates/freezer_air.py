"""What the air of a freezer was, by its log or by single readings: the warmest it can have been, in steps of ten minutes.

What is not known is not assumed to be cold: where a logger was silent the air counts as that of a warm room.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from scheduler.local_time import DAY

if TYPE_CHECKING:
    from scheduler.estimates.temperature_log import TemperatureLog  # reads tables, which most plans have none of

STEP = 600  # s of one cell of a record
SILENT = 25.0  # °C that air counts as where a logger was silent: a warm room (assumed)
SHORTEST_SILENCE = 1800  # s between two rows that are still one record, however often the logger writes (assumed)
USUAL_INTERVALS = 3  # and otherwise so many of its usual intervals (assumed)
COLD = -6.7  # °C from which down time in the freezer counts towards the keeper's floor: the mildest published lethal temperature
LONGEST = 60 * DAY  # s of one hold that are looked at

Stretch = tuple[int, int, float]


class Air(NamedTuple):
    """The air since a hold began: its warmest [°C] in each cell of `STEP` seconds, up to the end of the record.

    `first` and `last` moments [s since 1970 UTC] of its rows, how many they are, seconds it was `silent`, `coldest` and `warmest` row [°C].
    """

    cells: tuple[float, ...]
    first: int
    last: int
    rows: int
    silent: int
    coldest: float
    warmest: float

    def lasting(self, floor: float) -> float:
        """Seconds until `floor` seconds have run with the freezer cold (`COLD`); it counts as cold after the end of the record."""
        left, elapsed = floor, 0
        for temperature in self.cells:
            if temperature <= COLD:
                if left <= STEP:
                    return elapsed + left
                left -= STEP
            elapsed += STEP
        return elapsed + left


class AirRecord(NamedTuple):
    """Stretches of time with the warmest the air can have been in them (begin, end [s since 1970 UTC], °C), and the moments of the rows."""

    stretches: tuple[Stretch, ...]
    rows: tuple[tuple[int, float], ...]

    def since(self, begun: int, until: int) -> Air | None:
        """The air from `begun` to the end of the record or to `until` [s since 1970 UTC]; None where nothing was recorded between them."""
        until = min(until, begun + LONGEST)
        known = [(max(begin, begun), min(end, until), value) for begin, end, value in self.stretches if end > begun and begin < until]
        rows = [(at, value) for at, value in self.rows if begun <= at <= until]
        if not rows:
            return None
        end = max(rows[-1][0], *(end for _, end, _ in known)) if known else rows[-1][0]
        if end <= begun:
            return None
        cells = [-273.15] * -(-(end - begun) // STEP)
        for first, last, value in known:
            for cell in range((first - begun) // STEP, -(-(last - begun) // STEP)):
                cells[cell] = max(cells[cell], value)
        silences = list(_silences(known, begun, end))
        for first, last in silences:
            for cell in range((first - begun) // STEP, -(-(last - begun) // STEP)):
                cells[cell] = max(cells[cell], SILENT)
        values = [value for _, value in rows]
        silent = sum(last - first for first, last in silences)
        return Air(tuple(cells), rows[0][0], rows[-1][0], len(rows), silent, min(values), max(values))


def _silences(known: Sequence[Stretch], begun: int, end: int) -> Iterator[tuple[int, int]]:
    """What no stretch covers between `begun` and `end`."""
    covered = begun
    for first, last, _ in [*sorted(known), (end, end, SILENT)]:
        if first > covered:
            yield covered, first
        covered = max(covered, last)


def of_logs(logs: Iterable[TemperatureLog]) -> AirRecord:
    """The record of several logs of one freezer, in the order they were taken over: of one moment the newer file's row counts.

    Between two rows the warmer of them counts.
    """
    merged: dict[int, tuple[float, int]] = {}
    begins: dict[int, int] = {}
    for log in logs:
        longest = max(USUAL_INTERVALS * log.interval, SHORTEST_SILENCE)
        merged |= {at: (value, longest) for at, value in log.rows}
        begins[log.rows[0][0]] = longest
    stretches: list[Stretch] = []
    before: tuple[int, float, int] | None = None
    for at, (value, longest) in sorted(merged.items()):
        if before is not None and at - before[0] <= max(longest, before[2]):
            stretches.append((before[0], at, max(before[1], value)))
        elif at in begins:
            stretches.append((at - begins[at], at, value))
        before = (at, value, longest)
    return AirRecord(tuple(stretches), tuple((at, value) for at, (value, _) in sorted(merged.items())))


def with_readings(record: AirRecord, readings: Sequence[tuple[int, float]]) -> AirRecord:
    """The record with single readings (moment, °C) added before and after what was logged; between two readings the warmer counts.

    Before the first reading the air counts as that reading says: nothing else is known of it.
    """
    if not readings:
        return record
    ordered = sorted(readings)
    stretches: list[Stretch] = [(ordered[0][0] - LONGEST, ordered[0][0], ordered[0][1])]
    stretches += [(begin, end, max(one, other)) for (begin, one), (end, other) in pairwise(ordered)]
    if not record.rows:
        return AirRecord(tuple(stretches), tuple(ordered))
    begins, ends = min(begin for begin, _, _ in record.stretches), record.rows[-1][0]
    kept = [(begin, min(end, begins), value) for begin, end, value in stretches if begin < begins]
    kept += [(max(begin, ends), end, value) for begin, end, value in stretches if end > ends]
    rows = [(at, value) for at, value in ordered if at < begins or at > ends]
    return AirRecord((*record.stretches, *kept), tuple(sorted((*record.rows, *rows))))
