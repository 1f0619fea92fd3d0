"""What a label may say, and how many pieces, packs and jars a lot gives."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.estimates import honey, packing
from scheduler.estimates.callable_estimates import comb_of
from scheduler.planning.blends import frame_honey
from scheduler.rules.load import load
from tests.estimates.practice import TRADE


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
    along, across = comb_of(frame, TRADE)
    found = packing.pieces_per_frame(frame, (along, across), length, width)
    assert found.low <= found.value
    assert found.value * length * width <= along * across * (1 + 1e-6)


def test_a_usual_piece_and_full_frames_weigh_what_the_trade_says() -> None:
    """A piece of 4 x 2 x 1 1/4 in is sold as 8 oz; 3, 4 and 6 lb in a full shallow, medium and deep frame (common practice)."""
    assert packing.piece_mass(0.1016, 0.0508, 0.03175) == pytest.approx(8 * 0.0283495, rel=0.01)
    assert [frame_honey(name, TRADE) for name in ("shallow", "medium", "deep")] == pytest.approx([1.361, 1.814, 2.722], abs=0.001)


def test_the_depth_of_a_frame_is_not_the_depth_of_its_box() -> None:
    """A shallow box of 5 11/16 in would hold five rows of 1 1/8 in; the comb inside it, 4 3/4 in deep, holds four."""
    assert packing.pieces_per_frame("shallow", comb_of("shallow", TRADE), 16.0 * 0.0254, 1.125 * 0.0254).value == 4


def test_a_chunk_pack_keeps_its_share_of_comb() -> None:
    jars, honey_mass = packing.chunk_jars(2.0, 0.00035, 0.6)
    assert 2.0 / 1390 / (jars * 0.00035) >= 0.6
    assert honey_mass == pytest.approx((jars * 0.00035 - 2.0 / 1390) * honey.density(0.17))


def test_jars_are_rounded_up() -> None:
    assert packing.jars_needed(10.0, 0.00035) == 21  # 10 kg of 17 % honey is 7.04 L


def test_a_yards_own_comb_gives_the_pieces_that_fit_it() -> None:
    """A frame of another make, 14 in long inside: seven pieces of 4 x 2 in, standing, in place of eight that lie."""
    own = load(changes={"frames and boxes": {"parameters": {"comb length": "14 in"}}}).trade
    usual, here = (packing.pieces_per_frame("shallow", comb_of("shallow", trade), 0.1016, 0.0508).value for trade in (TRADE, own))
    assert (usual, here) == (8, 7)
