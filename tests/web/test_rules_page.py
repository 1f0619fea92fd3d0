"""The rules on the page: what applies at this yard, its own changes included, in the words of `afterpull rules`."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from click.testing import CliRunner

from scheduler.cli.rules_commands import rules
from scheduler.facts.fact import YardSet
from scheduler.ledger.store import Ledger
from tests.conftest import EXAMPLES, PULLED
from tests.web.chromium import chromium, phone, too_wide
from tests.web.test_page import Browser, served

CHANGES = """
changes:
  cut comb:
    parameters:
      freeze floor: {value: 60 h, basis: assumed, checked: 2026-11-25, note: "<script>alert(1)</script>"}
    tasks:
      freeze: {title: "<img src=x onerror=alert(1)> {batch.count}"}
"""


@pytest.fixture
def browser(ledger: Ledger) -> Iterator[Browser]:
    """The page of the example, an hour after the pull."""
    yield from served(ledger)


def with_changes(ledger: Ledger) -> None:
    """The keeper of the example changes a number and a title, the title to something that a page must not run."""
    yard = (EXAMPLES / "yard.yaml").read_text(encoding="utf-8") + CHANGES
    ledger.append([YardSet(occurred_at=PULLED + 60, text=yard, path="yard.yaml")], PULLED + 60)


def test_every_card_leads_to_what_the_command_shows_of_it(browser: Browser) -> None:
    """The menu leads there; the same words as `rules show`, with the numbers and their sources, and the tasks that the card has given."""
    assert '<a href="/rules">Rules</a>' in browser.opens()
    assert 'href="/rules/cut%20comb/freeze"' in browser.opens("/rules") or 'href="/rules/cut comb/freeze"' in browser.text
    printed = CliRunner().invoke(rules, ["show", "--rules", "cool temperate", "cut comb/freeze"]).stdout.rstrip()
    page = browser.opens("/rules/cut%20comb/freeze")
    assert printed in re.sub(r"&#(\d+);", lambda mark: chr(int(mark[1])), page).replace("&gt;", ">").replace("&lt;", "<").replace("&amp;", "&")
    assert 'href="/task/ridge-2/a/freeze.1"' in page


def test_a_card_that_there_is_not_is_refused_in_words(browser: Browser) -> None:
    """With one that is near."""
    assert browser.asks("GET", "/rules/cut%20comb/freez") == 404
    assert "no card is named" in browser.text
    assert "freeze" in browser.text


def test_what_this_yard_changed_is_in_force_and_shown_first_as_text(ledger: Ledger) -> None:
    """The number instead of the one that it replaces; nothing that was written in the yard file is run."""
    with_changes(ledger)
    with contextmanager(served)(ledger) as browser:
        page = browser.opens("/rules")
        assert "cut comb, freeze floor = 60 h, instead of 48 h (assumed" in page.partition("Numbers that differ here")[2].partition("</section>")[0]
        assert "<img" not in page
        assert "&lt;img" in page
        assert "<img" not in browser.opens("/rules/cut%20comb/freeze")
        assert "freeze floor = 60 h" in browser.text


@pytest.mark.system
def test_on_a_phone_nothing_reaches_over_the_edge_and_the_way_there_is_pressed(ledger: Ledger) -> None:
    """360 px wide, from the work to a rule and on to a task of it."""
    with_changes(ledger)
    with contextmanager(served)(ledger) as browser, chromium() as launched, phone(launched, browser.port) as tab:
        tab.goto("/")
        tab.get_by_role("link", name="Rules", exact=True).tap()
        tab.wait_for_url("**/rules")
        assert too_wide(tab) == []
        tab.locator("summary", has_text="cut comb:").tap()
        tab.get_by_role("link", name="cut comb/drain", exact=True).tap()
        tab.wait_for_url("**/rules/**")
        assert too_wide(tab) == []
        tab.evaluate("() => { document.documentElement.style.fontSize = '200%' }")
        assert too_wide(tab) == []
        assert "drain floor" in tab.inner_text("pre")
        tab.locator("section a").first.tap()
        tab.wait_for_url("**/task/**")
        assert tab.inner_text("h1").startswith("Rack ")
