"""The feeds as a calendar client fetches them, over HTTP on loopback."""

from __future__ import annotations

import gzip
import http.client
import re
import threading
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from email.utils import parsedate_to_datetime

import pytest

from scheduler.application.feed_addresses import last_fetch, new, revoke
from scheduler.application.publish import Feeds, select
from scheduler.facts.fact import Retracted, TaskSkipped
from scheduler.ledger.store import Ledger
from scheduler.outputs.calendar.check import check
from scheduler.web.feeds import application
from scheduler.web.server import listening, server_of
from tests.conftest import PULLED


@dataclass
class Answer:
    """What a client gets."""

    status: int
    headers: dict[str, str]
    content: bytes


Fetch = Callable[..., Answer]


@pytest.fixture
def feeds(ledger: Ledger) -> Feeds:
    """The feeds of the example, their clock standing at the pull."""
    return Feeds(ledger, lambda: PULLED)


@contextmanager
def served(feeds: Feeds, base: str = "") -> Iterator[int]:
    """The free port of loopback on which a thread serves."""
    with listening(False, 0) as listener:
        server = server_of(application(feeds, base))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
        thread.start()
        while not server.started:
            time.sleep(0.01)
        yield int(listener.getsockname()[1])
        server.should_exit = True
        thread.join()


@pytest.fixture
def fetch(feeds: Feeds) -> Iterator[Fetch]:
    """A client of a server."""

    def fetched(path: str, method: str = "GET", **headers: str) -> Answer:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
        connection.request(method, path, headers={name.replace("_", "-"): value for name, value in headers.items()})
        response = connection.getresponse()
        answer = Answer(response.status, {name.lower(): value for name, value in response.getheaders()}, response.read())
        connection.close()
        return answer

    with served(feeds) as port:
        yield fetched


@pytest.fixture
def address(ledger: Ledger) -> str:
    """The path of the kitchen's feed."""
    return f"/feed/{new(ledger, 'kitchen', PULLED)}.ics"


def test_the_feed_is_the_calendar_that_the_command_writes(fetch: Fetch, feeds: Feeds, address: str) -> None:
    """The same bytes, as text/calendar, sound by our own checker."""
    answer = fetch(address)
    assert (answer.status, answer.headers["content-type"]) == (200, "text/calendar; charset=utf-8")
    assert answer.content == feeds.sent().calendar(select())
    assert check(answer.content, "feed.ics") == []
    assert b"REFRESH-INTERVAL;VALUE=DURATION:PT1H" in answer.content


def test_a_client_that_has_it_is_told_so_without_rendering(fetch: Fetch, feeds: Feeds, address: str) -> None:
    """If-None-Match answers 304 with no body, compressed or not, in a list or weak; after a change it is 200 with another ETag."""
    first = fetch(address)
    for asked in (first.headers["etag"], f'"other", {first.headers["etag"]}', first.headers["etag"].removeprefix("W/"), "*"):
        again = fetch(address, If_None_Match=asked, Accept_Encoding="gzip")
        assert (again.status, again.content, again.headers["etag"]) == (304, b"", first.headers["etag"])
    assert feeds.renders == 1
    feeds.ledger.append([TaskSkipped(occurred_at=PULLED, task=next(t.id for t in feeds.sent().plan.tasks if t.hands), because="rain")], PULLED)
    changed = fetch(address, If_None_Match=first.headers["etag"])
    assert changed.status == 200
    assert changed.headers["etag"] != first.headers["etag"]


def test_it_is_compressed_for_who_takes_it(fetch: Fetch, address: str) -> None:
    """A season's plan is small on a phone's contract; caches are told that the answer varies."""
    plain, packed = fetch(address), fetch(address, Accept_Encoding="gzip")
    assert packed.headers["content-encoding"] == "gzip"
    assert "Accept-Encoding" in packed.headers["vary"]
    assert gzip.decompress(packed.content) == plain.content
    assert len(packed.content) < len(plain.content) / 4


def test_nobody_else_learns_anything(fetch: Fetch, ledger: Ledger, address: str) -> None:
    """A wrong secret, a revoked one and a path that never was have one answer, to the byte; and none leads to the host that the request names."""
    paths = ("/feed/" + "x" * 43 + ".ics", address.replace(".ics", "x.ics"), "/feed/.ics", "/feed/", "/", "/feed/%00.ics", f"{address}/", "/feed", "//x/..")
    revoke(ledger, "kitchen", PULLED)
    wrong = [fetch(path, Host="elsewhere.example") for path in (*paths, address)]
    assert {(answer.status, answer.content) for answer in wrong} == {(404, b"not found\n")}
    assert len({tuple(sorted(answer.headers.items() - {("date", answer.headers["date"])})) for answer in wrong}) == 1


def test_an_answer_stays_with_the_person(fetch: Fetch, address: str) -> None:
    """No shared cache keeps it, no linked page learns the address, no robot indexes it."""
    headers = fetch(address).headers
    assert "private" in headers["cache-control"]
    assert (headers["referrer-policy"], headers["x-robots-tag"], headers["x-content-type-options"]) == ("no-referrer", "noindex", "nosniff")
    assert "server" not in headers


