"""What would make a doubtful limit more likely. The yards are the invented examples."""

from __future__ import annotations

import pytest

from scheduler.facts.people import Person
from scheduler.facts.yard import Yard
from scheduler.planning.odds_help import WORTH
from scheduler.planning.planner import plan_with_odds
from tests.planning.test_odds import problem

FUTURES = 100


@pytest.mark.slow
def test_frames_kept_whole_help_where_one_sunday_carries_the_freezing() -> None:
    """And what is said keeps it in more futures, by the same machine; nothing is said where the plan is likely anyhow."""
    _, odds = plan_with_odds(problem("pelican_bend/levee-1", "2026-06-20T08:15"), FUTURES, cures=False, help=True)
    least = odds[0]
    assert least.help is not None
    change, kept, of = least.help
    assert change.kind == "frames kept whole"
    assert kept / of >= least.kept / least.of + WORTH
    assert all(one.help is None for one in odds[1:])
    _, robust = plan_with_odds(problem(), FUTURES, cures=False, help=True)
    assert robust[0].help is None


@pytest.mark.slow
def test_somebody_who_could_freeze_too_is_tried_first() -> None:
    """Ash has every evening; the same seed, so that only the help differs."""
    tight = problem("pelican_bend/levee-1", "2026-06-20T08:15")
    yard: Yard = tight.yard
    people = {"Ash": Person(hands=yard.hands, takes=("label",))}
    with_ash = tight._replace(yard=yard.model_copy(update={"people": people}))
    _, odds = plan_with_odds(with_ash, FUTURES, cures=False, help=True, seed="one")
    _, again = plan_with_odds(with_ash, FUTURES, cures=False, help=True, seed="one")
    assert odds == again
    assert odds[0].help is None or odds[0].help[1] / odds[0].help[2] >= odds[0].kept / odds[0].of + WORTH
