"""`afterpull plan`: what it refuses, what it promises to readers of its JSON, and that the same input gives the same bytes."""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from click.testing import CliRunner

from scheduler.cli import main

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
RIDGE = EXAMPLES / "kestrel_bank/ridge-2.yaml"
MEADOW = EXAMPLES / "kestrel_bank/meadow-1.yaml"
AS_OF = "2026-08-22T12:00"

MOMENT = {"type": "string", "pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d$"}
MAYBE = {"anyOf": [MOMENT, {"type": "null"}]}
WORDS = {"type": "array", "items": {"type": "string"}}
TASK = {
    "id": {"type": "string"},
    "code": {"type": "string", "pattern": "^[A-Z2-7]{6,52}$"},
    "rule": {"type": "string", "pattern": "^[^/]+/[^/]+$"},
    "harvest": {"type": "string"},
    "lot": {"type": ["string", "null"]},
    "batch": {"type": ["integer", "null"]},
    "title": {"type": "string"},
    "status": {"enum": ["planned", "provisional", "done", "skipped", "held back", "lapsed", "impossible"]},
    "held_by": {"type": ["string", "null"]},
    "start": MAYBE,
    "hold_done": MAYBE,
    "finish": MAYBE,
    "due": MAYBE,
    "after": WORDS,
    "occupies": {"type": "object", "additionalProperties": {"type": "number"}},
    "hands": {"type": "array", "items": {"type": "array", "items": MOMENT, "minItems": 2, "maxItems": 2}},
    "alerts": {"type": "array", "items": {"type": "object", "properties": {"at": MOMENT, "say": {"type": "string"}}, "required": ["at", "say"]}},
    "why": WORDS,
    "sources": WORDS,
    "cautions": WORDS,
}
WARNING = {"kind": {"type": "string"}, "task": {"type": ["string", "null"]}, "text": {"type": "string"}}
PLAN = {
    "type": "object",
    "properties": {
        "yard": {"type": "string"},
        "timezone": {"type": "string"},
        "as_of": MOMENT,
        "tasks": {"type": "array", "items": {"type": "object", "properties": TASK, "required": list(TASK)}},
        "warnings": {"type": "array", "items": {"type": "object", "properties": WARNING, "required": list(WARNING)}},
    },
    "required": ["yard", "timezone", "as_of", "tasks", "warnings"],
}


def run(*words: str, status: int = 0) -> str:
    """The output of `afterpull plan` with these words."""
    result = CliRunner().invoke(main, ["plan", *words])
    assert result.exit_code == status, result.output
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.output


