"""The log of a freezer or of the store: moments and °C in order, and where the logger was silent."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import tzinfo
from itertools import pairwise
from statistics import median

from scheduler.instruments.columns import Kind
from scheduler.instruments.numbers import Unit
from scheduler.instruments.reader import NOTHING_TOLD, AsTold, MeasuredFile, measured
from scheduler.instruments.text import Unread
from scheduler.quantities import Statement, say

_A_GAP = 3  # times the usual interval between rows (assumed)


@dataclass(frozen=True, slots=True)
class TemperatureLog:
    """RowTimes [s since 1970 UTC] and air temperatures [°C], in order; `notes` say what a reader should know; `interval` is the usual one [s]."""

    rows: tuple[tuple[int, float], ...]
    notes: tuple[Statement, ...]
    interval: int

    def gaps(self) -> tuple[tuple[int, int], ...]:
        """Where the logger was silent for more than three usual intervals: last row before, first row after [s since 1970 UTC]."""
        return tuple((before, after) for (before, _), (after, _) in pairwise(self.rows) if after - before > _A_GAP * self.interval)


def temperature_log(text: str, zone: tzinfo, told: AsTold = NOTHING_TOLD, *, otherwise: Unit | None = "C", kind: Kind = "freezer") -> TemperatureLog:
    """The log in a text: see `scheduler.instruments.reader`. Times that name no zone are of `zone`; `otherwise` is the unit where none is said."""
    return log_in(measured(text, kind, zone, told, otherwise=otherwise), assumed=True)


def log_in(read: MeasuredFile, *, assumed: bool = False) -> TemperatureLog:
    """The log in a file that was read, its unit perhaps `assumed`. Raises `Unread` where it is no log: fewer than two readings."""
    rows = tuple((at, value) for at, (value, *_) in read.rows if value is not None)
    if len(rows) < 2:
        raise Unread(0, 0, "a log needs two readings at least", "a row for each reading: 2026-08-12T06:00,-17.9")
    notes = [say("no unit in the log")] if assumed and read.unit_from == "before" else []
    notes += [say("rows without a reading", rows=read.empty)] if read.empty else []
    return TemperatureLog(rows, tuple(notes), max(1, round(median(after - before for (before, _), (after, _) in pairwise(rows)))))
