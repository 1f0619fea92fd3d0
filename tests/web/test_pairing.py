"""A phone is paired by a link, once; then it is let in until it is unpaired. Everybody else on the network sees nothing."""

from __future__ import annotations

import http.client
import re
import ssl
import subprocess
import threading
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest

from scheduler.application.page_contents import Pages
from scheduler.application.page_forms import Forms
from scheduler.application.paired_phones import HOLDS, PairedPhones, new_link, unpair
from scheduler.application.publish import Feeds
from scheduler.diagnostics import Fault
from scheduler.ledger.store import Ledger
from scheduler.web.feeds import application
from scheduler.web.guard import Guard
from scheduler.web.page import Page
from scheduler.web.pairing import TRIES
from scheduler.web.server import check_certificate, listening, server_of
from tests.web.chromium import chromium
from tests.web.test_page import LATER, Browser, served

LAN = "honey.local"  # the name that a phone uses


@pytest.fixture
def browser(ledger: Ledger) -> Iterator[Browser]:
    """The page of the example, served to the network too."""
    yield from served(ledger, name=f"http://{LAN}")


def host(browser: Browser) -> dict[str, str]:
    """What a phone sends with a form."""
    return {"Host": f"{LAN}:{browser.port}", "Origin": f"http://{LAN}:{browser.port}"}


def cookie(browser: Browser, link: str) -> str:
    """Press the button of a link; what the phone keeps."""
    assert browser.asks("POST", f"/pair/{link}", b"", **host(browser)) == 303
    assert browser.headers["location"] == "/"
    return browser.headers["set-cookie"]


def test_a_look_does_not_spend_a_link_and_a_press_does(browser: Browser) -> None:
    """The preview of a message looks too. The cookie is for this page alone, and no script reads it."""
    link = new_link(browser.ledger, "Ash", LATER)
    for _ in range(3):
        assert browser.asks("GET", f"/pair/{link}", Host=f"{LAN}:{browser.port}") == 200
        assert "record work for Ash" in browser.text
        assert "Unencrypted" in browser.text
        assert "set-cookie" not in browser.headers
    kept = cookie(browser, link)
    assert {"HttpOnly", "Path=/", "SameSite=lax"} < set(kept.split("; "))
    assert "Secure" not in kept
    assert browser.asks("POST", f"/pair/{link}", b"", **host(browser)) == 404
    assert "serve --lan --pair NAME" in browser.text
    [phone] = browser.ledger.phones.all(LATER)
    assert phone.person == "Ash"


def test_who_is_not_paired_sees_nothing_and_writes_nothing(browser: Browser) -> None:
    """Under the name of the network: no page, no stream, no form; what opens is the way in."""
    phone = host(browser)
    for path in ("/", "/ahead", "/task/ridge-2/close-up", "/harvest", "/lot/ridge-2/a", "/live"):
        assert browser.asks("GET", path, **phone) == 401
        assert "not paired" in browser.text
        assert "Close up" not in browser.text
    browser.opens()
    form = browser.form()
    assert browser.asks("POST", "/done", urlencode(form).encode(), **phone) == 401
    assert browser.asks("GET", "/", **phone, Cookie="afterpull=guessed") == 401
    assert not browser.done()


def test_a_paired_phone_records_with_a_token_of_its_own_until_it_is_unpaired(browser: Browser) -> None:
    """The token of another's form is refused; after a new start of the server its own still holds."""
    first, second = (cookie(browser, new_link(browser.ledger, "Ash", LATER)).partition(";")[0] for _ in range(2))
    phone = host(browser)
    assert browser.asks("GET", "/", **phone, Cookie=first) == 200
    form = browser.form()
    assert browser.asks("POST", "/done", urlencode(form).encode(), **phone, Cookie=second) == 403
    for again in served(browser.ledger, name=f"http://{LAN}"):
        assert again.asks("POST", "/done", urlencode(form).encode(), **host(again), Cookie=first) == 303
    assert browser.done() == {form["task"]}
    known = {one.name for one in browser.ledger.phones.all(LATER)}
    for name in known:
        unpair(browser.ledger, name, LATER)
    assert browser.asks("GET", "/", **phone, Cookie=first) == 401


def test_a_press_from_another_page_pairs_nothing(browser: Browser) -> None:
    """Nor one under a name that is not this machine's; the link is not spent by it."""
    link, phone = new_link(browser.ledger, "Ash", LATER), host(browser)
    for origin in ("null", "http://elsewhere.example", f"https://{LAN}:{browser.port}", f"http://{LAN}"):
        assert browser.asks("POST", f"/pair/{link}", b"", **(phone | {"Origin": origin})) == 403
    assert browser.asks("GET", f"/pair/{link}", Host="rebound.example") == 404
    assert browser.asks("GET", f"/pair/{link}", Host=LAN) == 404
    cookie(browser, link)


