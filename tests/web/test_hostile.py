"""Whatever is typed into a field or an address: it is recorded, refused in words or not there, and nothing of it is run."""

from __future__ import annotations

import re
import select
import socket
from collections.abc import Iterator
from contextlib import suppress
from urllib.parse import quote, unquote, urlencode

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.ledger.store import Ledger
from tests.chance import times
from tests.web.test_page import Browser, served

FORMS = {
    "/done": ("task", "at", "amount", "hives", "also", "whole", "again", "sure", "ago"),
    "/later": ("task", "until", "ago"),
    "/drop": ("task", "because"),
    "/seen": ("mark", "on", "apiary"),
    "/undo": ("facts", "sure"),
    "/pulled": ("harvest", "at", "ago"),
    "/reading": ("lot", "what", "value", "at", "ago"),
    "/release": ("lot", "because"),
    "/hive": ("what", "hive", "on", "cause", "active", "product", "batch"),
    "/larvae": ("lot", "seen", "on"),
    "/as-planned": ("until", "sure", "also"),
    "/units": ("units",),
    "/harvest": ("name", "pulled", "hives", "apiary", "lots", "kind1", "frames1", "frame1", "moisture1"),
    "/pull": ("harvest", "pulled"),
    "/plan": ("like", "pulled", "frames"),
}
LIKELY = (  # what a keeper types there, or somebody who means no good
    *("ridge-2/close-up", "ridge-2/a/cut.1", "ridge-2/a/drain.1", "ridge-2/b/spin", "ridge-2/reduce-entrances", "11:00", "tomorrow 18:00", "6", "40min"),
    *("north", "all", "first frost", "ridge-2/a", "moisture", "foulbrood suspected", "colony died", "treatment begins", "yes", "17.8 %", "2026-08-01"),
    *("extracted 9 medium", "cut comb 4 shallow 17.4%", "1", "us", "", "<script>alert(1)</script>", "ridge-2", "a=4,b=9"),
    *("../../etc/passwd", "%00", "'; drop table facts; --", "{{ 7 * 7 }}", "1e308", "-1", "٣", "9" * 40),
)
ANYTHING = st.sampled_from(LIKELY) | st.text(max_size=40)
PLACES = (
    *("/task/", "/task?code=", "/lot/", "/card/", "/labels/", "/labels/ridge-2/a?copies=", "/rules/", "/noted/", "/?said=", "/pair/", "/pull/", "/"),
    *("/freezer/", "/days?like=", "/days?like=ridge-2&from="),
)
quietly = settings(max_examples=times(300), suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.fixture
def browser(ledger: Ledger) -> Iterator[Browser]:
    """The page of the example, an hour after the pull."""
    yield from served(ledger)


@pytest.mark.slow
@quietly
@given(st.sampled_from(sorted(FORMS)), st.data())
def test_any_words_in_any_field_are_recorded_asked_about_or_refused(browser: Browser, path: str, data: st.DataObject) -> None:
    """Of every form, with every field filled; what comes back is a page that runs nothing of it."""
    browser.opens("/season")
    token, key = browser.form()["token"], f"k{len(browser.ledger.facts())}-{data.draw(st.integers(0, 10**9))}"
    typed = {name: data.draw(ANYTHING, label=name).encode("utf-8", "replace").decode() for name in FORMS[path]}
    body = urlencode({"token": token, "key": key, **typed}).encode()
    assert browser.asks("POST", path, body, Origin=f"http://localhost:{browser.port}") in (200, 303, 422)
    assert "<script>alert" not in browser.text
    assert "Traceback" not in browser.text
    assert browser.asks("GET", "/") == 200


@pytest.mark.slow
@quietly
@given(st.sampled_from(PLACES), ANYTHING)
def test_any_address_is_a_page_or_is_not_there(browser: Browser, place: str, words: str) -> None:
    """No file of the machine is, however the way to it is written; a refusal says what it was asked for as text."""
    assert browser.asks("GET", place + quote(words, safe="", errors="replace")) in (200, 303, 404, 429)
    assert "<script>alert" not in browser.text
    assert "root:" not in browser.text


@pytest.mark.parametrize(
    "path", ["/../pyproject.toml", "/%2e%2e/pyproject.toml", "/..%2f..%2fetc/passwd", "//etc/passwd", "/page.css/../now.html", "/page.css%00"]
)
def test_no_way_leads_to_a_file(browser: Browser, path: str) -> None:
    """Style, scripts and icon are answered by their exact addresses alone."""
    assert browser.asks("GET", path) == 404
    assert "[project]" not in browser.text


def test_every_field_of_every_form_is_among_those_that_are_tried(browser: Browser) -> None:
    """As the pages have them; the three rows of lots are alike, so one stands for them."""
    ways, seen, found = ["/"], {"/"}, dict[str, set[str]]()
    while ways:
        page = browser.opens(ways.pop())
        for action, form in re.findall(r'<form[^>]*method="post"[^>]*action="([^"]+)"[^>]*>(.*?)</form>', page, re.DOTALL):
            found.setdefault(action, set()).update(re.findall(r'<(?:input|select|textarea)[^>]* name="(\w+)"', form))
        links = {unquote(one) for one in re.findall(r'href="(/[^"#?]*)"', page)} - seen
        new = [one for one in links if one.count("/") == 1 or one.startswith(("/lot", "/task/ridge-2/reduce", "/task/ridge-2/a/drain"))]
        seen |= links
        ways += [one for one in new if not one.endswith((".css", ".svg"))]
    alike = {f"{part}{number}" for part in ("kind", "frames", "frame", "moisture") for number in (2, 3)}
    untried = {path: fields - {*FORMS.get(path, ()), *alike, "token", "key"} for path, fields in found.items()}
    assert {path: fields for path, fields in untried.items() if fields} == {}
    assert len(found) >= 8


@pytest.mark.parametrize("path", ["/done", "/harvest", "/pair/none"])
def test_a_body_without_a_length_and_a_head_without_an_end_are_bounded(browser: Browser, path: str) -> None:
    """Forty megabytes in pieces, of which nobody said how many come, are refused after the first few; so is a head of as many."""
    for body in (True, False):
        with socket.create_connection(("127.0.0.1", browser.port), timeout=60) as connection:
            host = f"localhost:{browser.port}"
            begun = f"POST {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\n"
            connection.sendall((begun + ("Transfer-Encoding: chunked\r\n\r\n" if body else "X-Long: ")).encode())
            sent = 0
            with suppress(ConnectionError):
                while sent < 40_000_000:
                    connection.sendall(b"10000\r\n" + b"x" * 65_536 + b"\r\n" if body else b"x" * 65_536)
                    sent += 65_536
                    if select.select([connection], [], [], 0)[0]:
                        break
            assert sent < 20_000_000
            with suppress(ConnectionError):
                answer = connection.recv(15)
                assert answer in (b"", b"HTTP/1.1 413 Co", b"HTTP/1.1 413 Re", b"HTTP/1.1 400 Ba", b"HTTP/1.1 403 Fo", b"HTTP/1.1 404 No")
    assert browser.asks("GET", "/") == 200
