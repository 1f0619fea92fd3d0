"""The page for whoever cannot see it well, holds no pointer, or runs no scripts: axe-core (a checker that is not ours) finds nothing wrong."""

from __future__ import annotations

import re
from collections.abc import Iterator
from importlib.resources import files

import pytest
from playwright.sync_api import Browser as Chromium

from scheduler.facts.fact import HarvestLogged
from scheduler.ledger.store import Ledger
from tests.conftest import PULLED
from tests.web.chromium import PHONE, chromium, phone, too_wide
from tests.web.test_page import Browser, measured, served

pytestmark = pytest.mark.system
PAGES = (
    "/",
    "/ahead",
    "/task/ridge-2/a/freeze.1",
    "/harvest",
    "/pull/fell-3",
    "/days?like=fell-3",
    "/season",
    "/hives",
    "/rules",
    "/lot/ridge-2/a",
    "/card/ridge-2/a",
    "/labels/ridge-2/a",
    "/freezer/freezer",
    "/task/none",
)


@pytest.fixture(scope="module")
def launched() -> Iterator[Chromium]:
    """One browser for all of these."""
    with chromium() as one:
        yield one


@pytest.fixture
def browser(ledger: Ledger) -> Iterator[Browser]:
    """The page of the example, an hour after the pull, with what a hive scale and a freezer recorded, and a pull that is planned."""
    measured(ledger)
    text = "harvest: fell-3\npulled: 2026-08-22T09:00\nhives: [north]\nlots: [{id: a, kind: extracted, frames: 9, frame: medium}]\n"
    ledger.append([HarvestLogged(occurred_at=PULLED, harvest="fell-3", text=text, path="fell-3.yaml")], PULLED)
    yield from served(ledger)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_wrong_on_any_page(browser: Browser, launched: Chromium, scheme: str) -> None:
    """Names, contrast, headings, landmarks, in light and in dark (axe-core's own rules, WCAG 2 A and AA among them)."""
    axe = files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf-8")
    tab = launched.new_page(viewport=PHONE, color_scheme=scheme)  # type: ignore[arg-type]
    found = {}
    for path in PAGES:
        tab.goto(f"http://localhost:{browser.port}{path}")
        tab.evaluate(axe)
        wrong = tab.evaluate("async () => (await axe.run()).violations.map(v => `${v.id}: ${v.nodes.map(n => n.target).join('; ')}`)")
        found |= {path: wrong} if wrong else {}
    tab.goto(f"http://localhost:{browser.port}/harvest")
    tab.evaluate(axe)
    tab.evaluate("() => { document.querySelector('main label').replaceWith(document.querySelector('main label input')); }")
    planted = tab.evaluate("async () => (await axe.run()).violations.map(v => v.id)")
    tab.close()
    assert found == {}
    assert "label" in planted  # it finds what is wrong: a field that lost its label


def test_a_press_by_the_keyboard_alone_in_forced_colours(browser: Browser, launched: Chromium) -> None:
    """The first tab stop leads past the links; each stop is drawn; Enter presses the button."""
    tab = launched.new_page(viewport=PHONE, forced_colors="active", reduced_motion="reduce")  # type: ignore[arg-type]
    tab.goto(f"http://localhost:{browser.port}/")
    tab.keyboard.press("Tab")
    assert tab.evaluate("() => document.activeElement.className") == "skip"
    tab.keyboard.press("Enter")
    for _ in range(8):
        tab.keyboard.press("Tab")
        assert tab.evaluate("() => getComputedStyle(document.activeElement).outlineStyle") == "solid"
        if tab.evaluate("() => document.activeElement.tagName") == "BUTTON":
            break
    tab.keyboard.press("Enter")
    tab.locator(".said", has_text="done Tue 11 Aug").wait_for()
    tab.close()
    assert browser.done() == {"ridge-2/close-up"}


def test_on_a_desk_every_page_fits_and_a_press_is_taken(browser: Browser, launched: Chromium) -> None:
    """1280 px wide: nothing reaches over the edge, the broad picture is the one that is seen."""
    with phone(launched, browser.port, wide=True) as tab:
        for path in PAGES[:-1]:
            tab.goto(path)
            assert too_wide(tab) == [], path
        tab.goto("/ahead")
        assert [tab.locator(f"figure.{name}").is_visible() for name in ("narrow", "broad")] == [False, True]
        tab.goto("/")
        tab.get_by_role("button", name=re.compile("^Done")).first.click()
        tab.locator(".said", has_text="done Tue 11 Aug").wait_for()
    assert browser.done() == {"ridge-2/close-up"}


def test_a_press_without_scripts(browser: Browser, launched: Chromium) -> None:
    """The answer leads on to the work by itself."""
    tab = launched.new_context(viewport=PHONE, is_mobile=True, has_touch=True, java_script_enabled=False).new_page()  # type: ignore[arg-type]
    tab.goto(f"http://localhost:{browser.port}/")
    tab.get_by_role("button", name=re.compile("^Done")).first.tap()
    tab.wait_for_url(re.compile(r"/\?said="))
    assert "done Tue 11 Aug" in tab.locator(".said").inner_text()
    tab.context.close()
    assert browser.done() == {"ridge-2/close-up"}


def test_no_page_is_wider_than_the_phone_at_text_twice_as_large(browser: Browser, launched: Chromium) -> None:
    """Nor is a button smaller than 44 px a side (WCAG 2.2, 2.5.5)."""
    with phone(launched, browser.port) as tab:
        for path in [one for one in PAGES if not one.startswith(("/card", "/labels", "/task/none"))]:
            tab.goto(path)
            small = "() => [...document.querySelectorAll('main button')].filter(e => e.checkVisibility() && (e.offsetHeight < 44 || e.offsetWidth < 44)).length"
            assert tab.evaluate(small) == 0
            tab.evaluate("() => { document.documentElement.style.fontSize = '200%'; }")
            assert too_wide(tab) == [], path
