"""A load larger than the freezer or the rack in batches; `test_expand.py` shows whole loads."""

from __future__ import annotations

from itertools import accumulate

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.planning.batches import largest
from scheduler.planning.plan import PlannedTask
from tests.planning.whole import Case, harvest, planned, yard


@given(st.floats(0.0, 100.0), st.integers(0, 500), st.floats(0.01, 5.0), st.floats(0.0, 2.0))
def test_the_largest_batch_is_the_last_that_fits(capacity: float, total: int, each: float, rim: float) -> None:
    """Counted up one by one: packages of one size and the rim of the tray they stand in."""
    fits = [count for count in range(1, total + 1) if count * each + rim <= capacity * (1 + 1e-9)]
    assert largest(capacity, total, lambda count: count * each + rim) == max(fits, default=0)


def worked_up(rack: int, space: int, frames: int = 16, imperfect: int = 10) -> Case:
    """A lot of comb that the rack and the freezer take in loads of their own."""
    place = yard(rack=rack, space=space)
    lot: dict[str, object] = {"kind": "cut comb", "frames": frames, "moisture": 17.4, "imperfect": imperfect}
    return planned(place, [harvest(place, "pull-1", "2026-08-11T10:30", [lot])], "2026-08-11T10:30")


def of_card(case: Case, card: str) -> list[PlannedTask]:
    """The batches of a card, in order."""
    return sorted((task for task in case.plan.tasks if task.rule == f"cut comb/{card}"), key=lambda task: task.batch or 0)


def test_what_is_packed_first_is_frozen_first() -> None:
    """Two rackfuls and two loads of the freezer: the first load waits for the first packing, and is in the freezer before the second begins."""
    case = worked_up(rack=40, space=20)
    first, second = of_card(case, "freeze")
    packed = of_card(case, "pack")
    assert [one.count for one in packed] == [32, 32]
    assert {link.task for link in first.links} == {packed[0].id}
    assert {link.task for link in second.links} == {one.id for one in packed}
    assert first.start < packed[1].start


@pytest.mark.parametrize(("rack", "space"), [(300, 10), (40, 60), (24, 12), (20, 8), (12, 15)])
@pytest.mark.parametrize("imperfect", [0, 10, 35])
def test_a_load_waits_for_as_many_packings_as_fill_it_and_those_before_it(rack: int, space: int, imperfect: int) -> None:
    """Whatever the sizes: its share of the lot was packed by then, but for one piece of rounding, and not without the last it waits for."""
    case = worked_up(rack, space, imperfect=imperfect)
    loads, packed = of_card(case, "freeze"), of_card(case, "pack")
    whole, sizes = sum(one.count for one in loads), {one.id: one.count for one in packed}
    for load, so_far in zip(loads, accumulate(one.count for one in loads), strict=True):
        before, needed = [link.task for link in load.links if link.task in sizes], so_far / whole * sum(sizes.values())
        assert before == list(sizes)[: len(before)]
        assert sum(sizes[name] for name in before) >= needed - 1
        assert sum(sizes[name] for name in before[:-1]) <= needed - 1
