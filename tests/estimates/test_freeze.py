"""How long a load is frozen: cooled through, held at a lethal temperature, limited by what the freezer takes."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.estimates import comb, freeze

SIDE = st.floats(0.01, 0.4)


SIZE = st.tuples(SIDE, SIDE, SIDE)


COLD = st.floats(-40, -7.5)


@given(SIZE, COLD, st.floats(0.5, 10))
def test_colder_air_is_quicker_and_its_range_holds_the_value(size: tuple[float, float, float], air: float, colder: float) -> None:
    load = freeze.packed(1, size, "film", 21.0)
    slow, quick = freeze.lethal_hold(load, freeze.Freezer(air)), freeze.lethal_hold(load, freeze.Freezer(air - colder))
    assert quick.value <= slow.value
    for estimate in (slow, quick):
        assert 2 * 3600 <= estimate.low <= estimate.value <= estimate.high < math.inf


@given(SIZE, st.floats(-60, 40), st.floats(-20, 40), st.integers(1, 200))
def test_a_hold_is_a_time_or_a_refusal_in_words_never_a_nonsense(size: tuple[float, float, float], air: float, start: float, pieces: int) -> None:
    found = freeze.lethal_hold(freeze.packed(pieces, size, "clamshell", start, space=0.09), freeze.Freezer(air, rated=9 / 86400))
    assert not any(math.isnan(number) or number < 0 for number in (found.value, found.low, found.high))
    assert (found.refusal is None) == (air <= -7.2)
    assert math.isinf(found.value) == (found.refusal is not None)


def test_air_within_half_a_degree_of_the_mildest_lethal_pair_is_refused_in_words() -> None:
    found = freeze.lethal_hold(freeze.packed(1, (0.1, 0.05, 0.03), "none", 21.0), freeze.Freezer(-7.0))
    assert found.refusal is not None
    assert found.refusal.kind == "never lethal"


def test_zero_degrees_for_a_day_is_not_a_kill() -> None:  # a published "24 h at 0 °C or colder" is looser than the table of lethal pairs
    assert freeze.lethal_hold(freeze.packed(1, (0.1, 0.05, 0.03), "none", 21.0), freeze.Freezer(0.0)).refusal


def test_a_day_is_not_enough_for_a_full_box_closely_packed() -> None:
    load = freeze.packed(1, (0.46, 0.38, 0.15), "none", 21.0)
    assert freeze.lethal_hold(load, freeze.Freezer(-18.0)).high > 24 * 3600


def test_touching_pieces_cool_as_one_body_and_slower_than_the_same_pieces_apart() -> None:
    together, apart = (freeze.packed(24, (0.1016, 0.0508, 0.03175), "film", 21.0, touching=way) for way in (True, False))
    freezer = freeze.Freezer(-18.0)
    assert freeze.lethal_hold(together, freezer).value > 2 * freeze.lethal_hold(apart, freezer).value


def test_pieces_that_fill_more_than_half_of_the_freezer_count_as_touching() -> None:
    sparse, full = (freeze.packed(count, (0.1016, 0.0508, 0.03175), "film", 21.0, space=0.01) for count in (20, 40))
    assert sparse.stands[0].kind == "pieces apart"
    assert full.stands[0].kind == "pieces touching"


def test_a_rated_capacity_limits_a_large_load_and_says_how_it_was_converted() -> None:
    load = freeze.packed(120, (0.1016, 0.0508, 0.03175), "film", 21.0)
    free, held = freeze.lethal_hold(load, freeze.Freezer(-18.0)), freeze.lethal_hold(load, freeze.Freezer(-18.0, rated=9 / 86400))
    heat = 120 * 0.1016 * 0.0508 * 0.03175 * 1390 * 2500 * 39
    assert held.value > free.value
    assert held.value >= heat / (9 / 86400 * freeze.TEST_LOAD_HEAT)
    assert any(line.kind == "rated capacity" for line in held.basis)


def test_a_warm_load_beside_one_that_is_holding_is_warned_of_only_where_it_could_undo_the_hold() -> None:
    freezer = freeze.Freezer(-18.0)
    assert freeze.warm_beside_cold(0.5, 21.0, 10.0, freezer) is None
    assert freeze.warm_beside_cold(5.0, 21.0, 5.0, freezer)


def test_a_closer_package_is_quicker() -> None:
    times = [
        freeze.lethal_hold(freeze.packed(1, (0.1, 0.05, 0.03), name, 21.0), freeze.Freezer(-18.0)).value for name in ("none", "film", "carton", "clamshell")
    ]
    assert times == sorted(times)


def test_temperatures_outside_what_is_known_of_comb_are_marked_extrapolated() -> None:
    found = freeze.lethal_hold(freeze.packed(1, (0.1, 0.05, 0.03), "none", 21.0), freeze.Freezer(-30.0))
    assert any(line.kind == "beyond what is known of comb" for line in found.basis)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: freeze.packed(0, (0.1, 0.1, 0.1), "none", 21.0), "0 pieces is outside 1 to 10000"),
        (lambda: freeze.packed(1, (0.1, 0.1, 9.0), "none", 21.0), "a side of 100 to 9000 mm is outside 2 mm to 3 m"),
        (lambda: comb.package("jute"), '"jute" is not a package'),
        (lambda: comb.spread("gale"), '"gale" is not a kind of air'),
        (lambda: comb.spread("still", 0.0), "0 W/m²K is outside 0.5 to 500"),
    ],
)
def test_nonsense_is_refused_and_says_what_to_write(call: object, said: str) -> None:
    with pytest.raises(Fault, match=said) as refused:
        call()  # type: ignore[operator]
    assert refused.value.write
