"""Hours in which hands are free, as people write them: {mon-fri: "17:30-21:30", "2026-08-15": none}.

Wall-clock time at the yard. The entry that names the fewest days wins: a date over a span of dates over a day of the week over several.
"""

import re
from datetime import date, time
from typing import Annotated, Any, NamedTuple

from scheduler.diagnostics import Fault, nearest
from scheduler.facts.values import Loc, Reads, read_date, several_faults

Spans = tuple[tuple[time, time], ...]
DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
SAMPLE = '{mon-fri: "17:30-21:30", sat-sun: "08:00-20:00", "2026-08-15": none}'
_WEEK = {**dict.fromkeys(("weekend", "weekends"), (5, 6)), **dict.fromkeys(("weekday", "weekdays", "workdays"), range(5))}
_ENDS = re.compile(r"\s*(?:-|–|\bto\b)\s*")
_TIME = re.compile(r"(\d{1,2})(?::(\d{2}))?\s*(am|pm)?", re.IGNORECASE)
_DATES = re.compile(r"(\d{4}-\d{2}-\d{2})(?:\s*(?:\bto\b|–)\s*(\d{4}-\d{2}-\d{2}))?")


class Hours(NamedTuple):
    """Free hours: one tuple of spans for each day of the week from Monday, and the dates that differ, narrowest first."""

    week: tuple[Spans, ...]
    dates: tuple[tuple[date, date, Spans], ...] = ()

    def spans(self, day: date) -> Spans:
        """The free spans that begin on a day, in order and disjoint; an end that is not after its start lies on the next day."""
        for first, last, spans in self.dates:
            if first <= day <= last:
                return spans
        return self.week[day.weekday()]


class _Entry(NamedTuple):
    """One line of the hours: the days of the week it names (0 is Monday), or the first and last date, and its spans."""

    key: str
    days: frozenset[int]
    dates: tuple[date, date] | None
    spans: Spans

    def width(self) -> int:
        """How many days it names."""
        return (self.dates[1] - self.dates[0]).days + 1 if self.dates else len(self.days)

    def rivals(self, other: "_Entry") -> bool:
        """Whether both name a same day and neither is the more specific."""
        if self.width() != other.width():
            return False
        if self.dates and other.dates:
            return self.dates[0] <= other.dates[1] and other.dates[0] <= self.dates[1]
        return bool(self.days & other.days)


def longest(hours: Hours) -> float:
    """The longest of its spans [s]; one that ends as it begins lasts a day."""
    spans = [span for day in (*hours.week, *(spans for _, _, spans in hours.dates)) for span in day]
    minutes = [(end.hour * 60 + end.minute - start.hour * 60 - start.minute - 1) % 1440 + 1 for start, end in spans]
    return 60.0 * max(minutes, default=0)


def joined(spans: Spans) -> Spans:
    """Spans of a day in order, those that meet as one; one that lasts into the next day stays as it is."""
    found: list[tuple[time, time]] = []
    for opens, closes in sorted(spans):
        if found and found[-1][0] < found[-1][1] and opens <= found[-1][1] and opens < closes:
            found[-1] = (found[-1][0], max(found[-1][1], closes))
        else:
            found.append((opens, closes))
    return tuple(found)


def read_hours(value: Any) -> Hours:
    """Hours from a mapping of days to spans. Raises `Fault`, or an error with the place of each fault in the mapping."""
    if isinstance(value, Hours):
        return value
    if not isinstance(value, dict) or not value:
        raise Fault("free hours are needed, day by day", SAMPLE)
    faults: list[tuple[Loc, Any, Fault]] = []
    entries: list[_Entry] = []
    for key, text in value.items():
        try:
            entry = _Entry(key, *_days(key), _spans(text))
        except Fault as fault:
            faults.append(((key,), text, fault))
            continue
        if rival := next((other for other in entries if entry.rivals(other)), None):
            cure = "each day once, or the day that differs by itself"
            faults.append(((key,), text, Fault(f'"{key}" and "{rival.key}" name the same day, and neither is the more specific', cure)))
        entries.append(entry)
    if faults:
        raise several_faults("hours", faults)
    if not any(entry.spans for entry in entries):
        raise Fault("no day has free hours, so nothing could be planned", SAMPLE)
    return _laid(entries)


HoursText = Annotated[Hours, Reads(read_hours, {"type": "object", "additionalProperties": {"type": "string"}})]


def read_quiet(value: Any) -> Hours:
    """Hours of every day from "22:00-07:00", none at all from none, day by day from a mapping. Raises `Fault`."""
    if isinstance(value, Hours | dict):
        return read_hours(value)
    return Hours((_spans("none" if value is False else value),) * 7)


