"""The yard's season: usual days, overruled by what was observed; the sums of degree days that predict a mark; the usual temperatures of each month."""

from calendar import monthrange
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Annotated, Any, Literal, NamedTuple, Self, get_args

from pydantic import Field, PrivateAttr, ValidationError, model_validator

from scheduler.diagnostics import Fault, instead
from scheduler.documents import Record
from scheduler.facts.days import MONTHS, DayOfYear, DayOfYearText, Span, SpanText, read_day, read_span
from scheduler.facts.values import Loc, Name, Reads, between, one_of, positive, read_date, read_many, several_faults

SpanName = Literal["robbing", "beetle", "treatment"]
SPANS: tuple[SpanName, ...] = get_args(SpanName)
MAIN_FLOW = ("main flow begins", "main flow ends")
FROSTS = ("last frost", "first frost")  # as they lie round a summer
WARM_DAYS = ("last warm day", "first warm day")  # as they lie round a winter
SPRING_BLOOM = "spring bloom"
DEARTH = "robbing"  # bees rob while there is none to gather
DEARTH_BEGINS, DEARTH_ENDS = f"{DEARTH} begins", f"{DEARTH} ends"
BLOOM = "first bloom of "  # with a plant, what is seen; the yard says which mark it is
BLOOMING = (*MAIN_FLOW, SPRING_BLOOM)  # marks that the bloom of a plant can be
NEAR = timedelta(days=60)  # an observation belongs to the normal it lies this near to; assumed
UNENDED = timedelta(days=60)  # a span seen to begin, with no end known, is taken to last so long; assumed
HALF_YEAR = timedelta(days=183)  # a span derived from two marks is never longer (assumed); of two normals a year apart, one is nearer than this


def _read_observed(value: Any) -> Any:
    """Mark to dates, each fault at its place."""
    if not isinstance(value, Mapping):
        raise Fault("observations are written by mark", "{first frost: 2026-10-09}")
    faults: list[tuple[Loc, Any, Fault]] = []
    found: dict[str, tuple[date, ...]] = {}
    for name, dates in value.items():
        if name not in MARKS_AND_EDGES:
            faults.append(((name,), dates, Fault(f'"{name}" is not a mark of the season', instead(name, MARKS_AND_EDGES))))
            continue
        try:
            found[name] = tuple(sorted(one if isinstance(one, date) else read_date(one) for one in read_many(dates)))
        except Fault as fault:
            faults.append(((name,), dates, fault))
    if faults:
        raise several_faults("observed", faults)
    return found


def _span_or_none(value: Any) -> Span | None:
    return None if value is None or value == "none" else read_span(value)


def _day_or_none(value: Any) -> DayOfYear | None:
    return None if value is None or value == "none" else read_day(value)


SomeDay = Annotated[DayOfYear | None, Reads(_day_or_none, {"type": ["string", "null"]})]


class Stretch(NamedTuple):
    """A span, or a part of one, with whether its edges were seen; None for an end that is assumed."""

    begins: date
    begins_seen: bool
    ends: date
    ends_seen: bool | None