def planned(*words: str) -> Any:
    """The JSON of a plan."""
    return json.loads(run(*words, "--json"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Kestrel Bank copied, to be changed."""
    for name in ("yard.yaml", "ridge-2.yaml", "meadow-1.yaml"):
        (tmp_path / name).write_bytes((EXAMPLES / "kestrel_bank" / name).read_bytes())
    return tmp_path


def change(path: Path, old: str, new: str) -> None:
    """Change some words of a file; they have to be there."""
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


@pytest.mark.parametrize(
    ("harvest", "as_of"),
    [("kestrel_bank/ridge-2", "2026-08-11T11:00"), ("pelican_bend/levee-1", "2026-06-20T09:00"), ("wattle_gully/creek-2", "2026-04-04T11:00")],
)
def test_the_json_has_the_fields_that_readers_rely_on(harvest: str, as_of: str) -> None:
    """And every task that another comes after is in it."""
    plan = planned(str(EXAMPLES / f"{harvest}.yaml"), "--as-of", as_of)
    jsonschema.validate(plan, PLAN)
    ids = {task["id"] for task in plan["tasks"]}
    assert len(ids) == len(plan["tasks"])
    assert all(set(task["after"]) <= ids for task in plan["tasks"])
    assert all(warning["task"] is None or warning["task"] in ids for warning in plan["warnings"])


def test_the_same_input_gives_the_same_bytes(tmp_path: Path) -> None:
    """As JSON, as a table, as a calendar."""
    calendars = [tmp_path / "one.ics", tmp_path / "two.ics"]
    tables = [run(str(RIDGE), "--as-of", AS_OF, "--calendar", str(path)) for path in calendars]
    assert tables[0] == tables[1]
    assert calendars[0].read_bytes() == calendars[1].read_bytes()
    assert run(str(RIDGE), "--as-of", AS_OF, "--json") == run(str(RIDGE), "--as-of", AS_OF, "--json")


@pytest.mark.slow
def test_the_same_input_gives_the_same_bytes_under_any_hash_seed() -> None:
    """Where much is late and cures are sought, in processes of their own: nothing hangs on the order in which a set happens to lie."""
    words = [sys.executable, "-m", "scheduler", "plan", str(EXAMPLES / "pelican_bend/levee-1.yaml"), "--as-of", "2026-06-24T09:00", "--json"]
    made = {seed: subprocess.run(words, env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True, check=True).stdout for seed in ("0", "1", "20261128")}
    assert b"due date missed" in made["0"]
    assert len(set(made.values())) == 1


def test_the_order_of_files_lots_and_keys_does_not_matter(folder: Path) -> None:
    """A harvest is a set of lots, a lot a set of keys; planned while nothing is late yet."""
    change(folder / "meadow-1.yaml", "frames: 60", "frames: 20")
    files = [folder / "ridge-2.yaml", folder / "meadow-1.yaml"]
    before = planned(*map(str, files), "--as-of", "2026-08-11T11:00")["tasks"]
    shuffle = random.Random(7).shuffle
    for path in files:
        written = yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)
        lots = [list(lot.items()) for lot in written["lots"]]
        shuffle(lots)
        for lot in lots:
            shuffle(lot)
        keys = [(key, [dict(lot) for lot in lots] if key == "lots" else value) for key, value in written.items()]
        shuffle(keys)
        path.write_text(yaml.safe_dump(dict(keys), sort_keys=False), encoding="utf-8")
    after = planned(*map(str, reversed(files)), "--as-of", "2026-08-11T11:00")["tasks"]
    assert [_bare(task) for task in after] == [_bare(task) for task in before]


def _bare(task: dict[str, Any]) -> dict[str, Any]:
    """A task without its words, in which lines of files are named."""
    return {key: value for key, value in task.items() if key not in ("why", "sources")}


def test_a_breached_limit_is_told_and_with_strict_the_status_says_so_too() -> None:
    """The meadow overbooks its freezer."""
    assert "WARNINGS" in run(str(MEADOW), "--as-of", "2026-08-25T12:00")
    assert "WARNINGS" in run(str(MEADOW), "--as-of", "2026-08-25T12:00", "--strict", status=1)


def test_a_plan_that_keeps_every_limit_is_strict_too(folder: Path) -> None:
    """Dry comb alone, with a freezer to itself."""
    path = folder / "ridge-2.yaml"
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    path.write_text("".join(line for line in lines if "id: a" not in line and "id: b" not in line), encoding="utf-8")
    assert "WARNINGS" not in run(str(path), "--as-of", "2026-08-11T10:30", "--strict")


@pytest.mark.parametrize("as_of", ["soon", "2026-13-01T10:00", "2026-08-11T25:00", "11.8.2026"])
def test_what_is_no_time_is_refused(as_of: str) -> None:
    """With an example of one."""
    text = run(str(RIDGE), "--as-of", as_of, status=2)
    assert f'"{as_of}" is not a time' in text
    assert "2026-08-11T10:30" in text


def test_a_plan_from_before_the_pull_is_likely(folder: Path) -> None:
    """The day before is firm, what hangs on the pull is not; more than a year before, the year is a slip of the pen, with its place in the file."""
    told = json.loads(run(str(RIDGE), "--as-of", "2026-08-06T19:00", "--json"))
    firm = {task["id"] for task in told["tasks"] if task["status"] == "planned"}
    assert {"ridge-2/escape-board", "ridge-2/ready-freezer", "ridge-2/ready-room", "ridge-2/pull"} <= firm
    assert next(task["status"] for task in told["tasks"] if task["id"] == "ridge-2/a/cut.1") == "provisional"
    assert "ridge-2.yaml:3:9: pulled: the pull on 2026-08-11 at 10:30 lies more than a year after" in run(str(RIDGE), "--as-of", "2025-08-01T10:00", status=2)


def test_a_missing_yard_is_refused_with_what_to_do(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither beside the harvest nor here."""
    (folder / "yard.yaml").unlink()
    monkeypatch.chdir(folder)
    text = run("ridge-2.yaml", status=2)
    assert "there is no yard.yaml" in text
    assert "afterpull init" in text


def test_a_missing_harvest_is_refused(folder: Path) -> None:
    """By its path."""
    assert "ridge-9.yaml: cannot be read: no such file" in run(str(folder / "ridge-9.yaml"), "--yard", str(folder / "yard.yaml"), status=2)


def test_two_harvests_of_one_name_are_refused(folder: Path) -> None:
    """Their tasks would have the same ids."""
    (folder / "again.yaml").write_bytes((folder / "ridge-2.yaml").read_bytes())
    text = run(str(folder / "ridge-2.yaml"), str(folder / "again.yaml"), "--as-of", AS_OF, status=2)
    assert 'the harvest "ridge-2" is also in' in text


def test_the_faults_of_all_files_are_told_at_once(folder: Path) -> None:
    """One round of mending is enough."""
    change(folder / "ridge-2.yaml", "moisture: 17.4 %", "moisture: 80 %")
    change(folder / "meadow-1.yaml", "frames: 60", "frames: 0")
    text = run(str(folder / "ridge-2.yaml"), str(folder / "meadow-1.yaml"), "--as-of", AS_OF, status=2)
    assert "ridge-2.yaml:6:" in text
    assert "meadow-1.yaml:7:" in text


def test_a_freezer_smaller_than_one_piece_is_refused_at_its_place(folder: Path) -> None:
    """Litres were meant, not cubic centimetres."""
    change(folder / "yard.yaml", "space: 90 L", "space: 0.2 L")
    change(folder / "yard.yaml", "space: 60 L, for: sour cherries", "space: 0.1 L, for: sour cherries")
    text = run(str(folder / "ridge-2.yaml"), "--as-of", AS_OF, status=2)
    assert "yard.yaml:9:" in text
    assert "the freezer holds 0.2 L, and one packed piece of ridge-2/a takes" in text


def test_an_output_that_can_not_be_written_is_refused_and_no_half_of_it_is_left(folder: Path) -> None:
    """A folder that is missing, and a folder in the place of the file."""
    (folder / "plans").mkdir()
    for out, words in ((folder / "missing/out.ics", "cannot be written: no such file"), (folder / "plans", "cannot be written: is a directory")):
        before = sorted(folder.rglob("*"))
        assert words in run(str(folder / "ridge-2.yaml"), "--as-of", AS_OF, "--calendar", str(out), status=2)
        assert sorted(folder.rglob("*")) == before


def test_a_calendar_that_was_there_stays_as_it_was_when_input_is_refused(folder: Path) -> None:
    """Nothing is overwritten by a plan that does not come about."""
    out = folder / "out.ics"
    out.write_text("mine", encoding="utf-8")
    change(folder / "ridge-2.yaml", "kind: dry comb", "kind: dry bread")
    run(str(folder / "ridge-2.yaml"), "--as-of", AS_OF, "--calendar", str(out), status=2)
    assert out.read_text(encoding="utf-8") == "mine"


def test_where_the_sun_does_not_set_the_plan_says_what_it_takes_for_dusk(folder: Path) -> None:
    """At 69.65° N in June; the frames go back on all the same, and not before that hour's window."""
    change(
        folder / "yard.yaml", "{latitude: 46.31, longitude: 14.18, timezone: Europe/Ljubljana}", "{latitude: 69.65, longitude: 18.96, timezone: Europe/Oslo}"
    )
    change(folder / "yard.yaml", '"17:30-21:30"', '"17:30-23:00"')
    change(folder / "ridge-2.yaml", "2026-08-11T10:30", "2026-06-11T10:30")
    plan = planned(str(folder / "ridge-2.yaml"), "--as-of", "2026-06-11T11:00")
    [told] = [warning for warning in plan["warnings"] if warning["kind"] == "no event of the sun"]
    assert "there is no dusk at the yard on 11 June, so 22:00 is taken for it" in told["text"]


def test_where_there_is_sunset_but_no_dusk_sunset_is_taken(folder: Path) -> None:
    """At 61° N in June it does not grow dark."""
    change(
        folder / "yard.yaml", "{latitude: 46.31, longitude: 14.18, timezone: Europe/Ljubljana}", "{latitude: 61.5, longitude: 23.8, timezone: Europe/Helsinki}"
    )
    change(folder / "yard.yaml", '"17:30-21:30"', '"17:30-23:59"')
    change(folder / "ridge-2.yaml", "2026-08-11T10:30", "2026-06-18T10:30")
    plan = planned(str(folder / "ridge-2.yaml"), "--as-of", "2026-06-18T11:00")
    assert any("so sunset is taken for it" in warning["text"] for warning in plan["warnings"])


def test_why_names_the_rule_and_an_unknown_task_the_near_ones() -> None:
    """Reasons of one task alone."""
    assert "rulesets/cut_comb.yaml:" in run(str(RIDGE), "--as-of", AS_OF, "--why", "ridge-2/a/freeze.1")
    assert 'write "a/freeze.1"' in run(str(RIDGE), "--as-of", AS_OF, "--why", "ridge-2/a/freze.1", status=2)


def test_why_takes_the_end_of_an_id_as_every_other_command_does() -> None:
    """And says what is near where there is none."""
    assert run(str(RIDGE), "--as-of", AS_OF, "--why", "a/freeze").startswith("Freeze 16 packages of lot a")
    assert 'no task is named "freze"' in run(str(RIDGE), "--as-of", AS_OF, "--why", "freze", status=2)


def test_a_yard_in_place_of_a_harvest_is_refused_in_one_line(tmp_path: Path) -> None:
    """Not by each of its keys; and a harvest that is not there is named before the yard that would lie beside it."""
    told = run(str(RIDGE.parent / "yard.yaml"), "--as-of", AS_OF, status=2)
    assert "this is a yard, and a plan is made of a harvest" in told
    assert "unknown key" not in told
    assert "missing.yaml: cannot be read" in run(str(tmp_path / "missing.yaml"), status=2)


def test_what_changes_nothing_moves_no_date(tmp_path: Path) -> None:
    """Also long after the pull, when much is late: what a second search would better is not what the other file does. A card more is one step more."""
    nothing, more = tmp_path / "nothing.yaml", tmp_path / "more.yaml"
    nothing.write_text("ruleset: mine\nversion: 1\ntasks: {}\n")
    more.write_text(
        "ruleset: mine\nversion: 1\ntasks: {sweep: {title: Sweep, for: yard, why: x, hands: 10 min, earliest: 30 d after the pull, window: on sat}}\n"
    )
    compared = [("2026-11-28T08:00", nothing, "0 changed, 0 new, 0 gone"), ("2026-08-12T08:00", nothing, "0 changed, 0 new, 0 gone")]
    for as_of, other, counted in (*compared, ("2026-08-12T08:00", more, "0 changed, 1 new, 0 gone")):
        said = CliRunner().invoke(main, ["plan", str(RIDGE), "--as-of", as_of, "--compare", str(other)])
        assert said.output.rstrip().endswith(counted), said.output
