"""The usual days of a place's marks by its own weather tables, as normals for those that the yard file does not give."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.estimates.season_marks import of_weather
from scheduler.estimates.tables import Table
from scheduler.estimates.usual_weather import usual_day, whole_years
from scheduler.facts.days import DayOfYear
from scheduler.facts.season import FROSTS, WARM_DAYS
from scheduler.quantities import Statement, say


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
