"""Heat in comb: the series against an independent solution, and monotone where physics is."""

from __future__ import annotations

import pytest
from ht import Nu_vertical_plate_Churchill
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.estimates import comb, conduction
from tests.estimates.finite_volumes import seconds_to

SIDE = st.floats(0.01, 0.4)


SIZE = st.tuples(SIDE, SIDE, SIDE)


def brick(size: tuple[float, float, float], surface: float = 8.0) -> conduction.Body:
    return comb.piece(size, comb.BARE, comb.Properties(0.28, 1390.0, 2500.0, surface))


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


@pytest.mark.parametrize("height", [0.032, 0.150])
def test_still_air_in_a_freezer_gives_the_surface_coefficient_assumed(height: float) -> None:
    """Free convection (correlation of the ht library) and radiation at a surface of -12 °C in air at -18 °C; air properties from memory."""
    conductivity, viscosity, prandtl, middle = 0.0234, 1.19e-5, 0.715, 258.15
    grashof = 9.81 / middle * 6.0 * height**3 / viscosity**2
    convection = Nu_vertical_plate_Churchill(prandtl, grashof) * conductivity / height
    radiation = 0.9 * 5.670e-8 * 4 * middle**3
    assert comb.SURFACE["still"][0] <= convection + radiation <= comb.SURFACE["still"][2]


def test_a_body_insulated_on_every_face_is_refused() -> None:
    with pytest.raises(Fault, match="every face insulated never changes temperature"):
        conduction.time_to(conduction.Body((conduction.Axis(0.1, 8.0, 0.28, 0),), 3e6), 0.1)


def test_one_insulated_face_is_as_slow_as_a_body_twice_as_thick() -> None:
    half, whole = conduction.Axis(0.05, 8.0, 0.28, 1), conduction.Axis(0.10, 8.0, 0.28)
    times = [conduction.time_to(conduction.Body((axis,), 3.475e6), 0.1) for axis in (half, whole)]
    assert times[0] == pytest.approx(times[1], rel=1e-9)
