"""Heat in comb: the series against an independent solution, and monotone where physics is."""

from __future__ import annotations

import math

import pytest
from ht import Nu_vertical_plate_Churchill
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.estimates import comb, conduction, freeze
from tests.estimates.finite_volumes import seconds_to

SIDE = st.floats(0.01, 0.4)
SIZE = st.tuples(SIDE, SIDE, SIDE)
COLD = st.floats(-40, -7.5)


def brick(size: tuple[float, float, float], surface: float = 8.0) -> conduction.Body:
    return comb.piece(size, comb.PACKAGES["none"], comb.Properties(0.28, 1390.0, 2500.0, surface))


@pytest.mark.parametrize(
    ("size", "surface"), [((0.1016, 0.0508, 0.03175), 8.0), ((0.425, 0.115, 0.032), 8.0), ((0.3, 0.2, 0.15), 5.0), ((0.46, 0.38, 0.15), 8.0)]
)
@pytest.mark.parametrize("goal", [11.3 / 39, 3 / 39])
def test_the_series_agrees_with_finite_volumes_within_one_percent(size: tuple[float, float, float], surface: float, goal: float) -> None:
    assert conduction.time_to(brick(size, surface), goal) == pytest.approx(seconds_to(size, surface, goal), rel=0.01)


@given(SIZE, st.floats(1, 30), st.floats(0.01, 0.99))
def test_the_time_found_is_the_time_at_which_that_share_is_left(size: tuple[float, float, float], surface: float, share: float) -> None:
    body = brick(size, surface)
    assert conduction.unaccomplished(body, conduction.time_to(body, share)) == pytest.approx(share, rel=1e-6)


@given(SIZE, st.floats(1.05, 2.0))
def test_a_piece_thicker_on_its_thinnest_side_takes_longer(size: tuple[float, float, float], more: float) -> None:
    thin = sorted(size)
    assert conduction.time_to(brick((thin[0] * more, thin[1], thin[2])), 0.1) > conduction.time_to(brick(size), 0.1)


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


@pytest.mark.parametrize("height", [0.032, 0.150])
def test_still_air_in_a_freezer_gives_the_surface_coefficient_assumed(height: float) -> None:
    """Free convection (correlation of the ht library) and radiation at a surface of -12 °C in air at -18 °C; air properties from memory."""
    conductivity, viscosity, prandtl, middle = 0.0234, 1.19e-5, 0.715, 258.15
    grashof = 9.81 / middle * 6.0 * height**3 / viscosity**2
    convection = Nu_vertical_plate_Churchill(prandtl, grashof) * conductivity / height
    radiation = 0.9 * 5.670e-8 * 4 * middle**3
    assert comb.SURFACE["still"][0] <= convection + radiation <= comb.SURFACE["still"][2]


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


def test_a_body_insulated_on_every_face_is_refused() -> None:
    with pytest.raises(Fault, match="every face insulated never changes temperature"):
        conduction.time_to(conduction.Body((conduction.Axis(0.1, 8.0, 0.28, 0),), 3e6), 0.1)


def test_one_insulated_face_is_as_slow_as_a_body_twice_as_thick() -> None:
    half, whole = conduction.Axis(0.05, 8.0, 0.28, 1), conduction.Axis(0.10, 8.0, 0.28)
    times = [conduction.time_to(conduction.Body((axis,), 3.475e6), 0.1) for axis in (half, whole)]
    assert times[0] == pytest.approx(times[1], rel=1e-9)
