"""A cell as a date, a time of day, or both; which number of a date is the day is left to the whole file."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from functools import cache
from typing import Literal, NamedTuple

from scheduler.instruments.text import Unread

Order = Literal["day first", "month first", "year first"]
ORDERS: dict[Order, tuple[int, int, int]] = {"day first": (2, 1, 0), "month first": (2, 0, 1), "year first": (0, 1, 2)}  # where year, month, day stand
_MONTHS = {name: number for number, name in enumerate(["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"], 1)}
_LONG = ["january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december"]
_SHORT_YEARS = 70  # a year of two digits from here on is of the 1900s (POSIX strptime has 69; no logger is older)

_CLOCK = (
    r"(?P<h>[0-9]{1,2}):(?P<m>[0-9]{2})(?::(?P<s>[0-9]{2})(?:[.,](?P<f>[0-9]+))?)?"
    r"(?:\s*(?P<half>[AaPp])\.?[Mm]\.?)?\s*(?P<zone>Z|[+-][0-9]{2}:?[0-9]{2}|[A-Za-z]{2,5})?"
)
_JOIN = r"(?:[ T,]\s*|\s+|$)"
_DATE_FORMS = (
    r"(?P<y>[0-9]{4})(?P<mark>[-/.])(?P<mo>[0-9]{1,2})(?P=mark)(?P<d>[0-9]{1,2})",
    r"(?P<y>[0-9]{4})(?P<mo>[0-9]{2})(?P<d>[0-9]{2})",
    r"(?P<one>[0-9]{1,2})(?P<mark>[-/.])(?P<two>[0-9]{1,2})(?P=mark)(?P<three>[0-9]{4}|[0-9]{2})",
    r"(?:[A-Za-z]{3,9},?\s+)?(?P<d>[0-9]{1,2})\.?[ -](?P<name>[A-Za-z]{3,9})\.?,?[ -](?P<y>[0-9]{4}|[0-9]{2})",
    r"(?:[A-Za-z]{3,9},?\s+)?(?P<name>[A-Za-z]{3,9})\.? (?P<d>[0-9]{1,2}),? (?P<y>[0-9]{4})",
)
_EPOCH = r"[0-9]{9,10}(?:\.[0-9]+)?|[0-9]{13}"


@cache
def _forms() -> tuple[re.Pattern[str], ...]:
    """The forms of a date, compiled at the first one: most commands read no table, and start without them."""
    return tuple(re.compile(rf"{form}(?:{_JOIN}{_CLOCK})?") for form in _DATE_FORMS)


def clock_in(text: str) -> re.Match[str] | None:
    """A cell that is a time of day, in its parts; None where it is none."""
    return re.fullmatch(_CLOCK, text)


def is_epoch(text: str) -> bool:
    """Whether a cell is seconds or milliseconds since 1970."""
    return re.fullmatch(_EPOCH, text) is not None


class DateCell(NamedTuple):
    """A date as written: its three numbers, whether their order is still open; seconds of the day (None: no clock), and the zone in the cell."""

    numbers: tuple[int, int, int]  # year, month, day; or as written, where the order is open
    open: bool
    dotted: bool
    short: bool  # the year has two digits
    clock: int | None
    zone: str | None


def written(text: str) -> DateCell | None:
    """What a cell says of a date and perhaps a time; None where it is neither."""
    for form in _forms():
        if found := form.fullmatch(text):
            return _of(found)
    return None


def _of(found: re.Match[str]) -> DateCell | None:
    parts = found.groupdict()
    clock = seconds(parts) if parts["h"] is not None else None
    if parts["h"] is not None and clock is None:
        return None
    if parts.get("one") is not None:
        three = parts["three"]
        numbers = int(parts["one"]), int(parts["two"]), int(three)
        return DateCell(numbers, True, parts["mark"] == ".", len(three) == 2, clock, parts["zone"])
    month = parts.get("mo") or _month(parts["name"])
    if month is None:
        return None
    year = int(parts["y"])
    return DateCell((_full(year) if len(parts["y"]) == 2 else year, int(month), int(parts["d"])), False, False, False, clock, parts["zone"])


def seconds(parts: dict[str, str | None]) -> int | None:
    """Seconds of the day by the parts of a clock; 24:00 is the end of it; None where no clock shows that."""
    hour, minute, second = int(parts["h"] or 0), int(parts["m"] or 0), int(parts["s"] or 0)
    half = (parts["half"] or "").lower()
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + 12 * (half == "p")
    if minute > 59 or second > 59 or hour > 24 or (hour == 24 and minute + second):
        return None
    return hour * 3600 + minute * 60 + second + round(float(f"0.{parts['f'] or 0}"))


def _month(name: str) -> int | None:
    word = name.lower()
    known = _MONTHS.get(word[:3])
    return known if known and (word in (_LONG[known - 1], word[:3]) or word == "sept") else None


def _full(year: int) -> int:
    return year + (1900 if year >= _SHORT_YEARS else 2000)


def day_of(one: DateCell, order: Order | None) -> date | None:
    """The day that is written, its numbers in an order where that was open; None where there is no such day."""
    year, month, day = one.numbers if not one.open else (one.numbers[place] for place in ORDERS[order or "day first"])
    try:
        return date(_full(year) if one.open and year < 100 else year, month, day)
    except ValueError:
        return None


def order_of(rows: Iterable[tuple[int, str, DateCell]], until: date | None, told: Order | None) -> Order | None:
    """
    In which order the numbers of every date of a file stand (lines, cells, what they say), None where none is open. With dots the day comes first.

    A day after `until` cannot be meant. Raises `Unread` where no order fits, naming the row; and where two do, with both readings.
    """
    opened = [(line, cell, one) for line, cell, one in rows if one.open]
    if not opened:
        return None
    possible: list[Order] = [told] if told else ["day first"] if all(one.dotted and not one.short for _, _, one in opened) else ["day first", "month first"]
    if told is None and any(one.short for _, _, one in opened):
        possible.append("year first")
    different = {one.numbers: (line, cell, one) for line, cell, one in opened}
    left = [order for order in possible if all((day := day_of(one, order)) and (until is None or day <= until) for _, _, one in different.values())]
    if len(left) == 1:
        return left[0]
    if left:
        line, cell, one = next(((line, cell, one) for line, cell, one in opened if len({day_of(one, order) for order in left}) > 1), opened[0])
        days = {order: day_of(one, order) for order in left}
        if len(set(days.values())) == 1:  # every date reads alike: 08/08/2026
            return left[0]
        both = " or ".join(f"{day} ({order})" for order, day in days.items())
        raise Unread(line, 1, f'"{cell}" can be {both}, and no row of the file shows which', " or ".join(f"--dates '{order}'" for order in days))
    order = possible[0] if len(possible) == 1 else max(possible, key=lambda order: sum(day_of(one, order) is not None for _, _, one in different.values()))
    line, cell, _ = next(row for row in different.values() if not (day := day_of(row[2], order)) or (until is not None and day > until))
    raise Unread(line, 1, f'"{cell}" is not a date up to today, though the other rows are read {order}', "2026-08-12, in one order in all rows")
