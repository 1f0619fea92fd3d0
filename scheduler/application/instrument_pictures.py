"""What instruments recorded, as pictures: a freezer's air with the core of what lay in it, each hold and its kill; a year of hive scale or weather."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

from scheduler.application.ledger_view import LedgerView
from scheduler.application.measured_account import SHOWN_IN
from scheduler.application.own_freezer import Lain, loads_in
from scheduler.application.season_evidence import merged
from scheduler.application.seen_season import SeenSeason
from scheduler.diagnostics import Fault
from scheduler.estimates import comb
from scheduler.estimates.freeze import LETHAL
from scheduler.estimates.freezer_air import STEP
from scheduler.estimates.recorded_freeze import reached, temperatures
from scheduler.local_time import DAY
from scheduler.local_time import day as day_text
from scheduler.outputs.pictures.series import Chart, svg
from scheduler.outputs.wording.sentence import Reader, in_words, words_of
from scheduler.quantities import celsius, convert, instant, say

YEAR = timedelta(365)
BEFORE = DAY // 2  # so much of the record before the first load is shown [s]; without a load so much of its end, fourteen times


def freezer_picture(view: LedgerView, name: str) -> bytes:
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

    mildest = LETHAL[0][0]
    over = [in_words(say("kill over", at=instant(at)), reader) if at is not None else in_words(say("kill not over"), reader) for at in kills]
    return svg(
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
    )


def season_picture(seen: SeenSeason, units: str) -> bytes:
    """The last year of the hive scale, or where there is none of the weather, with the marks that it shows. Raises `Fault` where neither is recorded."""
    series = [one for one in seen.series if one.what == "scale"] or [one for one in seen.series if one.what == "weather"]
    if not series:
        raise Fault("no table of a hive scale or of the weather is recorded", "afterpull observe series scale --file SCALE.csv")
    newest = [one for one in series if one.of == series[-1].of]
    kind, table = newest[-1].what, merged(newest, seen.zone)
    dimension = "mass" if kind == "scale" else "temperature"
    unit, reader = SHOWN_IN[dimension, units], Reader(units, UTC)
    rows = [row for row in table.rows if row.day > table.rows[-1].day - YEAR]

    def noon(day: date) -> int:
        return int(datetime.combine(day, time(12), UTC).timestamp())

    lines = [
        tuple((noon(row.day), convert(value, dimension, unit)) for row in rows if (value := row.cells[column]) is not None)
        for column in range(len(rows[0].cells))
    ]
    known = dict(lines[0])
    marks = [mark for mark in seen.measured if noon(mark.day) in known]
    words = (in_words(say("lowest"), reader), in_words(say("highest"), reader)) if len(lines) == 2 else ()
    told = "; ".join(f"{mark.name} {day_text(mark.day, mark.day.year)}" for mark in marks) or in_words(say("no mark in it"), reader)
    points = tuple((noon(mark.day), known[noon(mark.day)], mark.name) for mark in marks)
    return svg(Chart(newest[-1].of or kind, told, unit, tuple(line for line in lines if line), line_words=words, points=points), UTC)


def _core(view: LedgerView, name: str, one: Lain) -> list[tuple[int, float]]:
    """The slowest point of a load in the recorded air, by the slow end of what is published, step by step [s since 1970, °C]."""
    load = one.cooling.load
    core = [load.start, *temperatures(load.body(_slow(view, name)), load.start, one.air.cells, one.cooling.core)]
    return [(one.begun + STEP * number, value) for number, value in enumerate(core)]


def _kill(view: LedgerView, name: str, one: Lain) -> int | None:
    """When its published exposure was over within the record [s since 1970]; None where it was not."""
    load, rest = one.cooling.load, view.yard.equipment[name].temperature or 0.0
    found = reached(load.body(_slow(view, name)), load.start, one.air.cells, rest, one.cooling.core)
    return one.begun + round(found.seconds) if found.seconds <= len(one.air.cells) * STEP else None


def _slow(view: LedgerView, name: str) -> comb.Properties:
    equipment = view.yard.equipment[name]
    return comb.spread(equipment.air, equipment.surface_coefficient)[0]
