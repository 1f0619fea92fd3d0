"""No secret is in what the server logs, at whatever level, nor in an address: of a page, of what a page asks for, or of where it was asked from."""

from __future__ import annotations

import logging
import re
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import unquote, urlencode

import pytest

from scheduler.application import feed_addresses
from scheduler.application.page_contents import Contents
from scheduler.application.paired_phones import new_link
from scheduler.ledger.store import Ledger
from scheduler.web import feeds
from tests.conftest import fill
from tests.web.chromium import PHONE, Tab, chromium
from tests.web.test_page import LATER, served
from tests.web.test_pairing import LAN, cookie, host

HIDDEN = re.compile(r'name="(?:token|key)" value="([^"]+)"')
LINK = re.compile(r'(?:href|src|action)="([^"]*)"')


@contextmanager
def all_logged() -> Iterator[list[str]]:
    """Every line that any logger of this process makes, the levels of all of them turned down, with the faults that it tells of."""
    lines, made = list[str](), logging.getLogRecordFactory()
    loggers = [logging.root, *(one for one in map(logging.getLogger, list(logging.root.manager.loggerDict)))]
    levels = [(one, one.level, one.disabled) for one in loggers]

    def record(*given: object, **more: object) -> logging.LogRecord:
        one = made(*given, **more)
        lines.append(one.getMessage() + ("".join(traceback.format_exception(*one.exc_info)) if one.exc_info else ""))
        return one

    logging.setLogRecordFactory(record)
    for one in loggers:
        one.setLevel(1)
        one.disabled = False
    try:
        yield lines
    finally:
        logging.setLogRecordFactory(made)
        for one, level, disabled in levels:
            one.setLevel(level)
            one.disabled = disabled


def held(text: str, secrets: set[str]) -> set[str]:
    """The secrets in a text, written plainly or as an address writes them."""
    return {one for one in secrets if one in text or one in unquote(text)}


