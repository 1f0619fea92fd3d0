"""One story in another browser: the work is read, a press is recorded, the form of a harvest opens, and the weeks ahead are drawn."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.ledger.store import Ledger
from tests.web.firefox import firefox
from tests.web.test_page import served


@pytest.mark.system
def test_in_firefox_the_work_is_read_and_a_press_is_recorded(ledger: Ledger, tmp_path: Path) -> None:
    """With scripts, without a complaint of the console; the press goes through the queue, and the answer is shown in its place."""
    for browser in served(ledger):
        with firefox(tmp_path) as tab:
            tab.opens(f"http://localhost:{browser.port}/")
            assert tab.says("document.querySelector('.steps h3').textContent").startswith("Close up 29 frames")
            tab.says("window.kept = true")
            tab.clicks(".steps form[action='/done'] button")
            tab.waits_for("document.querySelector('.said')?.textContent.includes('done Tue 11 Aug 11:30') && location.search.startsWith('?said=')")
            assert tab.says("window.kept")
            assert browser.done() == {"ridge-2/close-up"}
            tab.opens(f"http://localhost:{browser.port}/harvest")
            assert tab.says("document.querySelector('form.tall').elements.pulled.value") == "2026-08-11T11:30"
            tab.opens(f"http://localhost:{browser.port}/ahead")
            drawn = "[...document.querySelectorAll('figure svg')].filter((one) => one.getBoundingClientRect().width > 300)"
            assert tab.says(f"{drawn}.length") == 1
            assert tab.says(f"{drawn}[0].querySelectorAll('text').length") > 20
            assert tab.says("document.documentElement.scrollWidth <= innerWidth")
