"""A whole harvest by taps on a phone: the supers come off, and nothing but the page is used until the comb is frozen through."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from scheduler.application.ledger_view import view_at
from scheduler.facts.fact import YardSet
from scheduler.ledger.store import Ledger
from tests.conftest import EXAMPLES, PULLED
from tests.web.chromium import chromium, phone, too_wide
from tests.web.test_page import served

MOST_TAPS = 40


@pytest.mark.system
@pytest.mark.parametrize(("wide", "scripts"), [(False, True), (True, True), (False, False)], ids=["phone", "desk", "no scripts"])
def test_from_the_first_harvest_to_frozen_through_by_taps(tmp_path: Path, *, wide: bool, scripts: bool) -> None:
    """At 360 x 740 and at 1280 x 800; on a phone without scripts too.

    Cut, drained, packed, frozen: each is pressed when the page says that it is to be done;
    at the end nothing of the lot waits in the freezer.
    """
    clock = [PULLED]
    yard = EXAMPLES / "yard.yaml"
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger, chromium() as launched:
        ledger.append([YardSet(occurred_at=PULLED, text=yard.read_text(encoding="utf-8"), path=str(yard))], PULLED)
        for browser in served(ledger, now=lambda: clock[0]):
            with phone(launched, browser.port, wide=wide, scripts=scripts) as tab:
                tab.goto("/")
                tab.get_by_role("link", name="Harvest").tap()
                tab.get_by_label("Name").fill("ridge-1")
                tab.get_by_label("Hives").fill("north")
                tab.get_by_label("What it is").first.select_option("cut comb")
                tab.get_by_label("Frames").first.fill("3")
                tab.get_by_label("Moisture").first.fill("17.4")
                tab.get_by_role("button", name="Log it").tap()
                tab.locator(".said", has_text="Logged ridge-1").wait_for()
                taps = 0
                while not _frozen(ledger, clock[0]):
                    taps += 1
                    assert taps < MOST_TAPS, tab.locator("main").inner_text()
                    at_hand = [task.id for task in view_at(ledger, clock[0]).plan.tasks if task.id.startswith("ridge-1") and task.is_open and task.has_time]
                    clock[0] = max(clock[0], _next(ledger, clock[0], at_hand))
                    tab.goto("/")
                    press = tab.locator("main section .steps").get_by_role("button", name=re.compile("^(Done|Begun)")).first
                    words = press.inner_text()
                    press.tap()
                    tab.locator(".said").or_(tab.get_by_role("button", name="Yes, it was so")).first.wait_for()
                    assert tab.locator("[role=alert]").count() == 0, (words, tab.locator("main").inner_text())
                    tab.wait_for_url(re.compile(r"said="))
                    assert too_wide(tab) == []
                done = [str(getattr(one.fact, "task", "")) for one in ledger.facts() if one.fact.kind == "task-done"]
    steps = [name.rpartition("/")[2].partition(".")[0] for name in done if name.startswith("ridge-1/a/")]
    assert [name for name in steps if name in ("cut", "drain", "pack", "freeze")] == ["cut", "drain", "pack", "freeze"]
    assert len(done) == len(set(done))


def _frozen(ledger: Ledger, now: int) -> bool:
    return "ridge-1/a/freeze.1" in view_at(ledger, now, search=False).happened.done


def _next(ledger: Ledger, now: int, wanted: list[str]) -> int:
    """When hands are wanted next."""
    return min(max(now, span[0]) for task in view_at(ledger, now).plan.tasks if task.id in wanted for span in task.hands if span[1] > now)
