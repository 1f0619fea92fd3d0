"""Warming and cooling: packages thawed past the dew point, combs brought to cutting temperature, a vessel of honey cooled for pouring."""

from __future__ import annotations

import math

import psychrolib
import pytest
from scipy.integrate import solve_ivp

from scheduler.diagnostics import Fault
from scheduler.estimates import comb, thaw
from scheduler.quantities import Estimate
from tests.estimates.finite_volumes import cylinder_seconds_to, seconds_to
from tests.estimates.practice import BOXES, MARGIN, PACKAGES

HOUR = 3600.0
PIECE = (0.1016, 0.0508, 0.03175)


def stirred(mass: float, start: float, end: float, room: float, *, heat: float, surface: float, ends: int) -> float:
    """Seconds by Newton's law in small steps: a cylinder of honey [kg] as wide as high, heat through its wall and so many of its two ends."""
    width = (4 * mass / 1400 / math.pi) ** (1 / 3)  # m; 1400 kg/m³ of warm honey
    area = math.pi * width**2 + ends * math.pi * width**2 / 4

    def cold(_: float, temperature: list[float]) -> float:
        return float(temperature[0] - end)

    cold.terminal = True  # type: ignore[attr-defined]
    fall = solve_ivp(lambda _, t: -surface * area * (t - room) / (mass * heat), (0, 1e7), [start], events=cold, rtol=1e-8, atol=1e-8)
    return float(fall.t_events[0][0])


@pytest.mark.parametrize(
    ("mass", "start", "end", "room"), [(12.0, 65.0, 40.0, 21.0), (0.1, 50.0, 35.0, 15.0), (1000.0, 95.0, 30.0, -20.0), (30.0, 60.0, 48.0, 45.0)]
)
def test_a_stirred_vessel_cools_by_newtons_law(mass: float, start: float, end: float, room: float) -> None:
    """8 W/m²K through wall, surface and floor of honey of 2400 J/kgK; quickest 10 W/m²K and 2260 J/kgK; slowest 6 W/m²K through the wall alone, 2510 J/kgK."""
    found = thaw.vessel_time(mass, start, end, room)
    assert found.value == pytest.approx(stirred(mass, start, end, room, heat=2400, surface=8, ends=2), rel=1e-4)
    assert found.low == pytest.approx(stirred(mass, start, end, room, heat=2260, surface=10, ends=2), rel=1e-4)
    assert found.high == pytest.approx(stirred(mass, start, end, room, heat=2510, surface=6, ends=0), rel=1e-4)
    assert found.safe == found.high


def test_a_jar_that_is_cool_enough_is_poured_now() -> None:
    """At the temperature already, or below it."""
    assert thaw.vessel_time(12.0, 40.0, 40.0, 21.0)[:3] == (0, 0, 0)
    assert thaw.vessel_time(12.0, 38.0, 40.0, 21.0)[:3] == (0, 0, 0)


def test_a_room_hardly_colder_than_the_goal_never_cools_a_vessel() -> None:
    """Half a degree is the least that counts."""
    assert math.isfinite(thaw.vessel_time(12.0, 65.0, 40.0, 39.5).value)
    assert thaw.vessel_time(12.0, 65.0, 40.0, 39.6).refusal


@pytest.mark.parametrize(
    ("mass", "start", "room", "said"),
    [
        (0.09, 65.0, 21.0, "a vessel of 0.09 kg"),
        (1001.0, 65.0, 21.0, "a vessel of 1001 kg"),
        (12.0, 96.0, 21.0, "honey at 96 °C"),
        (12.0, -1.0, 21.0, "honey at -1 °C"),
        (12.0, 65.0, 46.0, "in a room at 46 °C"),
        (12.0, 65.0, -21.0, "in a room at -21 °C"),
    ],
)
def test_vessels_that_nobody_has_are_refused(mass: float, start: float, room: float, said: str) -> None:
    """A slip of a digit or a unit is told, not computed."""
    with pytest.raises(Fault, match=said):
        thaw.vessel_time(mass, start, 40.0, room)


def test_honey_just_melted_and_honey_in_the_cold_are_still_honey() -> None:
    """The ends of what the estimate covers are covered."""
    assert thaw.vessel_time(12.0, 0.0, 0.0, 45.0).value == 0
    assert thaw.vessel_time(12.0, 95.0, 45.5, 45.0).value > 0


