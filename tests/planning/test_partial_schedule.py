"""What placements are feasible: windows, hands, holds, room and the rating of a freezer."""

from __future__ import annotations

from dataclasses import replace

from scheduler.local_time import DAY
from scheduler.planning.local_search import schedule
from scheduler.planning.network import Calendar, Mode, Network, Placement, Precedence, Task, violations
from scheduler.planning.objective import wait_late
from scheduler.planning.partial_schedule import Relaxation
from scheduler.planning.priority import priorities_of
from scheduler.planning.serial_sgs import construct
from scheduler.quantities import say
from tests.planning.yards import HOUR, NOON, calendars, frozen, one_freezer, work


def test_a_window_that_never_opens_leaves_its_task_without_a_time() -> None:
    """A task whose window never opens is missing, and the verifier names it and what was placed all the same though it waits for it."""
    net = one_freezer(work("a", window="never"), work("b"), relations=(Precedence("a", "b"),))
    assert set(schedule(net)) == {"b"}
    assert violations(net, schedule(net)) == [say("not placed", task="a"), say("ahead of what has no time", task="b", before="a")]


def test_a_load_that_no_freezer_takes_has_no_time() -> None:
    """A demand above the capacity is missing rather than placed beyond it."""
    net = one_freezer(Task("a", 0, 0, (Mode(DAY, None, (("freezer", 91.0),)),), NOON))
    assert schedule(net) == {}


def test_a_hold_whose_end_waits_too_long_for_hands_is_late_and_has_its_time() -> None:
    """Begun only in the evening, over after 6 h, to wait 6 h at most and ended only in the evening: what is over costs."""
    net = one_freezer(Task("a", 900, 900, (Mode(6 * HOUR, 6 * HOUR),), NOON, begin_calendar="evenings", end_calendar="evenings"))
    at = schedule(net)["a"]
    assert violations(net, schedule(net)) == []
    assert at.waited() > 6 * HOUR
    assert wait_late(net.tasks[0], at) == at.waited() - 6 * HOUR


def test_a_start_is_put_off_where_its_end_waits_less_and_comes_no_later() -> None:
    """A hold of an hour may wait two for the evening: it begins three hours before hands come back, not at noon."""
    net = one_freezer(Task("a", 0, 900, (Mode(HOUR, 2 * HOUR),), NOON, end_calendar="evenings"))
    plain = one_freezer(Task("a", 0, 900, (Mode(HOUR),), NOON, end_calendar="evenings"))
    assert schedule(net)["a"].finish == schedule(plain)["a"].finish
    assert schedule(net)["a"].waited() == 2 * HOUR


def test_a_step_does_not_run_over_because_its_successor_waits_for_another_freezer() -> None:
    """Comb drains 12 h, may wait 6 h and is frozen within an hour: in the chest, though the freezer, full for 36 h, would be done 8 h before it."""
    drain = Task("drain", 0, 900, (Mode(12 * HOUR, 6 * HOUR),), NOON)
    freeze = Task("freeze", 900, 0, (Mode(48 * HOUR, None, (("freezer", 60.0),)), Mode(80 * HOUR, None, (("chest", 60.0),))), NOON)
    full = (("freezer", NOON, NOON + 36 * HOUR, 60.0),)
    net = Network((drain, freeze), (Precedence("drain", "freeze", greatest=HOUR),), {"freezer": 90.0, "chest": 60.0}, full)
    placed = construct(net)
    assert placed["freeze"].mode == 1
    assert wait_late(drain, placed["drain"]) == 0
    empty = replace(net, reserved=())
    assert construct(empty)["freeze"].mode == 0


def test_the_mode_whose_end_finds_hands_in_time_is_taken() -> None:
    """Begun and ended in the evenings, to wait an hour at most: 12 h are over in the morning and wait for the evening, 25 h are over in it."""
    ways = (Mode(12 * HOUR, HOUR, (("freezer", 60.0),)), Mode(25 * HOUR, HOUR, (("chest", 60.0),)))
    freeze = Task("freeze", 900, 900, ways, NOON, begin_calendar="evenings", end_calendar="evenings")
    at = construct(Network((freeze,), (), {"freezer": 90.0, "chest": 60.0}, calendars=calendars()))["freeze"]
    assert (at.mode, wait_late(freeze, at)) == (1, 0)


