"""How many frames a day can take, on the page: asked of a harvest, found while one waits, and planned by one press."""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import urlencode

import pytest

from scheduler.application import days_asked, page_searches
from scheduler.application.before_pull import PullToCome
from scheduler.application.ledger_view import view_at
from scheduler.facts.fact import HarvestLogged
from scheduler.ledger.store import Ledger
from scheduler.outputs.text.pull_table import Day
from tests.conftest import PULLED
from tests.web.chromium import chromium, phone, too_wide
from tests.web.test_no_commands import COMMAND
from tests.web.test_page import LATER, Browser, served

FELL = "harvest: fell-3\npulled: 2026-08-22T09:00\nhives: [north]\nlots: [{id: a, kind: extracted, frames: 9, frame: medium}]\n"


@pytest.fixture
def goes_on() -> threading.Event:
    """Lets the search go on."""
    return threading.Event()


@pytest.fixture
def browser(ledger: Ledger, monkeypatch: pytest.MonkeyPatch, goes_on: threading.Event) -> Iterator[Browser]:
    """The page, with a pull that is planned; two days are found when `goes_on` says so, what a search of minutes finds in their place."""

    def found(self: PullToCome, at: int, *, free: bool) -> Day:
        assert goes_on.wait(60)
        return Day(at, free, 20, (("a", 4), ("b", 11), ("c", 5)), False, None, None, at + 86_400, None)

    monkeypatch.setattr(page_searches, "QUIET", 0.01)
    monkeypatch.setattr(days_asked, "COUNT", 2)
    monkeypatch.setattr(PullToCome, "day", found)
    monkeypatch.setattr(PullToCome, "likely", lambda self, day: day._replace(safe=12, safe_lots=(("a", 2), ("b", 7), ("c", 3))))
    ledger.append([HarvestLogged(occurred_at=PULLED, harvest="fell-3", text=FELL, path="fell-3.yaml")], PULLED)
    with contextmanager(served)(ledger) as page:
        yield page
        goes_on.set()  # or the page would wait for its search


def sends(browser: Browser, **fields: str) -> int:
    """The form that plans a day, as the page has it."""
    browser.opens("/days?like=ridge-2&from=2026-08-15")
    whole = {**browser.form(1), **fields}
    return browser.asks("POST", "/plan", urlencode(whole).encode(), Origin=f"http://localhost:{browser.port}")


def waits(browser: Browser, path: str, words: str) -> str:
    """The page once it says something."""
    return next(page for _ in range(600) if words in (page := browser.opens(path)) or threading.Event().wait(0.1))


def test_the_ways_to_it_and_what_it_says_before_anything_is_found(browser: Browser) -> None:
    """From the harvests and from a pull that is planned; it is answered at once, and leads on without scripts."""
    assert 'href="/days"' in browser.opens("/harvest")
    assert 'href="/days?like=fell-3"' in browser.opens("/pull/fell-3")
    page = browser.opens("/days?like=fell-3")
    assert '<option value="fell-3" selected>fell-3: extracted</option>' in page
    assert "fell-3 on another day (a: extracted, 9 medium)" in page
    assert "0 of 2 days so far" in page
    assert '<noscript><p><a href="/days?like=fell-3&amp;from=2026-08-19">Look again</a></p></noscript>' in page
    assert COMMAND.search(re.sub("<[^>]*>", " ", page)) is None


@pytest.mark.parametrize(("query", "said"), [("like=none", "no harvest"), ("like=ridge-2&from=x", "is not a date"), ("like=..%2Fyard.yaml", "no harvest")])
def test_what_cannot_be_asked_is_refused_in_words(browser: Browser, query: str, said: str) -> None:
    """And nothing is looked for."""
    assert browser.asks("GET", f"/days?{query}") == 404
    assert said in browser.text


