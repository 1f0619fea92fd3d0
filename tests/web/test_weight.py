"""What a phone has to load: little, and all of it from the machine that serves the page."""

from __future__ import annotations

import re
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Page as Tab
from playwright.sync_api import Response

from scheduler.ledger.store import Ledger
from tests.conftest import PULLED
from tests.web.chromium import chromium, phone
from tests.web.test_page import served

HEAVIEST, PICTURE = 100_000, 25_000  # octets, uncached; the project's own bounds


def heard(tab: Tab) -> list[Response]:
    """Every answer that a tab gets from now on."""
    answers: list[Response] = []
    tab.on("response", lambda answer: answers.append(answer))
    return answers


@pytest.mark.system
@pytest.mark.parametrize("path", ["/", "/ahead", "/season", "/hives", "/rules", "/harvest", "/days?like=ridge-2"])
def test_a_page_is_light_and_asks_no_other_machine(ledger: Ledger, path: str) -> None:
    """With its style, its scripts and its picture; the connection that stays open for what others record is not counted."""
    with chromium() as launched:
        for browser in served(ledger, now=lambda: PULLED + 3600):
            with phone(launched, browser.port) as tab:
                answers = heard(tab)
                tab.goto(path)
                tab.locator("h1").first.wait_for()
                loaded = {answer.url: len(answer.body()) for answer in answers if "/live" not in answer.url}
                assert {urlsplit(url).netloc for url in (answer.url for answer in answers)} == {f"localhost:{browser.port}"}
                assert 1_000 < sum(loaded.values()) < HEAVIEST, loaded
                pictures = [len(found.encode()) for found in re.findall(r"<svg.*?</svg>", tab.content(), re.DOTALL)]
                assert all(size < PICTURE for size in pictures), pictures
                assert bool(pictures) == (path == "/ahead")