def test_no_secret_is_logged_nor_in_an_address_of_a_page(tmp_path: Path, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Pairing, a mark, a harvest, a feed, what is refused, what is not there with a secret in its path, and a fault of the program; every level."""
    secrets, addresses = set[str](), list[str]()
    with all_logged() as lines, Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        fill(ledger)
        feed, link = feed_addresses.new(ledger, "Ash", LATER), new_link(ledger, "Ash", LATER)
        with contextmanager(served)(ledger, name=f"http://{LAN}") as browser:
            assert browser.asks("GET", f"/pair/{link}", **host(browser)) == 200
            kept = cookie(browser, link).partition(";")[0]
            secrets |= {feed, link, kept.partition("=")[2]}
            phone = {**host(browser), "Cookie": kept}

            def seen(status: int) -> None:
                assert status in (200, 303, 422), status
                secrets.update(HIDDEN.findall(browser.text))
                addresses.extend([*LINK.findall(browser.text), browser.headers.get("location", ""), browser.headers.get("refresh", "")])

            def sends(path: str, **form: str) -> None:
                key = f"a-key-of-{len(secrets)}-that-nobody-guesses"
                secrets.add(key)
                token = next(iter(re.findall(r'name="token" value="([^"]+)"', browser.text)))
                seen(browser.asks("POST", path, urlencode({"token": token, "key": key, **form}).encode(), **phone))

            seen(browser.asks("GET", "/", **phone))
            sends("/done", task="ridge-2/close-up", at="11:00")
            seen(browser.asks("GET", browser.headers["location"], **phone))
            seen(browser.asks("GET", browser.headers["refresh"].partition("url=")[2], **phone))
            sends("/done", task="ridge-2/b/spin", at="half past")
            seen(browser.asks("GET", "/harvest", **phone))
            sends("/harvest", name="ridge-9", hives="north", lots="cut comb 4 shallow 17.4%")
            seen(browser.asks("GET", browser.headers["location"], **phone))
            for path in ("/ahead", "/task/ridge-2/a/freeze.1", "/lot/ridge-2/a", "/labels/ridge-2/a", "/rules", f"/feed/{feed}.ics"):
                seen(browser.asks("GET", path, **phone))
            for secret in (feed, link, kept.partition("=")[2]):
                for path in (f"/{secret}", f"/feed/{secret}", f"/feed/{secret}.ics/more", f"/task/{secret}", f"/noted/{secret}", f"/pair/{secret}?{secret}"):
                    assert browser.asks("GET", path, **phone) in (401, 404)
            with monkeypatch.context() as broken:
                broken.setattr(Contents, "work", lambda self: 1 // 0)
                broken.setattr(feeds, "whose", lambda secret, known: 1 // 0)
                assert browser.asks("GET", "/", **phone) == 500
                assert browser.asks("GET", f"/feed/{feed}.ics", **phone) == 500
    said = "\n".join([*lines, *capfd.readouterr()])
    assert "ZeroDivisionError" in said
    assert "INSERT INTO marks" in said
    assert len(secrets) > 12
    assert held(said, secrets) == set()
    assert held("\n".join(addresses), secrets) == set()


@pytest.mark.system
@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
def test_no_secret_is_in_what_a_browser_asks_for(ledger: Ledger, *, scripts: bool) -> None:
    """But for the link that pairs, in its own address alone: not in a query, not in another path, not in a Referer, not in the bar of the browser."""
    secrets, asked, bar = set[str](), list[str](), list[str]()
    link = new_link(ledger, "Ash", LATER)

    def notes(tab: Tab) -> None:
        bar.append(tab.url)
        secrets.update(HIDDEN.findall(tab.content()))

    with contextmanager(served)(ledger, name=f"http://{LAN}") as browser, chromium(f"--host-resolver-rules=MAP {LAN} 127.0.0.1") as launched:
        context = launched.new_context(viewport=PHONE, is_mobile=True, has_touch=True, java_script_enabled=scripts)  # type: ignore[arg-type]
        tab, here = context.new_page(), f"http://{LAN}:{browser.port}"
        tab.on("request", lambda one: asked.append(f"{one.url.replace(f'{here}/pair/{link}', '')} {one.all_headers().get('referer', '')}"))
        tab.goto(f"{here}/pair/{link}")
        tab.get_by_role("button", name="Pair this phone").tap()
        tab.wait_for_url(f"{here}/")
        notes(tab)
        tab.get_by_role("button", name=re.compile("Close up")).tap()
        tab.locator(".said", has_text="done Tue 11 Aug").wait_for()
        tab.wait_for_url(re.compile("said="))
        notes(tab)
        tab.get_by_role("button", name=re.compile("^Take it back")).first.tap()
        tab.locator(".said", has_text="Taken back").wait_for()
        tab.wait_for_url(re.compile("said="))
        notes(tab)
        tab.get_by_role("link", name="Harvest").tap()
        tab.get_by_role("heading", name="Log a harvest").wait_for()
        notes(tab)
        tab.get_by_label("Name").fill("ridge-9")
        tab.get_by_text("In words").tap()
        tab.get_by_label("Lots").fill("cut comb 4 shalow")
        tab.get_by_label("Hives").fill("north")
        tab.get_by_role("button", name="Log it").tap()
        tab.get_by_text("Not logged").wait_for()
        notes(tab)
        tab.get_by_label("Lots").fill("cut comb 4 shallow 17.4%")
        tab.get_by_role("button", name="Log it").tap()
        tab.wait_for_url(re.compile("said="))
        notes(tab)
        for path in ("/ahead", "/hives", "/season", "/lot/ridge-2/a", "/labels/ridge-2/a", f"/pair/{link}"):
            tab.goto(here + path)
            notes(tab)
        secrets |= {link, *(one["value"] for one in context.cookies())}
        context.close()
    assert len(asked) > 20
    assert any(line.endswith("/") for line in asked)  # a Referer is noted
    assert held("\n".join([*asked, *bar[:-1]]), secrets) == set()
