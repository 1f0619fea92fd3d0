"""No page asks a person with a phone to type a command: every page that links lead to, in yards where something is stopped, planned, late or asked."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote

import pytest

from scheduler.ledger.store import Ledger
from tests.keeper import Keeper
from tests.web.test_page import Browser, served

COMMAND = re.compile(r"afterpull\b(?!\.)|(?<![\w-])--[a-z]")  # a command or an option of one
TOLD: dict[str, tuple[tuple[str, ...], ...]] = {  # what was recorded, so that stops, questions and forms stand on the pages
    "kestrel_bank": (("observe", "foulbrood", "--of", "north"), ("observe", "larvae", "--of", "ridge-2/a"), ("done", "ridge-2/close-up")),
    "pelican_bend": (("observe", "died", "--of", "old dock"),),
    "wattle_gully": (("observe", "moisture 21 %", "--of", "gully-1/b"),),
    "brindle_fold": (("observe", "treatment", "begins", "--of", "all", "--with", "formic acid"),),
}


@pytest.fixture
def yard(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[tuple[Keeper, Ledger]]:
    """An example with all of its harvests, one still to be pulled, days after the last."""
    name, zone, now, harvests = request.param
    keeper = Keeper(tmp_path / "ledger.sqlite", name, zone, now)
    for harvest in harvests:
        keeper.logs(harvest)
    for words in TOLD[name]:
        keeper.types(*words)
    with Ledger.open(keeper.ledger) as ledger:
        yield keeper, ledger


def pages_of(browser: Browser) -> Iterator[tuple[str, str]]:
    """Every page that a link leads to from the work, with its words."""
    ways, seen = ["/"], {"/"}
    while ways:
        way = ways.pop()
        page = browser.opens(way)
        yield unquote(way), html.unescape(re.sub(r"<[^>]*>", " ", page.partition("<main")[2]))
        found = [one for one in re.findall(r'href="(/[^"#?]*)"', page) if one not in seen and not one.endswith((".css", ".svg"))]
        seen.update(found)
        ways += found


@pytest.mark.slow
@pytest.mark.parametrize(
    "yard",
    [
        ("kestrel_bank", "Europe/Ljubljana", "2026-08-23T09:00", ["ridge-2", "meadow-1"]),
        ("kestrel_bank", "Europe/Ljubljana", "2026-08-10T18:00", ["ridge-2"]),
        ("pelican_bend", "America/Chicago", "2026-06-21T08:15", ["levee-1"]),
        ("wattle_gully", "Australia/Melbourne", "2026-04-04T10:00", ["gully-1", "creek-2"]),
        ("brindle_fold", "Europe/Vienna", "2026-09-20T09:00", ["fell-1", "garden-1"]),
    ],
    indirect=True,
    ids=lambda given: f"{given[0]} {given[2]}",
)
def test_no_page_names_a_command(yard: tuple[Keeper, Ledger]) -> None:
    """Of the work, each task, each lot, each rule, the season and all else that a link leads to."""
    keeper, ledger = yard
    walked = 0
    for browser in served(ledger, now=lambda: keeper.now):
        for way, words in pages_of(browser):
            walked += 1
            found = COMMAND.search(words)
            assert found is None, f"{way}: {words[max(0, found.start() - 120) : found.end() + 80]}"
    assert walked > 100
