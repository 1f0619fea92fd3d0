"""Warm loads and loads whose kill is not over: kept apart where that makes nothing late, told where it would, silent once the kill is over."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.application.plan_files import problem_of
from scheduler.facts.yard import Yard, read_yard
from scheduler.outputs.wording.sentence import METRIC, how_of, in_words, reader_of, title_of
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.planner import plan
from tests.chance import times
from tests.estimates.practice import BY
from tests.planning.whole import Case, harvest, planned, yard, yard_text, yards

EXAMPLES = Path(__file__).parents[2] / "examples"
WARNED = "warm beside cold"
FREEZING = ("freeze", "freeze pieces", "freeze comb")


def unrated(**given: object) -> Yard:
    """A yard whose freezer names no freezing capacity: loads may follow each other in a day, and are slow to freeze through."""
    return read_yard(yard_text(**{"space": 250, **given}).replace(", freezing capacity: 9 kg/day", "").encode(), "yard.yaml")


def weekend(place: Yard) -> Case:
    """Pulled on a Saturday: the dry comb freezes at once, the packages are ready on Sunday morning."""
    lots: list[dict[str, object]] = [
        {"kind": "cut comb", "frames": 16, "moisture": 17.0, "imperfect": 0},
        {"kind": "dry comb", "frames": 20, "moisture": 17.0, "imperfect": 0},
    ]
    return planned(place, [harvest(place, "w", "2026-08-08T09:00", lots)], "2026-08-08T09:00")


def of(found: Plan, name: str) -> PlannedTask:
    """A task by id."""
    return next(task for task in found.tasks if task.id == name)


def kinds(found: Plan) -> set[str]:
    """The kinds of warnings of a plan."""
    return {warning.kind for warning in found.warnings}


def at_risk(case: Case) -> set[str]:
    """Loads that go in beside colder ones whose cooling and exposure, at the safe end, are not over; worked out from the network alone."""
    found = set()
    tasks = {task.id: task for task in case.network.tasks}
    loads = [
        (at.start, at.finish, (at.sittings[-1][1] if at.sittings else at.start) + tasks[name].modes[at.mode].needed, freezer, mass, name)
        for name, at in case.placed.items()
        for freezer, mass in tasks[name].modes[at.mode].loads
    ]
    for start, _, _, freezer, mass, name in loads:
        held = sum(m for s, f, over, where, m, _ in loads if where == freezer and s + 3 * 3600 < start < min(f, over))
        cold = case.yard.equipment[freezer].temperature
        assert cold is not None
        if held and (mass * case.yard.room.temperature + held * cold) / (mass + held) > BY.mildest:
            found.add(name)
    return found


def test_a_warm_load_waits_for_the_kill_beside_it_and_says_so() -> None:
    """On Sunday the comb of Saturday has not frozen through; the packages have until the week is out, so they wait till Monday evening."""
    case = weekend(unrated())
    packages, comb = of(case.plan, "w/a/freeze.1"), of(case.plan, "w/b/freeze-comb.1")
    needed = next(task for task in case.network.tasks if task.id == comb.id).modes[0].needed
    assert packages.start >= comb.sittings[-1][1] + needed
    assert WARNED not in kinds(case.plan)
    assert not any(task.due is not None and task.finish > task.due for task in case.plan.tasks)
    assert any(reason.label == "apart" and title_of(comb) in in_words(reason.says, METRIC) for reason in packages.reasons)
    assert comb.id in {link.task for link in packages.links}


def test_where_waiting_would_be_late_the_load_goes_in_with_a_warning_that_says_what_cures_it() -> None:
    """In a hot room eggs hatch in three days, so Monday would be too late."""
    case = weekend(unrated(room=30))
    told = [warning for warning in case.plan.warnings if warning.kind == WARNED]
    assert [warning.task for warning in told] == ["w/a/freeze.1"]
    words = in_words(told[0].says, reader_of(case.plan))
    assert "before its kill is over (" in words
    assert "another freezer" in words


def test_a_second_freezer_takes_the_warm_load() -> None:
    """And the plan says which of the two, with what holds there; nothing waits."""
    text = yard_text(room=30, space=250).replace(", freezing capacity: 9 kg/day", "")
    second = text.replace("  drain rack:", "  garage freezer: {kind: freezer, temperature: -16 °C, space: 250 L}\n  drain rack:")
    case = weekend(read_yard(second.encode(), "yard.yaml"))
    packages = of(case.plan, "w/a/freeze.1")
    assert WARNED not in kinds(case.plan)
    assert dict(packages.occupies).keys() == {"garage freezer"}
    assert how_of(packages).startswith("In the garage freezer")
    assert any(reason.label == "estimate freeze_hold" and "air at -16 °C" in in_words(reason.says, METRIC) for reason in packages.reasons)


@pytest.mark.parametrize(
    ("name", "as_of", "task"),
    [
        ("kestrel_bank/ridge-2", "2026-08-11T10:30", "ridge-2/a/freeze.1"),
        ("wattle_gully/gully-1", "2026-02-21T09:30", "gully-1/a/freeze.1"),
    ],
)
def test_beside_comb_whose_kill_is_over_there_is_a_reason_and_no_warning(name: str, as_of: str, task: str) -> None:
    """Only the keeper's floor runs on: what is dead stays dead."""
    found = plan(problem_of((EXAMPLES / f"{name}.yaml",), None, (), as_of))
    assert WARNED not in kinds(found)
    assert any(reason.says.kind == "beside a dead load" for reason in of(found, task).reasons)


def test_of_two_freezers_packages_take_the_one_whose_kill_is_over_first() -> None:
    """Pelican Bend has two: pieces go to the garage at once, packages to the house the same evening, and nothing is late."""
    found = plan(problem_of((EXAMPLES / "pelican_bend" / "levee-1.yaml",), None, (), "2026-06-20T08:15"))
    assert not found.warnings
    pieces, packages = of(found, "levee-1/comb/freeze-pieces.1"), of(found, "levee-1/comb/freeze.1")
    assert dict(pieces.occupies).keys() != dict(packages.occupies).keys()
    assert packages.start - pieces.start < 6 * 3600


@pytest.mark.slow
@settings(max_examples=times(500), deadline=None, suppress_health_check=list(HealthCheck))
@given(yards, st.integers(1, 20), st.integers(1, 24), st.booleans())
def test_whatever_could_undo_a_kill_is_told_and_nothing_else(given: dict[str, object], packed: int, dry: int, rated: bool) -> None:
    """By a reckoning of the test's own over the network and its schedule."""
    place = yard(**given) if rated else unrated(**given)
    lots: list[dict[str, object]] = [
        {"kind": "dry comb", "frames": dry, "moisture": 17.0, "imperfect": 0},
        {"kind": "cut comb", "frames": packed, "moisture": 17.0, "imperfect": 20},
    ]
    case = planned(place, [harvest(place, "w", "2026-08-08T09:00", lots)], "2026-08-08T09:00")
    assert {warning.task for warning in case.plan.warnings if warning.kind == WARNED} == at_risk(case)
