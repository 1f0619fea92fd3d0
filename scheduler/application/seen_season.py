"""The season as it is known at one place: what was seen there, what its instruments measured, what the yard file says; and what each mark rests on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from scheduler.application.degree_day_marks import DegreeDayMarks, degree_day_marks
from scheduler.application.season_evidence import SeasonNumbers, marks_of, merged, unseen, usual_marks
from scheduler.estimates.degree_days import measured_days
from scheduler.estimates.season_marks import Mark
from scheduler.facts.days import DayOfYear
from scheduler.facts.fact import TABLES, Observed, SeriesRecorded
from scheduler.facts.season import Season
from scheduler.facts.yard import Yard
from scheduler.outputs.wording.sentence import Reader, in_words
from scheduler.quantities import Statement, say

if TYPE_CHECKING:  # a ledger without tables reads none
    from scheduler.estimates.tables import Table


class SeenSeason:
    """The season of a yard, or of one of its apiaries, on a day.

    What was seen without a word where counts everywhere. A table is of an apiary where it is named for it or for a hive of it; an apiary without
    one of its own goes by those of the yard, but for the marks that the yard file gives it itself: they differ there.
    """

    def __init__(
        self, yard: Yard, apiary: str | None, observed: Sequence[Observed], series: Sequence[SeriesRecorded], by: SeasonNumbers, zone: ZoneInfo, today: date
    ) -> None:
        self.yard, self.by, self.zone, self.today = yard.at(apiary), by, zone, today
        self.seen = [one for one in observed if one.of in (None, apiary)]
        places = {name: {name, *one.hives} for name, one in yard.apiaries.items()}
        common = [one for one in series if not any(one.of in names for names in places.values())]
        mine = [one for one in series if apiary is not None and one.of in places[apiary]]
        self._own = {one.what for one in mine}
        self.series = [*mine, *(one for one in common if one.what not in self._own and one.what in TABLES)]
        written = yard.apiaries[apiary].season.model_fields_set if apiary is not None else set()
        self._differs = {name.replace("_", " ") for name in written}

    @cached_property
    def season(self) -> Season:
        """What was seen first, then what the keeper's own tables say, then the normals."""
        season = self.by_degree_days.season(self.yard.season) if self.by_degree_days else self.yard.season
        season = season.with_usual({name: day for name, day, _ in self.usual}).with_observations(self.observed)
        firm, likely = ([mark for mark in self.measured if mark.firm is sure] for sure in (True, False))
        firm_days, likely_days = (
            {name: [mark.day for mark in marks if mark.name == name] for name in {mark.name for mark in marks}} for marks in (firm, likely)
        )
        season = season.with_likely(likely_days) if likely_days else season
        return season.with_observations(firm_days) if firm_days else season

    @cached_property
    def measured(self) -> list[Mark]:
        """The marks that the tables of scale and weather show, and nobody saw himself; a flow on the scale before one by degree days."""
        if not self.series:
            return []
        seen = {name: [*self.yard.season.observed.get(name, ()), *self.observed.get(name, ())] for name in {*self.yard.season.observed, *self.observed}}
        marks = unseen(self._by_tables(), seen)
        for mark in marks:
            seen.setdefault(mark.name, []).append(mark.day)
        return [*marks, *unseen(self.by_degree_days.firm, seen)] if self.by_degree_days else marks

    @cached_property
    def weather(self) -> Table | None:
        """The table of the thermometer that was read last; None where there is none."""
        weather = [one for one in self.series if one.what == "weather"]
        return merged([one for one in weather if one.of == weather[-1].of], self.zone) if weather else None

    @cached_property
    def usual(self) -> list[tuple[str, DayOfYear | None, Statement]]:
        """Usual days by the yard's own weather, of marks that its file does not give."""
        found = usual_marks(self.weather, self.by.flight) if self.weather else ()
        return [one for one in found if not self.yard.season.says(one[0]) and self._counts(one[0], "weather")]

    def _by_tables(self) -> list[Mark]:
        if not self._differs:
            return marks_of(self.series, self.by, self.zone)
        tables = {what: [one for one in self.series if one.what == what] for what in ("scale", "weather")}
        return [mark for what, series in tables.items() for mark in marks_of(series, self.by, self.zone) if self._counts(mark.name, what)]

    def _counts(self, mark: str, what: str) -> bool:
        """Whether a mark by tables of a kind counts here."""
        return what in self._own or not any(mark == name or mark in (f"{name} begins", f"{name} ends") for name in self._differs)

    @cached_property
    def by_degree_days(self) -> DegreeDayMarks | None:
        """The marks by the degree days of the yard file; None where it counts none."""
        if self.yard.degree_days is None:
            return None
        found = degree_day_marks(self.yard, measured_days(self.weather, self.today) if self.weather else {}, self.today)
        firm, expected = (tuple(mark for mark in marks if self._counts(mark.name, "weather")) for marks in (found.firm, found.expected))
        return found._replace(firm=firm, expected=expected)

    @cached_property
    def evidence(self) -> dict[str, list[str]]:
        """What the marks rest on besides the yard file, and how sure that is, in words."""
        found: dict[str, list[str]] = {}
        reader = Reader(self.yard.units, self.zone)
        for one in self.seen:
            if seen := self.yard.season.seen_as(one.mark):
                says = say("seen on a day", day=one.on) if one.mark == seen else say("bloom seen", day=one.on, bloom=one.mark)
                found.setdefault(seen, []).append(in_words(says, reader))
        for mark in self.measured:
            found.setdefault(mark.name, []).append(in_words(mark.dated, reader))
        for name, says in self.by_degree_days.evidence(self.season) if self.by_degree_days else ():
            found.setdefault(name, []).append(in_words(says, reader))
        for name, _, says in self.usual:
            found.setdefault(name, []).insert(0, in_words(says, reader))
        return found

    @cached_property
    def observed(self) -> dict[str, list[date]]:
        """Days on which marks were seen, or the blooms that stand for them."""
        found: dict[str, list[date]] = {}
        for one in self.seen:
            if mark := self.yard.season.seen_as(one.mark):
                found.setdefault(mark, []).append(one.on)
        return found
