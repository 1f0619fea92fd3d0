"""What a command works out, it works out once: the plan, and what a file says. The yard is an invented example."""

from __future__ import annotations

import shlex
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
import yaml

from scheduler.application import ledger_view
from scheduler.application.alert_ids import alert_key
from scheduler.application.watch import AlertSender
from scheduler.ledger.store import Ledger
from scheduler.outputs.notify.config import NotificationConfig
from scheduler.planning.planner import Planning
from tests.keeper import EXAMPLES, Keeper

HARVEST, LATER = (str(EXAMPLES / "wattle_gully" / f"{name}.yaml") for name in ("gully-1", "creek-2"))
PLANNED = ("agenda", "why close-up", "calendar", "done close-up", "done close-up a/lot-record --by Ash", "skip b/label-jars --because 'sold unlabelled'")
NOT_PLANNED = ("season", "observe first frost --on 2026-02-20", "observe moisture 17 % --of a")


@pytest.fixture
def counts(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How often a plan was made, and how often a yard and a harvest were read as YAML."""
    found: Counter[str] = Counter()
    compose: Any = yaml.compose
    plan = Planning.plan

    def composed(text: str, Loader: Any) -> Any:
        found[next((line.partition(":")[0] for line in text.splitlines() if line[:1].isalpha()), "")] += 1
        return compose(text, Loader=Loader)

    def planned(self: Planning) -> Any:
        found["plan"] += 1
        return plan(self)

    monkeypatch.setattr(yaml, "compose", composed)
    monkeypatch.setattr(Planning, "plan", planned)
    return found


@pytest.fixture
def gully(tmp_path: Path) -> Keeper:
    """Wattle Gully, where two people work, and its first harvest."""
    return Keeper(tmp_path / "ledger.sqlite", "wattle_gully", "Australia/Hobart", "2026-02-21T09:31").logs("gully-1")


@pytest.mark.parametrize("command", [*PLANNED, *NOT_PLANNED])
def test_a_command_plans_once_at_most_and_reads_each_file_once(command: str, gully: Keeper, counts: Counter[str]) -> None:
    """Though the people and the equipment of the yard file are looked up again in rules and harvests."""
    ledger_view.yard_file.cache_clear()
    gully.types(*shlex.split(command))
    assert (counts["plan"], counts["yard"]) == (int(command in PLANNED), 1)
    assert counts["harvest"] <= 1


def test_a_harvest_is_logged_and_a_plan_is_made_of_files_by_one_reading_of_the_yard(gully: Keeper, counts: Counter[str]) -> None:
    """Two harvests are checked against one yard; what is asked of the second is asked beside the first."""
    ledger_view.yard_file.cache_clear()
    gully.waits_until("2026-04-04T10:01").types("log", LATER)
    assert (counts["yard"], counts["harvest"], counts["plan"]) == (1, 3, 0)
    counts.clear()
    gully.types("plan", HARVEST, LATER, "--as-of", "2026-04-04T10:00")
    assert (counts["yard"], counts["harvest"]) == (1, 2)  # planned once, and again for each change that is tried as a cure


def test_from_a_press_to_the_next_alert_one_plan_is_made(gully: Keeper, counts: Counter[str]) -> None:
    """A watch that knows the yard does not read it again, however often it looks."""
    with Ledger.open(gully.ledger) as ledger:
        watch = AlertSender(ledger, NotificationConfig(), {}, "watch")
        watch.look(gully.now)
        counts.clear()
        watch.press(alert_key("gully-1/close-up", 0, "keeper"), "done", gully.now, gully.now)
        for seconds in range(0, 600, 10):
            watch.look(gully.now + seconds)
    assert (counts["plan"], counts["yard"]) == (1, 0)
