"""A real browser for tests marked `system`: a phone 360 px wide, on the page as it is served; what it complains of fails the test."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser as Chromium
from playwright.sync_api import Page as Tab
from playwright.sync_api import sync_playwright

PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 800}
SHOWN = """(state) => {
  Object.defineProperty(document, 'visibilityState', {value: state, configurable: true});
  document.dispatchEvent(new Event('visibilitychange'));
}"""  # the tab is hidden, or visible again


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
def phone(launched: Chromium, port: int, *, wide: bool = False, scripts: bool = True) -> Iterator[Tab]:
    """A tab with nothing of another's kept, or a `wide` window of a desk; at its end the browser has complained of nothing (console, policy, faults)."""
    screen = DESK if wide else PHONE
    given = {"viewport": screen, "is_mobile": not wide, "has_touch": True, "color_scheme": "light", "java_script_enabled": scripts}
    context = launched.new_context(base_url=f"http://localhost:{port}", **given)  # type: ignore[arg-type]
    tab, complaints = context.new_page(), list[str]()
    tab.on("console", lambda line: complaints.append(line.text) if line.type in ("error", "warning") else None)
    tab.on("pageerror", lambda fault: complaints.append(str(fault)))
    yield tab
    keep_shot(tab)
    context.close()
    assert complaints == []


def keep_shot(tab: Tab) -> None:
    """A picture of what is seen at the end of a test, in the folder that AFTERPULL_SHOTS names, for whoever wants to look at it."""
    if folder := os.environ.get("AFTERPULL_SHOTS"):
        name = re.sub(r"\W+", "-", os.environ["PYTEST_CURRENT_TEST"].rpartition("::")[2].rpartition(" ")[0])
        tab.screenshot(path=Path(folder) / f"{name}-{tab.viewport_size['width'] if tab.viewport_size else 0}.png", full_page=True)


def too_wide(tab: Tab) -> list[str]:
    """The elements that reach over the right edge of the screen. It is asked for its width: a phone's `innerWidth` grows with what sticks out."""
    width = tab.viewport_size["width"] if tab.viewport_size else 0
    script = "(width) => [...document.querySelectorAll('main *')].filter(e => e.getBoundingClientRect().right > width + 0.5).map(e => e.outerHTML.slice(0, 80))"
    found: list[str] = tab.evaluate(script, width)
    return found + (["the page"] if tab.evaluate("(width) => document.documentElement.scrollWidth > width", width) else [])
