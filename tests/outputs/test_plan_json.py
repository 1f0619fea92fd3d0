"""The plan for programs: the promised fields, local times with their offset, the same bytes for the same plan."""

from __future__ import annotations

import json
import re
from datetime import datetime
from pathlib import Path

from scheduler.outputs.plan_json import plan_bytes, plan_json
from tests.outputs.plans import HOUR, at, plan, ridge, task

GOLDEN = Path(__file__).parent / "golden"
TASK = {
    *("id", "rule", "harvest", "lot", "batch", "title", "status", "start", "hold_done", "finish", "due", "after", "occupies", "hands", "alerts", "held_by"),
    *("why", "sources", "cautions", "relations", "code", "person", "together"),
}


def test_the_object_is_this() -> None:
    """Five frames of cut comb, compared byte by byte."""
    assert plan_bytes(ridge()) == (GOLDEN / "ridge.json").read_bytes()


def test_every_promised_field_is_there() -> None:
    """Readers rely on these names; more may come."""
    read = json.loads(plan_bytes(ridge()))
    assert set(read) == {"yard", "timezone", "as_of", "tasks", "sittings", "warnings"}
    assert all(set(one) >= TASK for one in read["tasks"])
    assert all(set(one) == {"id", "person", "place", "start", "end", "title", "tasks"} for one in read["sittings"])
    assert {name for one in read["sittings"] for name in one["tasks"]} == {one["id"] for one in read["tasks"] if one["hands"]}
    assert [set(warning) for warning in read["warnings"]] == [{"kind", "task", "text"}]


def test_each_task_has_a_code_of_its_own() -> None:
    """Short and in upper case, for a label."""
    codes = [one["code"] for one in plan_json(ridge())["tasks"]]
    assert len(set(codes)) == len(codes)
    assert all(re.fullmatch("[A-Z2-7]{6}", code) for code in codes)


def test_a_relation_says_its_kind_and_both_lags_in_seconds() -> None:
    """Draining waits for the cut, at most two hours; a program need not read it from the words."""
    tasks = {one["id"]: one for one in plan_json(ridge())["tasks"]}
    assert tasks["ridge-2/a/drain"]["relations"] == [{"task": "ridge-2/a/cut", "kind": "finish to start", "least_s": 0, "greatest_s": 7200}]
    assert tasks["ridge-2/a/drain"]["after"] == ["ridge-2/a/cut"]


def test_times_keep_their_instant_across_a_change_of_the_clocks() -> None:
    """Both half past twos of 25 October 2026 read back to the second."""
    first = at("2026-10-25 02:30")
    read = plan_json(plan(task("a", first), task("b", first + HOUR)))
    assert [datetime.fromisoformat(one["start"]).timestamp() for one in read["tasks"]] == [first, first + HOUR]
    assert [one["start"] for one in read["tasks"]] == ["2026-10-25T02:30:00+02:00", "2026-10-25T02:30:00+01:00"]


def test_a_title_with_half_a_surrogate_is_still_utf_8() -> None:
    """A name that no file can hold does not stop the plan."""
    assert b"Drain ?" in plan_bytes(plan(task("drain", at("2026-08-11 18:20"), title="Drain \ud83d")))
