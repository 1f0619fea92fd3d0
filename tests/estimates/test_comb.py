"""Comb as a body: what is slow is slower than what is quick, a stack is as near a cube as it goes, and walls only slow."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.estimates import comb
from scheduler.estimates.conduction import time_to
from tests.chance import times
from tests.estimates.practice import PACKAGES

SIDES = st.floats(0.01, 0.12)
SIZE = (0.102, 0.051, 0.032)  # m, a piece of about 4 x 2 x 1 1/4 in (common practice)


@pytest.mark.parametrize("air", ["still", "fan"])
def test_slow_properties_cool_slower_than_quick_ones(air: str) -> None:
    """Whatever is published: the three are in order in all that counts."""
    slow, typical, quick = comb.spread(air)
    hours = [time_to(comb.piece(SIZE, comb.BARE, of), 0.1) for of in (slow, typical, quick)]
    assert hours == sorted(hours, reverse=True)
    assert len(set(hours)) == 3


def test_a_coefficient_that_was_measured_stands_for_all_three() -> None:
    """It is no guess any more; moving air is quicker than still air where it is one."""
    assert {one.surface for one in comb.spread("still", 7.5)} == {7.5}
    assert all(fan.surface > still.surface for fan, still in zip(comb.spread("fan"), comb.spread("still"), strict=True))


@pytest.mark.parametrize(("side", "sound"), [(0.0019, False), (0.002, True), (3.0, True), (3.001, False), (math.nan, False)])
def test_a_body_has_sides_of_two_millimetres_to_three_metres(side: float, sound: bool) -> None:
    """Both ends counted."""
    if sound:
        comb.check_size((side, 0.1, 0.1))
    else:
        with pytest.raises(Fault, match="is outside 2 mm to 3 m"):
            comb.check_size((side, 0.1, 0.1))


@given(st.integers(1, 40), st.tuples(SIDES, SIDES, SIDES))
@settings(max_examples=times(1000))
def test_pieces_are_stacked_with_the_shortest_diagonal(count: int, size: tuple[float, float, float]) -> None:
    """No other block of rows that takes them all is nearer to a cube: every one is tried."""

    def diagonal(counts: tuple[int, int, int]) -> float:
        return math.hypot(*(side * number for side, number in zip(size, counts, strict=True)))

    found = comb.arrangement(count, size)
    others = [(a, b, math.ceil(count / (a * b))) for a in range(1, count + 1) for b in range(1, count + 1)]
    assert math.prod(found) >= count
    assert diagonal(found) <= min(map(diagonal, others)) * (1 + 1e-12)


@given(st.integers(1, 30), st.tuples(SIDES, SIDES, SIDES))
@settings(max_examples=times(400))
def test_bare_pieces_that_touch_are_one_larger_piece(count: int, size: tuple[float, float, float]) -> None:
    """Without walls between them nothing tells them apart."""
    _, of, _ = comb.spread()
    counts = comb.arrangement(count, size)
    block = tuple(side * number for side, number in zip(size, counts, strict=True))
    one, whole = comb.stack(count, size, comb.BARE, of), comb.piece((block[0], block[1], block[2]), comb.BARE, of)
    assert one.capacity == pytest.approx(whole.capacity)
    for ours, other in zip(one.axes, whole.axes, strict=True):
        assert tuple(ours) == pytest.approx(tuple(other))


@pytest.mark.parametrize("name", ["film", "clamshell", "carton"])
def test_a_wall_slows_one_piece_and_a_stack(name: str) -> None:
    """Air in a clamshell insulates; a thicker piece is slower too."""
    of, bare = comb.spread()[1], comb.BARE
    assert time_to(comb.piece(SIZE, PACKAGES[name], of), 0.1) > time_to(comb.piece(SIZE, bare, of), 0.1)
    assert time_to(comb.stack(8, SIZE, PACKAGES[name], of), 0.1) > time_to(comb.stack(1, SIZE, PACKAGES[name], of), 0.1)
    assert time_to(comb.slab(0.040, of), 0.1) > time_to(comb.slab(0.030, of), 0.1)
