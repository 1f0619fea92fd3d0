"""What a keeper meets who works by the page for weeks: late, after days without a word, with sticky hands on a phone."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlencode

import pytest

from scheduler.application.ledger_view import view_at
from scheduler.facts.fact import YardSet
from scheduler.ledger.store import Ledger
from scheduler.local_time import DAY
from tests.conftest import EXAMPLES, PULLED
from tests.web.chromium import chromium, phone
from tests.web.test_page import LATER, Browser, served


@pytest.fixture
def clock() -> list[int]:
    """A clock that a test moves."""
    return [LATER]


@pytest.fixture
def browser(ledger: Ledger, clock: list[int]) -> Iterator[Browser]:
    """The page of the example."""
    yield from served(ledger, now=lambda: clock[0])


def sends(browser: Browser, form: dict[str, str] | list[tuple[str, str]]) -> int:
    """A form of work that is done."""
    return browser.asks("POST", "/done", urlencode(form).encode(), Origin=f"http://localhost:{browser.port}")


def answered(browser: Browser) -> str:
    """The work, with what was said when a form was recorded."""
    return browser.opens(f"/?said={browser.headers['location'].rpartition('/')[2]}")


def test_a_line_that_was_not_ticked_is_ticked_in_the_answer(browser: Browser) -> None:
    """At the hour of its step; without a tick it says so, and each line is asked by itself."""
    browser.opens()
    assert sends(browser, browser.form() | {"at": "11:00"}) == 303
    assert "Done along with it too?" in answered(browser)
    lines = re.findall(r'name="also" value="(ridge-2/\w/lot-record)"', browser.text.partition("Done along")[2].partition("</form>")[0])
    assert len(lines) == 3
    form = browser.form(1)
    assert (form["task"], form["at"]) == ("", "11:00")
    assert sends(browser, form) == 422
    assert "nothing was ticked" in browser.text
    assert sends(browser, [*form.items(), ("also", lines[0]), ("also", lines[2])]) == 303
    assert browser.done() == {"ridge-2/close-up", lines[0], lines[2]}
    assert "lot c: done Tue 11 Aug 11:00" in answered(browser)
    assert "Done along" not in browser.text


def test_what_is_over_has_no_hour_until_which_it_waits(browser: Browser, clock: list[int]) -> None:
    """Comb that has drained: the step that takes it off the rack says nothing of an end that has passed."""
    for task in ("ridge-2/close-up", "ridge-2/a/cut.1", "ridge-2/a/drain.1"):
        browser.opens(f"/task/{task}")
        assert sends(browser, browser.form()) == 303
    clock[0] += DAY + 7 * 3600
    step = re.search(r"<li>(?:(?!</li>).)*off the rack.*?</form>", browser.opens(), re.DOTALL)
    assert step is not None
    assert "Until" not in step[0]


def test_after_days_without_a_word_all_as_planned_comes_first(browser: Browser, clock: list[int]) -> None:
    """Above the work that it would take away; on a day on which something was recorded it stands below."""
    page = browser.opens()
    assert page.index("<h2>Now</h2>") < page.index("<h2>All as planned</h2>")
    assert "Nothing is recorded since" not in page
    clock[0] += 3 * DAY + 7 * 3600
    page = browser.opens()
    assert page.index("<h2>All as planned</h2>") < page.index("<h2>Now</h2>")
    assert "Nothing is recorded since Tue 11 Aug 10:30" in page
    assert page.count("<h2>All as planned</h2>") == 1


def test_what_was_recorded_last_is_called_as_on_the_page(browser: Browser) -> None:
    """By its title and not by its id; so is what was taken back, and what is doubted."""
    for task, at in (("ridge-2/a/cut.1", "11:20"), ("ridge-2/a/drain.1", "11:00")):
        browser.opens(f"/task/{task}")
        sends(browser, browser.form() | {"at": at})
    asked = browser.text.partition('class="asked">')[2].partition("</p>")[0]
    assert asked.startswith("Rack 20 pieces to drain, lot a: ")
    last = browser.opens().partition("<h2>Recorded last</h2>")[2].partition("</p>")[0]
    assert "Cut 20 pieces from lot a: done, Tue 11 Aug 11:20" in last


def test_what_is_recorded_one_by_one_is_a_tap_away(browser: Browser, clock: list[int]) -> None:
    """After all the rest was recorded as planned: each is a link in the answer. What is late by days is late by whole ones."""
    browser.opens()
    clock[0] += 4 * DAY
    browser.opens()
    forms = re.findall(r'<form method="post" action="(/[a-z-]+)"', browser.text)
    origin = {"Origin": f"http://localhost:{browser.port}"}
    form = browser.form(forms.index("/as-planned")) | {"until": "2026-08-14"}
    assert browser.asks("POST", "/as-planned", urlencode(form).encode(), **origin) == 200
    assert browser.asks("POST", "/as-planned", urlencode(form | browser.form()).encode(), **origin) == 303
    said = answered(browser).partition('class="said"')[2].partition("</ul>")[0]
    assert re.search(r"\d+ more are to be recorded one by one", said)
    assert '<a href="/task/ridge-2/a/freeze.1">Freeze 16 packages of lot a</a>' in said
    clock[0] += 20 * DAY
    assert re.search(r"due \w{3} \d+ Aug \d\d:\d\d, planned for [^,]*, \d+ days late", browser.opens())


def test_the_days_of_the_season_are_said_as_elsewhere_on_the_page(browser: Browser) -> None:
    """A day with its month by name: none is written as a file has it."""
    told = browser.opens("/season").partition("<pre")[2].partition("</pre>")[0]
    assert "The season as seen on 11 Aug 2026" in told
    assert re.search(r"first frost +14 Oct 2026 usual date", told)
    assert "25 Jul 2026 to" in told
    assert not re.search(r"\d{4}-\d\d-\d\d", told)


def test_long_lists_are_folded_and_all_of_them_is_there(browser: Browser) -> None:
    """The days after the next ten with work, the rules by subject, the sources of a task; they open without scripts."""
    ahead = browser.opens("/ahead")
    shown, _, folded = ahead.partition("<details>")
    assert shown.partition("The same as a list")[2].count("<section><h2>") == 10
    assert folded.count("<section><h2>") > 10
    rules = browser.opens("/rules")
    assert rules.count("<details>") > 5
    assert re.search(r"<summary>cut comb: [^<]* \d+ rules</summary>", rules)
    why, _, sources = browser.opens("/task/ridge-2/a/freeze.1").partition("<summary>Sources</summary>")
    assert "Time to freeze through" in why
    assert "SOURCES" not in why
    assert "[11] common practice" in sources


def test_a_yard_file_that_is_wrong_is_named_with_its_line(tmp_path: Path) -> None:
    """The page has no plan then: it says what to write, and nothing of folders."""
    text = (EXAMPLES / "yard.yaml").read_text(encoding="utf-8").replace("units: metric", "units: furlongs")
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        ledger.append([YardSet(occurred_at=PULLED, text=text, path=str(tmp_path / "yard.yaml"))], PULLED)
        with contextmanager(served)(ledger) as browser:
            assert browser.asks("GET", "/") == 503
    line = text[: text.index("units:")].count("\n") + 1
    assert f"yard.yaml, line {line}: " in browser.text
    assert str(tmp_path) not in browser.text
    assert "<h1>Not to be shown just now</h1>" in browser.text


@pytest.mark.system
def test_on_a_phone_the_ways_stand_in_one_row_and_done_is_as_wide_as_its_step(browser: Browser) -> None:
    """At 360 px; a target as a finger in a wet glove wants it: 56 px high."""
    with chromium() as launched, phone(launched, browser.port) as tab:
        tab.goto("/")
        tops = {link.bounding_box()["y"] for link in tab.locator("nav a").all()}  # type: ignore[index]
        assert len(tops) == 1
        button, step = tab.locator(".steps button").first.bounding_box(), tab.locator(".steps > li").first.bounding_box()
        assert button is not None
        assert step is not None
        assert button["height"] >= 56
        assert button["width"] > 0.9 * step["width"]
        assert tab.locator("nav [aria-current=page]").inner_text() == "Work"


@pytest.mark.system
def test_what_is_folded_is_there_on_paper(browser: Browser) -> None:
    """A page cannot be unfolded once it is printed: the sources of a date stand under its reasons."""
    with chromium() as launched, phone(launched, browser.port) as tab:
        tab.goto("/task/ridge-2/a/freeze.1")
        sources = tab.locator("details", has_text="Sources").locator("pre")
        assert not sources.is_visible()
        tab.emulate_media(media="print")
        assert sources.is_visible()


@pytest.mark.system
@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
def test_a_whole_evening_is_recorded_by_two_taps(browser: Browser, clock: list[int], *, scripts: bool) -> None:
    """Below its steps: all of it is done, and the list that says what that is; the answer leads to what is recorded by itself."""
    browser.opens()
    sends(browser, browser.form())
    clock[0] = PULLED + 10 * 3600
    with chromium() as launched, phone(launched, browser.port, scripts=scripts) as tab:
        tab.goto("/")
        button = tab.get_by_role("button", name="All of it is done")
        assert button.bounding_box()["height"] >= 56  # type: ignore[index]
        button.tap()
        tab.get_by_text("Cut 20 pieces from lot a: Tue 11 Aug").wait_for()
        assert browser.done() == {"ridge-2/close-up"}
        tab.get_by_role("button", name="Yes, it was so").tap()
        tab.locator(".said", has_text="steps recorded").wait_for()
    assert "ridge-2/a/cut.1" in view_at(browser.ledger, clock[0]).happened.done
