"""One truth, written in every form that loggers, scales, weather stations and spreadsheets export. All readings are invented."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from scheduler.instruments.columns import LOGS, Kind
from scheduler.instruments.numbers import Unit
from scheduler.instruments.reader import AsTold

YARD = ZoneInfo("Europe/Ljubljana")
Rows = list[tuple[int, tuple[float, ...]]]  # moment (UTC midnight of the day, where there is no clock), values in the unit written
UNITS: dict[Kind, Unit] = {"freezer": "C", "store": "C", "scale": "kg", "weather": "C"}
NAMES: dict[Kind, tuple[str, ...]] = {
    "freezer": ("Temperature",),
    "store": ("Temperature",),
    "scale": ("Weight",),
    "weather": ("Tmin", "Tmax"),
}
SIGN = {"C": "°C", "F": "°F", "kg": "kg", "lb": "lb", "g": "g"}
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


def iso(at: datetime) -> str:
    return f"{at:%Y-%m-%d}"


DATES: dict[str, Callable[[datetime], str]] = {
    "iso": iso,
    "slashed": lambda at: f"{at:%Y/%m/%d}",
    "compact": lambda at: f"{at:%Y%m%d}",
    "dotted": lambda at: f"{at.day}.{at.month}.{at.year}",
    "us": lambda at: f"{at.month}/{at.day}/{at.year}",
    "day first": lambda at: f"{at:%d/%m/%Y}",
    "dashed": lambda at: f"{at:%d-%m-%Y}",
    "short us": lambda at: f"{at:%m/%d/%y}",
    "named": lambda at: f"{at.day} {MONTHS[at.month - 1]} {at.year}",
    "named us": lambda at: f"{MONTHS[at.month - 1]} {at.day}, {at.year}",
}
CLOCKS: dict[str, Callable[[datetime], str]] = {
    "minutes": lambda at: f"{at:%H:%M}",
    "seconds": lambda at: f"{at:%H:%M:%S}",
    "parts": lambda at: f"{at:%H:%M:%S}.000",
    "half": lambda at: f"{at.hour % 12 or 12}:{at:%M} {'AM' if at.hour < 12 else 'PM'}",
    "half dotted": lambda at: f"{at.hour % 12 or 12}:{at:%M:%S} {'a.m.' if at.hour < 12 else 'p.m.'}",
}


@dataclass(frozen=True)
class Form:
    """How a file is written. `zone`: "local", "Z", "offset", "name" (UTC in the column's name), "epoch", "epoch ms", "winter" (told)."""

    delimiter: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    newline: str = "\n"
    date: str = "iso"
    clock: str = "minutes"
    join: str = " "
    apart: bool = False
    zone: str = "local"
    unit: Unit | None = None
    unit_at: str = "name"  # name, brackets, row, column, cells, before, told
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    sep: bool = False
    order: str = "rising"  # rising, falling, shuffled
    twice: bool = False
    quoted: bool = False
    trailing: bool = False
    empty: str | None = None
    minus: str = "-"
    beside: bool = False  # other columns: a number, a humidity, a battery
    told: AsTold = field(default_factory=AsTold)


def truth(kind: Kind, count: int = 60, first: datetime | None = None) -> Rows:
    """Rows of a kind: every ten minutes of a log, every day of the others, from the 13th so that no date reads two ways."""
    begins = first or datetime(2026, 7, 13, 4, 0, tzinfo=UTC)
    if kind in LOGS:
        air = -18 if kind == "freezer" else 12
        return [(int((begins + timedelta(minutes=10 * row)).timestamp()), (air + (row % 7) / 10,)) for row in range(count)]
    midnight = int(begins.replace(hour=0, minute=0).timestamp())
    values = (lambda row: (40 + row * 0.7,)) if kind == "scale" else (lambda row: (8 + row % 5 + 0.3, 19 + row % 7 + 0.1))
    return [(midnight + 86400 * row, tuple(round(one, 1) for one in values(row))) for row in range(min(count, 30))]


def text(kind: Kind, rows: Rows, form: Form) -> str:
    """The file of some rows in a form."""
    unit = form.unit or UNITS[kind]
    form = replace(form, apart=form.apart and kind in LOGS and not form.zone.startswith("epoch"))
    rows = sorted(rows)
    if form.order == "falling":
        rows = rows[::-1]
    if form.order == "shuffled":
        random.Random(1).shuffle(rows)
    if form.twice:
        rows = [*rows[:10], *rows[min(9, len(rows) - 1) :]]
    out = io.StringIO()
    writer = csv.writer(out, delimiter=form.delimiter, lineterminator=form.newline, quoting=csv.QUOTE_ALL if form.quoted else csv.QUOTE_MINIMAL)
    lines = [f"sep={form.delimiter}"] if form.sep else []
    lines += form.before
    if form.unit_at == "before":
        lines.append(f"Unit: {SIGN[unit]}")
    out.write("".join(line + form.newline for line in lines))
    daily = kind not in LOGS
    stamp = "Timestamp (UTC)" if form.zone == "name" else "Timestamp" if form.zone.startswith("epoch") else "Date" if daily else "Date Time"
    ends = {"name": f" {SIGN[unit]}", "brackets": f" [{SIGN[unit]}]"}.get(form.unit_at, "")
    names = [
        *(["No."] if form.beside else []),
        *(["Date", "Time (UTC)" if form.zone == "name" else "Time"] if form.apart else [stamp]),
        *(name + ends for name in NAMES[kind]),
    ]
    names += (["Humidity %RH", "Battery"] if form.beside else []) + (["Unit"] if form.unit_at == "column" else [])
    writer.writerow([*names, *([""] if form.trailing else [])])
    if form.unit_at == "row":
        writer.writerow([SIGN[unit] if name in NAMES[kind] else "" for name in names])
    for number, (at, values) in enumerate(rows, 1):
        when = [stamp_of(at, form)] if not form.apart else [part_of(at, form, DATES[form.date]), part_of(at, form, CLOCKS[form.clock]) + suffix_of(at, form)]
        if daily and not form.zone.startswith("epoch"):
            when = [DATES[form.date](datetime.fromtimestamp(at, UTC))]
        cells = [number_of(value, form) + (f" {SIGN[unit]}" if form.unit_at == "cells" else "") for value in values]
        row = [*([str(number)] if form.beside else []), *when, *cells, *(["61", "3" + form.decimal + "6"] if form.beside else [])]
        row += ([SIGN[unit]] if form.unit_at == "column" else []) + ([""] if form.trailing else [])
        writer.writerow(row)
        if form.empty is not None and number == 5:
            later = at + (300 if not daily else 0)
            if not daily:
                writer.writerow([form.empty if cell in cells else stamp_of(later, form) if cell == when[0] else cell for cell in row])
    out.write("".join(line + form.newline for line in form.after))
    return out.getvalue()


def number_of(value: float, form: Form) -> str:
    return f"{value:.1f}".replace("-", form.minus).replace(".", form.decimal)


def local_of(at: int, form: Form) -> datetime:
    zone = {"name": UTC, "Z": UTC, "offset": YARD}.get(form.zone, YARD)
    if form.zone == "winter":
        return datetime.fromtimestamp(at, UTC) + timedelta(hours=1)
    return datetime.fromtimestamp(at, zone)


def part_of(at: int, form: Form, part: Callable[[datetime], str]) -> str:
    return part(local_of(at, form))


def stamp_of(at: int, form: Form) -> str:
    if form.zone.startswith("epoch"):
        return str(at * (1000 if form.zone.endswith("ms") else 1))
    local = local_of(at, form)
    return DATES[form.date](local) + form.join + CLOCKS[form.clock](local) + suffix_of(at, form)


def suffix_of(at: int, form: Form) -> str:
    return {"Z": "Z", "offset": local_of(at, form).isoformat()[-6:]}.get(form.zone, "")


def content(kind: Kind, rows: Rows, form: Form) -> bytes:
    """The bytes of the file."""
    return text(kind, rows, form).encode(form.encoding)


def told_of(kind: Kind, form: Form) -> AsTold:
    """What a keeper has to say of it."""
    told = form.told if form.unit_at != "told" else form.told._replace(unit=form.unit or UNITS[kind])
    return told._replace(zone="+01:00") if form.zone == "winter" else told


PLAIN = Form()
GERMAN = Form(delimiter=";", decimal=",", date="dotted", unit_at="brackets")
FORMS: dict[str, Form] = {
    "plain": PLAIN,
    "ISO with T": replace(PLAIN, join="T"),
    "ISO with seconds": replace(PLAIN, clock="seconds"),
    "ISO with parts of seconds": replace(PLAIN, clock="parts", join="T", zone="Z"),
    "UTC stamps": replace(PLAIN, zone="Z"),
    "offsets": replace(PLAIN, zone="offset"),
    "UTC in the name": replace(PLAIN, zone="name"),
    "epoch seconds": replace(PLAIN, zone="epoch"),
    "epoch milliseconds": replace(PLAIN, zone="epoch ms"),
    "winter time, told": replace(PLAIN, zone="winter"),
    "slashed year first": replace(PLAIN, date="slashed"),
    "compact date": replace(PLAIN, date="compact"),
    "US dates": replace(PLAIN, date="us"),
    "US dates, 12 hours": replace(PLAIN, date="us", clock="half"),
    "US dates, 12 hours with dots": replace(PLAIN, date="us", clock="half dotted"),
    "US dates, Fahrenheit or pounds": replace(PLAIN, date="us", unit="F"),
    "short US dates": replace(PLAIN, date="short us", told=AsTold(order="month first")),
    "day first": replace(PLAIN, date="day first"),
    "day first with dashes": replace(PLAIN, date="dashed"),
    "dotted": GERMAN,
    "months by name": replace(PLAIN, date="named"),
    "months by name, US": replace(PLAIN, date="named us", quoted=True),
    "date and time apart": replace(PLAIN, apart=True),
    "date and time apart, 12 hours": replace(PLAIN, apart=True, date="us", clock="half"),
    "semicolons, decimal commas": replace(PLAIN, delimiter=";", decimal=","),
    "semicolons, decimal points": replace(PLAIN, delimiter=";"),
    "tabs": replace(PLAIN, delimiter="\t"),
    "tabs, decimal commas": replace(PLAIN, delimiter="\t", decimal=","),
    "bars": replace(PLAIN, delimiter="|"),
    "commas, quoted decimal commas": replace(PLAIN, decimal=",", quoted=True),
    "sep line": replace(GERMAN, sep=True),
    "quotes": replace(PLAIN, quoted=True),
    "trailing delimiter": replace(PLAIN, trailing=True),
    "BOM": replace(PLAIN, encoding="utf-8-sig"),
    "UTF-16": replace(PLAIN, encoding="utf-16"),
    "UTF-16 without a mark": replace(PLAIN, encoding="utf-16-le"),
    "Latin-1": replace(GERMAN, encoding="latin-1"),
    "Windows line ends": replace(PLAIN, newline="\r\n"),
    "old line ends": replace(PLAIN, newline="\r"),
    "preamble": replace(PLAIN, before=("Logger: 1234", "Started:,2026-07-13", "", "Site,Bench")),
    "trailer": replace(PLAIN, after=("", "End of data")),
    "mean below": replace(PLAIN, after=("Average,-17.7",)),
    "unit in brackets": replace(PLAIN, unit_at="brackets"),
    "unit in a row": replace(PLAIN, unit_at="row"),
    "unit in a column": replace(PLAIN, unit_at="column"),
    "unit in the cells": replace(PLAIN, unit_at="cells"),
    "unit before": replace(PLAIN, unit_at="before"),
    "unit told": replace(PLAIN, unit_at="told"),
    "newest first": replace(PLAIN, order="falling"),
    "newest first, US": replace(PLAIN, order="falling", date="us", clock="half"),
    "shuffled": replace(PLAIN, order="shuffled"),
    "a row twice": replace(PLAIN, twice=True),
    "empty cells": replace(PLAIN, empty=""),
    "dashes": replace(PLAIN, empty="--"),
    "error words": replace(PLAIN, empty="Err"),
    "minus sign as printed": replace(PLAIN, minus="−"),
    "columns beside": replace(PLAIN, beside=True),
    "columns beside, German": replace(GERMAN, beside=True, before=("Messung;Bench",)),
}


def forms_of(kind: Kind) -> Sequence[str]:
    """The forms that make sense of a kind: tables by the day have no clock."""
    clockless = {"mean below"} if kind not in LOGS else set()
    by_the_clock = {"epoch seconds", "epoch milliseconds", "date and time apart", "date and time apart, 12 hours"} if kind not in LOGS else set()
    return [name for name in FORMS if name not in clockless | by_the_clock]
