"""What a press is answered by: once however often it is sent, a question where it is doubted, a way back; in the units of who reads."""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import urlencode

import pytest

from scheduler.application.ledger_view import view_at
from scheduler.ledger.store import Ledger
from tests.web.test_page import LATER, Browser, served


@pytest.fixture
def browser(ledger: Ledger) -> Iterator[Browser]:
    """The page of the example, an hour after the pull."""
    yield from served(ledger)


def test_a_press_sent_again_after_a_new_start_is_recorded_once(ledger: Ledger) -> None:
    """The key of the form is in the ledger: a phone that got no answer sends it again a day later, and gets the answer of the first time."""
    for start in (1, 2):
        for browser in served(ledger):
            browser.opens()
            form = browser.form() | {"key": "a-key-of-the-form", "task": "ridge-2/close-up", "at": "11:00"}
            assert browser.presses(form) == 303
            assert browser.done() == {"ridge-2/close-up"}
            assert "done Tue 11 Aug 11:00" in browser.opens(browser.headers["location"])
            assert browser.presses(form | {"key": ""}) == 422, start
    assert sum(one.fact.kind == "task-done" for one in ledger.facts()) == 1


def test_what_is_doubted_is_asked_first(browser: Browser) -> None:
    """Draining before the cut: nothing is written until the keeper says that it was so."""
    browser.opens("/task/ridge-2/a/cut.1")
    assert browser.presses(browser.form() | {"at": "11:20"}) == 303
    browser.opens("/task/ridge-2/a/drain.1")
    before = len(browser.ledger.facts())
    assert browser.presses(browser.form() | {"at": "11:00"}) == 200
    assert "Was it so?" in browser.text
    assert len(browser.ledger.facts()) == before
    assert browser.presses(browser.form()) == 303
    assert len(browser.ledger.facts()) == before + 1


def test_what_is_doubted_is_asked_of_all_that_was_said(browser: Browser) -> None:
    """Part of the spinning, before the boxes were closed: the answer records the part, and not the whole."""
    browser.opens("/task/ridge-2/close-up")
    assert browser.presses(browser.form() | {"at": "11:20"}) == 303
    browser.opens("/task/ridge-2/b/spin")
    assert browser.presses(browser.form() | {"at": "11:00", "amount": "6"}) == 200
    assert "Was it so?" in browser.text
    assert browser.presses(browser.form()) == 303
    assert view_at(browser.ledger, LATER).happened.partly == {"ridge-2/b/spin": 6.0}


def test_an_answer_offers_to_take_it_back_and_a_harvest_is_asked_of_first(browser: Browser) -> None:
    """On the work, beside what was recorded; each page of it with a form of its own."""
    browser.opens()
    origin = {"Origin": f"http://localhost:{browser.port}"}
    assert browser.presses(browser.form()) == 303
    key = browser.headers["location"].rpartition("/")[2]
    browser.opens(f"/?said={key}")
    assert browser.form()["facts"]
    assert browser.asks("POST", "/undo", urlencode(browser.form()).encode(), **origin) == 303
    assert browser.done() == set()
    browser.opens("/harvest")
    harvest = browser.form() | {"name": "ridge-9", "lots": "cut comb 4 shallow"}
    assert browser.asks("POST", "/harvest", urlencode(harvest).encode(), **origin) == 303
    browser.opens(f"/?said={browser.headers['location'].rpartition('/')[2]}")
    assert browser.asks("POST", "/undo", urlencode(browser.form()).encode(), **origin) == 200
    assert "Yes, take it back" in browser.text
    assert browser.asks("POST", "/undo", urlencode(browser.form()).encode(), **origin) == 303
    assert {one.harvest for one in view_at(browser.ledger, LATER).harvests} == {"ridge-2"}


def test_what_was_typed_before_the_server_started_again_is_not_lost(browser: Browser) -> None:
    """The token is another by then: the same form with all that was typed, and one press more; a stranger's page gets nothing of it."""
    typed = {"token": "of the run before", "key": "k1", "name": "ridge-9", "pulled": "2026-08-11 10:00", "hives": "north, oak", "lots": "cut comb 4 shallow"}
    body, own = urlencode(typed).encode(), {"Origin": f"http://localhost:{browser.port}"}
    assert browser.asks("POST", "/harvest", body, **own) == 403
    assert all(words in browser.text for words in ("press once more", 'value="ridge-9"', 'value="north, oak"', "cut comb 4 shallow"))
    again = browser.form() | {name: typed[name] for name in ("name", "pulled", "hives", "lots")}
    assert browser.asks("POST", "/harvest", urlencode(again).encode(), **own) == 303
    assert any(one.harvest == "ridge-9" for one in view_at(browser.ledger, LATER).harvests)
    assert browser.asks("POST", "/harvest", body, Origin="http://elsewhere.example") == 403
    assert "ridge-9" not in browser.text


def test_a_browser_reads_the_units_that_it_chose_and_nothing_of_it_is_recorded(browser: Browser) -> None:
    """A phone in a metric yard reads US units; another reads the yard's. What is pressed is the same fact; a word that is no unit is the yard's again."""
    why, origin = "/task/ridge-2/a/freeze.1", {"Origin": f"http://localhost:{browser.port}"}
    metric, before = browser.opens(why), len(browser.ledger.facts())
    token = browser.form()["token"]
    assert browser.asks("POST", "/units", urlencode({"token": token, "units": "us"}).encode(), **origin) == 303
    chosen = browser.headers["set-cookie"].partition(";")[0]
    assert browser.asks("GET", why, Cookie=chosen) == 200
    assert ["70 °F to" in browser.text, "21 °C to" in metric] == [True, True]
    assert '<option value="us" selected>' in browser.text
    assert "21 °C to" in browser.opens(why)
    assert len(browser.ledger.facts()) == before
    assert browser.asks("POST", "/units", urlencode({"token": token, "units": "<script>"}).encode(), **origin) == 303
    assert browser.headers["set-cookie"].startswith('afterpull-units="";')
    assert browser.asks("GET", why, Cookie="afterpull-units=furlongs") == 200
    assert "21 °C to" in browser.text
    assert browser.asks("POST", "/units", urlencode({"token": "guessed", "units": "us"}).encode(), **origin) == 403