def test_who_guesses_links_is_stopped(browser: Browser) -> None:
    """After ten looks at links that are none; a link that is one has to wait too, so that nothing is learnt."""
    phone, old = host(browser), new_link(browser.ledger, "Ash", LATER - HOLDS)
    assert browser.asks("GET", f"/pair/{old}", **phone) == 404
    for number in range(TRIES - 1):
        assert browser.asks("GET", f"/pair/guess-{number}", **phone) == 404
    assert browser.asks("GET", f"/pair/{new_link(browser.ledger, 'Ash', LATER)}", **phone) == 429
    assert browser.ledger.phones.all(LATER) == ()


def test_behind_a_proxy_this_machine_is_let_in_paired_alone(ledger: Ledger) -> None:
    """For every request comes from this machine there, and may be sent on under the name localhost. The cookie is for encrypted pages."""
    for browser in served(ledger, name="https://bees.example.org", proxied=True):
        assert browser.asks("GET", "/") == 401
        proxy = {"Host": "bees.example.org", "Origin": "https://bees.example.org"}
        assert browser.asks("GET", "/", **proxy) == 401
        assert browser.asks("POST", f"/pair/{new_link(ledger, 'Ash', LATER)}", b"", **proxy) == 303
        kept = browser.headers["set-cookie"]
        assert kept.startswith("__Host-afterpull=")
        assert "Secure" in kept
        assert browser.asks("GET", "/", **proxy, Cookie=kept.partition(";")[0]) == 200
        assert browser.asks("POST", "/done", urlencode(browser.form()).encode(), **proxy, Cookie=kept.partition(";")[0]) == 303


@pytest.mark.system
def test_a_phone_is_paired_by_one_tap_and_then_marks_work(ledger: Ledger) -> None:
    """In a real browser, over plain http under the name of the network; the link is gone from the address."""
    for browser in served(ledger, name=f"http://{LAN}"):
        with chromium(f"--host-resolver-rules=MAP {LAN} 127.0.0.1") as launched:
            context = launched.new_context(viewport={"width": 360, "height": 740}, is_mobile=True, has_touch=True, java_script_enabled=False)
            tab = context.new_page()
            tab.goto(f"http://{LAN}:{browser.port}/pair/{new_link(ledger, 'Ash', LATER)}")
            tab.get_by_role("button", name="Pair this phone").tap()
            tab.wait_for_url(f"http://{LAN}:{browser.port}/")
            tab.get_by_role("button", name=re.compile("^Done")).first.tap()
            tab.locator(".said").filter(has_text="done Tue 11 Aug").wait_for()
            context.close()
        assert len(browser.done()) == 1


@pytest.mark.system
def test_with_a_certificate_the_page_is_encrypted_and_the_cookie_is_for_it_alone(ledger: Ledger, tmp_path: Path) -> None:
    """One that openssl made; a client that does not trust it gets nothing, one that does is paired; plain http is not answered."""
    certificate, key = tmp_path / "honey.pem", tmp_path / "honey.key"
    words = ["req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", f"/CN={LAN}", "-addext", f"subjectAltName=DNS:{LAN},IP:127.0.0.1"]
    subprocess.run(["openssl", *words, "-keyout", str(key), "-out", str(certificate)], check=True, capture_output=True)
    check_certificate(certificate, key)
    with pytest.raises(Fault, match="cannot be served with"):
        check_certificate(certificate, certificate)
    with listening(False, 0) as listener:
        port = int(listener.getsockname()[1])
        guard = Guard(PairedPhones(ledger, lambda: LATER), [f"https://{LAN}:{port}"], secure=True)
        pages = Pages(ledger, lambda: LATER)
        page = Page(pages, Forms(pages), guard)
        server = server_of(application(Feeds(ledger, lambda: LATER), "", page.routes()), certificate, key)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
        thread.start()
        try:
            phone = {"Host": f"{LAN}:{port}", "Origin": f"https://{LAN}:{port}"}
            trusting = ssl.create_default_context(cafile=str(certificate))
            client = http.client.HTTPSConnection("127.0.0.1", port, timeout=30, context=trusting)
            client.request("POST", f"/pair/{new_link(ledger, 'Ash', LATER)}", b"", phone)
            answer = client.getresponse()
            kept = answer.getheader("set-cookie", "")
            answer.read()
            assert answer.status == 303
            assert kept.startswith("__Host-afterpull=")
            assert "Secure" in kept
            client.request("GET", "/", headers={**phone, "Cookie": kept.partition(";")[0]})
            answer = client.getresponse()
            assert answer.status == 200
            assert b"Close up 29 frames" in answer.read()
            client.close()
            with pytest.raises(ssl.SSLCertVerificationError, match=r"self-signed|self signed"):
                http.client.HTTPSConnection("127.0.0.1", port, timeout=30).request("GET", "/")
        finally:
            server.should_exit = True
            thread.join()
