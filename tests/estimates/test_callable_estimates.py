"""The estimates as rule files call them: what is not known is assumed aloud, refused, or waited for; a number that can be no reading says the same."""

from __future__ import annotations

from typing import Any

import pytest

from scheduler.estimates import callable_estimates as calls
from scheduler.estimates.packing import package_volume
from scheduler.quantities import Estimate, say
from tests.estimates.practice import BY, TRADE

LOT = {
    "length": 0.102,
    "width": 0.051,
    "thickness": 0.032,
    "package": "clamshell",
    "frame": "shallow",
    "kind": "cut comb",
    "packages": 16.0,
    "comb_temperature": 21.0,
}
FREEZER = {"temperature": -18.0, "space": 0.09, "known": True}
ROOM = {"temperature": 21.0, "humidity": 0.55}
BATCH = {"count": 16.0, "volume": 0.01, "mass": 3.0}


def kinds(estimate: Estimate) -> list[str]:
    """What an estimate says it rests on."""
    return [one.kind for one in estimate.basis]


@pytest.mark.parametrize("unread", [None, -1.0])
def test_moisture_that_nobody_measured_is_taken_for_seventeen_percent_and_said_so(unread: float | None) -> None:
    """17 % is assumed; where it was measured nothing is said of it."""
    for call in (lambda share: calls.drain_time(21.0, share, trade=TRADE), lambda share: calls.settle_time(27.0, share, 0.35, trade=TRADE)):
        assumed, read = call(unread), call(0.17)
        assert (assumed.value, assumed.low, assumed.high) == (read.value, read.low, read.high)
        assert kinds(assumed) == [*kinds(read), "moisture not measured"]


def test_comb_warm_from_the_hive_takes_longer_to_freeze() -> None:
    """At 35 °C longer than at that of the room."""
    room, hive = (calls.freeze_hold(BATCH, {**LOT, "comb_temperature": warm}, FREEZER, trade=TRADE).value for warm in (21.0, 35.0))
    assert room < hive


@pytest.mark.parametrize("freezer", [{**FREEZER, "known": False}, {**FREEZER, "temperature": None}, {**FREEZER, "temperature": -99.0}])
def test_of_a_freezer_that_nobody_measured_no_kill_is_promised(freezer: dict[str, Any]) -> None:
    """Neither for packages nor for comb in boxes."""
    for call in (calls.freeze_hold, calls.freeze_comb_hold):
        assert call(BATCH, LOT, freezer, trade=TRADE).refusal == say("freezer not measured")


def test_a_thermometer_that_logs_is_trusted_more_than_one_that_was_read() -> None:
    """And an error that the yard tells more than either."""
    error = [calls._freezer({**FREEZER, **more}, TRADE).error for more in ({}, {"record": ()}, {"record": (), "error": 0.3}, {"error": -1.0})]
    assert error == [BY.read, BY.logged, 0.3, BY.read]
    assert BY.logged < BY.read


@pytest.mark.parametrize(
    ("lot", "freezer", "stacked"),
    [({}, {}, None), ({"stowed": "spaced"}, {"stowed": "stacked"}, False), ({"stowed": ""}, {"stowed": "stacked"}, True), ({"stowed": "stacked"}, {}, True)],
)
def test_how_packages_stand_is_the_lots_word_before_the_freezers(lot: dict[str, Any], freezer: dict[str, Any], stacked: bool | None) -> None:
    """Nothing where neither says."""
    assert calls._stacked(lot, freezer) is stacked


def test_packages_frozen_as_one_block_thaw_as_one() -> None:
    """Where nobody says how they stood, a freezer too small for one layer means that they touched."""
    spaced, stacked = (calls.thaw_hold({**LOT, "stowed": word}, FREEZER, ROOM, trade=TRADE) for word in ("spaced", "stacked"))
    small, large = (calls.thaw_hold(LOT, {**FREEZER, "space": space}, ROOM, trade=TRADE) for space in (0.012, 3.0))
    assert spaced.value == large.value < stacked.value == small.value