def test_a_comb_in_its_frame_warms_as_the_reference_slab_does() -> None:
    """32 mm from -18 °C to 15 °C in air at 21 °C: 4.32 h at 8 W/m²K and 5.52 h at 6 W/m²K, as in CHECKS.md.

    The quickest comb, 0.52 W/mK at 10 W/m²K, as a wide brick in finite volumes.
    """
    found = thaw.temper_time(0.032, -18.0, 21.0, 15.0)
    assert found.value / HOUR == pytest.approx(4.32, abs=0.01)
    assert found.high / HOUR == pytest.approx(5.52, abs=0.01)
    assert found.low == pytest.approx(seconds_to((0.032, 50.0, 50.0), 10.0, 6 / 39, k=0.52, capacity=1390.0 * 2300.0), rel=0.01)


@pytest.mark.parametrize(("frame", "depth"), [("shallow", 0.144), ("medium", 0.168), ("deep", 0.244)])
def test_a_full_box_warms_as_one_body_of_its_depth(frame: str, depth: float) -> None:
    """Ten frames of 460 mm by 380 mm: from 15 °C to 27 °C in a room of 32 °C, against finite volumes."""
    found = thaw.warm_box_time(frame, BOXES[frame], 15.0, 32.0, 27.0)
    assert found.value == pytest.approx(seconds_to((0.46, 0.38, depth), 8.0, 5 / 17), rel=0.01)
    assert found.low < found.value < found.high


def test_a_surface_coefficient_of_the_keepers_own_leaves_only_honeys_differences() -> None:
    """With 8 W/m²K given, slow and typical are one; a quick comb conducts better."""
    usual, own = (thaw.thaw_time(PIECE, comb.BARE, -18.0, 21.0, 0.5, MARGIN, surface=surface) for surface in (None, 8.0))
    assert usual.low < usual.value < usual.high
    assert own.value == own.high == pytest.approx(usual.value)
    assert usual.low < own.low < own.value


def test_where_poor_conduction_is_the_quicker_way_the_range_still_holds_the_value() -> None:
    """A surface that hardly conducts inwards warms sooner: with a strong draught the "slow" comb is not the slower one at its surface."""
    for surface in (0.5, 8.0, 100.0, 500.0):
        found = thaw.thaw_time(PIECE, comb.BARE, -18.0, 21.0, 0.5, MARGIN, surface=surface)
        assert found.low <= found.value <= found.high


