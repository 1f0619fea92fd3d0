"""What holds of every plan, whatever the yard and the harvest: bees, freezer, hands and limits."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.estimates.sun import sun_event
from scheduler.planning.network import violations
from scheduler.planning.plan import PlannedTask
from tests.chance import times
from tests.planning.whole import Case, cases, harvest, planned, yard

OPEN = ("planned", "provisional")
some = settings(max_examples=times(80), deadline=None, suppress_health_check=list(HealthCheck))
pytestmark = pytest.mark.slow


def local(case: Case, moment: int) -> datetime:
    """A moment at the yard."""
    return datetime.fromtimestamp(moment, case.problem.zone)


def of_card(case: Case, card: str) -> list[PlannedTask]:
    """The open tasks of a card."""
    return [task for task in case.plan.tasks if task.rule.endswith(f"/{card}") and task.status in OPEN]


@some
@given(cases())
def test_wet_frames_are_given_back_at_dusk_and_never_by_day(case: Case) -> None:
    """In robbing season from half an hour before dusk, else from an hour before; and within an hour after it."""
    place = case.yard.place
    for task in of_card(case, "give back"):
        day = local(case, task.start).date()
        dusk = sun_event(place.latitude, place.longitude, day, "dusk", place.timezone)
        assert dusk is not None
        robbing = bool(case.problem.season.spans("robbing", day, day))
        assert dusk - timedelta(minutes=30 if robbing else 60) <= local(case, task.start)
        assert local(case, task.finish) <= dusk + timedelta(minutes=60)


@some
@given(cases())
def test_treatment_starts_when_all_wet_frames_are_off(case: Case) -> None:
    """Given back and taken off, or kept wet: in either case before the treatment."""
    for treatment in of_card(case, "treatment"):
        assert all(task.finish <= treatment.start for card in ("give back", "take off", "keep wet") for task in of_card(case, card))


@some
@given(cases())
def test_hands_on_work_lies_in_free_hours_and_never_twice_at_once(case: Case) -> None:
    """There is one pair of hands, and it is free when the yard file says so; a card may say that any hour will do."""
    spans = sorted((start, end) for task in case.plan.tasks for start, end in task.hands)
    assert all(end <= following for (_, end), (following, _) in pairwise(spans))
    for task in case.plan.tasks:
        if case.problem.rules.by_key[task.rule].card.hands.hours == "any":
            continue
        for start, end in task.hands:
            day = local(case, start).date()
            free = [(datetime.combine(day, opens), datetime.combine(day, closes)) for opens, closes in case.yard.hands.spans(day)]
            clock = [local(case, moment).replace(tzinfo=None) for moment in (start, end)]
            assert any(opens <= clock[0] and clock[1] <= closes for opens, closes in free), task.id


@some
@given(cases())
def test_nothing_is_ever_overfilled(case: Case) -> None:
    """At the start of each task that occupies something, all that is in it fits."""
    tasks = [task for task in case.plan.tasks if task.occupies and task.status in OPEN]
    for task in tasks:
        for name, _ in task.occupies:
            inside = sum(dict(other.occupies).get(name, 0.0) for other in tasks if other.start <= task.start < other.finish)
            capacity = case.yard.equipment[name].capacity
            assert capacity is not None
            assert inside <= capacity * (1 + 1e-9)


@some
@given(cases())
def test_no_piece_is_lost_between_the_rack_and_the_freezer(case: Case) -> None:
    """Cut, drained and packed pieces are as many as go into the freezer, whole or for jars, however the batches fall."""
    pieces: dict[tuple[str | None, str], float] = defaultdict(float)
    for task in case.plan.tasks:
        if task.rule.partition("/")[2] in ("drain", "pack", "freeze", "freeze pieces") and task.lot:
            pieces[f"{task.harvest}/{task.lot}", task.rule.partition("/")[2]] += task.count
    for lot in {lot for lot, _ in pieces}:
        assert pieces[lot, "drain"] == pieces[lot, "pack"] == pieces[lot, "freeze"] + pieces[lot, "freeze pieces"]


@some
@given(cases())
def test_every_wait_is_kept_or_its_breach_is_told(case: Case) -> None:
    """The verifier, which shares no code with the search, finds only greatest lags that a warning names too."""
    told = {warning.task for warning in case.plan.warnings}
    for one in violations(case.network, case.placed):
        assert one.get("task") in told, one


@some
@given(cases())
def test_a_limit_that_is_missed_is_told(case: Case) -> None:
    """Nothing is late in silence, and nothing that cannot be done vanishes."""
    told = {warning.task for warning in case.plan.warnings}
    assert all(task.id in told for task in case.plan.tasks if task.status in OPEN and task.due is not None and task.finish > task.due)
    assert all(any(reason.label == "impossible" for reason in task.reasons) or task.id in told for task in case.plan.tasks if task.status == "impossible")


@some
@given(cases())
def test_every_task_says_why(case: Case) -> None:
    """The rule with its place, and what kept it from being earlier."""
    for task in case.plan.tasks:
        assert task.reasons[0].label == "rule"
        assert "rulesets/" in task.reasons[0].rule


@some
@given(st.integers(4, 24), st.sampled_from([20, 40, 90]))
def test_half_the_freezer_never_makes_the_freezing_end_earlier(frames: int, space: int) -> None:
    """Of one lot of cut comb by itself."""
    ends = []
    for litres in (space, space / 2):
        place = yard(space=litres)
        lot: dict[str, object] = {"kind": "cut comb", "frames": frames, "moisture": 17.0, "imperfect": 0}
        case = planned(place, [harvest(place, "ridge", "2026-08-11T10:30", [lot])], "2026-08-11T11:00")
        ends.append(max(task.finish for task in of_card(case, "freeze")))
    assert ends[0] <= ends[1]


@some
@given(st.integers(1, 12), st.sampled_from([2, 3, 5]))
def test_a_yard_elsewhere_on_the_same_parallel_has_the_same_plan_by_its_own_clock(frames: int, hours: int) -> None:
    """A zone and 15 degrees to the west for each hour; dusk differs by what the sun moves in these hours."""
    clocks = []
    for zone, longitude in (("Etc/GMT-1", 15.0), (f"Etc/GMT+{hours - 1}", 15.0 - 15.0 * hours)):
        place = yard(timezone=zone, longitude=longitude)
        lot: dict[str, object] = {"kind": "dry comb", "frames": frames, "moisture": 17.0, "imperfect": 0}
        case = planned(place, [harvest(place, "ridge", "2026-08-11T10:30", [lot])], "2026-08-11T11:00")
        clocks.append({task.id: local(case, task.start).replace(tzinfo=None) for task in case.plan.tasks if task.lot})
    assert clocks[0].keys() == clocks[1].keys()
    assert all(abs(clocks[0][name] - clocks[1][name]) <= timedelta(minutes=10) for name in clocks[0])