def test_comb_full_of_honey_freezes_as_honey_and_dry_comb_as_wax_and_air() -> None:
    """A box of 12 kg in 23 L is full; the least a box of dry comb is taken to weigh is more than nothing."""
    box = {"count": 10.0, "volume": 0.0252}
    dry, weightless, wet, full = (
        calls.freeze_comb_hold({**box, "mass": mass}, {**LOT, "kind": kind}, FREEZER, trade=TRADE)
        for mass, kind in ((0.0252 * 150, "dry comb"), (0.0, "dry comb"), (0.0, "extracted"), (0.0252 * 600, "extracted"))
    )
    assert dry.value == weightless.value
    assert len({dry.value, wet.value, full.value}) == 3


def test_honey_of_unknown_moisture_is_not_dried_and_beetle_unseen_sets_no_limit() -> None:
    """Measure first; and where no beetle was seen there is nothing to hurry for."""
    assert calls.drying_time(None, 0.18, 32.0, 0.35, 0.5).value == 0.0
    assert calls.drying_time(0.195, 0.18, 32.0, 0.35, 0.5).value > 0.0
    assert calls.drying_time(0.195, 0.18, 32.0, 0.35, 7.0).value == calls.drying_time(0.195, 0.18, 32.0, 0.35, 1.0).value
    assert calls.beetle_time_left({"beetle": False}, 30.0, 0.7, trade=TRADE).refusal == say("no beetle seen")
    left = [calls.beetle_time_left({"beetle": True, "without_bees": hours * 3600.0}, 30.0, 0.7, trade=TRADE).value for hours in (0, 6)]
    assert left[0] - left[1] == pytest.approx(6 * 3600)


@pytest.mark.parametrize(("name", "package"), [("wall_of_film", "film"), ("wall_of_a_clamshell", "clamshell"), ("wall_of_a_carton", "carton")])
def test_a_package_that_insulates_better_is_colder_later(name: str, package: str) -> None:
    """Each package by its own number of the rule files, and no other by it."""
    thick = {**TRADE, name: 2 * float(TRADE[name])}
    for other in ("none", "film", "clamshell", "carton"):
        usual, better = (calls.freeze_hold(BATCH, {**LOT, "package": other}, FREEZER, trade=trade).value for trade in (TRADE, thick))
        assert (better > usual) == (other == package)


@pytest.mark.parametrize(("name", "package"), [("film_adds", "film"), ("a_clamshell_adds", "clamshell"), ("a_carton_adds", "carton")])
def test_a_larger_package_takes_more_of_the_freezer(name: str, package: str) -> None:
    """What is added to each side is a number of the rule files."""
    large = {**TRADE, name: 2 * float(TRADE[name])}
    usual, more = (package_volume(0.1, 0.05, 0.03, calls.package_of(package, trade)) for trade in (TRADE, large))
    assert usual < more


@pytest.mark.parametrize("frame", ["shallow", "medium", "deep"])
def test_a_larger_box_takes_longer_to_warm_and_to_freeze(frame: str) -> None:
    """Each of its three sides is a number of the rule files; a box is frozen whole where nobody says how much room it takes."""
    lot, warm = {**LOT, "frame": frame, "kind": "extracted", "comb_temperature": 15.0}, {"temperature": 32.0}
    for name in ("length_of_a_box", "width_of_a_box", f"depth_of_a_{frame}_box"):
        large = {**TRADE, name: 1.5 * float(TRADE[name])}
        usual, more = (calls.warm_time(lot, warm, 27.0, trade=trade).value for trade in (TRADE, large))
        assert usual < more
        usual, more = (calls.freeze_comb_hold({}, lot, FREEZER, trade=trade).value for trade in (TRADE, large))
        assert usual < more
