"""Two plans side by side. The plans are invented."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduler.outputs.text.comparison import comparison
from scheduler.planning.plan import Plan, PlannedTask, Warning
from scheduler.quantities import say
from tests.outputs.plans import HOUR, at, plan, task

START = at("2026-08-11 17:30")
SPIN, FREEZE = task("spin", START), task("freeze", START + HOUR, hold=24 * HOUR, end_minutes=10)
BEFORE = plan(SPIN, FREEZE)


def moved(one: PlannedTask, by: int) -> PlannedTask:
    """The same work later."""
    return replace(one, start=one.start + by, finish=one.finish + by, hands=tuple((a + by, b + by) for a, b in one.hands))


def told(there: Plan, here: Plan = BEFORE) -> list[str]:
    """The lines below the heading."""
    lines = comparison(here, there).splitlines()
    assert lines[:2] == ["Kestrel Bank: what would change", ""]
    return lines[2:]


def test_the_same_plan_changes_nothing() -> None:
    """And says so."""
    assert told(BEFORE) == ["  nothing", "", "0 changed, 0 new, 0 gone"]


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        (replace(SPIN, status="provisional"), "planned becomes provisional"),
        (replace(SPIN, title="Spin 9"), '"Spin 9" instead of "Spin 24 pieces"'),
        (replace(SPIN, person="Mira"), "by Mira"),
        (replace(SPIN, occupies=(("freezer", 0.1),)), "needs other room"),
        (moved(SPIN, HOUR), "1 h later, Tue 11 Aug 18:30"),
        (moved(SPIN, -25 * HOUR), "25 h earlier, Mon 10 Aug 16:30"),
    ],
)
def test_what_is_otherwise_of_a_task_is_told(changed: PlannedTask, said: str) -> None:
    """Each thing by itself."""
    assert told(plan(changed, FREEZE)) == [f"  ridge-2/a/spin: {said}", "", "1 changed, 0 new, 0 gone"]


def test_a_hold_that_is_longer_or_shorter_says_by_how_much() -> None:
    """From a minute on."""
    longer, barely = (task("freeze", START + HOUR, hold=24 * HOUR + more, end_minutes=10) for more in (2 * HOUR, 59))
    assert told(plan(SPIN, longer))[0] == "  ridge-2/a/freeze: holds 2 h longer (26 h)"
    assert told(BEFORE, plan(SPIN, longer))[0] == "  ridge-2/a/freeze: holds 2 h less (1 d)"
    assert told(plan(SPIN, barely))[0] == "  nothing"


def test_a_shift_of_less_than_an_hour_is_counted() -> None:
    """It would drown the rest."""
    assert told(plan(moved(SPIN, HOUR - 1), FREEZE)) == ["  nothing", "  and 1 that move by less than an hour", "", "0 changed, 0 new, 0 gone"]


def test_what_comes_and_what_goes_is_listed_by_name() -> None:
    """New work by its date, before what is gone; a warning that goes or comes stands first."""
    new = task("pack", START + 30 * 60)
    warned = BEFORE._replace(warnings=(Warning("no time", SPIN.id, say("no time fits")),))
    lines = told(plan(new, FREEZE), warned)
    assert lines[0].startswith("  no longer: ")
    assert lines[2:4] == ["  + Tue 11 Aug 18:00  Pack 24 pieces  [ridge-2/a/pack]", "  - Spin 24 pieces  [ridge-2/a/spin]"]
    assert lines[-1] == "0 changed, 1 new, 1 gone"
    assert told(warned)[0].startswith("  then: ")
