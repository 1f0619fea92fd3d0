"""Servers that are down, closed, full, lying or hostile: each is told in words, and no password is in them."""

from __future__ import annotations

import contextlib
import gzip
import re
import socket
import ssl
import subprocess
import threading
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from click.testing import CliRunner

from scheduler.cli import main
from scheduler.diagnostics import Fault
from scheduler.ledger.store import Ledger
from scheduler.outputs.caldav import http
from scheduler.outputs.caldav.collection import Collection, find_or_create
from scheduler.outputs.caldav.http import Server, SyncStopped
from scheduler.outputs.caldav.reconcile import SyncState
from tests.conftest import PULLED

SECRET = "a comb in the hand"
Given = tuple[int, dict[str, str], bytes]
Serve = Callable[[Callable[[str], Given]], str]
ELSEWHERE = b'<multistatus xmlns="DAV:"><response><href>http://[</href></response></multistatus>'
PACKED = gzip.compress(b'<multistatus xmlns="DAV:"/>')  # what is packed is not unpacked: the bound holds for what crosses the network
BOMB = b"""<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "bbbbbbbbbb"><!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;">]><multistatus xmlns="DAV:">&c;</multistatus>"""
FILE = b"""<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/hostname">]><multistatus xmlns="DAV:">&b;</multistatus>"""


