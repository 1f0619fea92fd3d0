"""Inputs that chance made: tables, calendars, exports, moments, HTTP requests. Each is taken or refused in words; no fault of the program comes of any."""

from __future__ import annotations

import io
import json
import socket
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from scheduler.application.feed_addresses import new
from scheduler.application.lookup import moment_of
from scheduler.application.observe import Saying, record_series
from scheduler.application.publish import Feeds, publish_plan
from scheduler.application.season_evidence import air_of, marks_of, season_numbers
from scheduler.diagnostics import Diagnostic, Fault, Refused
from scheduler.facts.fact import Fact, SeriesRecorded
from scheduler.ledger.store import Ledger
from scheduler.local_time import spoken
from scheduler.outputs.calendar.check import check
from tests.chance import times
from tests.conftest import PULLED, fill
from tests.facts.recorded import SEASON
from tests.keeper import Keeper
from tests.web.test_feeds import served

pytestmark = [pytest.mark.slow]
FULL = {"tables": 5000, "calendars": 5000, "exports": 4000, "moments": 4000, "requests": 2000}  # 20,000 together
LATER = PULLED + 40 * 86400


def as_often(what: str) -> settings:
    """How often one kind of input is tried."""
    return settings(deadline=None, max_examples=times(FULL[what]), suppress_health_check=list(HealthCheck))


ODD = ["", " ", "\x00", "\ufeff", "é", "😀", "\u2028", "−17,9", '"', "'", "\\", "nan", "inf", "1e999", "9" * 30, "9" * 4400, "-0", "0x10", "٣", "x" * 140_000]
NUMBERS = ["-17.9", "12", "12,5", "64.4", "-18", "1e3", "1_000", "+5"]
DAYS = ["2026-08-12", "2026-02-29", "0001-01-01", "9999-12-31", "1850-03-01", "2026/08/13", "20260814", "2026-W33-3", "12.8.2026", "13/08/2026"]
CLOCKS = ["", "T06:00", " 06:00", "T06:00Z", "T06:00+14:00", "T23:59:60", "T24:00", " 6:00 pm", "T06:00:00.5-23:59", "T02:30"]
moments = st.builds(str.__add__, st.sampled_from(DAYS), st.sampled_from(CLOCKS))
cells = st.one_of(moments, st.sampled_from(NUMBERS), st.sampled_from(ODD), st.text(max_size=8), st.integers().map(str), st.floats().map(str))


HEADERS = {"freezer": ["time", "temperature"], "scale": ["date", "mass kg"], "weather": ["date", "tmin", "tmax"]}
ANY_HEADER = st.lists(st.sampled_from(["time", "date", "temperature", "temp °F", "tmin", "tmax", "mass kg", "lb", "", '"', "Zeit"]), min_size=1, max_size=4)


@st.composite
def tables(draw: st.DrawFn) -> tuple[str, str]:
    """A table that a logger, a scale or a spreadsheet might have written, or nearly: its rows mostly in order, now and then a cell of any kind."""
    kind = draw(st.sampled_from(list(HEADERS)))
    header = draw(st.one_of(st.just(HEADERS[kind]), st.just(HEADERS[kind]), ANY_HEADER))
    between, clock, first = draw(st.sampled_from([",", ",", ";", "\t", ", "])), draw(st.sampled_from(CLOCKS[:4])), draw(st.integers(1, 27))
    rows = []
    for number in range(draw(st.integers(0, 6))):
        plain = [f"2026-08-{min(31, first + number):02}{clock}", *(str(draw(st.integers(-18, -17)) + column) for column in range(len(header) - 1))]
        rows.append([draw(cells) if draw(st.integers(0, 29)) == 0 else cell for cell in plain])
    return kind, draw(st.sampled_from(["\n", "\r\n", "\r"])).join([between.join(header), *(between.join(row) for row in rows)])


class Kept:
    """Takes facts as a ledger does."""

    def __init__(self) -> None:
        self.facts: list[Fact] = []

    def append(self, facts: Sequence[Fact], now: int) -> None:
        self.facts += facts