class Season(Record):
    """Normals of the yard and dates that were observed.

    `robbing: none` says that nothing robs here, `first frost: none` that there is none, `last warm day: none` that bees fly all winter.
    """

    main_flow_begins: DayOfYearText | None = None
    main_flow_ends: DayOfYearText | None = None
    first_frost: SomeDay = None
    last_frost: SomeDay = None
    first_warm_day: SomeDay = None
    last_warm_day: SomeDay = None
    spring_bloom: DayOfYearText | None = None
    blooms: dict[Name, Annotated[str, one_of(*BLOOMING)]] = Field(default_factory=dict)  # by plant, the mark that its first bloom is
    robbing: Annotated[Span | None, Reads(_span_or_none, {"type": ["string", "null"]})] = None
    beetle: SpanText | None = None
    treatment: SpanText | None = None
    observed: Annotated[dict[str, tuple[date, ...]], Reads(_read_observed, {"type": "object"})] = Field(default_factory=dict)
    _expected: Mapping[str, Sequence[date]] = PrivateAttr(default_factory=dict)  # by mark; nobody writes these

    def with_observations(self, observed: Mapping[str, Sequence[date]]) -> Self:
        """The season with more dates that were seen, by mark ("first frost", "robbing begins"). Raises `Fault` for an unknown mark."""
        try:
            more = _read_observed(observed)
        except ValidationError as error:
            raise error.errors()[0]["ctx"]["error"] from None
        names = sorted({*self.observed, *more})
        merged = {name: tuple(sorted({*self.observed.get(name, ()), *more.get(name, ())})) for name in names}
        return self.model_copy(update={"observed": merged})

    def with_expected(self, expected: Mapping[str, Sequence[date]]) -> Self:
        """The season with days on which marks are expected this year, provisional like normals."""
        season = self.model_copy()
        season._expected = {name: tuple(days) for name, days in expected.items()}
        return season

    def with_usual(self, usual: Mapping[str, DayOfYear | None]) -> Self:
        """The season with normals for marks of which the yard file says nothing; None says that a mark does not come."""
        return self.model_copy(update={_FIELDS[name]: day for name, day in usual.items() if not self.says(name)})

    def with_likely(self, likely: Mapping[str, Sequence[date]]) -> Self:
        """The season with days on which marks likely were, or will be, beside those expected already."""
        season = self.model_copy()
        season._expected = {**self._expected, **{name: (*self._expected.get(name, ()), *days) for name, days in likely.items()}}
        return season

    def overlaid(self, other: Self) -> Self:
        """The season with what another one says in place of it, as of an apiary that lies higher; what is expected of a mark goes with its normal."""
        named = other.model_fields_set - {"blooms", "observed"}
        merged = {"blooms": {**self.blooms, **other.blooms}}
        season = self.model_copy(update={**{name: getattr(other, name) for name in named}, **merged}).with_observations(other.observed)
        season._expected = {name: days for name, days in self._expected.items() if _FIELDS.get(name) not in named}
        return season

    def usual(self, mark: str) -> DayOfYear | None:
        """The normal of a mark that the yard file gives."""
        found: DayOfYear | None = getattr(self, _FIELDS[mark])
        return found

    def says(self, mark: str) -> bool:
        """Whether the yard file says when a mark usually comes, or that it does not."""
        return _FIELDS[mark] in self.model_fields_set

    def seen_as(self, mark: str) -> str | None:
        """The mark that what was seen stands for: itself, or that of a plant's first bloom; None for a plant of which the yard says nothing."""
        return self.blooms.get(mark.removeprefix(BLOOM)) if mark.startswith(BLOOM) else mark

    def expects(self, name: str, day: date) -> bool:
        """Whether a day of a mark is expected from the year's own weather, which a normal is not."""
        return day in self._expected.get(name, ())

    def knows(self, name: str) -> bool:
        """Whether a normal or an observation gives a mark, an edge ("robbing begins") or a span ("robbing")."""
        if name in SPANS:
            return self._edges(name) is not None or bool(self.observed.get(f"{name} begins"))
        return self._normal(name)[0] is not None or bool(self.observed.get(name) or self._expected.get(name))

    def mark(self, name: str, on_or_after: date) -> tuple[date, bool] | None:
        """The next day of a mark, or of a span's edge ("robbing ends"), on or after a date, and whether it was observed.

        None where neither a normal nor an observation gives one. Raises `Fault` for an unknown name.
        """
        if name not in MARKS_AND_EDGES:
            raise Fault(f'"{name}" is not a mark of the season', instead(name, MARKS_AND_EDGES))
        coming = (found for found in self._occurrences(name, on_or_after.year - 1, on_or_after.year + 2) if found[0] >= on_or_after)
        return min(coming, default=None)

    def spans(self, name: str, first: date, last: date) -> tuple[tuple[date, date], ...]:
        """First and last day of each stretch of a span that meets the days from `first` to `last`; all ends counted.

        In order and disjoint. An end that was seen before the normal beginning draws the beginning to it; one that was seen before another
        beginning leaves a gap.
        """
        return tuple((one.begins, one.ends) for one in self.stretches(name, first, last))

    def stretches(self, name: str, first: date, last: date) -> tuple[Stretch, ...]:
        """The same, with whether each edge was seen."""
        if name not in SPANS:
            raise Fault(f'"{name}" is not a span of the season', instead(name, SPANS))
        found = _disjoint([one for season in self._seasons(name, first.year - 2, last.year + 1) for one in season])
        return tuple(one for one in found if one.begins <= last and one.ends >= first)

    def _seasons(self, name: str, first: int, last: int) -> Iterator[list[Stretch]]:
        """The same season by season: first those round the normals, then what was seen to begin far from any."""
        taken: set[date] = set()
        if edges := self._edges(name):
            for begin, end in (Span(edges[0][0], edges[1][0]).from_year(year) for year in range(first, last + 1)):
                season = self._season(name, (begin, edges[0][1]), (end, edges[1][1]))
                taken.update(one.begins for one in season)
                yield season
        for begin in self._lone(f"{name} begins"):
            if begin not in taken:
                seen = min((day for day in self.observed.get(f"{name} ends", ()) if day >= begin), default=None)
                yield [Stretch(begin, True, *((seen, True) if seen else (begin + UNENDED, None)))]

    def _season(self, name: str, begin: tuple[date, str], end: tuple[date, str]) -> list[Stretch]:
        """One season's span, from the normal of each edge and the mark that is derived from, in the stretches that were seen of it.

        An end that was seen and a later beginning leave a gap, such as an autumn flow in a dearth. Of beginnings that follow one another the
        first counts, of ends the last. After the last beginning it goes on to its usual end.
        """
        told = sorted((day, edge, seen) for edge in ("begins", "ends") for day, seen in self._told(f"{name} {edge}"))
        first_end = min((day for day, edge, _ in told if edge == "ends" and day >= begin[0]), default=date.max)
        opens = self._seen_near(f"{name} begins", begin[1], begin[0], first_end)
        closes = self._seen_near(f"{name} ends", end[1], end[0])
        if closes[0] < opens[0]:
            return [Stretch(closes[0], opens[1], *closes)]
        usual = (end[0], False) if end[1] == f"{name} ends" else self._seen_near(end[1], end[1], end[0])
        stretches: list[Stretch] = []
        ends: tuple[date, bool | None] | None = None
        for day, edge, seen in told:
            if not opens[0] < day <= max(closes[0], usual[0]) + NEAR:
                continue
            if edge == "ends":
                ends = (day, seen)
            elif ends:
                stretches.append(Stretch(*opens, *ends))
                opens, ends = (day, seen), None
        if not ends:
            ends = closes if not stretches else usual if usual[0] >= opens[0] else (opens[0] + UNENDED, None)
        return [*stretches, Stretch(*opens, *ends)]

    def _told(self, edge: str) -> Iterator[tuple[date, bool]]:
        """Days on which an edge of a span was seen, or likely was, and which of the two."""
        observed = self.observed.get(edge, ())
        yield from ((day, True) for day in observed)
        yield from ((day, False) for day in self._expected.get(edge, ()) if day not in observed)

    def _occurrences(self, name: str, first: int, last: int) -> list[tuple[date, bool]]:
        """Every day of a mark in the years from `first` to `last`: its normals, each overruled by what was observed near it.

        A span ends where the last of its stretches does.
        """
        span, _, edge = name.rpartition(" ")
        if name not in MARKS:
            seasons = list(self._seasons(span, first - 1, last))
            if edge == "begins":
                return [(one.begins, one.begins_seen) for season in seasons for one in season]
            ends = [(season[-1].ends, season[-1].ends_seen) for season in seasons if season[-1].ends_seen is not None]
            within = [(season[0].begins, season[-1].ends) for season in seasons]
            return [*ends, *((day, True) for day in self._lone(name) if not any(begin <= day <= end for begin, end in within))]
        normal, source = self._normal(name)
        usual = [normal.in_year(year) for year in range(first, last + 1)] if normal else self._expected.get(name, ())
        found = [self._seen_near(name, source, day) for day in usual]
        return [*found, *((day, True) for day in self._lone(name))]

    def _seen_near(self, name: str, source: str, normal: date, until: date = date.max) -> tuple[date, bool]:
        """What was observed near a normal under its own name or that of the mark it is derived from, else what is expected that year, else the normal.

        What came after `until` belongs to another stretch.
        """
        expected = next((day for day in self._expected.get(source, ()) if abs(day - normal) < HALF_YEAR and day <= until), normal)
        for seen in (name, source):
            near = [day for day in self.observed.get(seen, ()) if min(abs(day - normal), abs(day - expected)) <= NEAR and day <= until]
            if near:
                return (max(near) if name.startswith("last ") or name.endswith(" ends") else min(near)), True
        return expected, False

    def _lone(self, name: str) -> list[date]:
        """Observations that lie near no normal."""
        normal, _ = self._normal(name)
        return [day for day in self.observed.get(name, ()) if not normal or all(abs(day - normal.in_year(day.year + step)) > NEAR for step in (-1, 0, 1))]

    def _normal(self, name: str) -> tuple[DayOfYear | None, str]:
        """The normal of a mark or of a span's edge, and the mark it is derived from (itself where it is written)."""
        if name in MARKS:
            return self.usual(name), name
        span, _, edge = name.rpartition(" ")
        edges = self._edges(span)
        return edges[edge == "ends"] if edges else (None, name)

    def _edges(self, name: str) -> tuple[tuple[DayOfYear, str], tuple[DayOfYear, str]] | None:
        """Beginning and end of a span as (normal, mark it is derived from), or None."""
        written: Span | None = getattr(self, name)
        if written:
            return (written.begins, f"{name} begins"), (written.ends, f"{name} ends")
        if name != DEARTH or DEARTH in self.model_fields_set or self.main_flow_ends is None:
            return None
        ends, mark = (self.last_warm_day, WARM_DAYS[0]) if self.last_warm_day else (self.first_frost, FROSTS[1])
        flies_all_winter = self.last_warm_day is None and (
            "last_warm_day" in self.model_fields_set or (ends is None and "first_frost" in self.model_fields_set)
        )
        if flies_all_winter:  # a night of frost ends nothing then; the next flow does
            ends, mark = self.main_flow_begins or self.main_flow_ends, MAIN_FLOW[0]
        if ends is None:
            return None
        begin, end = Span(self.main_flow_ends, ends).from_year(2001)
        if end - begin <= HALF_YEAR and end > begin:
            return (self.main_flow_ends, MAIN_FLOW[1]), (ends, mark)
        longest = begin + HALF_YEAR
        return ((self.main_flow_ends, MAIN_FLOW[1]), (DayOfYear(longest.month, longest.day), f"{name} ends")) if flies_all_winter else None


