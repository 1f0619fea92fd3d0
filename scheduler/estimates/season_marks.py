"""Marks of the season in the keeper's own tables: flow and dearth from a hive scale, frosts and flying weather from daily temperatures."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from statistics import median
from typing import TYPE_CHECKING, Any, NamedTuple

from scheduler.diagnostics import Fault
from scheduler.estimates import citations
from scheduler.local_time import DAY
from scheduler.quantities import Estimate, Statement, celsius, kilograms, say

if TYPE_CHECKING:
    from scheduler.estimates.tables import Table  # which most plans have none of


class Thresholds(NamedTuple):
    """What of a hive scale is a flow and what a dearth: numbers of the trade, from the rule files.

    Change of a flow and of a dearth [kg a day], step out of line that is a manipulation [kg], window [days], least changes in it, run of a dearth [days],
    days without flow after which it has likely ended, and after which it has.
    """

    flow: float
    dearth: float
    manipulation: float
    window: int
    least: int
    run: int
    quiet: int
    ended: int


def thresholds_of(trade: Mapping[str, Any]) -> Thresholds:
    """What of a hive scale is a flow and what a dearth, by the numbers of the trade."""
    window, run, quiet, ended = (round(float(trade[name]) / DAY) for name in ("scale_days", "dearth_run", "flow_likely_over_after", "flow_over_after"))
    gain, loss, step = (float(trade[name]) for name in ("flow_gain", "dearth_loss", "scale_step"))
    return Thresholds(gain, -loss, step, window, round(float(trade["scale_days_read"])), run, quiet, ended)


class DayState(NamedTuple):
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


def states(table: Table, limits: Thresholds) -> tuple[list[DayState], Estimate]:
    """The state of every day, and the median daily change [kg] of the last window with its quartile-like range.

    A dearth is only called after `run` days in a row at or below its threshold; a window with fewer than `least` changes is "unknown".
    Rain is not known to a scale and is not taken out.
    """
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
        return result, Estimate.refused("mass", say("too few changes", least=limits.least, window=limits.window))
    basis = (
        say("state of the flow", day=last.day, state=last.state, window=limits.window),
        say("thresholds of a flow", flow=kilograms(limits.flow), dearth=kilograms(limits.dearth), days=limits.run),
        say("manipulations", steps=removed, limit=kilograms(limits.manipulation)),
        *table.notes,
    )
    return result, Estimate(last.gain, window[1], window[-2], "mass", basis, (citations.SCALE,), safe_end="value")


_OF_A_MEDIAN = 1.4826  # standard deviation of normal noise over the median of its size
SAME_FLOW = 14  # d between flow days of one flow, and between the days that two scales show of it
SAME_SEASON = 120  # d between flows of one season
AFTER_FLOW = 90  # d after a flow in which falling mass is a dearth and not winter
LATER_FLOW = 7  # d of gain that end a dearth
# Noise of a scale [kg] up to which the days of a flow are known to so many days either way. Worked out with 20 invented seasons for each noise from 0.1 to
# 1 kg (tests/estimates/test_season_marks.py); beyond the last no day is firm.
KNOWN_TO = ((0.25, 3), (0.4, 7), (0.6, 14))
SUMMER = 60  # d without frost that make a summer
WINTER = 21  # d without flying weather that make a winter
MILD_SPELL = 45  # d of flying weather that do not end a winter
FROST = 0.0  # °C of a day's lowest, in the air where it was measured; frost on the ground comes at a few degrees more


class Mark(NamedTuple):
    """A mark of the season on a day, and what it rests on, with how sure it is."""

    name: str
    day: date
    says: Statement
    firm: bool = True  # else likely: what comes may still show another day

    @property
    def dated(self) -> Statement:
        """What it rests on, after its day."""
        return say("dated", day=self.day, says=self.says)


def of_scale(table: Table, flow_edges: tuple[str, str], dearth_edges: tuple[str, str], limits: Thresholds) -> list[Mark]:
    """Beginning and end of each season's main flow (the one with the greatest gain), and of the dearths after it, by what these are called.

    A dearth begins where masses fall; a later flow of the same season ends it for as long as it runs.

    A week's median answers half a week late, which is taken off again. How well the days are known follows from the noise of the readings; where that
    is too great, and until a flow has been over for long enough, a mark is likely and not firm.
    """
    late = timedelta(limits.window // 2)
    days, _ = states(table, limits)
    marks: list[Mark] = []
    begins, ends = flow_edges
    error = noise(table)
    about = next((known for most, known in KNOWN_TO if error <= most), None)
    known = say("known to days", about=about) if about is not None else say("not known to weeks", noise=kilograms(error))
    read_until = max((one.day for one in days if one.state != "unknown"), default=days[0].day)
    for flow, later_flows in _flows_by_season([one for one in days if one.state == "flow"]):
        first, last = flow[0].day, flow[-1].day
        sure = say("flow by the scale", known=known, flow=kilograms(limits.flow), gain=kilograms(round(_gain(flow))))
        if first > days[0].day + timedelta(limits.window):
            marks.append(Mark(begins, first - late, sure, firm=about is not None))
        quiet = (read_until - last).days
        if quiet >= limits.ended:
            marks.append(Mark(ends, last - late, sure, firm=about is not None))
        elif quiet >= limits.quiet:
            marks.append(Mark(ends, last - late, say("flow likely over", quiet=quiet, needed=limits.ended), firm=False))
        marks += [Mark(dearth_edges[0], day, says, firm=about is not None) for day, says in _dearth_after(last, days, limits, known)]
        if about is not None:  # else nobody knows, and bees are taken to rob
            for later in later_flows:
                gained = say("flow by the scale", known=known, flow=kilograms(limits.flow), gain=kilograms(round(_gain(later))))
                marks += _gap_in_dearth(later, read_until, dearth_edges, limits, gained)
    return marks


def _gap_in_dearth(flow: Sequence[DayState], read_until: date, dearth_edges: tuple[str, str], limits: Thresholds, sure: Statement) -> Iterator[Mark]:
    """The end of a dearth by a flow, and its next beginning: after the flow, or, while that runs, as long after the last reading as a flow takes to be over."""
    begins, ends = dearth_edges
    late = timedelta(limits.window // 2)
    yield Mark(ends, flow[0].day - late, sure)
    if (read_until - flow[-1].day).days >= limits.quiet:
        yield Mark(begins, flow[-1].day - late, say("dearth again", flow=sure))
    else:
        yield Mark(begins, read_until + timedelta(limits.quiet), say("dearth again at the latest", read=read_until, days=limits.quiet), firm=False)


def noise(table: Table) -> float:
    """The standard deviation of single readings [kg] from the median of their second differences, which neither a flow nor a harvest moves."""
    masses = {row.day.toordinal(): row.cells[0] for row in table.rows}
    bends = []
    for day, mass in masses.items():
        before, after = masses.get(day - 1), masses.get(day + 1)
        if mass is not None and before is not None and after is not None:
            bends.append(abs(before - 2 * mass + after))
    return _OF_A_MEDIAN * median(bends) / math.sqrt(6) if bends else 0.0


def _flows_by_season(flow_days: Sequence[DayState]) -> Iterator[tuple[list[DayState], list[list[DayState]]]]:
    """The main flow of each season, and the flows after it that ran for a week at least."""
    for season in _runs(flow_days, SAME_SEASON):
        flows = _runs(season, SAME_FLOW)
        main = max(flows, key=_gain)
        yield main, [one for one in flows[flows.index(main) + 1 :] if (one[-1].day - one[0].day).days >= LATER_FLOW]


def _gain(flow: Sequence[DayState]) -> float:
    """What a flow brought by the medians of its days [kg]."""
    return sum(one.gain or 0.0 for one in flow)


def _runs(days: Sequence[DayState], longest: int) -> list[list[DayState]]:
    """Days in runs with no more than `longest` days from one to the next."""
    runs: list[list[DayState]] = []
    for one in days:
        if runs and (one.day - runs[-1][-1].day).days <= longest:
            runs[-1].append(one)
        else:
            runs.append([one])
    return runs


def _dearth_after(flow_ended: date, days: Sequence[DayState], limits: Thresholds, known: Statement) -> Iterator[tuple[date, Statement]]:
    """A dearth is called after `run` days; it began that long before, and half a window."""
    called = next((one.day for one in days if one.day > flow_ended and one.state == "dearth"), None)
    if called is None or (called - flow_ended).days > AFTER_FLOW:
        return
    began = max(called - timedelta(limits.run - 1 + limits.window // 2), flow_ended)
    yield began, say("dearth by the scale", known=known, dearth=kilograms(limits.dearth))


def of_weather(table: Table, flight: float, frosts: tuple[str, str], warm_days: tuple[str, str]) -> list[Mark]:
    """Last and first frost round each summer, last and first warm day (highest at or above `flight` °C) round each winter, by what these are called."""
    missing = table.missing()
    doubt = (say("table in part", days=missing),) if missing else ()
    frosty = _between(table, lambda low, high: low <= FROST, SUMMER)
    edges = _edges(frosty, *frosts)
    marks = [Mark(name, day, say("lowest of a day", low=celsius(low), doubt=doubt)) for name, day, low, _ in edges]
    warm = _one_winter_each(_between(table, lambda low, high: high >= flight, WINTER))
    edges, flies = _edges(warm, *warm_days), celsius(flight)
    marks += [Mark(name, day, say("highest of a day", high=celsius(high), flight=flies, doubt=doubt)) for name, day, _, high in edges]
    return sorted(marks, key=lambda mark: (mark.day, mark.name))


Day = tuple[date, float, float]
Edge = tuple[str, date, float, float]


def _between(table: Table, is_so: Callable[[float, float], bool], least: int) -> list[tuple[Day | None, Day | None]]:
    """Stretches of at least `least` days in which no day is so: the day that is so before it and after it, None at the ends of the table."""
    read = [(row.day, row.cells[0], row.cells[1]) for row in table.rows if row.cells[0] is not None and row.cells[1] is not None]
    full = [(day, low, high) for day, low, high in read if low is not None and high is not None]
    if not full:
        return []
    found: list[tuple[Day | None, Day | None]] = []
    before: Day | None = None
    for one in [*(day for day in full if is_so(day[1], day[2])), None]:
        begins, ends = before[0] if before else full[0][0], one[0] if one else full[-1][0]
        if (ends - begins).days > least and (before or one):
            found.append((before, one))
        before = one
    return found


def _one_winter_each(stretches: Sequence[tuple[Day | None, Day | None]]) -> list[tuple[Day | None, Day | None]]:
    """Stretches joined where no more than a mild spell lies between them."""
    joined: list[tuple[Day | None, Day | None]] = []
    for before, after in stretches:
        last = joined[-1][1] if joined else None
        if last and before and (before[0] - last[0]).days <= MILD_SPELL:
            joined[-1] = joined[-1][0], after
        else:
            joined.append((before, after))
    return joined


def _edges(stretches: Sequence[tuple[Day | None, Day | None]], opens: str, closes: str) -> Iterator[Edge]:
    for before, after in stretches:
        if before:
            yield opens, *before
        if after:
            yield closes, *after