@pytest.fixture(scope="module")
def keeper(tmp_path_factory: pytest.TempPathFactory) -> Keeper:
    """Kestrel Bank, some weeks after the pull."""
    found = Keeper(tmp_path_factory.mktemp("ridge") / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")
    found.now = LATER
    return found


@pytest.fixture(scope="module")
def view(keeper: Keeper) -> Any:
    """What the ledger says then."""
    return keeper.view


@as_often("tables")
@given(
    table=st.one_of(tables(), tables(), st.tuples(st.sampled_from(list(HEADERS)), st.text(max_size=60))), unit=st.sampled_from([None, None, "°C", "°F", "K"])
)
@example(table=("freezer", "time,temperature\n0001-01-01T00:00,-17\n0001-01-02T00:00,-17\n"), unit=None)
@example(table=("freezer", "time,temperature\n9999-12-31T23:00-05:00,-17\n9999-12-31T23:59-05:00,-17\n"), unit=None)
def test_any_table_is_kept_or_refused_and_what_is_kept_is_of_use(view: Any, table: tuple[str, str], unit: str | None) -> None:
    """What is kept can be read again for every later plan."""
    (kind, text), kept = table, Kept()
    try:
        record_series(kept, view, [kind], None, text.encode("utf-8", "surrogatepass"), "table.csv", LATER, Saying(unit=unit))  # type: ignore[arg-type]
    except (Refused, Fault):
        assert kept.facts == []
        return
    [fact] = kept.facts
    assert isinstance(fact, SeriesRecorded)
    marks_of([fact], season_numbers(view.rules), view.zone)
    air_of(["freezer"], [fact], [], view.zone)


WORDS = ["BEGIN:VCALENDAR", "END:VCALENDAR", "BEGIN:VEVENT", "END:VEVENT", "BEGIN:VTODO", "END:VTODO", "BEGIN:VALARM", "END:VALARM", "BEGIN:VTIMEZONE"]
NAMES = ["UID", "DTSTAMP", "DTSTART", "DTEND", "DUE", "DURATION", "SEQUENCE", "PRIORITY", "STATUS", "TRIGGER", "RELATED-TO", "TZOFFSETTO", "TZID", "SUMMARY"]
INSTANTS = ["00010101T000000", "99991231T235959", "99991231T235959Z", "20260811T173000", "20260811", "20260811T235960", "00000000", "20260230T000000Z"]
PLACES = ["Europe/Vienna", "America/Los_Angeles", "Pacific/Kiritimati", "Mars/Phobos", "../../etc/passwd", "/etc/passwd", ".", "x" * 300, "\x00"]
values = st.one_of(st.sampled_from(INSTANTS), st.sampled_from(["PT1H", "-P2W", "P", "9" * 4400, "-1", "²", "٣", "CONFIRMED", "+0100"]), st.text(max_size=12))
properties = st.builds(
    lambda name, zone, value: f"{name}{f';TZID={zone}' if zone else ''}:{value}",
    st.sampled_from(NAMES),
    st.one_of(st.none(), st.sampled_from(PLACES)),
    values,
)
calendars = st.builds(
    lambda lines, ending, wrapped: ending.join(["BEGIN:VCALENDAR", "BEGIN:VEVENT", *lines, "END:VEVENT", "END:VCALENDAR", ""] if wrapped else lines),
    st.lists(st.one_of(properties, properties, st.sampled_from(WORDS), st.text(max_size=20)), max_size=12),
    st.sampled_from(["\r\n", "\r\n", "\n", "\r\n "]),
    st.booleans(),
)


def nested(depth: int) -> str:
    """Components in components."""
    return "BEGIN:VEVENT\r\n" * depth + "END:VEVENT\r\n" * depth


def event(*lines: str) -> str:
    """A calendar with one event."""
    return "\r\n".join(["BEGIN:VCALENDAR", "BEGIN:VEVENT", *lines, "END:VEVENT", "END:VCALENDAR", ""])


@as_often("calendars")
@given(content=st.one_of(calendars.map(lambda text: text.encode("utf-8", "surrogatepass")), st.binary(max_size=80)))
@example(content=event("DTSTART;TZID=Europe/Vienna:00010101T000000", "DTEND;TZID=Europe/Vienna:00010101T000001").encode())
@example(content=event("DTSTART;TZID=America/Los_Angeles:99991231T235958", "DTEND;TZID=America/Los_Angeles:99991231T235959").encode())
@example(content=event("SEQUENCE:" + "9" * 4400).encode())
@example(content=nested(3000).encode())
@example(content=b"BEGIN:VEVENT\r\n" * 3000)
def test_any_calendar_is_judged(content: bytes) -> None:
    """Each fault with its line; nothing that chance makes is sound but what keeps to the rules."""
    for found in check(content, "any.ics"):
        assert found.message
        assert found.line >= 1


json_values: st.SearchStrategy[Any] = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=6), st.sampled_from([10**30, -(10**30), 2**63, "\ud800", "9" * 32])),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=6), inner, max_size=3)),
    max_leaves=6,
)


