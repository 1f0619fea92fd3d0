"""Hours that hardly let anything be done: a plan is made all the same, breaks nothing, and says in words what finds no time. All invented."""

from __future__ import annotations

from datetime import datetime

import pytest

from scheduler.facts.yard import read_yard
from scheduler.outputs.wording.sentence import in_words
from scheduler.planning.network import violations
from scheduler.planning.planner import WARNED
from tests.planning.cards import KEEPER
from tests.planning.whole import Case, harvest, planned, yard_text

USUAL = '{mon-fri: "17:30-21:30", sat-sun: "08:00-20:00"}'


def case(hours: str, pulled: str = "2026-08-11T10:30") -> Case:
    """A plan of cut comb and of honey to be spun in these hours."""
    place = read_yard(yard_text().replace(USUAL, hours).encode(), "yard.yaml")
    lots: list[dict[str, object]] = [{"kind": kind, "frames": 8, "moisture": 17.4, "imperfect": 0} for kind in ("cut comb", "extracted")]
    return planned(place, [harvest(place, "pull-1", pulled, lots)], pulled)


@pytest.mark.parametrize(
    "hours",
    [
        '{sat: "09:00-09:05"}',  # five minutes a week take no work at all
        '{mon-sun: "18:00-21:00", "2026-08-01 to 2027-08-01": none}',  # a year away
        '{mon-sun: "22:00-02:00"}',  # past midnight
        '{mon-sun: "00:00-24:00"}',  # round the clock
        '{sun: "00:00-06:00"}',
    ],
)
def test_whatever_the_hours_a_plan_breaks_nothing_and_names_what_has_no_time(hours: str) -> None:
    """What finds none is told, and what waits for it waits."""
    found = case(hours)
    assert [one for one in violations(found.network, found.placed) if one.kind not in WARNED] == []
    without = {task.id for task in found.plan.tasks if task.status == "impossible"}
    told = {warning.task: in_words(warning.says, KEEPER) for warning in found.plan.warnings if warning.task in without}
    assert all("fault" not in warning.kind for warning in found.plan.warnings)
    assert bool(told) == bool(without)
    assert all(link.task not in without for task in found.plan.tasks if task.status == "planned" for link in task.links)


@pytest.mark.parametrize("pulled", ["2026-10-24T10:30", "2027-03-27T10:30"])  # the evenings before the clocks change at Ljubljana
def test_hands_across_the_clock_change_work_as_long_as_they_are_asked_to(pulled: str) -> None:
    """From one to four that night are four hours or two: no piece of work is longer or shorter for it, and none lies outside."""
    found = case('{mon-sun: "01:00-04:00"}', pulled)
    assert [one for one in violations(found.network, found.placed) if one.kind not in WARNED] == []
    night = datetime.fromisoformat(pulled).date().toordinal() + 1
    worked = [span for task in found.plan.tasks for span in task.sittings if _local(found, span[0]).date().toordinal() == night]
    assert worked
    lasts = 2 if pulled.startswith("2027") else 4
    assert max(end for _, end in worked) - min(start for start, _ in worked) <= lasts * 3600
    assert all(1 <= _local(found, start).hour < 4 for start, _ in worked)


def _local(found: Case, moment: int) -> datetime:
    return datetime.fromtimestamp(moment, found.problem.zone)
