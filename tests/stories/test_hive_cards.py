"""A keeper's own card for some hives: seen, done of one hive and of the other, taken back. Kestrel Bank is invented."""

from __future__ import annotations

import json
from pathlib import Path
from shutil import copytree

import pytest

from scheduler.outputs.plan_json import plan_bytes
from tests.keeper import EXAMPLES, Keeper

CARD = """
ruleset: mine
version: 1
tasks:
  requeen:
    title: "Requeen {hive.name}"
    for: hive
    hives: [north, ridge]
    earliest: pulled + 2 d
    hands: 15 min
    loss: colony
    why: The queens of these two are in their third summer.
"""


@pytest.fixture
def keeper(tmp_path: Path) -> Keeper:
    """The yard reads the keeper's file; the harvest is logged."""
    copytree(EXAMPLES / "kestrel_bank", tmp_path / "bank")
    (tmp_path / "bank" / "mine.yaml").write_text(CARD)
    yard = tmp_path / "bank" / "yard.yaml"
    yard.write_text(yard.read_text().replace("rules: [cool temperate]", "rules: [cool temperate, mine.yaml]"))
    return Keeper(tmp_path / "ledger.sqlite", str(tmp_path / "bank"), "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")


def test_what_is_for_each_hive_is_done_hive_by_hive(keeper: Keeper) -> None:
    """One after the other by the hive's name, or by the task's; undone, it is open again."""
    assert "Requeen north" in keeper.types("agenda", "--all")
    hives = {task["id"]: task["hive"] for task in json.loads(plan_bytes(keeper.plan))["tasks"] if task["hive"]}
    assert hives == {"yard-2026/north/requeen": "north", "yard-2026/ridge/requeen": "ridge"}
    keeper.waits_until("2026-08-14T19:00")
    assert '"north"' in keeper.types("done", "requeen", "--hive", "nort", refused=True)
    assert "could be any of 2" in keeper.types("done", "requeen", refused=True)
    assert "Requeen north" in keeper.types("done", "requeen", "--hive", "north")
    assert (keeper.task("north/requeen").status, keeper.task("ridge/requeen").is_open) == ("done", True)
    assert "not open of the hive north" in keeper.types("done", "requeen", "--hive", "north", refused=True)
    keeper.types("done", "ridge/requeen")
    assert keeper.task("ridge/requeen").status == "done"
    keeper.types("undo", "north/requeen")
    assert keeper.task("north/requeen").is_open
    assert "third summer" in keeper.types("why", "north/requeen")


def test_of_a_colony_that_died_nothing_more_is_asked(keeper: Keeper) -> None:
    """Of whatever it died; taken back, it is asked again."""
    keeper.waits_until("2026-08-13T09:00").types("observe", "died", "--of", "north", "--cause", "starved")
    assert not keeper.has("north/requeen")
    assert keeper.has("ridge/requeen")
    keeper.types("undo", "--yes")
    assert keeper.has("north/requeen")
