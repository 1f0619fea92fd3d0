"""Instants of a plan as a person at the yard reads them: weekday, day, clock; never by the machine's locale or zone."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, time, tzinfo
from typing import TypeVar
from zoneinfo import ZoneInfo

from scheduler.diagnostics import Fault

FIRST_YEAR, LAST_YEAR = 1950, 2149  # of a keeper's own work: a year outside is a slip of the finger; DESIGN
YEARS_OF_RECORDS = (1900, 2200)  # of an instrument: the weather of long ago is asked about too
EARLIEST = int(datetime(FIRST_YEAR, 1, 1, tzinfo=UTC).timestamp())
AFTER_LATEST = int(datetime(LAST_YEAR + 1, 1, 1, tzinfo=UTC).timestamp())
HOUR, DAY = 3600, 86400  # s; elapsed time, which a change of the clocks leaves alone
D = TypeVar("D", bound=date)

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def in_years(moment: D, written: object, years: tuple[int, int] = (FIRST_YEAR, LAST_YEAR)) -> D:
    """A day or a moment as it is. Raises `Fault` with what was `written` where its year cannot be meant."""
    if not years[0] <= moment.year <= years[1]:
        raise Fault(f'"{written}" lies outside the years {years[0]} to {years[1]}', "the year that is meant")
    return moment


def local(instant: int, timezone: str) -> datetime:
    """Epoch seconds as an aware datetime in an IANA zone."""
    return datetime.fromtimestamp(instant, ZoneInfo(timezone))


def midnight(day: date, zone: ZoneInfo) -> int:
    """Seconds since 1970 of the start of a day at the yard."""
    return int(datetime.combine(day, time(0), tzinfo=zone).timestamp())


def ceil_to_minute(seconds: float) -> int:
    """Seconds, or a moment, up to a whole minute: what has to last is never cut short by its seconds."""
    return math.ceil(seconds / 60 - 1e-9) * 60


def floor_to_minute(seconds: float) -> int:
    """Seconds, or a moment, down to a whole minute: a limit is never let slip by its seconds."""
    return math.floor(seconds / 60 + 1e-9) * 60


def iso(instant: int, timezone: str) -> str:
    """Local time with its offset, ISO 8601: "2026-08-11T17:30:00+02:00"."""
    return local(instant, timezone).isoformat()


def day(moment: date, year: int) -> str:
    """ "Tue 11 Aug", with the year where it is not the one the reader expects."""
    text = f"{DAYS[moment.weekday()]} {moment.day} {MONTHS[moment.month - 1]}"
    return text if moment.year == year else f"{text} {moment.year}"


def clock(moment: datetime) -> str:
    """ "17:30"; in the hour that the clocks run through twice, with its offset: "02:30 +01:00"."""
    text = f"{moment.hour:02}:{moment.minute:02}"
    return f"{text} {moment.isoformat()[-6:]}" if is_ambiguous(moment) else text


def is_ambiguous(moment: datetime) -> bool:
    """Whether the clocks show this local time twice."""
    return moment.utcoffset() != moment.replace(fold=1 - moment.fold).utcoffset()


def moment_text(instant: int, timezone: str, year: int) -> str:
    """ "Thu 13 Aug 19:10" at the yard."""
    moment = local(instant, timezone)
    return f"{day(moment, year)} {clock(moment)}"


def spoken(instant: int, zone: tzinfo) -> str:
    """ "Thu 13 Aug 19:10" in a zone, the year left to the reader."""
    moment = datetime.fromtimestamp(instant, zone)
    return f"{day(moment, moment.year)} {clock(moment)}"