def test_a_relaxation_takes_the_mode_over_first_for_no_schedule_ends_before_it() -> None:
    """The chest has no end that waits, the freezer is over first: what bounds the search ends with the freezer."""
    ways = (Mode(12 * HOUR, HOUR, (("freezer", 60.0),)), Mode(25 * HOUR, HOUR, (("chest", 60.0),)))
    freeze = Task("freeze", 900, 900, ways, NOON, begin_calendar="evenings", end_calendar="evenings")
    net = Network((freeze,), (), {"freezer": 90.0, "chest": 60.0}, calendars=calendars())
    at = Relaxation(net, priorities_of(net)).earliest(freeze)
    assert at is not None
    assert all(at.finish <= one.finish for one in (construct(net)["freeze"], construct(replace(net, tasks=(replace(freeze, modes=ways[:1]),)))["freeze"]))


def test_a_freezer_takes_its_rating_within_a_day() -> None:
    """Two loads of 4 kg in a freezer rated for 6 kg a day begin a day apart, though there is room for both."""
    network = one_freezer(frozen("a", 10, 4.0), frozen("b", 10, 4.0), rating=6.0)
    placed = schedule(network)
    assert sorted(at.start - NOON for at in placed.values()) == [0, DAY]


def test_a_load_above_the_rating_goes_in_alone() -> None:
    """A load of 8 kg in a freezer rated for 6 kg a day has no other load within a day of it."""
    network = one_freezer(frozen("a", 10, 8.0), frozen("b", 10, 1.0), rating=6.0)
    placed = schedule(network)
    assert abs(placed["a"].start - placed["b"].start) == DAY


def test_what_two_do_together_waits_for_both_and_is_done_in_one_go() -> None:
    """One is free from noon, the other is at work until two: they begin at two, and neither does anything else meanwhile. Alone it would be divided."""
    opened = {"days": Calendar(0, 19_999, lambda day: [(day * DAY + 12 * HOUR, day * DAY + 15 * HOUR)])}
    other = Task("other", 2 * HOUR, 0, (Mode(0, None),), NOON, due=NOON + 2 * HOUR, begin_calendar="days")
    both = Task("both", HOUR, 0, (Mode(0, None),), NOON, begin_calendar="days", hands="second", joined_by="")
    later = Task("later", HOUR, 0, (Mode(0, None),), NOON, begin_calendar="days", hands="second")
    network = Network((other, both, later), (Precedence("both", "later", "start to start"),), {}, calendars=opened)
    placed = schedule(network)
    assert {name: at.start - NOON for name, at in placed.items()} == {"other": 0, "both": 2 * HOUR, "later": DAY}
    for name in ("other", "later"):
        moved = {**placed, name: replace(placed[name], start=placed["both"].start, finish=placed["both"].finish, sittings=placed["both"].sittings)}
        assert "hands needed twice" in [one.kind for one in violations(network, moved)]
    long = replace(both, begin=4 * HOUR)
    assert "both" not in schedule(Network((long,), (), {}, calendars=opened))
    assert len(schedule(Network((replace(long, joined_by=None),), (), {}, calendars=opened))["both"].sittings) == 2


def test_two_people_work_at_the_same_time() -> None:
    """Two lots to be packed on one evening take two hours of one pair of hands, and one hour where each has a pair of their own."""
    pack = Task("a", HOUR, 0, (Mode(0, None),), NOON)
    alone, together = ((pack, replace(pack, id="b", hands=hands)) for hands in ("", "second"))
    assert [max(at.finish for at in schedule(Network(tasks, (), {})).values()) - NOON for tasks in (alone, together)] == [2 * HOUR, HOUR]
    double = {"a": Placement(NOON, NOON + HOUR, NOON + HOUR, ((NOON, NOON + HOUR),), ())}
    double["b"] = double["a"]
    assert violations(Network(together, (), {}), double) == []
    assert [one.kind for one in violations(Network(alone, (), {}), double)] == ["hands needed twice"]