class Season:
    """A ledger with every kind of fact and what was published, its export, and a second ledger that exports are taken into."""

    def __init__(self, folder: Path) -> None:
        with Ledger.open(folder / "season.sqlite") as ledger:
            fill(ledger)
            publish_plan(ledger, PULLED)
            ledger.append(SEASON, PULLED + 1)
            text = io.StringIO()
            ledger.export(text)
        self.lines = text.getvalue().splitlines()
        self.other = Ledger.open(folder / "other.sqlite")


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Season]:
    """What came in by chance leaves a sound ledger, which goes out and in again."""
    found = Season(tmp_path_factory.mktemp("season"))
    with found.other as other:
        yield found
        assert other.check() == []
        text = io.StringIO()
        other.export(text)
        with Ledger.open(tmp_path_factory.mktemp("third") / "third.sqlite") as third:
            third.import_(io.StringIO(text.getvalue()), "again.jsonl")
            assert third.check() == []


def replaced(value: Any, path: Sequence[Any], new_: Any) -> Any:
    """A value with what lies at a path replaced."""
    if not path:
        return new_
    copy = dict(value)
    copy[path[0]] = replaced(value[path[0]], path[1:], new_) if path[0] in value else new_
    return copy


def found(value: Any, path: Sequence[Any]) -> Any:
    """What lies at a path, if anything."""
    for key in path:
        value = value.get(key)
    return value


def like(value: Any) -> st.SearchStrategy[Any]:
    """Another value of its kind."""
    if isinstance(value, str):
        return st.one_of(st.text(max_size=12), st.just(value[::-1]), st.just(value + "x"))
    if isinstance(value, int | float):
        return st.one_of(st.just(value + 1), st.just(value / 2), st.integers(-(10**12), 10**12))
    return st.just(value)


@as_often("exports")
@given(chance=st.data())
def test_any_export_is_taken_or_refused_with_its_lines(season: Season, chance: st.DataObject) -> None:
    """One line of a good one is changed: a value in it, a letter, a key more. The first form has no checksum that would find it at once."""
    draw = chance.draw
    line = json.loads(draw(st.sampled_from(season.lines[1:-1])))
    line.pop("checksum")
    inner = next(key for key in ("fact", "published") if key in line)
    at = draw(st.one_of(st.sampled_from([[key] for key in line]), st.sampled_from([[inner, key] for key in (*line[inner], "self", "kind", "amount")])))
    line |= {"id": draw(st.uuids()).hex} if inner == "fact" else {}
    text = json.dumps(replaced(line, at, draw(st.one_of(json_values, like(found(line, at)), like(found(line, at))))))
    if draw(st.integers(0, 9)) == 0:
        place = draw(st.integers(0, len(text)))
        text = text[:place] + draw(st.sampled_from([*ODD, "[" * 5000, "NaN", "{", "\\ud800"])) + text[place + draw(st.integers(0, 3)) :]
    first = draw(st.sampled_from(['{"afterpull ledger":1}'] * 9 + ['{"afterpull ledger":2}']))
    faults: Sequence[Diagnostic] = ()
    try:
        season.other.import_(io.StringIO(f"{first}\n{text}\n"), "any.jsonl")
    except Refused as refused:
        faults = refused.diagnostics
    assert all(one.path and one.line >= 1 for one in faults)


said = st.one_of(
    st.builds(
        lambda *words: " ".join(filter(None, words)),
        st.sampled_from(["", "", "", "today", "yesterday", "tomorrow", "Sun", "sunday", "Wed", "wednesdayish"]),
        st.sampled_from(["", "", "", "26 Aug", "29 Feb", "29 feb 2027", "31 jun", "0 Jan", "1 Jan 0001", "31 Dec 9999", "99 Dec", "12 August 1949"]),
        st.sampled_from(["", "19:40", "19:40", "9:05", "00:00", "24:00", "99:99", "٣:٠٠", "02:30"]),
        st.sampled_from(["", "", "", "+02:00", "-99:99", "+24:00", "+14:00"]),
    ),
    st.one_of(moments, st.sampled_from(ODD), st.text(max_size=20)),
)
ZONES = ["Europe/Ljubljana", "Pacific/Kiritimati", "Pacific/Pago_Pago", "Australia/Lord_Howe", "America/St_Johns", "UTC"]


