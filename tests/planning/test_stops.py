"""What has no time lets nothing go ahead of it: in a yard with an hour a week undrained comb was packed the same morning."""

from __future__ import annotations

import re

import pytest

from scheduler.facts.yard import read_yard
from scheduler.planning.network import violations
from scheduler.planning.plan import Plan, Stopped
from scheduler.planning.planner import WARNED
from scheduler.rules.load import load
from tests.chance import random_of, times
from tests.planning.followed import Follower, random_yard
from tests.planning.followed import Yard as Texts
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


def ahead(plan: Plan) -> list[tuple[str, str]]:
    """Tasks with a time, each with what it waits for that has none: what it follows, or the step whose checklist it is on."""
    status = {task.id: task.status for task in plan.tasks}
    return [
        (task.id, before)
        for task in plan.tasks
        if task.status in ("planned", "provisional")
        for before in (*(link.task for link in task.links), *((task.alongside,) if task.alongside else ()))
        if status.get(before) in ("impossible", "held back")
    ]


@pytest.mark.slow
@pytest.mark.parametrize("number", range(times(200)))
def test_no_task_has_a_time_behind_one_that_has_none(number: int) -> None:
    """In the plan as a program reads it, whatever the kind of precedence; and the verifier finds nothing that a plan may not have."""
    case = few_hours(number)
    assert ahead(case.plan) == []
    assert {one.kind for one in violations(case.network, case.placed)} <= WARNED


@pytest.mark.slow
@pytest.mark.parametrize("number", range(times(40)))
def test_nor_in_a_plan_that_is_kept_and_repaired(number: int) -> None:
    """For days in which the keeper does what is planned, or nothing, in a yard with hardly an hour a week; and no fault is found in the plan."""
    chance = random_of(f"few hours kept {number}")
    drawn = random_yard(chance, "kept")
    day, hours = chance.choice(FEW_HOURS).split()
    short = re.sub(r"hands: {.*?}\n", f'hands: {{{day}: "{hours}"}}\n', drawn.yard)
    assert short != drawn.yard
    keeper = Follower(Texts(drawn.name, short, drawn.harvests))
    while keeper.coming:
        keeper.log()
    for _ in range(4):
        plan = keeper.plan()
        assert ahead(plan) == []
        assert [warning.says for warning in plan.warnings if warning.kind == "fault"] == []
        if chance.random() < 0.6:
            keeper.follow(plan, keeper.until)
        keeper.now = keeper.until


def test_what_lets_a_lot_go_on_is_said_without_its_command() -> None:
    """The command stands by itself, for the page leaves it out; in the shell both are one line."""
    stops = load(()).stops
    assert len(stops) > 8
    for one in stops:
        assert "afterpull" not in f"{one.stop.goes_on} {one.stop.meanwhile} {one.stop.say}", one.kind
    found = Stopped("moisture", ("ridge-2/b",), "too moist", None, "A drier reading", by="afterpull observe moisture")
    assert found.to_go_on == "A drier reading: afterpull observe moisture"
    assert found._replace(by=None).to_go_on == "A drier reading"
