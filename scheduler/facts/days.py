"""Days and spans that come round every year: "20 July", "25 July to 15 October"."""

import calendar
import re
from datetime import date
from typing import Annotated, Any, NamedTuple

from scheduler.diagnostics import Fault, nearest
from scheduler.facts.values import Reads

MONTHS = ("january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december")
SAMPLE = '"20 July" or "07-20"'
SPAN_SAMPLE = '"25 July to 15 October"'
_DAY_FIRST = re.compile(r"(?P<day>\d{1,2})(?:st|nd|rd|th)?\.?\s+(?:of\s+)?(?P<month>[a-z]+)\.?")
_MONTH_FIRST = re.compile(r"(?P<month>[a-z]+)\.?\s+(?P<day>\d{1,2})(?:st|nd|rd|th)?")
_NUMBERS = re.compile(r"(?P<month>\d{2})-(?P<day>\d{2})")
_TO = re.compile(r"\s+(?:to|until|-)\s+|\s*[–—]\s*", re.IGNORECASE)


class DayOfYear(NamedTuple):
    """A day that every year has (29 February is refused)."""

    month: int
    day: int

    def __str__(self) -> str:
        return f"{self.day} {MONTHS[self.month - 1].title()}"

    def in_year(self, year: int) -> date:
        """The day in one year."""
        return date(year, self.month, self.day)


class Span(NamedTuple):
    """From one day to another, both counted; it may run over the turn of the year."""

    begins: DayOfYear
    ends: DayOfYear

    def __str__(self) -> str:
        return f"{self.begins} to {self.ends}"

    def from_year(self, year: int) -> tuple[date, date]:
        """First and last day of the occurrence that begins in a year."""
        return self.begins.in_year(year), self.ends.in_year(year if self.begins <= self.ends else year + 1)


def read_day(value: Any) -> DayOfYear:
    """A day of the year from "20 July", "July 20", "20 Jul" or "07-20"; raises `Fault`."""
    if isinstance(value, DayOfYear):
        return value
    text = str(value).strip().lower()
    match = _DAY_FIRST.fullmatch(text) or _MONTH_FIRST.fullmatch(text) or _NUMBERS.fullmatch(text)
    if not match:
        if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
            raise Fault(f'"{value}" is one date; a day of every year is needed', f'"{text[5:]}", and the date itself under "observed" where it was seen')
        raise Fault(f'"{value}" is not a day of the year', SAMPLE)
    month, day = _month(match["month"]), int(match["day"])
    if (month, day) == (2, 29):
        raise Fault("29 February comes only in leap years", '"28 February"')
    longest = calendar.monthrange(2001, month)[1]
    if not 1 <= day <= longest:
        name = MONTHS[month - 1].title()
        raise Fault(f"{name} has no day {day}", f'"1 {name}" to "{longest} {name}"')
    return DayOfYear(month, day)


def day_named(text: str) -> DayOfYear | None:
    """A day of the year where a text is meant as one, None where it is not; raises `Fault` for one that not every year has, such as 31 November."""
    text = text.strip()
    if one := re.fullmatch(r"\d{4}-(\d{2}-\d{2})", text):
        raise Fault(f'"{text}" is one date; a day of every year is needed', f'"{read_day(one[1])}"')
    words = re.findall(r"[a-z]{3,}", text.lower()) if re.search(r"\d", text) else []
    meant = any(month.startswith(word[:3]) for word in words for month in MONTHS)
    return read_day(text) if meant or _NUMBERS.fullmatch(text) else None


def read_span(value: Any) -> Span:
    """A span of the year from "25 July to 15 October"; raises `Fault`."""
    if isinstance(value, Span):
        return value
    ends = _TO.split(str(value).strip())
    if len(ends) != 2:
        raise Fault(f'"{value}" is not a span of the year', SPAN_SAMPLE)
    return Span(read_day(ends[0]), read_day(ends[1]))


def _month(word: str) -> int:
    if word.isdigit():
        if 1 <= int(word) <= 12:
            return int(word)
        raise Fault(f"there is no month {word}", '"07-20": month first, then day')
    for number, name in enumerate(MONTHS, 1):
        if len(word) >= 3 and name.startswith(word):
            return number
    close = nearest(word, MONTHS)
    raise Fault(f'"{word}" is not a month', close.title() if close else SAMPLE)


DayOfYearText = Annotated[DayOfYear, Reads(read_day, {"type": "string"})]
SpanText = Annotated[Span, Reads(read_span, {"type": "string"})]