_FIELDS = {str(field.alias): name for name, field in Season.model_fields.items() if field.annotation in (DayOfYearText | None, DayOfYear | None)}
MARKS = tuple(_FIELDS)  # as a person writes them
MARKS_AND_EDGES = (*MARKS, *(f"{span} {edge}" for span in SPANS for edge in ("begins", "ends")))


def _disjoint(stretches: list[Stretch]) -> Iterator[Stretch]:
    """Stretches in order, those that meet joined."""
    last: Stretch | None = None
    for one in sorted(stretches, key=lambda one: (one.begins, one.ends)):
        if last and one.begins <= last.ends:
            last = last._replace(ends=one.ends, ends_seen=one.ends_seen) if one.ends > last.ends else last
            continue
        if last:
            yield last
        last = one
    if last:
        yield last


METHODS = ("sine", "simple", "substitution")

Threshold = Annotated[float, between("temperature", "-10 °C", "50 °C", " as a threshold of degree days")]
Sum = Annotated[float, positive("degree days")]


class Sums(Record):
    """Marks that plants give, and the degree days each comes with [°C·d]. Frosts and flying weather are read off the days themselves."""

    spring_bloom: Sum | None = None
    main_flow_begins: Sum | None = None
    main_flow_ends: Sum | None = None

    @model_validator(mode="after")
    def _at_least_one(self) -> Self:
        if not self.by_mark:
            raise Fault("no mark is named", "{spring bloom: 130 °C d}")
        return self

    @property
    def by_mark(self) -> dict[str, float]:
        """Mark to sum [°C·d]."""
        return {name.replace("_", " "): value for name, value in self if value is not None}


