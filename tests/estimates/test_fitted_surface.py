"""A freezer's own surface coefficient from readings of the core. Readings are made with a known coefficient and a thermometer's error."""

from __future__ import annotations

import math
import random
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from scheduler.estimates import comb
from scheduler.estimates.fitted_surface import Cooling, recovery, surface_coefficient
from scheduler.estimates.freeze import packed
from scheduler.estimates.freezer_air import STEP
from scheduler.estimates.recorded_freeze import temperatures
from scheduler.quantities import say
from tests.estimates.test_recorded_freeze import HOUR, PIECE
from tests.keeper import Keeper

AIR = (-12.0,) * HOUR + (-15.0,) * HOUR + (-18.0,) * (22 * HOUR)


def cooling(surface: float, hours: tuple[float, ...], *, off: float = 0.0, seed: int = 1) -> Cooling:
    """A load of eight pieces, its core read so many hours after it went in by a thermometer that is off by so much now and then."""
    chance, load = random.Random(seed), packed(8, PIECE, "none", 21.0)
    _, typical, _ = comb.spread(surface=surface)
    course = list(temperatures(load.body(typical), 21.0, AIR))
    return Cooling(load, AIR, tuple((hour * 3600, course[round(hour * 3600 / STEP) - 1] + chance.uniform(-off, off)) for hour in hours))


@pytest.mark.parametrize("surface", [5.0, 8.0, 13.0])
def test_the_coefficient_that_made_the_readings_is_found_again(surface: float) -> None:
    """Within 1 % from perfect readings, and between the ends of its range."""
    found = surface_coefficient([cooling(surface, (1.0, 2.0, 3.0, 5.0))])
    assert found.value == pytest.approx(surface, rel=0.01)
    assert found.low < surface < found.high


def test_the_range_holds_the_truth_with_a_thermometer_that_is_off() -> None:
    """Of 40 fits to readings up to 0.8 K off, at least 36 ranges hold it: they are two standard errors wide."""
    fits = [surface_coefficient([cooling(8.0, (1.0, 2.0, 3.0, 5.0), off=0.8, seed=seed)]) for seed in range(40)]
    assert sum(one.low <= 8.0 <= one.high for one in fits) >= 36


def test_more_readings_narrow_the_range() -> None:
    """Two loads tell more than one."""
    one = surface_coefficient([cooling(8.0, (1.0, 2.0, 3.0))])
    two = surface_coefficient([cooling(8.0, (1.0, 2.0, 3.0)), cooling(8.0, (1.5, 2.5, 4.0))])
    assert two.high - two.low < one.high - one.low


def test_too_few_readings_and_readings_of_a_cold_core_are_refused() -> None:
    """After a day every freezer has the same core."""
    assert surface_coefficient([cooling(8.0, (1.0, 2.0))]).refusal == say("too few readings", count=2, needed=3)
    assert surface_coefficient([cooling(8.0, (21.0, 22.0, 23.0))]).refusal == say("readings can not tell")
    assert math.isinf(surface_coefficient([]).safe)


def test_recovery_is_counted_from_when_the_load_went_in() -> None:
    """Back within 2 K for an hour; a freezer that stays warm has not recovered."""
    assert recovery(AIR, -18.0) == 2 * 3600
    assert recovery((-9.0,) * 60, -18.0) is None


def test_what_was_fitted_is_used_once_the_keeper_agrees_and_undo_takes_it_back(tmp_path: Path) -> None:
    """Read three times while it cooled and its log read out: the freezer is slower than most, and the hold grows by it."""
    keeper = Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")
    spaced = (keeper.folder / "yard.yaml").read_text(encoding="utf-8").replace("air: still", "air: still, stowed: spaced")
    (tmp_path / "yard.yaml").write_text(spaced, encoding="utf-8")
    keeper.types("init", "--from", str(tmp_path / "yard.yaml"))
    keeper.waits_until("2026-08-14T19:40").types("done", "a/freeze.1")
    for clock, read in (("21:40", "8.9 °C"), ("23:40", "-0.4 °C")):
        keeper.waits_until(f"2026-08-14T{clock}").types("observe", "core", "temperature", read, "--of", "a")
    assert "not fitted: 0 readings" in keeper.types("freezer")  # no air was recorded yet
    keeper.waits_until("2026-08-15T01:40").types("observe", "core", "temperature", "-6.6 °C", "--of", "a")
    log = tmp_path / "log.csv"
    begins = datetime.fromisoformat("2026-08-14T19:40")
    log.write_text("time,temperature C\n" + "".join(f"{(begins + timedelta(minutes=10 * row)).isoformat()},-18\n" for row in range(80)))
    keeper.waits_until("2026-08-15T09:00").types("observe", "series", "freezer", "--file", str(log))
    shown = keeper.types("freezer")
    assert "fitted: " in shown
    assert "ridge-2/a/freeze.1: back within 2 °C after 0 min" in shown
    assert keeper.view.yard.equipment["freezer"].surface_coefficient is None
    assert "Planned with" in keeper.types("freezer", "--use")
    agreed = keeper.view.yard.equipment["freezer"].surface_coefficient
    assert agreed is not None
    assert f"in use: {agreed:g} W/m²K" in keeper.types("freezer")
    assert f"surface coefficient {agreed:.3g} W/m²K as told" in " ".join(keeper.types("why", "c/freeze-comb.1").split())
    keeper.types("undo")
    assert keeper.view.yard.equipment["freezer"].surface_coefficient is None


def test_a_freezer_without_readings_is_told_what_is_missing(tmp_path: Path) -> None:
    """And nothing is agreed to."""
    keeper = Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00")
    assert "not fitted: 0 readings" in keeper.types("freezer")
    assert "3 are needed" in keeper.types("freezer", "--use", refused=True)
    assert '"chest" is not a freezer' in keeper.types("freezer", "chest", refused=True)
