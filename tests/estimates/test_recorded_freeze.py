"""The core of a load under air that changes: against the series for steady air, against finite volumes, and in properties."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.estimates import comb
from scheduler.estimates.conduction import Body, unaccomplished
from scheduler.estimates.freeze import Freezer, Load, lethal_hold, packed
from scheduler.estimates.freezer_air import STEP
from scheduler.estimates.recorded_freeze import proved_hold, reached, temperatures
from tests.estimates.brick import core
from tests.estimates.practice import BY, PACKAGES

PIECE = (0.102, 0.102, 0.032)
HOUR = 3600 // STEP
SLOW, TYPICAL, QUICK = comb.spread()


def piece(package: str = "none") -> Body:
    """One piece of cut comb with air all round it."""
    return comb.piece(PIECE, PACKAGES[package], TYPICAL)


def load(count: int = 1, package: str = "none") -> Load:
    """Pieces that go in at 21 °C."""
    return packed(count, PIECE, PACKAGES[package], 21.0, BY)


CUT = [-18.0] * (3 * HOUR) + [-18 + 2.0 * step for step in range(12)] + [6.0] * (4 * HOUR) + [-5.0] * HOUR + [-18.0] * (30 * HOUR)


@pytest.mark.parametrize("package", ["none", "carton"])
def test_in_steady_air_the_core_follows_the_product_series(package: str) -> None:
    """The superposition of one change is the series itself: one part in ten thousand of the first difference."""
    for number, found in enumerate(temperatures(piece(package), 21.0, [-18.0] * (24 * HOUR)), 1):
        assert found == pytest.approx(-18 + 39 * unaccomplished(piece(package), number * STEP), abs=0.0039)


@pytest.mark.parametrize("count", [1, 12])
@pytest.mark.parametrize("air", [-9.0, -14.0, -18.0, -24.0])
def test_a_steady_record_ends_the_hold_within_one_percent_of_the_estimate_without_it(count: int, air: float) -> None:
    """Without a rated capacity that limits, the record of what was assumed changes nothing."""
    expected = lethal_hold(load(count), Freezer(air, BY, rated=1.0, off_by=0.0))
    found = proved_hold(load(count), Freezer(air, BY, rated=1.0, off_by=0.0), [air] * (100 * HOUR))
    assert (found.value, found.low, found.high) == pytest.approx((expected.value, expected.low, expected.high), rel=0.01)


@pytest.mark.parametrize("size", [PIECE, (0.1, 0.2, 0.3)], ids=["a piece", "a block of pieces"])
def test_through_a_power_cut_the_core_agrees_with_finite_volumes(size: tuple[float, float, float]) -> None:
    """An independent solution by scipy, its innermost cell half a cell off the core: within 0.6 K at every ten minutes."""
    body = comb.piece(size, comb.BARE, TYPICAL)
    ours = list(temperatures(body, 21.0, CUT))
    theirs = core(size, TYPICAL.surface, 21.0, CUT, STEP)
    assert max(abs(one - other) for one, other in zip(ours, theirs, strict=True)) < 0.6


def test_the_exposure_is_met_in_one_piece_and_as_published() -> None:
    """A core that was cold enough before a power cut, and not for long enough, counts anew after it (BEEBOOK vol. II, sec. 5.8.1)."""
    met = reached(piece(), 21.0, CUT, -18.0, BY)
    course = list(temperatures(piece(), 21.0, CUT))
    assert min(course[: 5 * HOUR]) < -6.7 < max(course[5 * HOUR :])  # it had been cold enough before the cut, and was not any more
    assert met.exposure == dict(BY.kills)[met.target]
    assert met.seconds - met.since == pytest.approx(met.exposure)
    assert met.since > 8 * 3600
    assert all(value <= met.target for value in course[math.ceil(met.since / STEP) : math.floor(met.seconds / STEP)])


def test_a_power_cut_before_the_kill_makes_the_hold_longer_and_one_after_it_does_not() -> None:
    """The freezer warms for six hours: in the third hour that costs hours; after the kill nothing is lost."""
    calm = proved_hold(load(), Freezer(-18.0, BY), [-18.0] * (60 * HOUR))
    early = proved_hold(load(), Freezer(-18.0, BY), CUT)
    late = proved_hold(load(), Freezer(-18.0, BY), [-18.0] * (12 * HOUR) + [5.0] * (6 * HOUR) + [-18.0] * (12 * HOUR))
    assert early.high > calm.high + 4 * 3600
    assert late.high == pytest.approx(calm.high)


def test_a_freezer_that_was_never_cold_enough_proves_nothing() -> None:
    """-6 °C for a week, by its own log; refused in words, and not a date."""
    found = proved_hold(load(), Freezer(-6.0, BY), [-6.0] * (168 * HOUR))
    assert math.isinf(found.safe)
    assert found.refusal is not None
    assert found.refusal.kind == "record never lethal"


def test_what_the_record_has_not_proved_is_not_told_sooner_than_without_it() -> None:
    """An hour of log says little of a large warm load in a small freezer."""
    large, freezer = load(60, "carton"), Freezer(-18.0, BY, rated=5 / 86400)
    assert proved_hold(large, freezer, [-18.0] * HOUR).high >= lethal_hold(large, freezer).high


def test_a_reading_of_the_core_counts_where_the_air_was_never_warmer() -> None:
    """The probe says the middle is at -13 °C after an hour: sooner than computed. Told while the air is warmer, it proves nothing yet."""
    computed = reached(piece("carton"), 21.0, [-18.0] * (48 * HOUR), -18.0, BY)
    probed = reached(piece("carton"), 21.0, [-18.0] * (48 * HOUR), -18.0, BY, [(3600.0, -13.0)])
    in_warm_air = reached(piece("carton"), 21.0, [-5.0] * HOUR + [-18.0] * (48 * HOUR), -18.0, BY, [(3000.0, -13.0)])
    assert probed.seconds < computed.seconds <= in_warm_air.seconds


airs = st.lists(st.floats(-30, 25), min_size=1, max_size=80)


@given(airs, st.data())
def test_warmer_air_never_ends_a_hold_earlier(air: list[float], data: st.DataObject) -> None:
    """However much warmer, in whichever ten minutes: an open door helps nobody."""
    warmer = [value + data.draw(st.floats(0, 20)) for value in air]
    assert reached(piece(), 21.0, warmer, -18.0, BY).seconds >= reached(piece(), 21.0, air, -18.0, BY).seconds - 1e-6


@given(airs, st.floats(0, 15))
def test_a_warmer_load_never_ends_a_hold_earlier(air: list[float], more: float) -> None:
    """Comb straight off a hive takes longer than comb from a cool room."""
    assert reached(piece(), 15.0 + more, air, -18.0, BY).seconds >= reached(piece(), 15.0, air, -18.0, BY).seconds - 1e-6


@given(airs)
def test_the_core_stays_between_what_it_met(air: list[float]) -> None:
    """Never colder than the coldest air, never warmer than the warmest or the start (to what the series leaves out)."""
    for value in temperatures(piece("film"), 21.0, air):
        assert min(21.0, *air) - 0.01 <= value <= max(21.0, *air) + 0.01
