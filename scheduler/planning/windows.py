"""When hands-on work may lie: a card's windows and the keeper's free hours as calendars of moments.

Windows are wall-clock time in the yard's zone; what comes out are moments, so both stay true across a change of the clocks.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator
from datetime import date, datetime, time, timedelta
from functools import cached_property, lru_cache
from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduler.estimates.sun import Event, sun_event
from scheduler.facts.days import Span
from scheduler.facts.hours import Hours, Spans
from scheduler.facts.season import Season
from scheduler.facts.yard import Yard
from scheduler.local_time import midnight
from scheduler.planning.network import Calendar, Interval

FIRST_DAY = date(1970, 1, 1)
ROUNDING = 300  # moments of the sun are told to five minutes, inwards; refraction alone varies by one or more [s]
NO_SUNSET = time(22, 0)  # stands in for dusk where the sun does not set that day; assumed
STANDS_IN: dict[Event, Event] = {"dusk": "sunset", "dawn": "sunrise"}
_OF_DAYLIGHT: tuple[Event, Event] = ("sunrise", "sunset")
ALWAYS: Interval = (-(1 << 60), 1 << 60)


class OpenWhen(NamedTuple):
    """A window of a card with its amounts worked out: seconds about an event of the sun, wall times, spans, temperatures in °C."""

    sun: tuple[Event, int, int] | None = None
    daylight: bool = False  # where the sun neither rises nor sets on a day it is open all day
    clock: tuple[time, time] | None = None
    inside: str | Span | None = None
    outside: str | Span | None = None
    days: tuple[float | None, float | None] = (None, None)
    nights: tuple[float | None, float | None] = (None, None)
    means: tuple[float | None, float | None] = (None, None)
    on: tuple[int, ...] = ()  # days of the week, 0 for Monday; none named is all


class Windows:
    """The calendars of one yard, each worked out once and only as far as it is asked."""

    def __init__(self, yard: Yard, season: Season, first: date, last: date, season_at: Callable[[str], Season] | None = None) -> None:
        self.yard, self.season = yard, season
        self.travel, self._where = 0, ""
        self._season_at, self._of = season_at, dict[str, Windows]()
        self.zone = ZoneInfo(yard.place.timezone)
        self.first, self.last = first, last
        self.calendars: dict[str, Calendar] = {}
        self._spans: dict[str, tuple[list[date], list[date]]] = {}
        self._hours: dict[tuple[str | None, date], list[Interval]] = {}  # every calendar of a person asks for the same days
        self._midnights: dict[date, int] = {}
        self._normals: dict[date, tuple[float, float] | None] = {}
        self._asked: dict[str, tuple[tuple[OpenWhen, ...], str, str | None, str | None, bool]] = {}
        self._days: dict[tuple[str, int], tuple[Interval, ...]] = {}
        self._beneath: tuple[Windows, int] | None = None  # of a what-if: whose days these are, but for one

    def of(self, apiary: str | None) -> Windows:
        """The calendars of work at an apiary, by its sun, season and temperatures; of free hours the way there and back is taken off. Itself for None."""
        if apiary is None:
            return self
        if apiary not in self._of:
            yard = self.yard.at(apiary)
            there = self._of[apiary] = Windows(yard, self._season_at(apiary) if self._season_at else yard.season, self.first, self.last)
            there.travel, there._where, there.calendars, there._hours = self.yard.travel(apiary), f"{apiary}: ", self.calendars, self._hours
        return self._of[apiary]

    def calendar(self, windows: tuple[OpenWhen, ...], hours: str, person: str | None = None, there: str | None = None, *, together: bool = False) -> str | None:
        """The key of the calendar for a card's windows (any of them) within the free hours of a person, or any hours; None means always.

        Only while the equipment is `there`, of work that takes all of it where it is there at times only; where it is done `together`, in hours
        that the keeper has free too.
        """
        if hours == "any" and not windows and there is None:
            return None
        key = f"{self._where}{hours} {person} {windows!r}" + (f" {there}" if there else "") + (" together" if together else "")
        if key not in self.calendars:
            first, last = (self.first - FIRST_DAY).days, (self.last - FIRST_DAY).days
            self._asked[key] = (windows, hours, person, there, together)
            self.calendars[key] = Calendar(first, last, lambda number: self._intervals(key, number))
        return key

    def freed(self, day: date, spans: Spans, person: str | None = None) -> Windows:
        """The same calendars with other free hours of a person on one day; all other days are those worked out here."""
        other = Windows(_freed(self.yard, day, spans, person), self.season, self.first, self.last)
        other._beneath = (self, (day - FIRST_DAY).days)
        for asked in self._asked.values():
            other.calendar(*asked[:4], together=asked[4])
        return other

    def evenings(self) -> Iterator[Interval]:
        """The stretches in which anybody in the yard has free hours; those that meet are one."""
        people = (None, *self.yard.people)
        yield from _joined(interval for day in self._all_days for person in people for interval in self._free(day, person))

    @cached_property
    def away(self) -> tuple[tuple[str, int, int, float], ...]:
        """When equipment that is there at times only is not: its name, from, to, and all it holds; before and after the days of the plan too."""
        found = []
        for name, one in self.yard.equipment.items():
            if one.available is None:
                continue
            there = _joined(span for day in self._all_days for span in self._moments(day, one.available))
            ends = [ALWAYS[0], *(moment for span in there for moment in span), ALWAYS[1]]
            found += [(name, begins, until, one.capacity or 0.0) for begins, until in zip(ends[::2], ends[1::2], strict=True)]
        return tuple(found)

    @property
    def _all_days(self) -> Iterator[date]:
        return (FIRST_DAY + timedelta(number) for number in range((self.first - FIRST_DAY).days, (self.last - FIRST_DAY).days + 1))

    def _intervals(self, key: str, number: int) -> tuple[Interval, ...]:
        """One day of a calendar, worked out once."""
        if self._beneath is not None and number != self._beneath[1]:
            return self._beneath[0]._intervals(key, number)
        if (key, number) not in self._days:
            self._days[key, number] = tuple(self._of_day(FIRST_DAY + timedelta(number), *self._asked[key]))
        return self._days[key, number]

    def moment(self, day: date, at: time) -> int:
        """Seconds since 1970 of a wall-clock time at the yard; a time skipped by a clock change counts on from before it."""
        return _moment(day, at, self.zone)

    def in_span(self, name: str | Span, day: date) -> bool:
        """Whether a day lies inside a span of the season, or one of every year; both ends counted."""
        if isinstance(name, Span):
            return any(first <= day <= last for first, last in (name.from_year(year) for year in (day.year - 1, day.year)))
        if name not in self._spans:
            spans = sorted(self.season.spans(name, self.first, self.last))
            self._spans[name] = [a for a, _ in spans], [b for _, b in spans]
        starts, ends = self._spans[name]
        i = bisect_right(starts, day) - 1
        return i >= 0 and day <= ends[i]

    def _of_day(self, day: date, windows: tuple[OpenWhen, ...], hours: str, person: str | None, there: str | None, together: bool) -> Iterable[Interval]:
        if together:
            of_each = [self._of_day(day, windows, hours, whose, there, together=False) for whose in (person, None)]
            return _joined((max(a, c), min(b, d)) for a, b in of_each[0] for c, d in of_each[1])
        available = self.yard.equipment[there].available if there is not None else None
        if available is not None:
            days = (day - timedelta(1), day, day + timedelta(1))
            spans = [span for one in days for span in self._moments(one, available)]
            return _joined((max(a, c), min(b, d)) for a, b in self._of_day(day, windows, hours, person, None, together=False) for c, d in spans)
        if not windows:
            return self._planned(day, person) if hours == "free" else [(self._midnight(day), self._midnight(day + timedelta(1)))]
        found = [span for window in windows if (span := self._open(day, window)) is not None]
        if not found:
            return ()
        within = self._planned(day, person) if hours == "free" else [ALWAYS]
        if len(within) == len(found) == 1:
            start, end = max(within[0][0], found[0][0]), min(within[0][1], found[0][1])
            return ((start, end),) if start < end else ()
        return _joined((max(a, c), min(b, d)) for a, b in within for c, d in found)

    def _planned(self, day: date, person: str | None) -> list[Interval]:
        """The free hours of a day without the slack that is kept at their end, and without the way to an apiary and back."""
        found, slack = self._free(day, person), round(self.yard.slack)
        if self.travel:
            return [(a + self.travel, b - self.travel) for a, b in self._less(found, slack) if b - a > 2 * self.travel]
        return self._less(found, slack)

    @staticmethod
    def _less(found: list[Interval], slack: int) -> list[Interval]:
        if not slack or not found:
            return found
        start, end = found[-1]
        return [*found[:-1], (start, end - slack)] if end - slack > start else found[:-1]

    def _free(self, day: date, person: str | None) -> list[Interval]:
        if (person, day) not in self._hours:
            self._hours[person, day] = self._moments(day, self.yard.hours_of(person))
        return self._hours[person, day]

    def _moments(self, day: date, hours: Hours) -> list[Interval]:
        """The spans of hours that begin on a day; an end that is not after its start lies on the next day."""
        spans = ((start, end, day if end > start else day + timedelta(1)) for start, end in hours.spans(day))
        return [(self.moment(day, start), self.moment(until, end)) for start, end, until in spans]

    def _open(self, day: date, window: OpenWhen) -> Interval | None:
        """The stretch of one day in which a window is open."""
        if (window.inside and not self.in_span(window.inside, day)) or (window.outside and self.in_span(window.outside, day)):
            return None
        if (window.on and day.weekday() not in window.on) or not self._warm(day, window):
            return None
        if window.clock:
            opens, closes = window.clock
            start, end = self.moment(day, opens), self.moment(day if closes > opens else day + timedelta(1), closes)
        else:
            start, end = ALWAYS if window.sun else (self._midnight(day), self._midnight(day + timedelta(1)))
        if window.sun:
            event, before, behind = window.sun
            at = self.sun(day, event)
            start, end = max(start, -(-(at + before) // ROUNDING) * ROUNDING), min(end, (at + behind) // ROUNDING * ROUNDING)
        if window.daylight and all(self.stand_in(day, event) is None for event in _OF_DAYLIGHT):
            rises, sets = (self.sun(day, event) for event in _OF_DAYLIGHT)
            start, end = max(start, -(-rises // ROUNDING) * ROUNDING), min(end, sets // ROUNDING * ROUNDING)
        return (start, end) if start < end else None

    def _midnight(self, day: date) -> int:
        if day not in self._midnights:
            self._midnights[day] = midnight(day, self.zone)
        return self._midnights[day]

    def sun(self, day: date, event: Event) -> int:
        """The moment of an event of the sun; where there is no dusk sunset stands in, and where there is none a fixed clock time."""
        place = self.yard.place
        for name in (event, STANDS_IN.get(event, event)):
            found = sun_event(place.latitude, place.longitude, day, name, place.timezone)
            if found is not None:
                return int(found.timestamp())
        return self.moment(day, NO_SUNSET)

    def stand_in(self, day: date, event: Event) -> Event | time | None:
        """What is taken for an event of the sun that does not come on a day, another event or a clock time; None where it comes."""
        place = self.yard.place
        if sun_event(place.latitude, place.longitude, day, event, place.timezone) is not None:
            return None
        other = STANDS_IN.get(event, event)
        comes = other != event and sun_event(place.latitude, place.longitude, day, other, place.timezone) is not None
        return other if comes else NO_SUNSET

    def _warm(self, day: date, window: OpenWhen) -> bool:
        if window.days == window.nights == window.means == (None, None):
            return True
        if day not in self._normals:
            self._normals[day] = self.yard.day_normals(day)
        normals = self._normals[day]
        if normals is None:
            return True  # the card's words tell the keeper to look at the thermometer
        found = zip((*normals, sum(normals) / 2), (window.days, window.nights, window.means), strict=True)
        return all((low is None or low <= value) and (high is None or value <= high) for value, (low, high) in found)


@lru_cache(maxsize=16_384)  # the clock times of a season's free hours and windows: every plan of a yard asks for the same
def _moment(day: date, at: time, zone: ZoneInfo) -> int:
    return int(datetime.combine(day, at, tzinfo=zone).timestamp())


def _freed(yard: Yard, day: date, spans: Spans, person: str | None) -> Yard:
    """The yard with other free hours of a person on one day."""
    hours = yard.hours_of(person)
    hours = hours._replace(dates=((day, day, spans), *hours.dates))
    if person is None:
        return yard.model_copy(update={"hands": hours})
    return yard.model_copy(update={"people": {**yard.people, person: yard.people[person].model_copy(update={"hands": hours})}})


def _joined(spans: Iterable[Interval]) -> Iterator[Interval]:
    last: Interval | None = None
    for start, end in sorted(span for span in spans if span[0] < span[1]):
        if last is not None and start <= last[1]:
            last = (last[0], max(last[1], end))
            continue
        if last is not None:
            yield last
        last = (start, end)
    if last is not None:
        yield last
