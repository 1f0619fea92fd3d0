"""What has no time lets nothing go ahead of it: in a yard with an hour a week undrained comb was packed the same morning."""

from __future__ import annotations

import pytest

from scheduler.facts.yard import read_yard
from scheduler.planning.network import violations
from scheduler.planning.planner import WARNED
from tests.chance import random_of, times
from tests.planning.whole import Case, harvest, planned, yard

FEW_HOURS = ("sat 09:00-10:00", "sun 18:00-18:45", "wed 19:00-20:00", "mon 06:00-06:20")


def few_hours(number: int) -> Case:
    """A yard with hardly an hour a week, one or two harvests of up to three lots; invented."""
    chance = random_of(f"few hours {number}")
    day, hours = chance.choice(FEW_HOURS).split()
    place = yard(space=chance.choice([15, 90]), rack=chance.choice([12, 300]), cold=chance.choice([-24, -18, -6]), room=chance.choice([16, 27]))
    text = place.document.text or ""
    short = text.replace('hands: {mon-fri: "17:30-21:30", sat-sun: "08:00-20:00"}', f'hands: {{{day}: "{hours}"}}')
    place = read_yard(short.encode(), "yard.yaml")
    kinds = ("cut comb", "extracted", "dry comb")
    lots = [
        {"kind": chance.choice(kinds), "frames": chance.randint(1, 24), "moisture": chance.choice([17.4, 18.9]), "imperfect": chance.choice([0, 20])}
        for _ in range(chance.randint(1, 3))
    ]
    return planned(place, [harvest(place, "pull-0", "2026-08-11T10:00", lots)], "2026-08-11T11:00")


@pytest.mark.slow
@pytest.mark.parametrize("number", range(times(200)))
def test_no_task_has_a_time_behind_one_that_has_none(number: int) -> None:
    """In the plan as a program reads it, whatever the kind of precedence; and the verifier finds nothing that a plan may not have."""
    case = few_hours(number)
    status = {task.id: task.status for task in case.plan.tasks}
    ahead = [
        (task.id, link.task)
        for task in case.plan.tasks
        if task.status in ("planned", "provisional")
        for link in task.links
        if status.get(link.task) in ("impossible", "held back")
    ]
    assert ahead == []
    assert {one.kind for one in violations(case.network, case.placed)} <= WARNED
