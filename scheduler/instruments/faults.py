"""Readings that no instrument in order gives: named by row, and counted as silence. Limits without a source are assumed; none is published for loggers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from itertools import groupby
from typing import NamedTuple

from scheduler.instruments.columns import Kind
from scheduler.instruments.numbers import Unit, to_si
from scheduler.local_time import DAY, HOUR
from scheduler.quantities import Statement, say

# °C, or kg: what an instrument of a kind in its place can read (assumed). The issue of a freezer: an air below -60 °C or above 80 °C.
POSSIBLE: dict[Kind, tuple[float, float]] = {"freezer": (-60.0, 80.0), "store": (-40.0, 60.0), "scale": (0.1, 1000.0), "weather": (-80.0, 60.0)}
# °C that digital sensors give instead of a reading: 85 at power-on (data sheet of a common one-wire sensor), -127 disconnected (its drivers; from memory);
# nothing but nines, -99.9 or 9999, is "no reading" to many loggers (common practice)
CODES = (85.0, -127.0)
_SPIKE = 10.0  # K colder than the rows round it and than three quarters of all: no freezer's air goes there and back (assumed)
_SPIKE_WITHIN = 2 * HOUR  # s from the row before to the row after (assumed)
_LEAP = 5.0  # K or kg by which a run of exact zeros stands out of its neighbours (assumed)
_ZEROS = 3  # rows of exact 0 that are a run (assumed)
_STUCK = 24 * HOUR  # s of the same reading, to a tenth or finer, from a freezer that cycles (assumed)
_STUCK_ROWS = 48
_OUT, _IN = 5.0, -10.0  # °C: a probe that goes from the one to the other
_OUT_WITHIN = 1800  # s: a freezer without power takes hours for it (assumed)
_YEARS = 5 * 365 * DAY  # s from a clock's first day to a reading of today (assumed)
_SET_BACK = 3  # rows of a run that stand in hours the file has already, from which on a clock was set back rather than rows misplaced (assumed)
MOST = 0.5  # share of the rows that may be faults before the file is refused (assumed)

WHAT: dict[str, Statement] = {
    "out of range": say("out of range"),
    "error code": say("error code"),
    "error word": say("error word"),
    "exact zero": say("exact zero"),
    "exact zeros": say("exact zeros"),
    "cold spike": say("cold spike"),
    "stuck": say("stuck"),
    "clock reset": say("clock reset"),
    "clock set back": say("clock set back"),
    "unsorted": say("unsorted"),
    "probe out": say("probe out"),
}

Reading = tuple[int, int, tuple[float | None, ...]]  # line, moment [s], values [°C or kg]


class Faulty(NamedTuple):
    """Rows of one fault: what it is, and their lines."""

    kind: str
    lines: tuple[int, ...]


class InOrder(NamedTuple):
    """Rows whose readings can be, in the order of their times; the faults; and what looks odd and still counts as read."""

    rows: list[Reading]
    faults: list[Faulty]
    odd: list[Faulty]


def impossible(kind: Kind, written: float, unit: Unit) -> str | None:
    """Which fault a reading is by itself; None for one that can be."""
    value = to_si(written, unit)
    low, high = POSSIBLE[kind]
    if low <= value <= high:
        return None
    if kind == "scale" and written == 0:
        return "exact zero"
    nines = set(f"{abs(written):g}".replace(".", "")) == {"9"} and abs(written) >= 99
    return "error code" if nines or (kind != "scale" and any(abs(value - code) < 0.01 or written == code for code in CODES)) else "out of range"


def by_the_clock(rows: list[Reading]) -> InOrder:
    """
    Rows in the order of their times, from rows as the logger wrote them. A clock that fell back to the first days of 1970, 1980 or 2000 tells no time;
    where one was set back, what stands twice with different readings is of no certain time. Both are left out.
    """
    runs: list[list[Reading]] = []
    for row in rows:
        if not runs or not 0 <= row[1] - runs[-1][-1][1] < _YEARS:
            runs.append([])
        runs[-1].append(row)
    if len(runs) <= 1:
        return InOrder(rows, [], [])
    faults: list[Faulty] = []
    newest = max(run[-1][1] for run in runs)
    reset = [run for run in runs if _at_an_epoch(run[0][1]) and newest - run[-1][1] > _YEARS]
    if reset:
        faults.append(Faulty("clock reset", tuple(line for run in reset for line, _, _ in run)))
    left = [run for run in runs if run not in reset]
    if len(left) > max(5, min(50, len(rows) // 50)) or len(left) * 4 > len(rows):
        ordered = sorted((row for run in left for row in run), key=lambda row: row[1])
        return InOrder(ordered, faults, [Faulty("unsorted", (left[1][0][0],))])
    kept: dict[int, Reading] = {}
    doubtful: dict[int, Reading] = {}
    reach: list[tuple[int, int]] = []
    for run in left:
        begins, ends = run[0][1], run[-1][1]
        overlaps = [(max(begins, first), min(ends, last)) for first, last in reach if first < ends and begins < last]
        twice = [row for row in run if any(first <= row[1] <= last for first, last in overlaps)]
        again = sum(1 for row in twice if (before := kept.get(row[1])) and before[2] == row[2])
        if len(twice) >= _SET_BACK and again * 2 < len(twice):
            for first, last in overlaps:
                doubtful |= {row[0]: row for row in (*kept.values(), *run) if first <= row[1] <= last}
        kept |= {row[1]: row for row in run if row[1] not in kept or row[0] not in doubtful}
        reach.append((begins, ends))
    if doubtful:
        faults.append(Faulty("clock set back", tuple(sorted(doubtful))))
    ordered = sorted((row for run in left for row in run if row[0] not in doubtful), key=lambda row: row[1])
    return InOrder(ordered, faults, [Faulty("unsorted", (left[1][0][0],))] if len(left) > 1 and not doubtful else [])


def _at_an_epoch(at: int) -> bool:
    return any(-DAY <= at - datetime(year, 1, 1, tzinfo=UTC).timestamp() < 366 * DAY for year in (1970, 1980, 2000))


def of_a_freezer(rows: list[Reading], places: int) -> InOrder:
    """The air of a freezer without cold spikes, runs of zero and a sensor that is stuck; a probe that was out of it is told, and counts as warm."""
    faults = []
    for kind, find in (("cold spike", _cold_spikes), ("exact zeros", _zeros), ("stuck", lambda found: _stuck(found, places))):
        bad = find(rows)
        if bad:
            faults.append(Faulty(kind, tuple(sorted(rows[number][0] for number in bad))))
            rows = [row for number, row in enumerate(rows) if number not in bad]
    out = _out_of_it(rows)
    return InOrder(rows, faults, [Faulty("probe out", out)] if out else [])


def of_the_weather(rows: list[Reading]) -> InOrder:
    """Days without those of which lowest and highest are both exactly 0."""
    bad = tuple(line for line, _, values in rows if len(values) == 2 and values == (0.0, 0.0))
    kept = [row for row in rows if not (len(row[2]) == 2 and row[2] == (0.0, 0.0))]
    return InOrder(kept, [Faulty("exact zeros", bad)] if bad else [], [])


def _cold_spikes(rows: Sequence[Reading]) -> set[int]:
    """Rows far colder than the row before them, than the freezer mostly is, and than the row after them within two hours."""
    read = sorted(value for _, _, (value, *_) in rows if value is not None)
    usual = read[len(read) // 4] if read else 0.0
    found: set[int] = set()
    number = 1
    while number < len(rows):
        before, value = rows[number - 1][2][0], rows[number][2][0]
        if before is None or value is None or value >= min(before, usual) - _SPIKE:
            number += 1
            continue
        end, latest = number, rows[number - 1][1] + _SPIKE_WITHIN
        while end < len(rows) and (after := rows[end][2][0]) is not None and after < min(before, usual) - _SPIKE:
            end += 1
        if end < len(rows) and rows[end][1] <= latest:
            found.update(range(number, end))
        number = end + 1
    return found


def _runs(rows: Sequence[Reading], is_one: Callable[[float | None], object]) -> list[tuple[int, int]]:
    """Runs of rows (first, after the last) that agree in something of their value."""
    runs, at = [], 0
    for _, group in groupby(rows, key=lambda row: is_one(row[2][0])):
        length = len(list(group))
        runs.append((at, at + length))
        at += length
    return runs


def _zeros(rows: Sequence[Reading]) -> set[int]:
    found: set[int] = set()
    for first, end in _runs(rows, lambda value: value == 0.0):
        if rows[first][2][0] != 0.0 or end - first < _ZEROS:
            continue
        beside = [rows[number][2][0] for number in (first - 1, end) if 0 <= number < len(rows)]
        if beside and all(value is not None and abs(value) > _LEAP for value in beside):
            found.update(range(first, end))
    return found


def _stuck(rows: Sequence[Reading], places: int) -> set[int]:
    """Rows of the same reading for a day, where others of the file show that the logger writes tenths."""
    if places < 1 or all(value is None or (value * 2).is_integer() for _, _, (value, *_) in rows):
        return set()
    found: set[int] = set()
    for first, end in _runs(rows, lambda value: value):
        if end - first >= _STUCK_ROWS and rows[end - 1][1] - rows[first][1] >= _STUCK and rows[first][2][0] is not None:
            found.update(range(first, end))
    return found


def _out_of_it(rows: Sequence[Reading]) -> tuple[int, ...]:
    """The lines at which a probe went from the cold of a freezer to the warmth of a room at once."""
    found: list[int] = []
    start, last = 0, -2
    for number in range(1, len(rows)):
        while rows[number][1] - rows[start][1] > _OUT_WITHIN:
            start += 1
        value = rows[number][2][0]
        if value is None or value < _OUT:
            continue
        before = [one for _, _, (one, *_) in rows[start:number] if one is not None]
        if before and min(before) <= _IN:
            if number - last > 1:
                found.append(rows[number][0])
            last = number
    return tuple(found)