def goal(room: float, humidity: float) -> float:
    """Two degrees above the dew point, by another library [°C]."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    return float(psychrolib.GetTDewPointFromRelHum(room, humidity)) + 2


def test_comb_warmer_than_the_dew_point_may_be_opened_at_once() -> None:
    """In a room of 21 °C and 50 % from 12.2 °C on; half a degree colder it waits."""
    warm = goal(21.0, 0.5)
    assert thaw.thaw_time(PIECE, PACKAGES["film"], warm + 0.1, 21.0, 0.5, MARGIN)[:3] == (0, 0, 0)
    assert thaw.thaw_time(PIECE, PACKAGES["film"], warm - 0.5, 21.0, 0.5, MARGIN).value > 0


def test_a_room_near_its_own_dew_point_never_dries_a_package() -> None:
    """The surface comes within half a degree of the room at best; at 21 °C that is where the dew point lies under 18.5 °C, at 85.6 %."""
    assert goal(21.0, 0.85) < 20.5 < goal(21.0, 0.86)
    assert math.isfinite(thaw.thaw_time(PIECE, comb.BARE, -18.0, 21.0, 0.85, MARGIN).value)
    assert thaw.thaw_time(PIECE, comb.BARE, -18.0, 21.0, 0.86, MARGIN).refusal


def test_a_room_half_a_degree_warmer_than_the_comb_should_get_is_enough() -> None:
    """Less is not, and a comb that is as warm as it should get waits for nothing."""
    assert math.isfinite(thaw.temper_time(0.032, 5.0, 20.5, 20.0).value)
    assert thaw.temper_time(0.032, 5.0, 20.4, 20.0).refusal
    assert thaw.temper_time(0.032, 20.0, 20.4, 20.0)[:3] == (0, 0, 0)
    assert thaw.temper_time(0.032, 19.9, 20.5, 20.0).value > 0


def extrapolated(found: Estimate) -> bool:
    """Whether the basis says that the properties of comb are not known so far."""
    return any(line.kind == "beyond what is known of comb" for line in found.basis)


def test_comb_is_known_from_25_degrees_of_frost_to_40_of_warmth() -> None:
    """At the ends it is known; beyond them the estimate says that it is extrapolated."""
    assert not extrapolated(thaw.temper_time(0.032, -25.0, 40.0, 20.0))
    assert extrapolated(thaw.temper_time(0.032, -25.1, 40.0, 20.0))
    assert extrapolated(thaw.temper_time(0.032, -25.0, 40.1, 20.0))


@pytest.mark.parametrize("start", [-60.5, 60.5])
def test_temperatures_that_no_comb_has_are_refused(start: float) -> None:
    """60 °C either way is the last that is taken."""
    assert thaw.temper_time(0.032, math.copysign(60.0, start), 60.0, 20.0).value >= 0
    with pytest.raises(Fault, match="outside -60 to 60 °C"):
        thaw.temper_time(0.032, start, 50.0, 20.0)


def test_air_too_damp_for_the_margin_is_refused_in_words() -> None:
    found = thaw.thaw_time((0.1, 0.05, 0.03), PACKAGES["film"], -18.0, 21.0, 0.95, MARGIN)
    assert found.refusal
    assert found.refusal.kind == "air too damp to thaw"


def test_damper_air_keeps_the_package_closed_longer() -> None:
    times = [thaw.thaw_time((0.1, 0.05, 0.03), PACKAGES["film"], -18.0, 21.0, humidity, MARGIN).value for humidity in (0.3, 0.5, 0.7, 0.8)]
    assert times == sorted(times)


def test_comb_straight_off_a_warm_hive_needs_no_tempering() -> None:
    assert thaw.temper_time(0.032, 30.0, 21.0, 18.0).value == 0.0


def test_a_cold_room_never_warms_comb_for_cutting() -> None:
    assert thaw.temper_time(0.032, 5.0, 18.2, 18.0).refusal


def test_a_box_of_frames_warms_slower_than_a_single_comb() -> None:
    assert thaw.warm_box_time("medium", BOXES["medium"], 15.0, 32.0, 27.0).value > 3 * thaw.temper_time(0.035, 15.0, 32.0, 27.0).value


def test_a_larger_vessel_cools_slower_and_a_hot_room_never_cools_it() -> None:
    times = [thaw.vessel_time(mass, 65.6, 43.0, 21.0).value for mass in (1.0, 5.0, 20.0)]
    assert times == sorted(times)
    assert thaw.vessel_time(5.0, 65.6, 43.0, 42.9).refusal


@pytest.mark.parametrize(("litres", "start", "around", "target"), [(20.0, 12.0, 40.0, 35.0), (5.0, 5.0, 45.0, 30.0), (60.0, 15.0, 38.0, 36.0)])
def test_a_bucket_warms_a_little_slower_than_a_round_one_by_finite_volumes(litres: float, start: float, around: float, target: float) -> None:
    """A square post as wide as the bucket: never quicker, at most 17 % slower; typical, quick and slow end."""
    found, share = thaw.bucket_time(litres / 1000, start, around, target), (around - target) / (around - start)
    width = (4 * litres / 1000 / math.pi) ** (1 / 3)
    ways = [(found.value, 8.0, 0.28, 2510.0, 1), (found.low, 10.0, 0.52, 2260.0, 2), (found.high, 6.0, 0.28, 3050.0, 0)]
    for ours, surface, conductivity, heat, ends in ways:
        assert 0.99 <= ours / cylinder_seconds_to(width, surface, share, k=conductivity, capacity=1400.0 * heat, ends=ends) <= 1.17


def test_a_bucket_that_is_stirred_all_the_time_is_quicker_than_one_that_is_not() -> None:
    """Newton's law, of the same honey and wall, is the least it can take."""
    mass = 0.02 * 1400
    width = (4 * mass / 1400 / math.pi) ** (1 / 3)
    area = math.pi * width**2 + 2 * math.pi * width**2 / 4
    least = mass * 2260 / (10.0 * area) * math.log((40.0 - 12.0) / (40.0 - 35.0))
    assert least < thaw.bucket_time(0.02, 12.0, 40.0, 35.0).low


def test_a_larger_bucket_takes_longer_and_air_that_is_no_warmer_never_warms_it() -> None:
    times = [thaw.bucket_time(litres / 1000, 12.0, 40.0, 35.0).value for litres in (5.0, 20.0, 40.0)]
    assert times == sorted(times)
    assert times[0] < times[-1]
    assert thaw.bucket_time(0.02, 36.0, 40.0, 35.0)[:3] == (0, 0, 0)
    assert thaw.bucket_time(0.02, 12.0, 35.4, 35.0).refusal
    for volume, around in ((0.2, 40.0), (0.02, 61.0)):
        with pytest.raises(Fault, match="outside"):
            thaw.bucket_time(volume, 12.0, around, 35.0)
