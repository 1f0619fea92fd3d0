"""A weather service on this machine that answers as the one that is asked documents it, and misbehaves where it is told to.

Documented in the "NCEI Data Service API User Documentation" of the NOAA National Centers for Environmental Information: the parameters dataset,
stations, dataTypes, startDate, endDate, units, format and includeAttributes of a GET request, and that the answer is a table as CSV. From memory:
how its lines look, that days without a reading have empty cells, that what is wrong with a request is told with the status 400 and JSON.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, urlsplit

Weather = Callable[[date], tuple[str, str]]  # highest and lowest as they are printed
HEADER = '"STATION","DATE","TMAX","TMIN"'


def table(station: str, first: date, last: date, weather: Weather) -> str:
    """The answer: quoted cells, padded to eight characters."""
    days = [first + timedelta(step) for step in range((last - first).days + 1)]
    rows = [f'"{station}","{day}","{high:>8}","{low:>8}"' for day in days for high, low in [weather(day)]]
    return "\n".join([HEADER, *rows]) + "\n"


class Service(ThreadingHTTPServer):
    """One station, USW00024233 (its readings are invented), that has reported up to a day."""

    daemon_threads = True
    station = "USW00024233"
    until = date(2027, 1, 1)
    weather: Weather = staticmethod(lambda day: ("15.0", "5.0"))
    misbehaves: Callable[[BaseHTTPRequestHandler], None] | None = None

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Answers)
        self.asked: list[dict[str, str]] = []

    @property
    def url(self) -> str:
        """Where it is."""
        return f"http://127.0.0.1:{self.server_port}/access/services/data/v1"


class _Answers(BaseHTTPRequestHandler):
    server: Service

    def do_GET(self) -> None:
        """One table."""
        if self.server.misbehaves:
            self.server.misbehaves(self)
            return
        asked = {name: values[0] for name, values in parse_qs(urlsplit(self.path).query).items()}
        self.server.asked.append(asked)
        if asked.get("dataset") != "daily-summaries" or "stations" not in asked:
            self.answers(400, '{"errorCode":400,"errorMessage":"Bad Request"}')
            return
        last = min(date.fromisoformat(asked["endDate"]), self.server.until)
        known = asked["stations"] == self.server.station
        self.answers(200, table(asked["stations"], date.fromisoformat(asked["startDate"]), last, self.server.weather) if known else "")

    def answers(self, status: int, text: str, **headers: str) -> None:
        """A whole answer."""
        content = text.encode()
        self.send_response(status)
        for name, value in {"Content-Type": "text/csv", "Content-Length": str(len(content)), **headers}.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(content)

    def log_message(self, format: str, *args: object) -> None:
        """Nothing on the terminal."""


@contextmanager
def weather_service() -> Iterator[Service]:
    """The service, up for a while."""
    service = Service()
    thread = threading.Thread(target=service.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True)
    thread.start()
    try:
        yield service
    finally:
        service.shutdown()
        service.server_close()
        thread.join()
