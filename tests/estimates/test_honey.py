"""Honey: what runs, what keeps, what dries, what a label may say."""

from __future__ import annotations

import math
import re

import psychrolib
import pytest
from fluids import v_terminal
from hypothesis import assume, given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.estimates import dew, flow, honey, packing, pests
from scheduler.estimates import moisture as water
from scheduler.outputs.wording.sentence import METRIC, in_words

WARMTH, WATER = st.floats(10, 70), st.floats(0.137, 0.215)


@given(WARMTH, WATER, st.floats(0.5, 10), st.floats(0.002, 0.03))
def test_warmer_and_wetter_honey_is_thinner(temperature: float, moisture: float, warmer: float, wetter: float) -> None:
    here = flow.viscosity(temperature, moisture)
    assert here.low < here.value < here.high
    assert flow.viscosity(temperature + warmer, moisture).value < here.value
    assert flow.viscosity(temperature, moisture + wetter).value < here.value


def test_the_viscosity_fit_is_at_most_ten_percent_off_any_row_and_says_so_outside_them() -> None:
    assert flow.viscosity(5.0, 0.17).basis[-1].kind == "beyond the fit"
    with pytest.raises(Fault, match="viscosity at 90 °C is outside 0 to 80 °C"):
        flow.viscosity(90.0, 0.17)


def test_a_bubble_rises_as_a_fluids_library_says() -> None:
    """fluids.v_terminal for 1 mm in 11.92 Pa s of honey: Stokes."""
    speed = v_terminal(D=1e-3, rhop=2840.0, rho=1420.0, mu=flow.viscosity(21.0, 0.17).value)
    assert 0.35 / flow.settle_time(21.0, 0.17, 0.35, 1e-3).value == pytest.approx(speed, rel=1e-3)


def test_draining_is_a_day_at_room_temperature_and_as_much_longer_as_honey_is_thicker() -> None:
    """24 h on a rack at 21 °C (common practice); where neither limit binds, hours go as viscosity does."""
    assert flow.drain_time(21.0, 0.17).value == 24 * 3600
    thicker = flow.viscosity(16.0, 0.17).value / flow.viscosity(21.0, 0.17).value
    assert 24 * 3600 * thicker < 72 * 3600
    assert flow.drain_time(16.0, 0.17).value == pytest.approx(24 * 3600 * thicker)


@given(st.floats(0, 40), st.floats(0.12, 0.25))
def test_draining_stays_between_its_floor_and_its_ceiling(temperature: float, moisture: float) -> None:
    found = flow.drain_time(temperature, moisture)
    assert 12 * 3600 <= found.low <= found.value <= found.high <= 72 * 3600


@given(st.floats(0, 45), st.floats(0.1, 1.0))
def test_the_dew_point_agrees_with_a_psychrometric_library(temperature: float, humidity: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    expected = psychrolib.GetTDewPointFromRelHum(temperature, humidity)
    assume(expected >= 0)
    assert dew.dew_point(temperature, humidity) == pytest.approx(expected, abs=0.05)


@given(st.floats(13, 25))
def test_refractive_index_and_moisture_are_each_others_inverse(percent: float) -> None:
    assert water.water(water.index_for(percent)) == pytest.approx(percent)


@given(st.floats(73, 89))
def test_a_brix_reading_is_found_again(reading: float) -> None:
    assert water.brix(water.index_from_brix(reading)) == pytest.approx(reading, abs=1e-6)


def test_the_formula_is_not_the_misprint_and_moisture_is_not_a_hundred_less_brix() -> None:
    assert 0.17 < water.from_index(1.4915, 20.0).value < 0.19
    assert 0.198 - water.from_brix(80.2, 20.0).value == pytest.approx(0.017, abs=0.001)


def test_a_warm_reading_is_corrected_down() -> None:
    assert water.from_index(1.49, 30.0).value < water.from_index(1.49, 20.0).value


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: water.from_index(1.33, 20.0), "a refractive index of 1.33 is not that of honey"),
        (lambda: water.from_brix(40.0, 20.0), "40 °Bx is outside what honey shows"),
        (lambda: water.from_index(1.49, 80.0), "a reading at 80 °C is outside 5 to 45 °C"),
        (lambda: honey.density(0.3), "density is known for 13 to 21 % of water, not 30 %"),
        (lambda: dew.dew_point(21.0, 1.2), "a humidity of 120 % is outside 1 to 100 %"),
    ],
)
def test_readings_that_are_not_of_honey_are_refused(call: object, said: str) -> None:
    with pytest.raises(Fault, match=said):
        call()  # type: ignore[operator]


@pytest.mark.parametrize(
    ("moisture", "yeast", "word"),
    [
        (0.170, None, "safe"),
        (0.175, None, "at risk"),
        (0.175, 999, "safe"),
        (0.175, 1000, "ferments"),
        (0.185, 9, "safe"),
        (0.185, 10, "ferments"),
        (0.195, 0.5, "safe"),
        (0.195, 1, "ferments"),
        (0.205, 0, "ferments"),
        (None, None, "unknown"),
    ],
)
def test_fermentation_follows_the_table_of_1933(moisture: float | None, yeast: float | None, word: str) -> None:
    assert water.fermentation(moisture, yeast) == word


@given(st.floats(0.50, 0.80))
def test_honey_at_rest_with_air_and_air_at_rest_with_honey_agree(humidity: float) -> None:
    assert water.equilibrium_humidity(water.equilibrium_moisture(humidity)) == pytest.approx(humidity, abs=1e-4)


