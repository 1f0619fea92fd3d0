"""How likely limits are kept: the same for the same plan, alike for another seed, never less for more evenings, and nothing promised that is late."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import time
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.application.plan_files import problem_of
from scheduler.local_time import DAY
from scheduler.planning.odds import Odds, lasts
from scheduler.planning.planner import Planning, judging, plan_with_odds
from scheduler.planning.problem import Problem
from tests.chance import LONG
from tests.planning.followed import Yard, examples
from tests.planning.relived import AGREE, agreement

EXAMPLES = Path(__file__).parents[2] / "examples"
FUTURES = 60


@cache
def problem(name: str = "kestrel_bank/ridge-2", at: str = "2026-08-11T10:30") -> Problem:
    """An invented example as at its pull."""
    return problem_of((EXAMPLES / f"{name}.yaml",), None, (), at)


def kept(of: Problem, futures: int = FUTURES) -> dict[str, Odds]:
    """The odds by task."""
    return {one.task: one for one in plan_with_odds(of, futures)[1]}


def missing(share: float, of: Problem) -> Problem:
    """The same yard, of whose days so many are missed."""
    return of._replace(yard=of.yard.model_copy(update={"evenings_missed": share}))


def test_the_same_plan_gives_the_same_odds_and_no_futures_give_none() -> None:
    """The seed is of the plan."""
    assert kept(problem()) == kept(problem())
    assert plan_with_odds(problem(), 0)[1] == ()


def test_every_limit_of_food_colony_and_crop_is_judged_once_with_times_in_order() -> None:
    """Nothing of comfort, nothing done; the middle finish is no later than that of nine in ten."""
    plan, odds = plan_with_odds(problem(), FUTURES)
    tasks = {task.id: task for task in plan.tasks}
    assert len({one.task for one in odds}) == len(odds) > 5
    for one in odds:
        assert tasks[one.task].loss != "comfort"
        assert 0 <= one.kept <= one.of == FUTURES
        assert plan.as_of <= one.median <= one.nine_in_ten
    assert [one.kept for one in odds] == sorted(one.kept for one in odds)


@pytest.mark.slow
def test_more_futures_tell_the_same_within_the_bound_of_chance() -> None:
    """Four standard deviations of the difference of two shares (binomial)."""
    few, many = kept(problem(), 50), kept(problem(), 200)
    for name, one in few.items():
        share = (one.kept + many[name].kept) / (one.of + many[name].of)
        assert abs(one.kept / one.of - many[name].kept / many[name].of) <= 4 * math.sqrt(max(share * (1 - share), 0.01) * (1 / one.of + 1 / many[name].of))


@pytest.mark.slow
def test_the_more_evenings_are_missed_the_less_is_kept() -> None:
    """None, one in ten, four in ten: of the food that has to freeze in time, less each time; and of all limits together."""
    shares = [kept(missing(share, problem())) for share in (0.0, 0.1, 0.4)]
    frozen = [one["ridge-2/a/freeze.1"].kept for one in shares]
    assert frozen[0] > frozen[1] > frozen[2]
    assert [sum(one.kept for one in found.values()) for found in shares] == sorted((sum(one.kept for one in found.values()) for found in shares), reverse=True)


@pytest.mark.slow
def test_a_robust_plan_is_kept_and_a_fragile_one_without_a_warning_is_not() -> None:
    """Kestrel Bank has days to spare; at Pelican Bend one Sunday carries the freezing, and the plan alone does not show it."""
    plan, _ = plan_with_odds(problem(), 1)
    fragile = problem("pelican_bend/levee-1", "2026-06-20T08:15")
    warned, odds = plan_with_odds(fragile, 200)
    assert not [one for one in (*plan.warnings, *warned.warnings) if one.kind == "due date missed"]
    assert min(one.kept for one in kept(missing(0.0, problem())).values()) >= 0.9 * FUTURES
    least = odds[0]
    assert least.task == "levee-1/comb/freeze.1"
    assert least.kept < 0.75 * least.of
    assert (least.hangs_on, str(least.day)) in [("evenings", "2026-06-20"), ("evenings", "2026-06-21")]  # the weekend on which it is cut and packed


@pytest.mark.slow
def test_what_is_late_already_is_not_judged() -> None:
    """At Kestrel Bank with an hour a week: what the plan misses in every future has no odds."""
    yard = problem().yard
    hour = ((time(9), time(10)),)
    busy = problem()._replace(yard=yard.model_copy(update={"hands": yard.hands._replace(week=((), (), (), (), (), hour, ()))}))
    plan, odds = plan_with_odds(busy, 10)
    late = {warning.task for warning in plan.warnings if warning.kind == "due date missed"}
    assert not late & {one.task for one in odds}


@pytest.mark.slow
def test_with_one_seed_more_hours_keep_no_less() -> None:
    """The same evenings missed, weather and hands: two hours more each evening at Pelican Bend, of all limits together."""
    tight = problem("pelican_bend/levee-1", "2026-06-20T08:15")
    hands = tight.yard.hands
    longer = hands._replace(
        week=tuple(tuple((begins, time(23, 59) if ends >= time(22) else ends.replace(hour=ends.hour + 2)) for begins, ends in day) for day in hands.week)
    )
    roomy = tight._replace(yard=tight.yard.model_copy(update={"hands": longer}))
    shares = []
    for one in (tight, roomy):
        _, odds = plan_with_odds(one, FUTURES, cures=False, causes=False, seed="one")
        shares.append(sum(found.kept for found in odds) / sum(found.of for found in odds))
    assert shares[1] >= shares[0] - 0.02  # of a percent or two: a plan with more hours is another plan


def test_a_mere_decision_has_no_odds_and_whoever_asks_is_there() -> None:
    """In the south a treatment is still to be chosen; on a Saturday at ten the keeper, who asks, works on, however many days are missed."""
    creek = problem("wattle_gully/creek-2", "2026-04-04T10:00")
    plan, _ = plan_with_odds(creek, 1)
    assert any(task.id == "yard-2026/choose-a-treatment" for task in plan.tasks)
    found = kept(missing(0.9, creek), 20)
    assert "yard-2026/choose-a-treatment" not in found
    assert found["creek-2/close-up"].kept == 20
    assert found["creek-2/a/moisture-reading"].kept == 20


def test_the_pull_itself_is_the_keepers_own_choice_and_has_no_odds() -> None:
    """Planned for the morning after tomorrow: what leads to it is judged, the hour that the keeper chose is not."""
    ahead = problem_of((EXAMPLES / "brindle_fold" / "garden-1.yaml",), None, (), "2026-08-13T18:00")
    plan, odds = plan_with_odds(ahead, 20)
    assert any(task.id == "garden-1/pull" for task in plan.tasks)
    assert odds
    assert "garden-1/pull" not in {one.task for one in odds}


@given(st.floats(0, 100), st.floats(0, 100), st.floats(0, 100), st.floats(0, 1, exclude_max=True), st.floats(0, 1, exclude_max=True))
def test_a_hold_lasts_as_its_estimate_allows(a: float, b: float, c: float, shorter: float, longer: float) -> None:
    """Hours from least to most, on whole minutes; a greater chance that it lasts shorter is never a shorter hold."""
    low, mode, high = (one * 3600 for one in sorted((a, b, c)))
    shorter, longer = sorted((shorter, longer))
    found = lasts((low, mode, high), shorter)
    assert low <= found <= high + 60
    assert found <= lasts((low, mode, high), longer)


def test_the_middle_hold_of_a_triangular_distribution() -> None:
    """Of 10, 10 and 20 h the median is 20 - sqrt(50) h: by hand, from the distribution function 1 - (20 - x)^2 / 100 (from memory)."""
    assert lasts((36_000.0, 36_000.0, 72_000.0), 0.5) == pytest.approx(72_000 - math.sqrt(50) * 3600, abs=60)


def test_holds_in_a_future_may_be_longer_than_planned_and_never_shorter() -> None:
    """At Kestrel Bank draining is planned as long as is most likely: in some futures it goes on. Freezing is planned at its slow end, and longer by habit."""
    planning = Planning(problem(), cures=False)
    model, seed = judging(planning, planning.plan())
    planned = {task.id: min(mode.hold for mode in task.modes) for task in model.network.tasks}
    longer = set()
    for number in range(10):
        for task in model.network_in(model.drawn(seed, number)).tasks:
            hold = min(mode.hold for mode in task.modes)
            assert hold >= planned[task.id]
            longer |= {task.id} if hold > planned[task.id] else set()
    assert "ridge-2/a/drain.1" in longer
    assert "ridge-2/a/freeze.1" not in longer


@pytest.mark.slow
def test_odds_agree_with_a_keeper_who_lives_each_future_and_plans_anew() -> None:
    """Whole program, ledger and all, which knows nothing of what is to come: limits are kept or lost alike in nine of ten, in the mean."""
    shares = []
    for yard in examples():
        for name, harvest in yard.harvests:
            if LONG or name == "ridge-2":
                found, _ = agreement(Yard(name, yard.yard, ((name, harvest),)), range(25 if LONG else 2))
                assert found.of
                shares.append(found.share)
    assert sum(shares) / len(shares) >= AGREE


def test_where_a_pull_to_come_is_late_so_are_the_limits_of_its_work() -> None:
    """Closing up is due an hour after the pull: where nobody was there on its morning, an hour after that of another day."""
    ahead = problem_of((EXAMPLES / "brindle_fold" / "garden-1.yaml",), None, (), "2026-08-13T18:00")
    planning = Planning(ahead, cures=False)
    model, _ = judging(planning, planning.plan())
    task = next(task for task in model.judged() if task.id == "garden-1/close-up")
    names = ("garden-1/pull", task.id)
    later = {name: replace(model.placed[name], start=model.placed[name].start + DAY, finish=model.placed[name].finish + DAY) for name in names}
    assert model.late(task, {**model.placed, task.id: later[task.id]})
    assert not model.late(task, {**model.placed, **later})
