"""What the ledger knows of the season and of freezers besides what was written: from the keeper's own tables, by the estimates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from zoneinfo import ZoneInfo

from scheduler.application.series import log_of, table_of
from scheduler.estimates.cold_record import AirRecord, of_logs, with_readings
from scheduler.estimates.marks import Mark, of_scale, of_weather
from scheduler.facts.happenings import Reading, SeriesRecorded, SettingChanged
from scheduler.facts.season import NEAR
from scheduler.quantities import parse
from scheduler.rules.load import Rules

FLIGHT = 12.0  # °C, lowest flight temperature, 10 to 13 in print; common practice; the rules' own parameter overrules it

SURFACE = "surface coefficient of "  # the setting's name, before that of the freezer


def marks_of(series: Sequence[SeriesRecorded], flight: float) -> list[Mark]:
    """The marks in the newest table of each instrument."""
    newest = {(one.what, one.of): one for one in series if one.what != "freezer"}
    marks: list[Mark] = []
    for one in newest.values():
        table = table_of(one)
        if len(table.rows) > 1:
            marks += of_scale(table) if one.what == "scale" else of_weather(table, flight)
    return marks


def unseen(marks: Sequence[Mark], observed: Mapping[str, Sequence[date]]) -> list[Mark]:
    """The marks that nobody saw with his own eyes: an observation within two months of one takes its place."""
    return [mark for mark in marks if all(abs(day - mark.day) > NEAR for day in observed.get(mark.name, ()))]


def flight_temperature(rules: Rules) -> float:
    """The least temperature bees fly at [°C], as the rules have it."""
    values = (one["flight temperature"].value for one in rules.parameters.values() if "flight temperature" in one)
    return next((float(value) for value in values if isinstance(value, int | float)), FLIGHT)


def air_of(freezers: Sequence[str], series: Sequence[SeriesRecorded], readings: Sequence[Reading], zone: ZoneInfo) -> dict[str, AirRecord]:
    """The recorded air of each freezer that has a log or a reading."""
    found = {}
    for name in freezers:
        logs = [log_of(one, zone) for one in series if one.what == "freezer" and one.of == name]
        read = [(one.occurred_at, one.value) for one in readings if one.of == name and one.what == "freezer temperature"]
        if logs or read:
            found[name] = with_readings(of_logs(logs), read)
    return found


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