class DegreeDays(Record):
    """How degree days are counted here: method, lower and upper threshold [°C], the day of the year they begin; and the sum of each mark."""

    method: Annotated[str, one_of(*METHODS)]
    base: Threshold
    upper: Threshold | None = None
    begins: DayOfYearText = Field(alias="from")
    marks: Sums

    @model_validator(mode="after")
    def _upper_is_above(self) -> Self:
        if self.upper is not None and self.upper <= self.base:
            fault = Fault("the upper threshold is not above the base", "a higher one, or leave the key out")
            raise several_faults("degree days", [(("upper",), self.upper, fault)])
        return self


AirTemperature = Annotated[float, between("temperature", "-60 °C", "60 °C", " outdoors")]


class MonthNormal(Record):
    """Usual highest and lowest temperature of a day in one month [°C]."""

    day: AirTemperature
    night: AirTemperature

    @model_validator(mode="after")
    def _day_is_warmer(self) -> Self:
        if self.night > self.day:
            raise Fault("the nights are warmer than the days", '"{day: 24 °C, night: 12 °C}"')
        return self


class Normals(Record):
    """All twelve months."""

    january: MonthNormal
    february: MonthNormal
    march: MonthNormal
    april: MonthNormal
    may: MonthNormal
    june: MonthNormal
    july: MonthNormal
    august: MonthNormal
    september: MonthNormal
    october: MonthNormal
    november: MonthNormal
    december: MonthNormal

    def on(self, day: date) -> tuple[float, float]:
        """Day and night temperature [°C] of a date, on the straight line between the middles of two months."""
        past = day.day - 0.5 - monthrange(day.year, day.month)[1] / 2
        other = date(day.year + (day.month == 12), day.month % 12 + 1, 1) if past >= 0 else date(day.year - (day.month == 1), (day.month - 2) % 12 + 1, 1)
        between_middles = (monthrange(day.year, day.month)[1] + monthrange(other.year, other.month)[1]) / 2
        share = abs(past) / between_middles
        here, there = self._month(day.month), self._month(other.month)
        return here.day + share * (there.day - here.day), here.night + share * (there.night - here.night)

    def _month(self, number: int) -> MonthNormal:
        found: MonthNormal = getattr(self, MONTHS[number - 1])
        return found