def _laid(entries: list[_Entry]) -> Hours:
    """The widest entries of the week first, so that the narrower overrule them; dates the other way round."""
    week: list[Spans] = [()] * 7
    for entry in sorted(entries, key=lambda entry: -entry.width()):
        for number in entry.days:
            week[number] = entry.spans
    dated = sorted((entry.width(), *entry.dates, entry.spans) for entry in entries if entry.dates)
    return Hours(tuple(week), tuple((first, last, spans) for _, first, last, spans in dated))


def _days(key: str) -> tuple[frozenset[int], tuple[date, date] | None]:
    """The days of the week of "mon", "mon-fri", "mon, wed", "every day"; or the first and last date of "2026-08-10 to 2026-08-14"."""
    text = key.strip().lower()
    if dates := _DATES.fullmatch(text):
        first = read_date(dates[1])
        last = read_date(dates[2]) if dates[2] else first
        if last < first:
            raise Fault(f'"{key}" ends before it begins', f'"{last} to {first}"')
        return frozenset(), (first, last)
    if text[:1].isdigit():
        raise Fault(f'"{key}" is not a date', '"2026-08-15", or "2026-08-10 to 2026-08-14"')
    if text in ("every day", "daily"):
        return frozenset(range(7)), None
    found: set[int] = set()
    for part in re.split(r",| and ", text):
        if part.strip() in _WEEK:
            found.update(_WEEK[part.strip()])
            continue
        ends = [_day(word) for word in _ENDS.split(part.strip())]
        if len(ends) > 2:
            raise Fault(f'"{part.strip()}" is not a day or a range of days', '"mon-fri"')
        found.update((ends[0] + step) % 7 for step in range((ends[-1] - ends[0]) % 7 + 1))
    return frozenset(found), None


def read_days(value: Any) -> tuple[int, ...]:
    """Days of the week from "sat", "mon-fri", "wed, sat", or a list of them; 0 is Monday. Raises `Fault`."""
    words = ", ".join(map(str, value)) if isinstance(value, list | tuple) else str(value)
    found, dates = _days(words)
    if dates:
        raise Fault(f'"{words}" is a date', "days of the week: sat, mon-fri, or wed, sat")
    return tuple(sorted(found))


def _day(word: str) -> int:
    """The number of a day of the week from its name, at least three letters of it."""
    stem = word.removesuffix("s")
    for number, name in enumerate(DAYS):
        if len(stem) >= 3 and name.startswith(stem):
            return number
    near = nearest(word, [*DAYS, *(name[:3] for name in DAYS)])
    slips = [name[:3] for name in DAYS if len(word) == 3 and sum(one != other for one, other in zip(name[:3], word, strict=True)) == 1]
    close = slips or ([near[:3]] if near else [])
    known = "mon, tue, wed, thu, fri, sat, sun, a range such as mon-fri, or a date such as 2026-08-15"
    raise Fault(f'"{word}" is not a day', " or ".join(f'"{name}"' for name in close) or known)


def _spans(value: Any) -> Spans:
    """The spans of "06:00-07:00, 17:30-21:30", in order, overlapping ones joined; none gives no span."""
    text = str(value).strip().lower()
    if text == "none" and value is not None:
        return ()
    if value is None or not text:
        raise Fault("the hours of this day are missing", '"17:30-21:30", or none')
    minutes = sorted(_minutes(part) for part in text.split(","))
    joined: list[tuple[int, int]] = []
    for start, end in minutes:
        if joined and start <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(end, joined[-1][1])
        else:
            joined.append((start, end))
    return tuple((_clock(start), _clock(min(end, start + 1440))) for start, end in joined)


def _clock(minutes: int) -> time:
    return time(minutes % 1440 // 60, minutes % 60)


def _minutes(part: str) -> tuple[int, int]:
    """Start and end of "17:30-21:30" in minutes of the day; an end before its start counts into the next day."""
    ends = _ENDS.split(part.strip())
    if len(ends) != 2:
        raise Fault(f'"{part.strip()}" is not a span of hours', '"17:30-21:30", several as "06:00-07:00, 17:30-21:30", or none')
    start, end = (_time(word) for word in ends)
    if start == end:
        raise Fault(f'"{part.strip()}" is no time at all', '"00:00-24:00" for the whole day, or none')
    if start == 1440:
        raise Fault(f'"{part.strip()}" begins when the day is over', '"00:00" for its beginning')
    return start, end if end > start else end + 1440


def _time(word: str) -> int:
    match = _TIME.fullmatch(word.strip())
    if match and (match[2] or match[3]):
        hour, minute = int(match[1]), int(match[2] or 0)
        if match[3] and 1 <= hour <= 12:
            hour = hour % 12 + (12 if match[3].lower() == "pm" else 0)
        elif match[3]:
            hour = 99
        if (hour < 24 and minute < 60) or (hour, minute) == (24, 0):
            return hour * 60 + minute
    raise Fault(f'"{word}" is not a time of day', '"17:30" or "5:30 pm"')


QUIET = read_quiet("22:00-07:00")  # where the yard says nothing (assumed)
