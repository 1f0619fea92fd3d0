"""What the ledger knows of season and freezers beyond the yard file: from the keeper's own tables and degree days."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from scheduler.application.observe import log_of, table_of
from scheduler.estimates.degree_days import Counting, measured_days, of_degree_days, usual
from scheduler.estimates.freezer_air import AirRecord, of_logs, with_readings
from scheduler.estimates.season_marks import Mark, of_scale, of_weather
from scheduler.facts.days import DayOfYear
from scheduler.facts.fact import Reading, SeriesRecorded, SettingChanged
from scheduler.facts.season import MARKS, NEAR, Season
from scheduler.facts.yard import Yard
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


@dataclass(frozen=True, slots=True)
class DegreeDayMarks:
    """Marks that were reached, marks that are expected this year, and the usual day of those with no normal, with what each rests on."""

    firm: tuple[Mark, ...] = ()
    expected: tuple[Mark, ...] = ()
    usual: tuple[tuple[str, DayOfYear, str], ...] = ()

    def words(self, season: Season) -> Iterator[tuple[str, str]]:
        """What marks that are not reached yet rest on: (mark, words)."""
        expected = {mark.name: mark for mark in self.expected}
        for name, mark in expected.items():
            if season.mark(name, mark.day) == (mark.day, False):  # nobody saw it meanwhile
                yield name, f"{mark.day} {mark.words}"
        for name, _, words in self.usual:
            if name not in expected:
                yield name, words

    def season(self, season: Season) -> Season:
        """A season with what is expected, and with normals where the yard file has none. What was reached counts as seen, and is added by the caller."""
        return season.with_expected({mark.name: [mark.day] for mark in self.expected}, {name: day for name, day, _ in self.usual})


def counted(yard: Yard, series: Sequence[SeriesRecorded], today: date) -> DegreeDayMarks:
    """The marks of the yard's degree days as on a day; of several weather tables the one recorded last counts."""
    written = yard.degree_days
    if written is None:
        return DegreeDayMarks()
    counting = Counting(written.method, written.base, written.upper, (written.begins.month, written.begins.day))

    def normal(day: date) -> tuple[float, float] | None:
        found = yard.day_normals(day)
        return (found[1], found[0]) if found else None

    newest = next((one for one in reversed(series) if one.what == "weather"), None)
    measured = measured_days(table_of(newest), today) if newest else {}
    unwritten = [name for name in MARKS if getattr(yard.season, name.replace(" ", "_")) is None]
    firm, expected = of_degree_days(measured, counting, written.marks.by_mark, normal, today, yard.units)
    found = [(name, usual(counting, threshold, normal)) for name, threshold in written.marks.by_mark.items() if name in unwritten]
    words = f"by degree days over the normals of the yard file; {counting.words(yard.units)}"
    days = [(name, DayOfYear(one.day.month, one.day.day)) for name, one in found if one]
    return DegreeDayMarks(tuple(firm), tuple(expected), tuple((name, day, f"usually {day}, {words}") for name, day in days))
