"""What the ledger knows of season and freezers beyond the yard file: from the keeper's own tables, readings and settings."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduler.estimates.freezer_air import AirRecord, corrected, of_logs, with_readings
from scheduler.estimates.season_marks import SAME_FLOW, Mark, Thresholds, of_scale, of_weather, thresholds_of
from scheduler.estimates.tables import Table, daily_temperatures, hive_scale
from scheduler.estimates.temperature_log import TemperatureLog, temperature_log
from scheduler.estimates.usual_weather import usual_day, whole_years
from scheduler.facts.days import DayOfYear
from scheduler.facts.fact import TABLES, Reading, SeriesKind, SeriesRecorded, SettingChanged
from scheduler.facts.season import DEARTH_BEGINS, DEARTH_ENDS, FROSTS, MAIN_FLOW, NEAR, WARM_DAYS
from scheduler.instruments.reader import AsTold
from scheduler.local_time import DAY
from scheduler.quantities import Statement, parse, say
from scheduler.rules.rule_set import Rules

STORE_KNOWN = 30 * DAY  # s that a log of the store speaks for what is to come; assumed
ROWS_A_DAY = 4  # of a log, for the mean of a day; assumed
SURFACE = "surface coefficient of "  # the setting's name, before that of the freezer


def told_of(fact: SeriesRecorded) -> AsTold:
    """What was told, or settled, of how a table is read."""
    columns = fact.columns or ((fact.column,) if fact.column else ())
    return AsTold(columns, fact.times or (), fact.unit, fact.zone, fact.dates, lenient=fact.zone is None)


def log_of(fact: SeriesRecorded, zone: ZoneInfo) -> TemperatureLog:
    """The log of a freezer or of the store in a fact."""
    return _log(fact.text, zone, told_of(fact), fact.what)


def table_of(fact: SeriesRecorded, zone: ZoneInfo) -> Table:
    """The daily table in a fact: (mass,) of a scale, (lowest, highest) of the weather; `zone` is the yard's."""
    return _table(fact.what, fact.text, zone, told_of(fact))


@lru_cache(maxsize=64)
def _log(text: str, zone: ZoneInfo, told: AsTold, kind: SeriesKind) -> TemperatureLog:
    return temperature_log(text, zone, told, kind=kind)


@lru_cache(maxsize=16)
def _table(what: str, text: str, zone: ZoneInfo, told: AsTold) -> Table:
    return hive_scale(text, told, yard=zone) if what == "scale" else daily_temperatures(text, told, yard=zone)


def merged(series: Sequence[SeriesRecorded], zone: ZoneInfo) -> Table:
    """The tables of one instrument as one, in the order they were taken over: where two have a row of one day the newer file's counts."""
    tables = [table_of(one, zone) for one in series]
    rows = {row.day: row for table in tables for row in table.rows}
    return replace(tables[-1], rows=tuple(rows[day] for day in sorted(rows)))


class SeasonNumbers(NamedTuple):
    """The numbers of the trade by which marks of the season are found: the least temperature bees fly at [°C], and those of a hive scale."""

    flight: float
    scale: Thresholds


def season_numbers(rules: Rules) -> SeasonNumbers:
    """As the rules have them."""
    return SeasonNumbers(float(rules.trade["flight_temperature"]), thresholds_of(rules.trade))


def marks_of(series: Sequence[SeriesRecorded], by: SeasonNumbers, zone: ZoneInfo) -> list[Mark]:
    """The marks in the tables of each instrument."""
    instruments: dict[tuple[str, str], list[SeriesRecorded]] = {}
    for one in series:
        if one.what in TABLES:
            instruments.setdefault((one.what, one.of), []).append(one)
    tables = {one: merged(facts, zone) for one, facts in instruments.items()}
    long = {one: table for one, table in tables.items() if len(table.rows) > 1}
    scales = {one: of_scale(table, MAIN_FLOW, (DEARTH_BEGINS, DEARTH_ENDS), by.scale) for one, table in long.items() if one[0] == "scale"}
    weather = (of_weather(table, by.flight, FROSTS, WARM_DAYS) for one, table in long.items() if one[0] == "weather")
    agreed = (_agreed(marks, [(tables[other], scales[other]) for other in scales if other != one]) for one, marks in scales.items())
    return [mark for marks in (*agreed, *weather) for mark in marks]


def _agreed(marks: Sequence[Mark], others: Sequence[tuple[Table, Sequence[Mark]]]) -> list[Mark]:
    """The marks of one scale without a flow in a dearth that another scale, which was read then, does not show: bees are taken to rob."""
    found: list[Mark] = []
    dropped = False
    for mark in sorted(marks, key=lambda one: one.day):
        if mark.name == DEARTH_ENDS:
            then = [shown for table, shown in others if table.rows[0].day <= mark.day <= table.rows[-1].day]
            dropped = any(not any(one.name == DEARTH_ENDS and abs(one.day - mark.day) <= timedelta(SAME_FLOW) for one in shown) for shown in then)
        if not (dropped and mark.name in (DEARTH_BEGINS, DEARTH_ENDS)):
            found.append(mark)
        if mark.name == DEARTH_BEGINS:
            dropped = False
    return found


