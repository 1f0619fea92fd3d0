"""A freezer's own surface coefficient at the command line: offered from readings, used once the keeper agrees, taken back. Readings are invented."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from tests.keeper import Keeper


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
    assert "its air by the record: -18 °C, nine in ten of 80 rows between -18 °C and -18 °C" in shown
    assert keeper.view.yard.equipment["freezer"].surface_coefficient is None
    assert "Planned with" in keeper.types("freezer", "--use")
    agreed = keeper.view.yard.equipment["freezer"].surface_coefficient
    assert agreed is not None
    assert f"in use: {agreed:g} W/m²K" in keeper.types("freezer")
    assert f"surface coefficient {agreed:.3g} W/m²K as set" in " ".join(keeper.types("why", "c/freeze-comb.1").split())
    keeper.types("undo")
    assert keeper.view.yard.equipment["freezer"].surface_coefficient is None


def test_a_freezer_without_readings_is_told_what_is_missing(tmp_path: Path) -> None:
    """And nothing is agreed to."""
    keeper = Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00")
    assert "not fitted: 0 readings" in keeper.types("freezer")
    assert "3 are needed" in keeper.types("freezer", "--use", refused=True)
    assert '"chest" is not a freezer' in keeper.types("freezer", "chest", refused=True)
