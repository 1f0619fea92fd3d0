"""A pull that is planned is moved on the page, or taken back; what is wrong with the new day stands beside it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

import pytest

from scheduler.application.ledger_view import view_at
from scheduler.application.tell import log
from scheduler.ledger.store import Ledger
from tests.web.chromium import chromium, phone, too_wide
from tests.web.test_page import LATER, Browser, served

PLANNED = """\
# my own words
harvest: fell-3
pulled: 2026-08-22T09:00 # when it is dry
hives: [north]
lots:
  - {id: a, kind: extracted, frames: 9, frame: medium}
"""


@pytest.fixture
def browser(ledger: Ledger, tmp_path: Path) -> Iterator[Browser]:
    """The page, with a harvest that is planned in a file."""
    path = tmp_path / "fell-3.yaml"
    path.write_text(PLANNED, encoding="utf-8")
    log(ledger, [(path.read_bytes(), str(path))], LATER)
    yield from served(ledger)


def ahead(browser: Browser) -> dict[str, str]:
    """What is planned, and for when."""
    zone = ZoneInfo("Europe/Ljubljana")
    return {name: f"{datetime.fromtimestamp(at, zone):%Y-%m-%d %H:%M}" for name, at in view_at(browser.ledger, LATER).ahead.items()}


def sends(browser: Browser, **fields: str) -> int:
    """The form that moves it."""
    browser.opens("/pull/fell-3")
    return browser.asks("POST", "/pull", urlencode({**browser.form(), **fields}).encode(), Origin=f"http://localhost:{browser.port}")


def test_a_planned_pull_is_moved_once_and_the_file_is_named_and_left(browser: Browser, tmp_path: Path) -> None:
    """Work and Harvest lead there. The answer says which line of the file still has the day of before; the words of the file are kept."""
    assert 'href="/pull/fell-3"' in browser.opens("/")
    assert 'href="/pull/fell-3"' in browser.opens("/harvest")
    assert "line 3" in browser.opens("/pull/fell-3")
    before = len(browser.ledger.facts())
    form = browser.form() | {"pulled": "2026-08-23T10:30"}
    for _ in range(2):
        assert browser.asks("POST", "/pull", urlencode(form).encode(), Origin=f"http://localhost:{browser.port}") == 303
    assert len(browser.ledger.facts()) == before + 1
    assert ahead(browser) == {"fell-3": "2026-08-23 10:30"}
    said = browser.opens(browser.headers["location"])
    assert "fell-3 is planned for Sun 23 Aug 10:30 now, not for Sat 22 Aug 09:00" in said
    assert "fell-3.yaml still has the day of before, in line 3" in said
    assert (tmp_path / "fell-3.yaml").read_text(encoding="utf-8") == PLANNED
    [text] = [one.text.text for one in view_at(browser.ledger, LATER).logged if one.harvest.harvest == "fell-3"]
    assert text.startswith("# my own words\n")


@pytest.mark.parametrize(
    ("typed", "said"), [("2026-08-10T09:00", "is over"), ("", "is empty"), ("some day", "is not a time"), ("2029-01-01T09:00", "Not moved")]
)
def test_what_is_wrong_with_the_day_stands_beside_it_as_it_was_typed(browser: Browser, typed: str, said: str) -> None:
    """And nothing moves."""
    assert sends(browser, pulled=typed) == 422
    assert re.search(rf'name="pulled" value="{typed}"[^>]* aria-invalid="true" aria-describedby="fault" autofocus>', browser.text)
    assert said in browser.text.partition('id="fault"')[2].partition("</p>")[0]
    assert ".yaml:" not in browser.text
    assert ahead(browser) == {"fell-3": "2026-08-22 09:00"}


def test_a_form_of_before_the_server_was_started_again_is_shown_as_it_was_typed(browser: Browser) -> None:
    """With one press more to do."""
    assert sends(browser, pulled="2026-08-23T10:30", token="of the run before") == 403
    assert 'value="2026-08-23T10:30"' in browser.text
    assert ahead(browser) == {"fell-3": "2026-08-22 09:00"}


def test_what_is_not_planned_leads_to_what_is(browser: Browser) -> None:
    """A harvest that is off already cannot be moved."""
    assert browser.asks("GET", "/pull/ridge-2") == 404
    assert "Planned: fell-3" in browser.text


@pytest.mark.system
@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
def test_a_pull_is_moved_and_then_given_up_by_taps(browser: Browser, *, scripts: bool) -> None:
    """With the picker of the phone; the plan for it is taken back only after a question."""
    with chromium() as launched, phone(launched, browser.port, scripts=scripts) as tab:
        tab.goto("/")
        tab.get_by_role("link", name=re.compile("^Move it")).tap()
        tab.get_by_label("To be pulled").fill("2026-08-23T10:30")
        assert too_wide(tab) == []
        tab.get_by_role("button", name="Move it").tap()
        tab.locator(".said", has_text="planned for Sun 23 Aug 10:30").wait_for()
        tab.wait_for_url(re.compile("said="))
        assert ahead(browser) == {"fell-3": "2026-08-23 10:30"}
        tab.goto("/pull/fell-3")
        tab.get_by_role("button", name="Take it back").tap()
        tab.get_by_role("button", name="Yes, take it back").tap()
        tab.locator(".said", has_text="Taken back").wait_for()
        assert ahead(browser) == {}
