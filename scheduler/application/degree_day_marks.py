"""Marks of the season by degree days: what was reached, what is expected this year, and what is usual, each with what it rests on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import NamedTuple

from scheduler.estimates.degree_days import Counting, Extremes, Normal, of_degree_days, usual
from scheduler.estimates.season_marks import Mark
from scheduler.facts.days import DayOfYear
from scheduler.facts.season import MARKS, Season
from scheduler.facts.yard import Yard
from scheduler.quantities import Statement, say


class DegreeDayMarks(NamedTuple):
    """Marks that were reached, marks that are expected this year, and the usual day of those with no normal, with what each rests on."""

    firm: tuple[Mark, ...] = ()
    expected: tuple[Mark, ...] = ()
    usual: tuple[tuple[str, DayOfYear, Statement], ...] = ()

    def evidence(self, season: Season) -> Iterator[tuple[str, Statement]]:
        """What marks that are not reached yet rest on: (mark, what is to be told)."""
        expected = {mark.name: mark for mark in self.expected}
        for name, mark in expected.items():
            if season.mark(name, mark.day) == (mark.day, False):  # nobody saw it meanwhile
                yield name, mark.dated
        for name, _, says in self.usual:
            if name not in expected:
                yield name, says

    def season(self, season: Season) -> Season:
        """A season with what is expected, and with normals where the yard file has none. What was reached counts as seen, and is added by the caller."""
        return season.with_usual({name: day for name, day, _ in self.usual}).with_expected({mark.name: [mark.day] for mark in self.expected})


def counting_of(yard: Yard) -> Counting | None:
    """How the yard file counts degree days; None where it counts none."""
    written = yard.degree_days
    return Counting(written.method, written.base, written.upper, (written.begins.month, written.begins.day)) if written else None


def normal_of(yard: Yard) -> Normal:
    """The usual (lowest, highest) temperature [°C] of a day by the yard file."""

    def normal(day: date) -> tuple[float, float] | None:
        found = yard.day_normals(day)
        return (found[1], found[0]) if found else None

    return normal


def degree_day_marks(yard: Yard, measured: Mapping[date, Extremes], today: date) -> DegreeDayMarks:
    """The marks of the yard's degree days as on a day, from the (lowest, highest) temperature [°C] of the days `measured`; none where it counts none."""
    written, counting, normal = yard.degree_days, counting_of(yard), normal_of(yard)
    if written is None or counting is None:
        return DegreeDayMarks()
    unwritten = [name for name in MARKS if yard.season.usual(name) is None]
    firm, expected = of_degree_days(measured, counting, written.marks.by_mark, normal, today)
    found = [(name, usual(counting, threshold, normal)) for name, threshold in written.marks.by_mark.items() if name in unwritten]
    days = [(name, DayOfYear(one.day.month, one.day.day)) for name, one in found if one]
    usually = tuple((name, day, say("usual by degree days", usual=str(day), counting=counting.says)) for name, day in days)
    return DegreeDayMarks(tuple(firm), tuple(expected), usually)