@given(st.floats(0.18, 0.25), st.floats(0.005, 0.02), st.floats(20, 35), st.floats(0, 1))
def test_drying_is_measured_again_early_and_never_called_ready(moisture: float, fall: float, temperature: float, capped: float) -> None:
    found = water.drying_time(moisture, moisture - fall, temperature, 0.4, capped)
    assert 0 < found.low <= found.value <= found.high < math.inf
    assert found.safe == found.low
    assert 'not "ready"' in in_words(found.basis[0], METRIC)


def test_damp_air_never_dries_honey_and_says_so() -> None:
    assert water.drying_time(0.20, 0.18, 30.0, 0.65, 0.0).refusal


def test_two_lots_mix_by_the_mass_of_their_water() -> None:
    share = water.blend(0.194, 0.168, 0.18).value
    assert share * 0.194 + (1 - share) * 0.168 == pytest.approx(0.18)
    assert water.blend(0.194, 0.188, 0.18).refusal


@given(st.floats(-60, 60))
def test_the_warmer_the_store_the_sooner_the_look(temperature: float) -> None:
    here, warmer = pests.inspection_interval(temperature), pests.inspection_interval(min(60.0, temperature + 1))
    assert warmer.value <= here.value
    assert (here.refusal is not None) == (temperature < 5)


def test_a_week_at_27_degrees_and_a_cold_month_are_counted_in_one_series() -> None:
    assert pests.inspection_from_series([27.0] * 10).value == 5 * 86400
    assert pests.first_passing([5.0] * 30 + [27.0] * 5, 10.0, 85.0) == 35
    assert pests.inspection_from_series([8.0] * 20).value == 42 * 86400


@given(st.floats(0.002, 40.0), st.sampled_from(["us", "metric"]))
def test_a_net_weight_never_overstates_in_either_unit(mass: float, first: str) -> None:
    text = packing.net_weight(mass, first)
    grams, kilos = re.search(r"([\d.]+) g", text), re.search(r"([\d.]+) kg", text)
    pounds, ounces = re.search(r"(\d+) lb", text), re.search(r"([\d.]+) oz", text)
    metric = float(grams[1]) if grams else 1000 * float(kilos[1])  # type: ignore[index]
    stated = (float(pounds[1]) * 453.59237 if pounds else 0.0) + (float(ounces[1]) * 28.349523125 if ounces else 0.0)
    assert mass * 1000 - 1 < metric <= mass * 1000 + 1e-6
    assert mass * 1000 - 2.9 < stated <= mass * 1000 + 1e-6


@pytest.mark.parametrize(
    ("mass", "text"),
    [(0.001, "0.03 oz (1 g)"), (0.2278, "8 oz (227 g)"), (0.9999, "2 lb 3.2 oz (999 g)"), (1.0, "2 lb 3.2 oz (1 kg)"), (1.2505, "2 lb 12.1 oz (1.25 kg)")],
)
def test_a_net_weight_is_in_kilograms_from_1000_g_and_never_no_ounces(mass: float, text: str) -> None:
    assert packing.net_weight(mass) == text


@pytest.mark.parametrize(
    ("label", "short"),
    [(5, 0.5), (50, 4.5), (51, 4.5), (100, 4.5), (150, 6.8), (200, 9), (227, 9), (340, 10.2), (454, 13.7), (500, 15), (900, 15), (2500, 37.5), (10_000, 150)],
)
def test_how_short_a_pack_of_constant_weight_may_be_is_the_published_table(label: float, short: float) -> None:
    """Directive 76/211/EEC, annex I 2.4 [g], with its own steps: a percentage is rounded up to a tenth of a gram."""
    assert packing.tolerable_shortfall(label / 1000) == pytest.approx(short / 1000, abs=1e-12)


@pytest.mark.parametrize("label", [4.9, 10_001])
def test_the_table_of_shortfalls_ends(label: float) -> None:
    assert packing.tolerable_shortfall(label / 1000) is None


@given(st.sampled_from(["shallow", "medium", "deep"]), st.floats(0.02, 0.2), st.floats(0.02, 0.2))
def test_pieces_never_cover_more_than_the_comb(frame: str, length: float, width: float) -> None:
    along, across = (side * 0.0254 for side in packing.COMB_AREA[frame])
    found = packing.pieces_per_frame(frame, length, width)
    assert found.low <= found.value
    assert found.value * length * width <= along * across * (1 + 1e-6)


def test_a_usual_piece_and_full_frames_weigh_what_the_trade_says() -> None:
    """A piece of 4 x 2 x 1 1/4 in is sold as 8 oz; 3, 4 and 6 lb in a full shallow, medium and deep frame (common practice)."""
    assert packing.piece_mass(0.1016, 0.0508, 0.03175) == pytest.approx(8 * 0.0283495, rel=0.01)
    assert [packing.frame_honey_mass(name).value for name in ("shallow", "medium", "deep")] == pytest.approx([1.361, 1.814, 2.722], abs=0.001)


def test_the_depth_of_a_frame_is_not_the_depth_of_its_box() -> None:
    """A shallow box of 5 11/16 in would hold five rows of 1 1/8 in; the comb inside it, 4 3/4 in deep, holds four."""
    assert packing.pieces_per_frame("shallow", 16.0 * 0.0254, 1.125 * 0.0254).value == 4


def test_a_chunk_pack_keeps_its_share_of_comb() -> None:
    jars, honey_mass = packing.chunk_jars(2.0, 0.00035)
    assert 2.0 / 1390 / (jars * 0.00035) >= 0.6
    assert honey_mass == pytest.approx((jars * 0.00035 - 2.0 / 1390) * honey.density(0.17))


def test_jars_are_rounded_up() -> None:
    assert packing.jars_needed(10.0, 0.00035) == 21  # 10 kg of 17 % honey is 7.04 L
