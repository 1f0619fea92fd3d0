"""What rule files of version 0.1 compared with where nothing was known, -1 and -99, is read for one more version, and told with what to write."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from scheduler.application.scenarios import scenario_problem
from scheduler.cli import main
from scheduler.planning.planner import plan
from scheduler.rules.amounts import amount
from scheduler.rules.environment import Environment
from scheduler.rules.load import load
from scheduler.rules.old_expressions import read_old
from scheduler.rules.old_numbers import NUMBERS, with_old_numbers
from scheduler.rules.said_anew import said_anew
from scheduler.rules.templates import render
from scheduler.rules.vocabulary import NAMES, SAMPLES

UNREAD = Environment({of: {field: None if name.may_be_unknown else name.sample for field, name in fields.items()} for of, fields in NAMES.items()})
READ = Environment(SAMPLES)
PAIRS = [
    ("!lot.moisture_known", "the lot's moisture is not known"),
    ("lot.moisture < 0.0", "the lot's moisture is not known"),
    ("lot.yeast == -1.0", "the lot's yeast is not known"),
    ("lot.yeast >= 0.0 && lot.frames > 1.0", "the lot's yeast is known and frames are more than 1"),
    ("lot.moisture > yard.moisture_limit", "the lot's moisture is known and it is more than the yard's moisture limit"),
    ("store.temperature <= 5.0", "the store's temperature is not known or it is at most 5 °C"),
    ("known(lot.moisture) && lot.moisture > 0.18", "the lot's moisture is known and the lot's moisture is more than 18 %"),
    ("freezer.known && freezer.rated > 0.0", "the freezer's temperature is known and the freezer's rated capacity is known"),
    ("harvest.sold", "the yard sells"),
    ("lot.honey_mass > 1.0", "the lot's mass is more than 1 kg"),
]
OWN = """\
ruleset: my cards
version: 1
tasks:
  count yeast:
    title: Count the yeast
    for: extracted
    when: lot.yeast < 0.0
    why: The count is not known yet.
  look at the honey:
    title: "Look at lot {lot.id}, {share: lot.moisture}"
    for: extracted
    when: "!lot.moisture_known"
    why: The moisture is not known yet.
"""


@pytest.mark.parametrize(("old", "new"), PAIRS)
@pytest.mark.parametrize("env", [UNREAD, READ])
def test_the_old_way_means_what_the_new_one_does(old: str, new: str, env: Environment) -> None:
    """Read or not; and whoever wrote the old one is told the new one."""
    assert env.evaluate(old)[0] == env.evaluate(new)[0]
    assert said_anew(read_old(old, {}), "yes or no", {}) == new


SINCE = {"error"}  # names that came after unknown was a value of its own


def test_every_name_that_may_be_unknown_had_its_number() -> None:
    """And nothing else had one; what came since has none."""
    assert {of: set(fields) for of, fields in NUMBERS.items()} == {
        of: unknown for of, fields in NAMES.items() if (unknown := {field for field, name in fields.items() if name.may_be_unknown and field not in SINCE})
    }


def test_a_number_that_is_not_known_is_shown_as_such() -> None:
    """In words; as an amount it is still the number that version 0.1 gave."""
    assert render("{share: lot.moisture}, {lot.yeast}", UNREAD) == "not known, not known"
    assert amount("freezer.space", "any", UNREAD).value == with_old_numbers(UNREAD.names)["freezer"]["space"] == 0.0


def test_a_check_and_a_plan_say_which_line_to_change(tmp_path: Path) -> None:
    """With the word to write; the cards are planned as before."""
    file = tmp_path / "own.yaml"
    file.write_text(OWN, encoding="utf-8")
    checked = CliRunner().invoke(main, ["rules", "check", str(file)])
    assert checked.exit_code == 0
    for place, words in (('7:11: card "count yeast"', "the lot's yeast"), ('12:12: card "look at the honey"', "the lot's moisture")):
        told = f'{place} > when: expressions with signs go with the next version\n    write "{words} is not known"; the old way is read for one more version'
        assert f"{file}:{told}" in checked.output
    given: dict[str, Any] = {"lots": [{"id": "b", "kind": "extracted", "frames": 10, "frame": "medium"}]}
    found = plan(scenario_problem(given)._replace(rules=load([str(file)])))
    assert {"Count the yeast", "Look at lot b, not known"} <= {task.title for task in found.tasks}
    assert [one.says.get("at") for one in found.warnings if one.kind == "old word"] == [f"{file}:7:11", f"{file}:12:12"]