@as_often("moments")
@given(text=said, zone=st.sampled_from(ZONES), ahead=st.booleans(), now=st.integers(PULLED - 10**9, PULLED + 3 * 10**9))
@example(text="19:40 +24:00", zone="UTC", ahead=False, now=PULLED)
def test_any_words_for_a_moment_are_a_moment_or_refused(text: str, zone: str, ahead: bool, now: int) -> None:
    """And a moment can be said again."""
    try:
        moment = moment_of(text, now, ZoneInfo(zone), ahead=ahead)
    except Fault:
        return
    assert spoken(moment, ZoneInfo(zone))


def test_any_words_for_a_moment_at_the_command_line(keeper: Keeper) -> None:
    """The same through the commands that take one: exit 0, or 2 with words, and no traceback."""
    for text in ("", "\x00", "9" * 30, "0001-01-01T00:00", "9999-12-31T23:59-12:00", "29 Feb 19:40", "\ud800", "T", "2026-08-11T10:30+23:59", "--"):
        for words in (["done", "a/cut.1", "--at", text], ["put-off", "a/cut.1", "--until", text], ["observe", "first frost", "--on", text]):
            keeper.types(*words, refused=True)


HEADS = [
    "Host: 127.0.0.1",
    "Host: ",
    "Host: a\x00b",
    "If-None-Match: *",
    'If-None-Match: W/"x", "',
    "Accept-Encoding: gzip;q=9",
    "Range: bytes=0-1",
    "X-" + "y" * 500,
]
HEADS += [
    "Content-Length: -1",
    "Content-Length: " + "9" * 30,
    "Transfer-Encoding: chunked",
    "Expect: 100-continue",
    "Connection: Upgrade",
    "Upgrade: h2c",
    "é: ü",
]
ASKED = [
    "todos=1",
    "holds=1",
    "hands-on=1",
    "yard=",
    "yard=%ff",
    "stream=cut+comb",
    "stream=%00",
    "place=moon",
    "person=keeper",
    "x=1",
    "&&&",
    "%",
    "=",
    "todos",
    "😀",
]


@pytest.fixture(scope="module")
def web(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[int, str]]:
    """A port that serves, and the path of a feed there."""
    with Ledger.open(tmp_path_factory.mktemp("web") / "ledger.sqlite") as ledger:
        fill(ledger)
        secret = new(ledger, "kitchen", PULLED)
        feeds = Feeds(ledger, lambda: PULLED)
        feeds.sent()
        with served(feeds) as port:
            yield port, f"/feed/{secret}.ics"


@as_often("requests")
@given(
    method=st.sampled_from(["GET", "GET", "HEAD", "POST", "PUT", "OPTIONS", "get", "G\x00T", ""]),
    path=st.one_of(
        st.none(),
        st.none(),
        st.sampled_from(["/", "//", "/feed/", "/feed/x.ics", "*", "http://a/", "/../../x", "/%2e%2e", "/" + "a" * 9000]),
        st.text(max_size=9),
    ),
    asked=st.lists(st.one_of(st.sampled_from(ASKED), st.text(max_size=6)), max_size=3),
    heads=st.lists(st.one_of(st.sampled_from(HEADS), st.text(max_size=12)), max_size=4),
)
def test_any_request_is_answered_or_cut(web: tuple[int, str], method: str, path: str | None, asked: list[str], heads: list[str]) -> None:
    """Never with a fault of the server, and the next one is served."""
    port, feed = web
    target = (feed if path is None else path) + ("?" + "&".join(asked) if asked else "")
    request = "\r\n".join([f"{method} {target} HTTP/1.1", "Host: 127.0.0.1", "Connection: close", *heads, "", ""])
    with socket.create_connection(("127.0.0.1", port), timeout=60) as connection:
        connection.sendall(request.encode("utf-8", "surrogatepass"))
        connection.shutdown(socket.SHUT_WR)
        answer = b""
        while part := connection.recv(1 << 16):
            answer += part
    assert answer[:9] in (b"", b"HTTP/1.1 ")
    assert not answer[9:].startswith(b"5"), answer[:300]
