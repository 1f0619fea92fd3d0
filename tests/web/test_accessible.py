"""The page for whoever cannot see it well, holds no pointer, or runs no scripts: axe-core (a checker that is not ours) finds nothing wrong."""

from __future__ import annotations

import re
from collections.abc import Iterator
from importlib.resources import files

import pytest
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import Page as Tab

from scheduler.application.ledger_view import view_at
from scheduler.application.paired_phones import new_link
from scheduler.facts.fact import HarvestLogged, HiveDisease
from scheduler.ledger.store import Ledger
from tests.conftest import PULLED
from tests.web.chromium import DESK, PHONE, chromium, phone, too_wide
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


def violations(tab: Tab) -> list[str]:
    """What axe-core finds wrong with a page as it stands."""
    tab.evaluate(files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf-8"))
    found: list[str] = tab.evaluate("async () => (await axe.run()).violations.map(v => `${v.id}: ${v.nodes.map(n => n.target).join('; ')}`)")
    return found


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_wrong_with_answers_questions_and_refusals(browser: Browser, launched: Chromium, scheme: str) -> None:
    """What was recorded, with its lines to tick; what is asked first; what is refused, beside its field or not; what is stopped or not sent."""
    tab = launched.new_page(viewport=PHONE, color_scheme=scheme, base_url=f"http://localhost:{browser.port}")  # type: ignore[arg-type]
    found = dict[str, list[str]]()

    def looks(name: str) -> None:
        found[name] = violations(tab)

    def fills(path: str, button: str, **fields: str) -> None:
        tab.goto(path)
        tab.evaluate("() => document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        for name, words in fields.items():
            field = tab.locator(f"main [name={name}]").first
            if field.evaluate("(one) => one.tagName") == "SELECT":
                field.select_option(words)
            else:
                field.fill(words)
        tab.get_by_role("button", name=re.compile(button)).first.click()

    tab.goto("/")
    tab.get_by_role("button", name=re.compile("^Done")).first.click()
    tab.get_by_text("Done along with it too?").wait_for()
    looks("recorded")
    fills("/task/ridge-2/a/cut.1", "^Done")
    tab.locator(".said").wait_for()
    fills("/task/ridge-2/a/drain.1", "^Begun", at="11:00")
    tab.locator(".unsent li", has_text="It asks whether it was so").wait_for()
    looks("asked, and not sent")
    tab.get_by_role("button", name="Yes, it was so").click()
    tab.locator(".said").wait_for()
    fills("/task/ridge-2/b/spin", "^Done", at="yesteryear")
    tab.locator("main [role=alert]").wait_for()
    looks("refused")
    fills("/harvest", "^Log it", name="ridge-9", lots="jam")
    tab.locator("[aria-invalid=true]").wait_for()
    looks("wrong harvest")
    browser.ledger.append([HiveDisease(occurred_at=PULLED + 60, hive="north", suspected=True)], PULLED + 3600)
    for path in ("/", "/lot/ridge-2/a"):
        tab.goto(path)
        tab.locator(".stop").first.wait_for()
        looks(f"stopped {path}")
    assert tab.goto("/pair/none") is not None
    looks("a link that holds no more")
    tab.goto(f"/pair/{new_link(browser.ledger, 'Ash', PULLED + 3600)}")
    tab.get_by_role("button", name="Pair this phone").wait_for()
    looks("pairing")
    tab.close()
    assert {name: wrong for name, wrong in found.items() if wrong} == {}
    assert len(found) == 8


def test_a_harvest_is_logged_by_the_keyboard_alone(browser: Browser, launched: Chromium) -> None:
    """From the work to the form by its link, from field to field by Tab, the kind by its first letters, the button by Enter; taken back the same way."""
    tab = launched.new_page(viewport=DESK, base_url=f"http://localhost:{browser.port}")  # type: ignore[arg-type]

    def tabs_to(words: str) -> None:
        for _ in range(60):
            tab.keyboard.press("Tab")
            if tab.evaluate("() => { const one = document.activeElement; return one.name || one.textContent.trim() }") == words:
                assert tab.evaluate("() => getComputedStyle(document.activeElement).outlineStyle") == "solid"
                return
        raise AssertionError(words)

    tab.goto("/")
    tabs_to("Harvest")
    tab.keyboard.press("Enter")
    tab.wait_for_url("**/harvest")
    for name, words in (("name", "ridge-9"), ("hives", "north"), ("kind1", "cut"), ("frames1", "5"), ("moisture1", "17.4")):
        tabs_to(name)
        tab.keyboard.press("ControlOrMeta+A")
        tab.keyboard.type(words)
    tabs_to("Log it")
    tab.keyboard.press("Enter")
    tab.locator(".said", has_text="Logged ridge-9").wait_for()
    tab.wait_for_url(re.compile("said="))
    names = [one.harvest for one in view_at(browser.ledger, PULLED + 3600).harvests]
    assert "ridge-9" in names
    tabs_to("Take it back: Logged ridge-9.")
    tab.keyboard.press("Enter")
    tab.get_by_role("heading", name="Take it back?").wait_for()
    tabs_to("Yes, take it back")
    tab.keyboard.press("Enter")
    tab.locator(".said", has_text="Taken back").wait_for()
    tab.close()
    assert "ridge-9" not in [one.harvest for one in view_at(browser.ledger, PULLED + 3600).harvests]


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
            tab.evaluate("() => document.querySelectorAll('details').forEach((one) => { one.open = true; })")
            tab.evaluate("() => { document.documentElement.style.fontSize = '200%'; }")
            assert too_wide(tab) == [], path
