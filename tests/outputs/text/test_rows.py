"""What stands on a line of the plan: an evening's work, a limit, the end of a hold that nobody closes; and each line's words."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from scheduler.outputs.text.rows import Rows
from tests.outputs.plans import DAY, HOUR, at, plan, task

EVENING = at("2026-08-11 17:30")
CUT = task("cut", EVENING)
DRAIN = task("drain", EVENING + HOUR // 2, hold=41 * HOUR, minutes=0, hands=())


def test_an_evening_is_one_row_and_the_end_of_a_hold_that_nobody_closes_another() -> None:
    """In the order of their times."""
    found = Rows(plan(CUT, task("label", EVENING + HOUR // 2), DRAIN))
    assert [row.ids for row in found.all] == [("ridge-2/a/cut", "ridge-2/a/label"), ("ridge-2/a/drain",)]
    assert [row.at for row in found.all] == [EVENING, EVENING + HOUR // 2 + 41 * HOUR]


def test_a_hold_that_hands_close_has_no_row_of_its_own() -> None:
    """Its end is the beginning of the evening that closes it."""
    closed = task("freeze", EVENING, hold=48 * HOUR, end_minutes=10)
    assert [row.sitting is not None for row in Rows(plan(closed)).all] == [True, True]


def test_the_end_of_a_hold_that_is_done_is_no_row() -> None:
    """Nobody waits for it any more."""
    done = task("drain", EVENING, hold=41 * HOUR, status="done")
    assert all(row.at == EVENING for row in Rows(plan(done, as_of=EVENING + 3 * DAY)).all)


def test_a_limit_stands_at_its_own_hour_with_what_is_planned_for_it() -> None:
    """Once, however early the work is done."""
    limit = task("work-up", EVENING, minutes=0, due=EVENING + 7 * DAY, hands=())
    [row] = Rows(plan(limit)).all
    assert row.at == EVENING + 7 * DAY
    assert Rows(plan(limit)).moment(row) == "Work-up 24 pieces: planned for Tue 11 Aug 17:30 [ridge-2/a/work-up]"


def test_a_line_of_a_checklist_is_told_with_its_task_only() -> None:
    """It has no time of its own."""
    line = task("candle", EVENING, minutes=0, hands=(), alongside="ridge-2/a/cut", status="planned")
    found = Rows(plan(CUT, line))
    assert [row.ids for row in found.all] == [("ridge-2/a/cut",)]
    assert [one.id for one in found.lines["ridge-2/a/cut"]] == ["ridge-2/a/candle"]


@given(st.integers(0, 23 * 60), st.integers(0, 10 * 60))
def test_a_span_says_both_ends_or_one_moment(minute: int, length: int) -> None:
    """On the yard's clock."""
    begin = at("2026-08-11 00:00") + 60 * minute
    said = Rows(plan(CUT)).span(begin, begin + 60 * length)
    ends = [f"{(minute + more) // 60 % 24:02d}:{(minute + more) % 60:02d}" for more in (0, length)]
    assert said == ("-".join(ends) if length else ends[0])


def test_the_year_is_said_where_it_is_another() -> None:
    """Comb goes back in spring."""
    found = Rows(plan(CUT))
    assert found.day(EVENING) == "Tue 11 Aug"
    assert "2027" in found.day(EVENING + 250 * DAY)


def test_somebody_elses_step_elsewhere_says_whose_and_where_when_it_stands_alone() -> None:
    """Among the steps of an evening both are said once, above."""
    treat = task("treat", EVENING, place="apiary", person="Ash", due=EVENING + DAY)
    found = Rows(plan(treat))
    [row] = found.all
    assert row.sitting is not None
    [step] = row.sitting.steps
    assert found.step(step, alone=row.sitting) == "Ash: Treat 24 pieces; apiary; due Wed 12 Aug 17:30 [ridge-2/a/treat]"
    assert found.step(step) == "Treat 24 pieces; due Wed 12 Aug 17:30 [ridge-2/a/treat]"
