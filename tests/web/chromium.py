"""A real browser for tests marked `system`: a phone 360 px wide, on the page as it is served; what it complains of fails the test."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Browser as Chromium
from playwright.sync_api import Page as Tab
from playwright.sync_api import sync_playwright

PHONE = {"width": 360, "height": 740}


@contextmanager
def chromium(*switches: str) -> Iterator[Chromium]:
    """The browser that is installed on this machine, with switches of its command line."""
    program = shutil.which("chromium")
    assert program, "chromium is among the programs of the system tests"
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=program, args=list(switches))
        yield launched
        launched.close()


@contextmanager
def phone(launched: Chromium, port: int) -> Iterator[Tab]:
    """A tab of its own, with nothing of another's kept; at its end the browser has complained of nothing (console, policy, faults)."""
    context = launched.new_context(viewport=PHONE, is_mobile=True, has_touch=True, base_url=f"http://localhost:{port}", color_scheme="light")  # type: ignore[arg-type]
    tab, complaints = context.new_page(), list[str]()
    tab.on("console", lambda line: complaints.append(line.text) if line.type in ("error", "warning") else None)
    tab.on("pageerror", lambda fault: complaints.append(str(fault)))
    yield tab
    context.close()
    assert complaints == []


def too_wide(tab: Tab) -> list[str]:
    """The elements that reach over the right edge of the screen."""
    script = "() => [...document.querySelectorAll('main *')].filter(e => e.getBoundingClientRect().right > innerWidth + 0.5).map(e => e.outerHTML.slice(0, 80))"
    found: list[str] = tab.evaluate(script)
    return found + (["the page"] if tab.evaluate("() => document.documentElement.scrollWidth > innerWidth") else [])
