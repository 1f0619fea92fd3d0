"""Flow and dearth from a hive scale: daily changes, manipulations taken out, the median of a week.

No published threshold was found; every number here is assumed and can be set. One reading a day, at the same hour before dawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from statistics import median

from scheduler.diagnostics import Fault
from scheduler.estimates import citations
from scheduler.estimates.series import Table
from scheduler.quantities import Estimate


@dataclass(frozen=True, slots=True)
class Thresholds:
    """All assumed.

    Gain of a flow and of a dearth [kg a day], step out of line that is a manipulation [kg], window [days], least changes in it, run of a dearth [days].
    """

    flow: float = 0.5
    dearth: float = -0.1
    manipulation: float = 1.0
    window: int = 7
    least: int = 5
    run: int = 7


@dataclass(frozen=True, slots=True)
class DayState:
    """One day: median daily change of its window [kg, None where too few], and "flow", "neutral", "dearth" or "unknown"."""

    day: date
    gain: float | None
    state: str


def _raw_changes(table: Table) -> dict[int, float]:
    """Change since the day before by ordinal day; the day after a gap has none."""
    masses = {row.day.toordinal(): row.cells[0] for row in table.rows}
    found = {}
    for day, mass in masses.items():
        before = masses.get(day - 1)
        if mass is not None and before is not None:
            found[day] = mass - before
    return found


def _changes(table: Table, thresholds: Thresholds) -> tuple[dict[int, float], int]:
    """Daily changes with manipulations left out, and how many those were.

    A manipulation is a step that stands out by more than its threshold from the median of the week around it, so that a strong flow,
    which gains more than that every day, is kept.
    """
    raw = _raw_changes(table)
    kept = {}
    for day, change in raw.items():
        week = [raw[near] for near in range(day - 3, day + 4) if near in raw]
        if abs(change - median(week)) <= thresholds.manipulation:
            kept[day] = change
    return kept, len(raw) - len(kept)


def states(table: Table, thresholds: Thresholds | None = None) -> tuple[list[DayState], Estimate]:
    """The state of every day, and the median daily change [kg] of the last window with its quartile-like range.

    A dearth is only called after `run` days in a row at or below its threshold; a window with fewer than `least` changes is "unknown".
    Rain is not known to a scale and is not taken out.
    """
    limits = thresholds or Thresholds()
    changes, removed = _changes(table, limits)
    result: list[DayState] = []
    low_run = 0
    window: list[float] = []
    for ordinal in range(table.rows[0].day.toordinal() + 1, table.rows[-1].day.toordinal() + 1):
        window = sorted(changes[day] for day in range(ordinal - limits.window + 1, ordinal + 1) if day in changes)
        gain = median(window) if len(window) >= limits.least else None
        low_run = low_run + 1 if gain is not None and gain <= limits.dearth else 0
        state = "unknown" if gain is None else "flow" if gain >= limits.flow else "dearth" if low_run >= limits.run else "neutral"
        result.append(DayState(date.fromordinal(ordinal), gain, state))
    if not result:
        raise Fault("a hive scale series needs more than one day")
    last = result[-1]
    if last.gain is None:
        return result, Estimate.refused("mass", f"fewer than {limits.least} daily changes in the last {limits.window} days: no word on flow or dearth")
    basis = (
        f"{last.day}: {last.state}; median daily change of {limits.window} days",
        f"flow from {limits.flow:g} kg/d, dearth at {limits.dearth:g} kg/d or less for {limits.run} days: assumed, no published threshold was found",
        f"{removed} steps more than {limits.manipulation:g} kg out of line with their week taken out as manipulations",
        *table.notes,
    )
    return result, Estimate(last.gain, window[1], window[-2], "mass", basis, (citations.SCALE,), safe_end="value")