def usual_marks(table: Table, flight: float) -> Iterator[tuple[str, DayOfYear | None, Statement]]:
    """Each mark that the weather of a table shows, its usual day, and what that rests on; None where a whole year shows that it does not come."""
    marks = of_weather(table, flight, FROSTS, WARM_DAYS)
    absent = {
        FROSTS: say("no frost in a year", until=table.rows[-1].day),
        WARM_DAYS: say("flies all winter", until=table.rows[-1].day),
    }
    for names, says in absent.items():
        for name in names:
            if days := [mark.day for mark in marks if mark.name == name]:
                middle = usual_day(days)
                usual = DayOfYear(middle.month, middle.day)
                yield name, usual, say("usual by own table", usual=str(usual), years=len(days))
            elif whole_years(table) and not any(mark.name in names for mark in marks):
                yield name, None, says


def unseen(marks: Sequence[Mark], observed: Mapping[str, Sequence[date]]) -> list[Mark]:
    """The marks that nobody saw with his own eyes: an observation within two months of one takes its place.

    A dearth that begins again after a flow is another one than that which was seen to begin before it, and so with its end.
    """

    def told(name: str) -> set[date]:
        return {*observed.get(name, ()), *(mark.day for mark in marks if mark.name == name)}

    other_edge = {DEARTH_BEGINS: told(DEARTH_ENDS), DEARTH_ENDS: told(DEARTH_BEGINS)}

    def is_seen(mark: Mark, day: date) -> bool:
        first, last = sorted((day, mark.day))
        return last - first <= NEAR and not any(first < other < last for other in other_edge.get(mark.name, ()))

    return [mark for mark in marks if not any(is_seen(mark, day) for day in observed.get(mark.name, ()))]


def store_temperature(series: Sequence[SeriesRecorded], zone: ZoneInfo, now: int) -> tuple[int, float] | None:
    """When the store was last logged [s since 1970], and the mean of its warmest day in the month before that [°C]: moth grows by its warm days.

    None where nothing was logged within `STORE_KNOWN`, or no day has enough rows.
    """
    rows = dict(row for one in series if one.what == "store" for row in log_of(one, zone).rows)
    last = max((at for at in rows if at <= now), default=None)
    if last is None or last < now - STORE_KNOWN:
        return None
    days: dict[date, list[float]] = {}
    for at, value in rows.items():
        if last - STORE_KNOWN < at <= last:
            days.setdefault(datetime.fromtimestamp(at, zone).date(), []).append(value)
    means = [sum(values) / len(values) for values in days.values() if len(values) >= ROWS_A_DAY]
    return (last, max(means)) if means else None


def air_of(freezers: Sequence[str], series: Sequence[SeriesRecorded], readings: Sequence[Reading], zone: ZoneInfo) -> dict[str, AirRecord]:
    """The recorded air of each freezer that has a log or a reading."""
    found = {}
    for name in freezers:
        facts = [one for one in series if one.what == "freezer" and one.of == name]
        logs = [log_of(one, zone) for one in facts]
        read = [(one.occurred_at, one.value) for one in readings if one.of == name and one.what == "freezer temperature"]
        if logs or read:
            files = tuple((log.rows[0][0], log.rows[-1][0], _file(one)) for log, one in zip(logs, facts, strict=True))
            record = with_readings(of_logs(logs)._replace(files=files), read)
            shown = [one.value for one in readings if one.of == name and one.what == "ice point"]
            found[name] = corrected(record, min(shown)) if shown else record
    return found


def _file(fact: SeriesRecorded) -> Statement:
    """What a file is called in a proof: its name and the beginning of its digest."""
    name = re.split(r"[/\\]", fact.path)[-1]
    return say("file of a log", name=name, digest=fact.digest[:12]) if fact.digest else say("file without digest", name=name)


def agreed_surfaces(settings: Sequence[SettingChanged]) -> dict[str, dict[str, float]]:
    """The surface coefficient of each freezer [W/m²K] that the keeper agreed to plan with."""
    changed = {one.name.removeprefix(SURFACE): one.value for one in settings if one.name.startswith(SURFACE)}
    return {name: {"surface_coefficient": parse(value, "surface coefficient")} for name, value in changed.items()}


def core_of(readings: Sequence[Reading]) -> dict[str, list[tuple[int, float]]]:
    """What the core of each lot was read at."""
    found: dict[str, list[tuple[int, float]]] = {}
    for one in readings:
        if one.what == "core temperature":
            found.setdefault(one.of, []).append((one.occurred_at, one.value))
    return found
