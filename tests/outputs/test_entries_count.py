"""What a keeper gets in a calendar is within what one can live with: DESIGN section 7, over the examples and invented yards of two lots."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.application.plan_files import problem_of
from scheduler.planning.plan import Plan
from scheduler.planning.planner import plan as planned
from tests.chance import random_of, times
from tests.outputs.entries_count import counted, examples, two_lots

EXAMPLES = dict(examples())
FILES = Path(__file__).parents[2] / "examples" / "kestrel_bank"
DESIGN = """\
harvest: ridge-2
pulled: 2026-08-11T10:30
hives: [north, ridge]
lots:
  - {id: a, kind: cut comb, frames: 5, frame: shallow, comb thickness: 32 mm, capped: 95 %, moisture: 17.4 %}
  - {id: b, kind: extracted, frames: 14, frame: medium, moisture: 17.9 %}
"""


def readable(plan: Plan) -> None:
    """What holds of every plan: titles and notes fit a phone, nobody is in two places, no alarm at night, after its entry or long before it."""
    found = counted(plan)
    assert found.titles[0] <= 30
    assert found.titles[1] <= 38
    assert found.notes[0] <= 450
    assert found.notes[1] <= 1200
    assert (found.overlaps, found.at_night, found.misplaced) == (0, 0, 0)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_examples_read_well_on_a_phone(name: str) -> None:
    """Two and three lots, in three climates."""
    readable(EXAMPLES[name])


@pytest.mark.parametrize("number", range(times(30)))
def test_two_lots_are_what_one_can_live_with(number: int) -> None:
    """An ordinary harvest, without a day off."""
    plan = two_lots(random_of(f"two lots {number}"))
    readable(plan)
    found = counted(plan)
    assert found.timed <= 23  # chunk honey, or a day off, brings some more than the sixteen below
    assert found.days <= 6
    assert found.alarms <= 14
    assert found.to_spring <= 45


def test_the_harvest_of_the_design_is_a_dozen_entries_and_half_a_dozen_alarms(tmp_path: Path) -> None:
    """Five frames of cut comb and fourteen to spin, without a day off: the bounds of DESIGN section 7, to the entry."""
    yard = (FILES / "yard.yaml").read_text(encoding="utf-8").replace(', "2026-08-15": none', "")
    (tmp_path / "yard.yaml").write_text(yard, encoding="utf-8")
    (tmp_path / "ridge-2.yaml").write_text(DESIGN, encoding="utf-8")
    plan = planned(problem_of((tmp_path / "ridge-2.yaml",), None, (), "2026-08-11T10:30"))
    readable(plan)
    found = counted(plan)
    assert found.timed <= 16
    assert found.days <= 6
    assert found.alarms <= 9
    assert found.to_spring <= 45
    assert found.short <= 4
