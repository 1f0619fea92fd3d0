"""What the air of a freezer was, by its log or by single readings: the warmest it can have been, in steps of ten minutes.

What is not known is not assumed to be cold: where a logger was silent the air counts as that of a warm room.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from scheduler.local_time import DAY
from scheduler.quantities import Statement, say, warmer

if TYPE_CHECKING:
    from scheduler.estimates.temperature_log import TemperatureLog  # reads tables, which most plans have none of

STEP = 600  # s of one cell of a record
SILENT = 25.0  # °C that air counts as where a logger was silent: a warm room (assumed)
SHORTEST_SILENCE = 1800  # s between two rows that are still one record, however often the logger writes (assumed)
USUAL_INTERVALS = 3  # and otherwise so many of its usual intervals (assumed)
DENSE = 2 * 3600  # s between two readings that together still speak for the time between them (assumed)
_PARTS = 6  # of a cell that its mean is taken over
LONGEST = 60 * DAY  # s of one hold that are looked at

Stretch = tuple[int, int, float]


class Air(NamedTuple):
    """The air since a hold began: its warmest [°C] in each cell of `STEP` seconds, up to the end of the record.

    `proving` the same with a warm room where only readings far apart speak: None where there is no such part. `first` and `last` moments [s since
    1970 UTC] of its rows, how many they are, seconds it was `silent`, `coldest` and `warmest` row [°C]; the `files` it is from.
    """

    cells: tuple[float, ...]
    first: int
    last: int
    rows: int
    silent: int
    coldest: float
    warmest: float
    proving: tuple[float, ...] | None = None
    files: tuple[Statement, ...] = ()

    def lasting(self, floor: float, cold: float) -> float:
        """Seconds until `floor` seconds have run with the freezer at `cold` [°C] or below; it counts as cold after the end of the record."""
        left, elapsed = floor, 0
        for temperature in self.cells:
            if temperature <= cold:
                if left <= STEP:
                    return elapsed + left
                left -= STEP
            elapsed += STEP
        return elapsed + left


class AirRecord(NamedTuple):
    """Stretches of time with the warmest the air can have been in them (begin, end [s since 1970 UTC], °C), and the moments of the rows.

    `between` are stretches between readings further apart than `DENSE`: taken as read for a plan, and no proof. `files`: first and last moment of the
    rows of each file, and what to call it.
    """

    stretches: tuple[Stretch, ...]
    rows: tuple[tuple[int, float], ...]
    between: tuple[Stretch, ...] = ()
    files: tuple[tuple[int, int, Statement], ...] = ()

    def since(self, begun: int, until: int) -> Air | None:
        """The air from `begun` to the end of the record or to `until` [s since 1970 UTC]; None where nothing was recorded between them."""
        until = min(until, begun + LONGEST)
        logged = _within(self.stretches, begun, until)
        between = _within(self.between, begun, until)
        known = [*logged, *between]
        rows = [(at, value) for at, value in self.rows if begun <= at <= until]
        if not rows:
            return None
        end = max(rows[-1][0], *(end for _, end, _ in known)) if known else rows[-1][0]
        if end <= begun:
            return None
        values = [value for _, value in rows]
        silent = sum(last - first for first, last in _silences(known, begun, end))
        proving = _cells(logged, begun, end) if between else None
        files = tuple(says for first, last, says in self.files if first <= end and last >= begun)
        return Air(_cells(known, begun, end), rows[0][0], rows[-1][0], len(rows), silent, min(values), max(values), proving, files)

    def means(self, begun: int, air: Air) -> tuple[float, ...]:
        """The mean [°C] of each cell of `air`, which is of this record since `begun`, on straight lines between rows; its warmest where rows are missing.

        A kill is proved by the warmest; a freezer is fitted to the mean, for air that swings looks warmer by its peaks than it was, and the load quicker.
        """
        moments = [at for at, _ in self.rows]
        return tuple(self._mean(moments, begun + number * STEP, warmest) for number, warmest in enumerate(air.cells))

    def _mean(self, moments: list[int], begins: int, warmest: float) -> float:
        found = []
        for part in range(_PARTS):
            at = begins + STEP * (2 * part + 1) // (2 * _PARTS)
            after = bisect_left(moments, at)
            if not 0 < after < len(moments) or moments[after] - moments[after - 1] > SHORTEST_SILENCE:
                return warmest
            (one, value), (other, next_value) = self.rows[after - 1], self.rows[after]
            found.append(value + (next_value - value) * (at - one) / (other - one))
        return min(sum(found) / _PARTS, warmest)


def _within(stretches: Iterable[Stretch], begun: int, until: int) -> list[Stretch]:
    return [(max(begin, begun), min(end, until), value) for begin, end, value in stretches if end > begun and begin < until]


def _cells(known: Sequence[Stretch], begun: int, end: int) -> tuple[float, ...]:
    """The warmest in each cell between two moments, a warm room where no stretch is."""
    cells = [-273.15] * -(-(end - begun) // STEP)
    for first, last, value in (*known, *((first, last, SILENT) for first, last in _silences(known, begun, end))):
        for cell in range((first - begun) // STEP, -(-(last - begun) // STEP)):
            cells[cell] = max(cells[cell], value)
    return tuple(cells)


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
    """
    The record with single readings (moment, °C) added before and after what was logged; between two readings the warmer counts.

    Where they are further apart than `DENSE`, that is taken for the plan and proves nothing; so is what was before the first, of which nothing else is known.
    """
    if not readings:
        return record
    ordered = sorted(readings)
    pairs = [(begin, end, max(one, other)) for (begin, one), (end, other) in pairwise(ordered)]
    dense = [one for one in pairs if one[1] - one[0] <= DENSE]
    sparse = [(ordered[0][0] - LONGEST, ordered[0][0], ordered[0][1]), *(one for one in pairs if one[1] - one[0] > DENSE)]
    if not record.rows:
        return AirRecord(tuple(dense), tuple(ordered), tuple(sparse))
    begins, ends = min(begin for begin, _, _ in record.stretches), record.rows[-1][0]
    rows = [(at, value) for at, value in ordered if at < begins or at > ends]
    kept = (*record.stretches, *_beside(dense, begins, ends))
    return record._replace(stretches=kept, rows=tuple(sorted((*record.rows, *rows))), between=tuple(_beside(sparse, begins, ends)))


def corrected(record: AirRecord, ice: float) -> AirRecord:
    """The record of a thermometer that shows `ice` [°C] in melting ice. One that reads too cold is corrected; one that reads too warm errs on the safe side."""
    if ice >= 0:
        return record
    stretches, between = (tuple((begin, end, value - ice) for begin, end, value in one) for one in (record.stretches, record.between))
    rows = tuple((at, value - ice) for at, value in record.rows)
    files = (*record.files, (rows[0][0], rows[-1][0], say("corrected by ice", by=warmer(-ice)))) if rows else record.files
    return AirRecord(stretches, rows, between, files)


def _beside(stretches: Iterable[Stretch], begins: int, ends: int) -> Iterator[Stretch]:
    """Stretches before and after what was logged."""
    for begin, end, value in stretches:
        if begin < begins:
            yield begin, min(end, begins), value
        if end > ends:
            yield max(begin, ends), end, value
