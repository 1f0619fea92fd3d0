"""From tasks to sittings: one person, one place, gaps up to twenty minutes; what DESIGN says of them, case by case and on random work."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from scheduler.planning.plan import PlannedTask
from scheduler.planning.sittings import BESIDE_FOOD, GAP, Sitting, sittings
from tests.outputs.plans import HOUR, at, task

MINUTE = 60
EVENING = at("2026-08-11 17:30")
ZONE = "Europe/Ljubljana"


def work(name: str, minute: int, minutes: int = 20, **given: Any) -> PlannedTask:
    """A task without a hold, so many minutes into the evening."""
    return task(name, EVENING + minute * MINUTE, minutes=minutes, work=(minutes * MINUTE, 0), **given)


def named(*tasks: PlannedTask, **given: Any) -> list[tuple[str, str, list[str]]]:
    """Id, place and the last parts of the tasks of each sitting."""
    return [(one.id, one.place, [name.rpartition("/")[2] for name in one.tasks]) for one in sittings(tasks, ZONE, **given)]


def together(*tasks: PlannedTask) -> list[list[str]]:
    """Which tasks share a sitting."""
    return [names for _, _, names in named(*tasks)]


def test_the_rooms_of_the_house_are_one_place_and_the_apiary_another() -> None:
    """Honey room, store and what can be done anywhere together; then out to the hives; then the house again."""
    evening = (work("cut", 0), work("store", 20, place="store"), work("record", 40, place="anywhere"), work("count", 60, place="apiary"), work("pack", 80))
    assert named(*evening) == [
        ("2026-08-11/1", "house", ["cut", "store", "record"]),
        ("2026-08-11/2", "apiary", ["count"]),
        ("2026-08-11/3", "house", ["pack"]),
    ]


def test_what_can_be_done_anywhere_is_done_where_one_is() -> None:
    """The medicine is written down beside the hive, and nobody goes to the house for it."""
    assert named(work("treat", 0, place="apiary"), work("write", 20, place="anywhere")) == [("2026-08-11/1", "apiary", ["treat", "write"])]


def test_a_gap_of_twenty_minutes_is_waited_out_and_a_longer_one_is_not() -> None:
    """DESIGN section 6: gaps up to 20 minutes."""
    assert together(work("cut", 0), work("pack", 40)) == [["cut", "pack"]]
    assert together(work("cut", 0), work("pack", 41)) == [["cut"], ["pack"]]


def test_after_three_hours_the_next_gap_ends_it() -> None:
    """Three hours at most where a gap allows; work without a gap is not torn apart."""
    long = work("spin", 0, 180)
    assert together(long, work("strain", 180)) == [["spin", "strain"]]
    assert together(long, work("strain", 181)) == [["spin"], ["strain"]]
    assert together(work("spin", 0, 179), work("strain", 180)) == [["spin", "strain"]]


def test_two_people_have_sittings_of_their_own() -> None:
    """At the same time, in the same room."""
    assert together(work("cut", 0), work("spin", 0, person="Mira")) == [["cut"], ["spin"]]


def test_food_never_shares_a_sitting_with_what_is_not_to_be_near_it() -> None:
    """Acids, mite wash, dirty hive tools (DESIGN section 6); without food they may be together."""
    for dirt in BESIDE_FOOD:
        pair = (work("cut", 0, handles=("food",)), work("wash", 20, handles=(dirt,)))
        assert together(*pair) == [["cut"], ["wash"]]
        assert together(work("wash", 0, handles=(dirt,)), work("write", 20), work("cut", 40, handles=("food",))) == [["wash", "write"], ["cut"]]
        assert together(work("sweep", 0), work("wash", 20, handles=(dirt,))) == [["sweep", "wash"]]


def test_wax_on_heat_is_not_left_for_other_work() -> None:
    """It ends its sitting: after it comes nothing but more wax."""
    hot = ("hot wax",)
    evening = (work("cut", 0), work("render", 20, handles=hot), work("strips", 40, handles=hot), work("pack", 60))
    assert together(*evening) == [["cut", "render", "strips"], ["pack"]]


def test_work_tied_to_the_sun_stands_apart() -> None:
    """Two lots of wet frames go back at one dusk; the look at the entrance before them does not."""
    look, back = work("look", 0, place="apiary"), [work(name, minute, place="apiary", sun_tied=True) for name, minute in (("back-a", 20), ("back-b", 40))]
    assert together(look, *back) == [["look"], ["back-a", "back-b"]]


def test_limits_and_holds_that_nobody_closes_are_in_no_sitting() -> None:
    """They are no work; the end of a hold that hands close begins the sitting that closes it."""
    limit = replace(work("limit", 0), hands=(), due=EVENING + HOUR)
    settle = task("settle", EVENING, minutes=5, hold=5 * HOUR)
    drain = task("drain", EVENING, minutes=5, hold=24 * HOUR, end_minutes=5)
    assert named(limit, settle) == [("2026-08-11/1", "house", ["settle"])]
    assert [(one.start - EVENING, one.steps[0].phase) for one in sittings([drain], ZONE)] == [(0, "begin"), (24 * HOUR + 5 * MINUTE, "end")]


def test_a_published_sitting_keeps_its_number_whatever_comes_before_it() -> None:
    """Matched by shared steps: new work earlier in the evening takes a new number, and so does what it was split from."""
    cut, pack = work("cut", 60), work("pack", 80)
    before = {one.id: [step.key for step in one.steps] for one in sittings([cut, pack], ZONE)}
    assert named(work("count", 0, place="apiary"), cut, pack, before=before) == [
        ("2026-08-11/2", "apiary", ["count"]),
        ("2026-08-11/1", "house", ["cut", "pack"]),
    ]
    moved = replace(pack, start=pack.start + 24 * HOUR, hands=tuple((a + 24 * HOUR, b + 24 * HOUR) for a, b in pack.hands))
    assert named(cut, moved, before=before) == [("2026-08-11/1", "house", ["cut"]), ("2026-08-12/1", "house", ["pack"])]
    assert named(moved, before=before) == [("2026-08-11/1", "house", ["pack"])]


def test_a_step_that_is_done_leaves_its_sitting_and_stands_where_it_was_done() -> None:
    """What remains keeps the number; once nothing remains, the whole evening is done under it."""
    cut, pack = work("cut", 0), work("pack", 20)
    before = {one.id: [step.key for step in one.steps] for one in sittings([cut, pack], ZONE)}
    done = replace(cut, status="done", hands=(), start=EVENING + 300, finish=EVENING + 900)
    half = sittings([done, pack], ZONE, before)
    assert [(one.id, one.done, one.tasks) for one in half] == [("2026-08-11/1", False, (pack.id,)), ("2026-08-11/2", True, (done.id,))]
    assert (half[1].start, half[1].end) == (EVENING + 300, EVENING + 900)
    both = [done, replace(pack, status="done", hands=(), start=EVENING + 900, finish=EVENING + 1800)]
    assert [(one.id, one.done) for one in sittings(both, ZONE, before)] == [("2026-08-11/1", True)]


@st.composite
def evenings(draw: st.DrawFn) -> list[PlannedTask]:
    """An evening's work of one keeper, in any rooms, with any gaps."""
    found, minute = [], 0
    for number in range(draw(st.integers(1, 12))):
        minute += draw(st.sampled_from([0, 0, 5, 20, 21, 60]))
        minutes = draw(st.integers(1, 90))
        handles = draw(st.sampled_from([(), (), ("food",), ("hive tools",), ("hot wax",)]))
        place = draw(st.sampled_from(["honey room", "store", "anywhere", "apiary"]))
        found.append(work(f"w{number}", minute, minutes, place=place, handles=handles, sun_tied=draw(st.integers(0, 5)) == 0))
        minute += minutes
    return found


@given(evenings())
def test_every_step_is_in_one_sitting_and_none_overlap(tasks: list[PlannedTask]) -> None:
    """Nothing is lost, nothing doubled; each sitting is of one place, its gaps are short, and what must be kept apart is."""
    found = sittings(tasks, ZONE)
    assert sorted(step.task for one in found for step in one.steps) == sorted(one.id for one in tasks)
    assert len({one.id for one in found}) == len(found)
    assert all(before.end <= after.start for before, after in itertools.pairwise(found))
    known = {one.id: one for one in tasks}
    for one in found:
        assert all(after.start - before.end <= GAP for before, after in zip(one.steps, one.steps[1:], strict=False))
        assert _sound(one, known)


def _sound(one: Sitting, known: dict[str, PlannedTask]) -> bool:
    of = [known[name] for name in one.tasks]
    handled = {thing for each in of for thing in each.handles}
    apart = "food" not in handled or BESIDE_FOOD.isdisjoint(handled)
    hot = ["hot wax" in each.handles for each in of]
    return apart and len({each.sun_tied for each in of}) == 1 and hot == sorted(hot)