def test_a_day_is_planned_by_one_press_and_taken_back(browser: Browser, goes_on: threading.Event) -> None:
    """Like the other harvest, with the frames that make it in nine of ten weeks, under a name of its own; sent twice it is planned once."""
    goes_on.set()
    page = waits(browser, "/days?like=ridge-2&from=2026-08-15", "Most in 9 of 10 weeks")
    assert "<p><strong>20 frames (a 4, b 11, c 5)</strong></p>" in page
    assert "<p>In 9 of 10 weeks: 12 frames (a 2, b 7, c 3)</p>" in page
    form = browser.form(1)
    assert (form["like"], form["pulled"], form["frames"]) == ("ridge-2", "2026-08-15T10:30", "a=2,b=7,c=3")
    for _ in range(2):
        assert browser.asks("POST", "/plan", urlencode(form).encode(), Origin=f"http://localhost:{browser.port}") == 303
    assert "fell-4 is planned for Sat 15 Aug 10:30: 12 frames, like ridge-2." in browser.opens(browser.headers["location"])
    view = view_at(browser.ledger, LATER)
    assert list(view.ahead) == ["fell-3", "fell-4"]
    [harvest] = [one for one in view.harvests if one.harvest == "fell-4"]
    assert [(lot.id, lot.frames) for lot in harvest.lots] == [("a", 2), ("b", 7), ("c", 3)]
    browser.opens(f"/?said={browser.headers.get('location', '') or browser.text.partition('/?said=')[2][:32]}")
    assert "Take it back" in browser.text


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"like": "none"}, "no harvest"),
        ({"frames": "a"}, "is not a lot and its frames"),
        ({"frames": "a=0,b=0,c=0"}, "no frame would be pulled"),
        ({"frames": f"a={10**9}"}, "are more than"),
        ({"pulled": "2026-08-01T10:00"}, "is over"),
        ({"pulled": "some day"}, "is not a time"),
    ],
)
def test_a_form_that_was_tampered_with_plans_nothing(browser: Browser, goes_on: threading.Event, fields: dict[str, str], said: str) -> None:
    """It is refused in words."""
    goes_on.set()
    waits(browser, "/days?like=ridge-2&from=2026-08-15", "Most in 9 of 10 weeks")
    assert sends(browser, **fields) == 422
    assert said in browser.text
    assert list(view_at(browser.ledger, LATER).ahead) == ["fell-3"]


@pytest.mark.system
def test_days_appear_while_one_waits_and_a_planned_pull_is_moved_to_one(browser: Browser, goes_on: threading.Event) -> None:
    """At 360 px, without a reload; what is shown elsewhere is not shown anew for it."""
    with chromium() as launched, phone(launched, browser.port) as tab, phone(launched, browser.port) as other:
        other.goto("/")
        other.evaluate("() => { document.querySelector('main').dataset.same = 'yes' }")
        tab.goto("/pull/fell-3")
        tab.get_by_role("link", name="How many frames on which day").tap()
        tab.wait_for_url("**/days**")
        tab.evaluate("() => { window.kept = true }")
        tab.get_by_text("0 of 2 days so far").wait_for()
        goes_on.set()
        tab.get_by_text("Most in 9 of 10 weeks").wait_for()
        assert tab.evaluate("() => window.kept")
        assert tab.locator(".live").inner_text() == "Shown anew: more was worked out."
        assert too_wide(tab) == []
        assert other.evaluate("() => document.querySelector('main').dataset.same") == "yes"
        tab.get_by_role("button", name="Move it here").first.tap()
        tab.locator(".said", has_text="fell-3 is planned for").wait_for()
        other.get_by_text("recorded elsewhere").wait_for()
    assert view_at(browser.ledger, LATER).ahead["fell-3"] != PULLED + 11 * 86_400 - 5400


@pytest.mark.system
def test_without_scripts_one_looks_again_and_plans_a_day(browser: Browser, goes_on: threading.Event) -> None:
    """By a link that leads to the same question."""
    with chromium() as launched, phone(launched, browser.port, scripts=False) as tab:
        tab.goto("/harvest")
        tab.get_by_role("link", name="How many frames on which day").tap()
        tab.get_by_label("A pull like").select_option("ridge-2")
        tab.get_by_role("button", name="Work it out").tap()
        tab.get_by_text("0 of 2 days so far").wait_for()
        assert too_wide(tab) == []
        goes_on.set()
        again, over = tab.get_by_role("link", name="Look again"), tab.get_by_text("Most in 9 of 10 weeks")
        while again.or_(over).first.inner_text() == "Look again":
            again.tap()
        tab.get_by_role("button", name="Plan 12 frames").first.tap()
        tab.locator(".said", has_text="is planned for Wed 12 Aug 17:30: 12 frames, like ridge-2").wait_for()
    assert list(view_at(browser.ledger, LATER).ahead) == ["fell-3", "fell-4"]
