"""What instruments recorded, as pictures with a table each: a freezer's air with the core of what lay in it; a year of hive scale, weather, degree days."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, time, timedelta

from scheduler.application.degree_day_marks import counting_of, normal_of
from scheduler.application.ledger_view import LedgerView
from scheduler.application.measured_account import SHOWN_IN
from scheduler.application.own_freezer import Lain, loads_in
from scheduler.application.season_evidence import merged
from scheduler.application.seen_season import SeenSeason
from scheduler.diagnostics import Fault
from scheduler.estimates import comb
from scheduler.estimates.callable_estimates import freezers_of
from scheduler.estimates.degree_days import Running, measured_days, reached, running
from scheduler.estimates.freezer_air import STEP
from scheduler.estimates.recorded_freeze import reached as killed
from scheduler.estimates.recorded_freeze import temperatures
from scheduler.facts.season import DEARTH_BEGINS, DEARTH_ENDS, FROSTS, MAIN_FLOW, WARM_DAYS
from scheduler.local_time import DAY
from scheduler.local_time import day as day_text
from scheduler.outputs.pictures.series import Chart, Drawing, Points
from scheduler.outputs.wording.sentence import Reader, in_words, words_of
from scheduler.quantities import celsius, convert, instant, say

YEAR = timedelta(365)
AHEAD = timedelta(21)  # degree days are shown for so long after today and the last mark
BEFORE = DAY // 2  # so much of the record before the first load is shown [s]; without a load so much of its end, fourteen times


def freezer_shown(view: LedgerView, name: str) -> Drawing:
    """The air as recorded (thin), the core of each load by its slow end (thick), its hold, and when the kill was over. Raises `Fault` without a record."""
    record, reader = view.air.get(name), Reader(view.yard.units, view.zone)
    if record is None or not record.rows:
        raise Fault(f"nothing is recorded of the {name}", "afterpull observe series freezer --file LOG.csv")
    unit, loads = SHOWN_IN["temperature", view.yard.units], list(loads_in(view, name))
    first = min((one.begun - BEFORE for one in loads), default=record.rows[-1][0] - 28 * BEFORE)
    cores = [_core(view, name, one) for one in loads]
    kills = [_kill(view, name, one) for one in loads]

    def shown(line: list[tuple[int, float]]) -> tuple[tuple[int, float], ...]:
        return tuple((at, convert(value, "temperature", unit)) for at, value in line)

    mildest = freezers_of(view.rules.trade).mildest
    over = [in_words(say("kill over", at=instant(at)), reader) if at is not None else in_words(say("kill not over"), reader) for at in kills]
    days: dict[date, list[float]] = {}
    for at, value in shown([row for row in record.rows if row[0] >= first]):
        days.setdefault(datetime.fromtimestamp(at, view.zone).date(), []).append(value)
    rows = tuple((day.isoformat(), f"{min(values):.1f}", f"{max(values):.1f}") for day, values in sorted(days.items()))
    columns = tuple(in_words(one, reader) for one in (say("day"), say("lowest"), say("highest")))
    return Drawing(
        Chart(
            name,
            "; ".join(f"{words_of(one.title)}: {words}" for one, words in zip(loads, over, strict=True)) or in_words(say("no load in the record"), reader),
            unit,
            (shown([row for row in record.rows if row[0] >= first]), *(shown(core) for core in cores)),
            limit=(convert(mildest, "temperature", unit), in_words(say("mildest that kills", mildest=celsius(mildest)), reader)),
            line_words=(in_words(say("air of the freezer"), reader), *(in_words(say("core of the load"), reader) for _ in cores)),
            thick=tuple(range(1, len(cores) + 1)),
            spans=tuple((one.begun, one.until, words_of(one.title)) for one in loads),
            points=tuple(
                (at, convert(next(value for moment, value in core if moment >= at), "temperature", unit), words)
                for at, core, words in zip(kills, cores, over, strict=True)
                if at is not None
            ),
        ),
        view.zone,
        columns,
        rows,
    )


def season_shown(seen: SeenSeason, units: str) -> list[Drawing]:
    """The last year of the hive scale and of the weather with the marks they show, and the degree days of the running year; what there is of them."""
    shown = [_year(seen, kind, units) for kind in ("scale", "weather") if any(one.what == kind for one in seen.series)]
    return shown + ([found] if (found := _degree_days(seen, units)) else [])


def _year(seen: SeenSeason, kind: str, units: str) -> Drawing:
    series = [one for one in seen.series if one.what == kind]
    newest = [one for one in series if one.of == series[-1].of]
    table, dimension = merged(newest, seen.zone), "mass" if kind == "scale" else "temperature"
    unit, reader = SHOWN_IN[dimension, units], Reader(units, UTC)
    rows = [row for row in table.rows if row.day > table.rows[-1].day - YEAR]
    lines = [
        tuple((_noon(row.day), convert(value, dimension, unit)) for row in rows if (value := row.cells[column]) is not None)
        for column in range(len(rows[0].cells))
    ]
    known = [dict(line) for line in lines]
    marks = [(mark.day, mark.name) for mark in seen.measured if _noon(mark.day) in known[0]]
    names = (*MAIN_FLOW, DEARTH_BEGINS, DEARTH_ENDS) if kind == "scale" else (*FROSTS, *WARM_DAYS)
    marks = [one for one in marks if one[1] in names]
    words = (in_words(say("lowest"), reader), in_words(say("highest"), reader)) if len(lines) == 2 else ()
    points = tuple((_noon(day), known[name in WARM_DAYS][_noon(day)], name) for day, name in marks)
    of = newest[-1].of if newest[-1].of != kind else ""
    title = in_words(say("year of a scale", of=of) if kind == "scale" else say("year of weather", of=of), reader).strip()
    chart = Chart(title, _told(marks, reader), unit, tuple(line for line in lines if line), line_words=words, points=points)
    return Drawing(chart, UTC, (in_words(say("week from"), reader), *(words or (unit,)), in_words(say("mark"), reader)), tuple(_weeks(lines, marks, words)))


def _degree_days(seen: SeenSeason, units: str) -> Drawing | None:
    """The running sum of the year: as measured, and beyond the table by the normals; with the marks that it gives. None where nothing is counted."""
    counting, written = counting_of(seen.yard), seen.yard.degree_days
    if counting is None or written is None or seen.weather is None:
        return None
    measured = measured_days(seen.weather, seen.today)
    sums = list(running(counting, counting.began(seen.today), measured, normal_of(seen.yard)))
    so_far = [one for one in sums if one.measured]
    if not so_far:
        return None
    unit, reader = SHOWN_IN["degree days", units], Reader(units, UTC)

    def shown(days: Sequence[Running]) -> tuple[tuple[int, float], ...]:
        return tuple((_noon(one.day), convert(one.total, "degree days", unit)) for one in days)

    marks = [(found.day, name) for name, total in written.marks.by_mark.items() if (found := reached(sums, total))]
    ends = max([seen.today, *(day for day, _ in marks)]) + AHEAD
    sums = [one for one in sums if one.day <= ends]
    beyond = [one for one in sums if one.day >= so_far[-1].day]
    known = dict(shown(sums))
    points = tuple((_noon(day), known[_noon(day)], name) for day, name in marks)
    lines, words = [shown(so_far)], [in_words(say("degree days measured"), reader)]
    if len(beyond) > 1:
        lines, words = [*lines, shown(beyond)], [*words, in_words(say("degree days by normals"), reader)]
    title, told = in_words(say("degree days of a year", counting=counting.says), reader), _told(marks, reader)
    chart = Chart(title, told, unit, tuple(lines), line_words=tuple(words), thick=(0,), points=points)
    columns = (in_words(say("week from"), reader), unit, in_words(say("mark"), reader))
    return Drawing(chart, UTC, columns, tuple(_weeks([shown(sums)], marks, ())))


def _told(marks: Sequence[tuple[date, str]], reader: Reader) -> str:
    return "; ".join(f"{name} {day_text(day, day.year)}" for day, name in marks) or in_words(say("no mark in it"), reader)


def _weeks(lines: Sequence[Points], marks: Sequence[tuple[date, str]], words: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """A row a week: its first day, its last value of one line, or the lowest of the first and the highest of the second of two; and the marks in it."""
    days = sorted({at for line in lines for at, _ in line})
    for first in range(days[0], days[-1] + 1, 7 * DAY):
        week = [[value for at, value in line if first <= at < first + 7 * DAY] for line in lines]
        begins = datetime.fromtimestamp(first, UTC).date()
        values = (min(week[0], default=None), max(week[1], default=None)) if words else (week[0][-1] if week[0] else None,)
        names = ", ".join(name for day, name in marks if begins <= day < begins + timedelta(7))
        yield begins.isoformat(), *("" if value is None else f"{value:.1f}" for value in values), names


def _noon(day: date) -> int:
    return int(datetime.combine(day, time(12), UTC).timestamp())


def _core(view: LedgerView, name: str, one: Lain) -> list[tuple[int, float]]:
    """The slowest point of a load in the recorded air, by the slow end of what is published, step by step [s since 1970, °C]."""
    load = one.cooling.load
    core = [load.start, *temperatures(load.body(_slow(view, name)), load.start, one.air.cells, one.cooling.core)]
    return [(one.begun + STEP * number, value) for number, value in enumerate(core)]


def _kill(view: LedgerView, name: str, one: Lain) -> int | None:
    """When its published exposure was over within the record [s since 1970]; None where it was not."""
    load, rest = one.cooling.load, view.yard.equipment[name].temperature or 0.0
    found = killed(load.body(_slow(view, name)), load.start, one.air.cells, rest, freezers_of(view.rules.trade), one.cooling.core)
    return one.begun + round(found.seconds) if found.seconds <= len(one.air.cells) * STEP else None


def _slow(view: LedgerView, name: str) -> comb.Properties:
    equipment = view.yard.equipment[name]
    return comb.spread(equipment.air, equipment.surface_coefficient)[0]
