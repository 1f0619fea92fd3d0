"""Daily temperatures of a weather station near the yard, from a public service; asked only when the keeper says so, and nothing depends on it.

The service is the Access Data Service of the NOAA National Centers for Environmental Information, dataset daily-summaries: what stations of the
whole world report (GHCN-Daily), without a key. Requests follow its user documentation ("NCEI Data Service API User Documentation"): a GET with
dataset, stations, dataTypes, startDate, endDate, units, format. From memory: the answer's first line, "STATION","DATE","TMAX","TMIN", its quoted
and padded cells, empty where nothing was read; that errors are HTTP statuses; and the licence, public domain as a work of the US government.
AFTERPULL_WEATHER_URL names another address that answers alike.
"""

from __future__ import annotations

import csv
import math
import os
import re
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from urllib.parse import urlencode, urlsplit

from scheduler.application.observe import record_series, table_of
from scheduler.application.web_fetch import fetched
from scheduler.diagnostics import Fault
from scheduler.facts.fact import SeriesRecorded

if TYPE_CHECKING:
    from scheduler.application.ledger_view import LedgerView
    from scheduler.ledger.store import Ledger

SERVICE = "https://www.ncei.noaa.gov/access/services/data/v1"
VARIABLE = "AFTERPULL_WEATHER_URL"
SOURCE = "NOAA National Centers for Environmental Information, daily-summaries; public domain in the United States"
AGAIN = timedelta(30)  # days before the newest that are asked for again, since stations report late; assumed
COLDEST, HOTTEST = -80.0, 60.0  # °C; the bounds of any weather table here
_STATION = re.compile(r"[A-Z]{2}[A-Z0-9_-]{9}")  # GHCN-Daily: two letters of the country, a network code and eight characters

Days = dict[date, tuple[float | None, float | None]]  # lowest and highest [°C]


def fetch_weather(ledger: Ledger, view: LedgerView, of: str | None, now: int) -> str:
    """
    Keep what a station has reported since it was last asked, or since January of last year, beside the days that are there already.

    `of` is the station's identifier; where it was told once it need not be told again. Says what came. Raises `Fault` where the service can not be
    asked or does not answer as documented; nothing is written then.
    """
    station = _station(view, of)
    before = _days_of(view.newest_weather(station))
    today = datetime.fromtimestamp(now, view.zone).date()
    first = min(max(before) - AGAIN, today) if before else date(today.year - 1, 1, 1)
    service = os.environ.get(VARIABLE) or SERVICE
    came, left_out = read_answer(fetched(f"{service}?{_query(station, first, today)}"), station)
    new = _merged(before, came, today)
    if not new:
        raise Fault(f"{station} has reported nothing new from {first} on", "it again in a few days, or --of with another station")
    source = SOURCE if service == SERVICE else str(urlsplit(service).hostname)
    content = _written({**before, **new}).encode()
    told = record_series(ledger, view, ["weather"], station, content, f"{station}: {source}", now, unit="°C")
    return "; ".join([told, f"{len(new)} new", *left_out, f"source: {source}"])


def read_answer(content: bytes, station: str) -> tuple[Days, list[str]]:
    """The days of a station in the service's answer, and what was left out. Raises `Fault` where it is not what is documented."""
    try:
        lines = list(csv.reader(content.decode("utf-8-sig").splitlines(), strict=True))
    except (UnicodeDecodeError, csv.Error):
        raise _unlike("it is not a table") from None
    rows = [[cell.strip() for cell in line] for line in lines if line]
    if len(rows) < 2:
        raise Fault(f"the service knows nothing of {station} in that time", "--of with the identifier of another station")
    missing = {"STATION", "DATE"} - set(rows[0])
    if missing or any(len(row) != len(rows[0]) for row in rows):
        raise _unlike(f"it has no column {', '.join(sorted(missing))}" if missing else "its rows are not of one length")
    if not {"TMAX", "TMIN"} <= set(rows[0]):
        raise Fault(f"{station} reports no daily temperatures", "--of with the identifier of a station that does")
    days: Days = {}
    left_out = 0
    for cells in sorted(rows[1:]):
        row = dict(zip(rows[0], cells, strict=True))
        if row["STATION"] != station:
            raise _unlike(f"it is of {row['STATION'][:20]!r}")
        day, low, high = _day(row["DATE"]), _degrees(row["TMIN"]), _degrees(row["TMAX"])
        if low is not None and high is not None and low > high:
            left_out += 1
        elif low is not None or high is not None:
            days[day] = (low, high)
    return days, [f"{left_out} left out, their lowest above their highest"] if left_out else []


def _station(view: LedgerView, of: str | None) -> str:
    """The station that is told, else the one that was asked last."""
    found = of or next((name for name in view.weather_tables if _STATION.fullmatch(name)), None)
    if found is None:
        raise Fault("which weather station?", "--of with its identifier in GHCN-Daily, 11 characters such as USW00024233")
    if not _STATION.fullmatch(found):
        raise Fault(f'"{found}" is not the identifier of a weather station', "--of with its 11 characters in GHCN-Daily, such as USW00024233")
    return found


def _days_of(table: SeriesRecorded | None) -> Days:
    return {row.day: (row.cells[0], row.cells[1]) for row in table_of(table).rows} if table else {}


def _merged(before: Days, came: Days, today: date) -> Days:
    """The days that bring something new, their readings beside those that are there; what is there is never changed."""
    found: Days = {}
    for day, (low, high) in came.items():
        old_low, old_high = before.get(day, (None, None))
        one = (low if old_low is None else old_low, high if old_high is None else old_high)
        in_order = one[0] is None or one[1] is None or one[0] <= one[1]
        if day <= today and in_order and one != before.get(day):
            found[day] = one
    return found


def _query(station: str, first: date, last: date) -> str:
    asked = {"dataset": "daily-summaries", "stations": station, "dataTypes": "TMAX,TMIN", "startDate": first, "endDate": last}
    return urlencode({**asked, "units": "metric", "includeAttributes": "false", "format": "csv"}, safe=",")


def _written(days: Days) -> str:
    rows = [",".join([str(day), *("" if cell is None else f"{cell:g}" for cell in days[day])]) for day in sorted(days)]
    return "\n".join(["date,tmin C,tmax C", *rows]) + "\n"


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise _unlike(f"{text[:20]!r} is not a date") from None


def _degrees(text: str) -> float | None:
    """A temperature [°C]; what no air was ever at is told, since it may be in tenths."""
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not COLDEST <= value <= HOTTEST:
        raise _unlike(f"{text[:20]!r} is not a temperature in °C")
    return value


def _unlike(what: str) -> Fault:
    return Fault(f"the weather service does not answer as it is documented: {what}", f"the table by hand, with --file; or {VARIABLE} with another service")
