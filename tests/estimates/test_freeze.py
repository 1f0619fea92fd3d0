"""How long a load is frozen: cooled through, held at a lethal temperature, limited by what the freezer takes."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.estimates import comb, freeze
from scheduler.estimates.callable_estimates import package_of
from scheduler.estimates.conduction import time_to
from scheduler.quantities import celsius, elapsed, say, warmer
from tests.estimates import stacked_packages
from tests.estimates.practice import BY, PACKAGES, TRADE

PIECE = (0.1016, 0.0508, 0.03175)
SIDE = st.floats(0.01, 0.4)


SIZE = st.tuples(SIDE, SIDE, SIDE)


COLD = st.floats(-40, -9)


@given(SIZE, COLD, st.floats(0.5, 10))
def test_colder_air_is_quicker_and_its_range_holds_the_value(size: tuple[float, float, float], air: float, colder: float) -> None:
    load = freeze.packed(1, size, PACKAGES["film"], 21.0, BY)
    slow, quick = freeze.lethal_hold(load, freeze.Freezer(air, BY)), freeze.lethal_hold(load, freeze.Freezer(air - colder, BY))
    assert quick.value <= slow.value
    for estimate in (slow, quick):
        assert 2 * 3600 <= estimate.low <= estimate.value <= estimate.high < math.inf


@given(SIZE, st.floats(-60, 40), st.floats(-20, 40), st.integers(1, 200))
def test_a_hold_is_a_time_or_a_refusal_in_words_never_a_nonsense(size: tuple[float, float, float], air: float, start: float, pieces: int) -> None:
    found = freeze.lethal_hold(freeze.packed(pieces, size, PACKAGES["clamshell"], start, BY, space=0.09), freeze.Freezer(air, BY, rated=9 / 86400))
    assert not any(math.isnan(number) or number < 0 for number in (found.value, found.low, found.high))
    assert (found.refusal is None) == (air + BY.read <= -6.7 - 0.5)
    assert math.isinf(found.value) == (found.refusal is not None)


def test_air_within_half_a_degree_of_the_mildest_lethal_pair_is_refused_in_words() -> None:
    found = freeze.lethal_hold(freeze.packed(1, (0.1, 0.05, 0.03), comb.BARE, 21.0, BY), freeze.Freezer(-7.0, BY))
    assert found.refusal is not None
    assert found.refusal.kind == "never lethal"


def test_zero_degrees_for_a_day_is_not_a_kill() -> None:  # a published "24 h at 0 °C or colder" is looser than the table of lethal pairs
    assert freeze.lethal_hold(freeze.packed(1, (0.1, 0.05, 0.03), comb.BARE, 21.0, BY), freeze.Freezer(0.0, BY)).refusal


def test_a_day_is_not_enough_for_a_full_box_closely_packed() -> None:
    load = freeze.packed(1, (0.46, 0.38, 0.15), comb.BARE, 21.0, BY)
    assert freeze.lethal_hold(load, freeze.Freezer(-18.0, BY)).high > 24 * 3600


def test_touching_pieces_cool_as_one_body_and_slower_than_the_same_pieces_apart() -> None:
    together, apart = (freeze.packed(24, (0.1016, 0.0508, 0.03175), PACKAGES["film"], 21.0, BY, touching=way) for way in (True, False))
    freezer = freeze.Freezer(-18.0, BY)
    assert freeze.lethal_hold(together, freezer).value > 2 * freeze.lethal_hold(apart, freezer).value


def test_packages_count_as_stacked_once_they_do_not_fit_one_layer() -> None:
    """A chest of 90 L taken as a cube has 0.2 m² of floor: 22 packages with a finger of air round each. Who says otherwise is believed."""
    one, more = (freeze.packed(count, PIECE, PACKAGES["clamshell"], 21.0, BY, space=0.09) for count in (22, 23))
    assert one.stands[0].kind == "pieces apart"
    assert more.stands[0].kind == "pieces touching"
    assert freeze.packed(60, PIECE, PACKAGES["clamshell"], 21.0, BY, space=0.09, touching=False).stands[0].kind == "pieces apart"


@pytest.mark.parametrize("start", [21.0, 30.0])
@pytest.mark.parametrize(("air", "goal"), [(-9.0, -6.7), (-12.0, -6.7), (-15.0, -12.2), (-18.0, -12.2)])
def test_sixty_packages_stacked_cool_no_sooner_than_finite_volumes_of_the_stack(air: float, goal: float, start: float) -> None:
    """Each piece and each wall by itself, against one body of averaged properties: that is 5 to 6 % later, which is the safe side."""
    clamshell, slow = PACKAGES["clamshell"], comb.spread()[0]
    stack = comb.stack(60, PIECE, clamshell, slow)
    reference = stacked_packages.seconds_to((2, 5, 6), PIECE, clamshell, slow.surface, (start, air, goal))
    assert reference <= time_to(stack, (goal - air) / (start - air)) <= 1.07 * reference


@pytest.mark.parametrize("watts", [30.0, 20.0, 12.0])
def test_a_freezer_that_can_not_keep_up_cools_a_stack_no_sooner_than_finite_volumes(watts: float) -> None:
    """Conduction takes 37 h and full power 12 to 31 h: together up to 1.2 times the longer, and the estimate at most a fifth more."""
    load, air, goal = freeze.packed(60, PIECE, PACKAGES["clamshell"], 21.0, BY), -18.0, -12.2
    freezer = freeze.Freezer(air, BY, surface=6.0, rated=watts / BY.derating / freeze.TEST_LOAD_HEAT, off_by=0.0)
    reference = stacked_packages.seconds_to((2, 5, 6), PIECE, PACKAGES["clamshell"], 6.0, (21.0, air, goal), power=watts)
    assert reference <= freeze.cooling_time(load, freezer, goal).high <= 1.2 * reference


def test_a_freezer_is_taken_as_warm_as_it_may_be() -> None:
    """At -7.3 °C read now and then it may be at -5.8 °C, which kills nothing; logged to half a degree it is refused still, and -9 °C is not."""
    load = freeze.packed(1, PIECE, PACKAGES["clamshell"], 21.0, BY)
    read, logged, colder = (freeze.Freezer(-7.3, BY), freeze.Freezer(-7.3, BY, off_by=BY.logged), freeze.Freezer(-9.0, BY))
    assert [freeze.lethal_hold(load, one).refusal is not None for one in (read, logged, colder)] == [True, True, False]
    assert freeze.lethal_hold(load, read).refusal == say(
        "lethal by its reading alone", air=celsius(-7.3), mildest=celsius(-6.7), exposure=elapsed(16200), needed=celsius(-8.7), error=warmer(1.5)
    )
    assert freeze.lethal_hold(load, colder).high > freeze.lethal_hold(load, colder._replace(off_by=0.0)).high


def test_without_a_plate_new_food_a_day_says_what_a_freezer_takes_and_nothing_is_refused() -> None:
    """90 L take 2.9 kg a day by the published 32 g a litre: 14 kg hold longer than in a freezer of that plate twice over, and have a time."""
    load = freeze.packed(60, PIECE, PACKAGES["clamshell"], 21.0, BY)
    bare, plated = freeze.lethal_hold(load, freeze.Freezer(-18.0, BY, space=0.09)), freeze.lethal_hold(load, freeze.Freezer(-18.0, BY, rated=9 / 86400))
    assert plated.high < bare.high < math.inf
    assert "no plate" in [line.kind for line in bare.basis]


def test_a_rated_capacity_limits_a_large_load_and_says_how_it_was_converted() -> None:
    load = freeze.packed(120, (0.1016, 0.0508, 0.03175), PACKAGES["film"], 21.0, BY)
    free, held = freeze.lethal_hold(load, freeze.Freezer(-18.0, BY)), freeze.lethal_hold(load, freeze.Freezer(-18.0, BY, rated=9 / 86400))
    heat = 120 * 0.1016 * 0.0508 * 0.03175 * 1390 * 2500 * 39
    assert held.value > free.value
    assert held.value >= heat / (9 / 86400 * freeze.TEST_LOAD_HEAT)
    assert any(line.kind == "rated capacity" for line in held.basis)


def test_a_warm_load_beside_one_that_is_holding_is_warned_of_only_where_it_could_undo_the_hold() -> None:
    freezer = freeze.Freezer(-18.0, BY)
    assert freeze.warm_beside_cold(0.5, 21.0, 10.0, freezer) is None
    assert freeze.warm_beside_cold(5.0, 21.0, 5.0, freezer)


def test_a_closer_package_is_quicker() -> None:
    times = [
        freeze.lethal_hold(freeze.packed(1, (0.1, 0.05, 0.03), PACKAGES[name], 21.0, BY), freeze.Freezer(-18.0, BY)).value
        for name in ("none", "film", "carton", "clamshell")
    ]
    assert times == sorted(times)


def test_temperatures_outside_what_is_known_of_comb_are_marked_extrapolated() -> None:
    found = freeze.lethal_hold(freeze.packed(1, (0.1, 0.05, 0.03), comb.BARE, 21.0, BY), freeze.Freezer(-30.0, BY))
    assert any(line.kind == "beyond what is known of comb" for line in found.basis)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: freeze.packed(0, (0.1, 0.1, 0.1), comb.BARE, 21.0, BY), "0 pieces is outside 1 to 10000"),
        (lambda: freeze.packed(1, (0.1, 0.1, 9.0), comb.BARE, 21.0, BY), "a side of 100 to 9000 mm is outside 2 mm to 3 m"),
        (lambda: package_of("jute", TRADE), '"jute" is not a package'),
        (lambda: comb.spread("gale"), '"gale" is not a kind of air'),
        (lambda: comb.spread("still", 0.0), "0 W/m²K is outside 0.5 to 500"),
    ],
)
def test_nonsense_is_refused_and_says_what_to_write(call: object, said: str) -> None:
    with pytest.raises(Fault, match=said) as refused:
        call()  # type: ignore[operator]
    assert refused.value.write
