"""Connections that ask for nothing, or only half: the feeds stay there for everybody else."""

from __future__ import annotations

import os
import resource
import shlex
import socket
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import ExitStack, suppress

import pytest

from scheduler.application.feed_addresses import new
from scheduler.application.publish import Feeds
from scheduler.ledger.store import Ledger
from scheduler.web import bounded_http
from scheduler.web.server import listening
from tests.conftest import PULLED
from tests.web.test_feeds import served

pytestmark = [pytest.mark.slow, pytest.mark.skipif(sys.platform == "win32", reason="limits of a process are POSIX")]
HALF = b"GET /feed/x.ics HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Half: "
FILES = 512  # that the serving process may have open
CROWD = 1100


@pytest.fixture
def port() -> int:
    """A port that is free."""
    with listening(False, 0) as free:
        return int(free.getsockname()[1])


@pytest.fixture
def address(where: str, port: int) -> Iterator[str]:
    """A feed that `afterpull serve` serves there, in a process that may open few files."""
    with Ledger.open(where) as ledger:
        secret = new(ledger, "kitchen", PULLED)
    command = shlex.join([sys.executable, "-m", "scheduler", "serve", "--no-alerts", "--ledger", where, "--port", str(port)])
    with subprocess.Popen(["sh", "-c", f"ulimit -n {FILES}; exec {command}"], stderr=subprocess.PIPE, text=True, env={**os.environ}) as process:
        assert process.stderr is not None
        assert "Serving kitchen" in process.stderr.readline()
        yield f"http://127.0.0.1:{port}/feed/{secret}.ics"
        process.terminate()
        process.communicate(timeout=60)


def fetched(address: str) -> bytes:
    """The feed, as a phone fetches it."""
    with urllib.request.urlopen(address, timeout=60) as answer:
        found: bytes = answer.read()
        return found


def begun(port: int, text: bytes) -> socket.socket:
    """A connection that has sent so much."""
    connection = socket.create_connection(("127.0.0.1", port), timeout=60)
    connection.sendall(text)
    return connection


def test_a_crowd_that_sends_half_a_head_stops_nobody(address: str, port: int) -> None:
    """More connections than the process may have files: who asks is answered, also while the crowd waits."""
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (max(soft, min(hard, 4 * CROWD)), hard))
    with ExitStack() as crowd:
        for _ in range(CROWD):
            crowd.enter_context(begun(port, HALF))
        assert fetched(address).startswith(b"BEGIN:VCALENDAR")
    assert fetched(address).startswith(b"BEGIN:VCALENDAR")
    resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))


@pytest.mark.parametrize("first", [b"", b"GET /feed/x.ics HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"], ids=["a new connection", "after an answer"])
def test_a_head_that_never_ends_is_cut(address: str, port: int, first: bytes) -> None:
    """Also where a letter comes now and then, and where a whole request was answered before."""
    with begun(port, first + HALF) as connection:
        if first:
            assert connection.recv(20).startswith(b"HTTP/1.1 404")
        connection.settimeout(0.2)
        try:
            for _ in range(300):  # a minute at most
                connection.send(b"x")
                try:
                    if connection.recv(4096) == b"":
                        return
                except TimeoutError:
                    pass
        except ConnectionError:
            return
    pytest.fail("the connection was kept for a minute")


def test_who_waits_longest_makes_room(ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond the most connections the oldest silent one is cut, before its time is over; the newest is answered."""
    monkeypatch.setattr(bounded_http, "HEAD", 1000.0)
    with served(Feeds(ledger, lambda: PULLED)) as port, ExitStack() as crowd:
        connections = [crowd.enter_context(begun(port, b"")) for _ in range(bounded_http.MOST)]
        newest = crowd.enter_context(begun(port, b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"))
        assert newest.recv(20).startswith(b"HTTP/1.1 404")
        with suppress(ConnectionResetError):
            assert connections[0].recv(1) == b""
        connections[1].sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
        assert connections[1].recv(20).startswith(b"HTTP/1.1 404")