@pytest.fixture
def serve() -> Iterator[Serve]:
    """Starts a server on loopback that gives one answer to everything; returns its address."""
    started: list[ThreadingHTTPServer] = []

    def start(answer: Callable[[str], Given]) -> str:
        class Handler(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def log_message(self, *words: object) -> None:
                """Quiet."""

            def handle_one_request(self) -> None:
                self.raw_requestline = self.rfile.readline(65537)
                if not self.raw_requestline or not self.parse_request():
                    self.close_connection = True
                    return
                self.rfile.read(int(self.headers.get("Content-Length", 0)))
                status, headers, content = answer(self.path)
                self.send_response_only(status)
                for name, value in {"Content-Length": str(len(content)), **headers}.items():
                    self.send_header(name, value)
                self.end_headers()
                self.wfile.write(content)

        server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        started.append(server)
        return f"http://127.0.0.1:{server.server_address[1]}/dav/"

    yield start
    for server in started:
        server.shutdown()
        server.server_close()


def looked_for(url: str) -> None:
    """The yard's calendar is looked for on a server."""
    with Server(url, "keeper", SECRET) as server:
        find_or_create(server, "Kestrel Bank", "kestrel-bank")


@pytest.mark.parametrize(
    ("answer", "said", "write"),
    [
        ((401, {"WWW-Authenticate": "Basic realm=x"}, b""), "does not accept the name and password", "--user"),
        ((401, {"WWW-Authenticate": "Digest realm=x"}, b""), "does not accept the name and password", "takes a password"),
        ((403, {}, b""), "forbids PROPFIND here (403)", "--url"),
        ((429, {"Retry-After": "120"}, b""), "busy (429)", "after 120 s"),
        ((503, {"Retry-After": "Wed, 12 Aug 2026 07:00:00 GMT"}, b""), "busy (503)", "after 2026-08-12 07:00 UTC"),
        ((429, {"Retry-After": "soon"}, b""), "busy (429)", "in a while"),
        ((500, {}, b"<html>"), "the server failed (500)", "again"),
        ((507, {}, b""), "no room left", "room"),
        ((302, {"Location": "http://other.example.org/dav/"}, b""), "redirects to another host, http://other.example.org", "--url"),
        ((301, {"Location": "/dav/"}, b""), "redirects in a circle", "--url"),
        ((301, {"Location": "mailto:keeper"}, b""), "does not answer as an HTTP server does (InvalidURL)", "again"),
        ((207, {}, ELSEWHERE), "an address that cannot be read, 'http://['", "--url"),
        ((207, {"Content-Encoding": "gzip"}, PACKED), "not XML that can be read", "again"),
        ((207, {"Content-Length": "100", "Connection": "close"}, b"<"), "does not answer as an HTTP server does", "again"),
        ((207, {}, b"<multistatus"), "not XML that can be read", "again"),
        ((207, {}, b"\xff\xfe\x00"), "not XML that can be read", "again"),
        ((207, {}, BOMB), "it declares a document type", "again"),
        ((207, {}, FILE), "it declares a document type", "again"),
        ((404, {}, b""), "there is no CalDAV server at this address", "--url"),
        ((200, {}, b"<html>hello</html>"), "there is no CalDAV server at this address", "--url"),
        ((207, {}, b'<multistatus xmlns="DAV:"/>'), "there is no CalDAV server at this address", "--url"),
    ],
)
def test_what_a_server_answers_is_told_in_words(serve: Serve, answer: Given, said: str, write: str) -> None:
    """What is wrong and what to do; never the password."""
    with pytest.raises(SyncStopped, match=re.escape(said)) as stopped:
        looked_for(serve(lambda _: answer))
    assert write in stopped.value.write
    assert SECRET not in f"{stopped.value!r}{stopped.value.write}"


def test_an_answer_beyond_the_cap_is_not_read_to_its_end(serve: Serve, monkeypatch: pytest.MonkeyPatch) -> None:
    """The cap is 50 MB; here it is lowered to keep the test small."""
    assert http.LARGEST_RESPONSE == 50 * 1024**2
    monkeypatch.setattr(http, "LARGEST_RESPONSE", 1024**2)
    with pytest.raises(SyncStopped, match="more than 1 MB"):
        looked_for(serve(lambda _: (207, {}, b"<" * (3 * 1024**2))))


def test_a_kept_connection_that_the_server_closes_is_opened_again_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The second request finds the connection closed under it and goes out again; cookies and the proxies of the environment play no part."""
    monkeypatch.setenv("http_proxy", "http://127.0.0.1:1")
    heard: list[bytes] = []

    def answer(listening: socket.socket, answers: list[bytes]) -> None:
        for given in answers:
            client, _ = listening.accept()
            with client:
                heard.append(client.recv(65536))
                client.sendall(given)
                if given:
                    heard.append(client.recv(65536))  # and not a word more on this connection

    with socket.create_server(("127.0.0.1", 0)) as listening:
        missing = b"HTTP/1.1 404 Not Found\r\nContent-Length: 0\r\nSet-Cookie: comb=1\r\n\r\n"
        listener = threading.Thread(target=answer, args=(listening, [missing, missing, b""]), daemon=True)
        listener.start()
        with Server(f"http://127.0.0.1:{listening.getsockname()[1]}/", "keeper", SECRET) as server:
            assert [server.request("PROPFIND", path).status for path in ("/a", "/b")] == [404, 404]
            with pytest.raises(SyncStopped, match="does not answer as an HTTP server does"):
                server.request("PROPFIND", "/c")
        listener.join(10)
    assert [one.split()[1] for one in heard if one] == [b"/a", b"/b", b"/b", b"/c", b"/c"]
    assert not any(b"cookie" in one.lower() for one in heard)


def test_a_server_that_is_down_is_told(serve: Serve) -> None:
    """Nobody listens on the port."""
    with pytest.raises(SyncStopped, match="cannot be reached: connection refused"):
        looked_for("http://127.0.0.1:1/")


def test_a_server_without_the_tls_it_promises_is_told(serve: Serve) -> None:
    """https:// to a port that speaks http."""
    with pytest.raises(SyncStopped, match="does not speak TLS as it should"):
        looked_for(serve(lambda _: (200, {}, b"")).replace("http:", "https:"))


@pytest.mark.parametrize(
    ("url", "said"),
    [
        ("ftp://calendar.example.org/", "begins with https://"),
        ("calendar.example.org", "begins with https://"),
        ("https://keeper:pw@calendar.example.org/", "holds a name or a password"),
        ("http://calendar.example.org/", "cross the network in clear"),
    ],
)
def test_addresses_that_would_give_a_password_away_are_refused(url: str, said: str) -> None:
    """Before anything is sent."""
    with pytest.raises(Fault, match=said):
        Server(url, "keeper", SECRET)


def test_the_password_is_not_part_of_what_a_server_shows_of_itself() -> None:
    """Nor of the memory between two syncs."""
    assert SECRET not in repr(Server("https://calendar.example.org/", "keeper", SECRET))
    assert SECRET not in repr(Collection(Server("https://calendar.example.org/", "keeper", SECRET), "/dav/"))
    assert SyncState.from_json(SyncState().to_json()) == SyncState()


@pytest.mark.usefixtures("at_the_pull")
def test_the_command_tells_and_keeps_no_password(where: str, tmp_path: Path, serve: Serve, monkeypatch: pytest.MonkeyPatch) -> None:
    """Exit 2 in words; the password is in no file of the ledger, and a place that did not answer is not remembered."""
    monkeypatch.setenv("AFTERPULL_CALDAV_PASSWORD", SECRET)
    url = serve(lambda _: (401, {}, b""))
    told = CliRunner().invoke(main, ["sync", "--ledger", where, "--url", url, "--user", "keeper"])
    assert (told.exit_code, "does not accept the name and password" in told.stderr, SECRET in told.output) == (2, True, False)
    assert not any(SECRET.encode() in path.read_bytes() for path in tmp_path.iterdir())
    again = CliRunner().invoke(main, ["sync", "--ledger", where])
    assert (again.exit_code, "no calendar server is known yet" in again.stderr) == (2, True)


def test_a_server_that_fails_in_the_middle_loses_nothing(ledger: Ledger, serve: Serve) -> None:
    """The facts and what was sent are as they were."""
    from scheduler.application.sync import sync

    before = ledger.position()
    with Server(serve(lambda _: (500, {}, b"")), "keeper", SECRET) as server, pytest.raises(SyncStopped, match="the server failed"):
        sync(ledger, Collection(server, "/dav/kestrel-bank/"), "double", PULLED)
    assert ledger.position() == before


@pytest.mark.system
def test_a_certificate_that_nobody_vouches_for_is_not_trusted(tmp_path: Path) -> None:
    """A real handshake with a certificate made a moment ago: refused before a password is sent, and told in words."""
    key, certificate = tmp_path / "key.pem", tmp_path / "certificate.pem"
    made = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "1", "-subj", "/CN=localhost", "-keyout", str(key), "-out", str(certificate)]
    subprocess.run(made, check=True, capture_output=True)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate, key)
    with socket.create_server(("127.0.0.1", 0)) as listening:
        heard: list[bytes] = []

        def answer() -> None:
            client, _ = listening.accept()
            with contextlib.suppress(OSError), client, context.wrap_socket(client, server_side=True) as wrapped:
                heard.append(wrapped.recv(4096))

        listener = threading.Thread(target=answer, daemon=True)
        listener.start()
        with pytest.raises(Fault, match="the certificate of localhost is not trusted") as caught:
            looked_for(f"https://localhost:{listening.getsockname()[1]}/dav/")
        listener.join(10)
    assert SECRET not in str(caught.value)
    assert not any(heard)
