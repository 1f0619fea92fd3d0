"""What the degree days of the yard file say of the season: marks reached in the newest weather table, expected this year, and usual."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from scheduler.application.series import table_of
from scheduler.estimates.accumulation import Counting, measured_days, of_degree_days, usual
from scheduler.estimates.marks import Mark
from scheduler.facts.days import DayOfYear
from scheduler.facts.happenings import SeriesRecorded
from scheduler.facts.season import MARKS, Season
from scheduler.facts.yard import Yard


@dataclass(frozen=True, slots=True)
class Counted:
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


def counted(yard: Yard, series: Sequence[SeriesRecorded], today: date) -> Counted:
    """The marks of the yard's degree days as on a day; of several weather tables the one recorded last counts."""
    written = yard.degree_days
    if written is None:
        return Counted()
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
    return Counted(tuple(firm), tuple(expected), tuple((name, day, f"usually {day}, {words}") for name, day in days))