def test_filters_are_part_of_the_address(fetch: Fetch, address: str) -> None:
    """To-dos, holds, yard, streams, places and people; an unknown filter, yard, stream, place or person is told, not ignored."""
    assert b"BEGIN:VTODO" in fetch(f"{address}?todos=1").content
    assert fetch(f"{address}?holds=1").content.count(b"BEGIN:VEVENT") > fetch(address).content.count(b"BEGIN:VEVENT")
    assert set(fetch(f"{address}?stream=cut+comb").content.split(b"CATEGORIES:")[1:]) != set()
    categories = [line.partition(b"\r")[0] for line in fetch(f"{address}?stream=cut+comb&stream=yard").content.split(b"CATEGORIES:")[1:]]
    assert all(b"cut comb" in line or b"yard" in line for line in categories)
    assert fetch(f"{address}?all=1").content.count(b"BEGIN:VEVENT") > fetch(address).content.count(b"BEGIN:VEVENT")
    assert all(b",apiary" in line.partition(b"\r")[0] for line in fetch(f"{address}?place=apiary").content.split(b"CATEGORIES:")[1:])
    whole, own = fetch(address).content, fetch(f"{address}?yard=Kestrel+Bank&person=keeper").content  # the one yard, and the one who works there
    assert own.partition(b"BEGIN:VTIMEZONE")[2] == whole.partition(b"BEGIN:VTIMEZONE")[2]
    refused = ("stream=cutcomb", "todo=1", "todos=1&holds=1", "yard=kestrel", "place=shed", "person=Mira")
    assert [fetch(f"{address}?{asked}").status for asked in refused] == [400] * len(refused)


def test_head_and_other_methods(fetch: Fetch, address: str) -> None:
    """HEAD has the headers of GET and no body; nothing can be changed through a feed."""
    head = fetch(address, method="HEAD")
    assert (head.status, head.content, head.headers["etag"]) == (200, b"", fetch(address).headers["etag"])
    assert fetch(address, method="PUT").status == 405


def test_a_yard_that_can_not_be_planned_is_a_pause_not_an_empty_calendar(ledger: Ledger, fetch: Fetch, address: str) -> None:
    """An empty calendar would delete the season from every phone; 503 leaves it standing."""
    fetch(address)
    last = next(one for one in ledger.facts() if one.fact.kind == "yard-set")
    ledger.append([Retracted(occurred_at=PULLED, replaces=last.id)], PULLED)
    answer = fetch(address)
    assert (answer.status, "retry-after" in answer.headers) == (503, True)


def test_each_part_is_a_calendar_of_its_own(fetch: Fetch, address: str) -> None:
    """A phone that subscribes to two of them keeps both apart, by UID and by name (RFC 7986 sections 5.1 and 5.3)."""
    heads = [fetch(f"{address}{asked}").content.partition(b"BEGIN:V")[2].partition(b"BEGIN:V")[0] for asked in ("", "?todos=1", "?place=apiary")]
    named = [re.search(rb"\r\nNAME:(.*)\r\n", head) for head in heads]
    assert [found[1] for found in named if found] == [b"Kestrel Bank", rb"Kestrel Bank\, to-dos", rb"Kestrel Bank\, apiary"]
    assert len({re.findall(rb"\r\nUID:(.*)\r\n", head)[0] for head in heads}) == 3


def test_it_says_what_clients_old_and_new_read(fetch: Fetch, address: str) -> None:
    """How often to ask, in which zone it is, a colour and a description; when it changed last and what a file of it is called."""
    answer = fetch(address)
    for line in (b"X-PUBLISHED-TTL:PT1H", b"X-WR-TIMEZONE:Europe/Ljubljana", b"COLOR:teal", b"DESCRIPTION:Work after the honey"):
        assert b"\r\n" + line in answer.content
    assert parsedate_to_datetime(answer.headers["last-modified"]).timestamp() == PULLED
    assert answer.headers["content-disposition"] == 'inline; filename="kestrel-bank.ics"'
    assert fetch(f"{address}?todos=1").headers["content-disposition"] == 'inline; filename="kestrel-bank-to-dos.ics"'


def test_behind_a_known_address_it_names_where_it_is_fetched_from(feeds: Feeds, address: str) -> None:
    """SOURCE (RFC 7986 section 5.8), folded as any long line; without a known address it names none."""
    with served(feeds, "https://bees.example.org/honey") as port, urllib.request.urlopen(f"http://127.0.0.1:{port}{address}") as answer:
        content = answer.read()
    assert f"\r\nSOURCE;VALUE=URI:https://bees.example.org/honey{address}\r\n" in content.decode().replace("\r\n ", "")
    assert check(content, "feed.ics") == []


def test_an_address_of_ones_own_shows_ones_own_work(fetch: Fetch, ledger: Ledger) -> None:
    """What Ash takes is in Ash's feed and nothing else is; one address shows everybody's, as those did that were made before."""
    own, all_ = (f"/feed/{new(ledger, 'keeper', PULLED, own=own)}.ics" for own in (True, False))
    assert fetch(own).status == 404  # the newer one took its place
    assert b"\r\nNAME:Kestrel Bank\r\n" in fetch(all_).content
    mine = f"/feed/{new(ledger, 'keeper', PULLED, own=True)}.ics"
    assert rb"NAME:Kestrel Bank\, keeper" in fetch(mine).content
    assert fetch(f"{mine}?person=Mira").status == 400


def test_when_it_was_last_fetched_and_from_where_is_kept(fetch: Fetch, ledger: Ledger, address: str) -> None:
    """So that the keeper sees which phone still asks; a wrong address leaves nothing."""
    fetch("/feed/wrong.ics")
    assert last_fetch(ledger, "kitchen") is None
    position = ledger.position()
    fetch(address)
    assert last_fetch(ledger, "kitchen") == (PULLED, "this machine")
    assert ledger.position() == position  # no fact: the plan does not move because somebody looked
