"""What instruments recorded, as pictures. The rows are invented; the freezer's picture is looked at in tests/stories/test_power_cut.py."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from xml.etree import ElementTree

from tests.keeper import Keeper


def test_the_season_draws_the_year_of_the_scale_with_its_marks(tmp_path: Path) -> None:
    """Two kilograms a day from 10 May for forty days, then nothing: a line with both marks. Without a table there is no picture."""
    keeper, out = Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-07-25T12:00"), tmp_path / "season.svg"
    assert "no table of a hive scale" in keeper.types("season", "--picture", str(out), refused=True)
    assert not out.exists()
    days = [date(2026, 4, 1) + timedelta(number) for number in range(115)]
    rows = [f"{day},{30 + 2 * max(0, min(40, (day - date(2026, 5, 10)).days)):.1f}" for day in days]
    (tmp_path / "scale.csv").write_text("\n".join(["date,mass kg", *rows]) + "\n", encoding="utf-8")
    keeper.types("observe", "series", "scale", "--file", str(tmp_path / "scale.csv"))
    assert f"A picture is in {out}." in keeper.types("season", "--picture", str(out))
    texts = [one.text or "" for one in ElementTree.parse(out).getroot().iter("{http://www.w3.org/2000/svg}text")]
    assert "main flow begins" in texts
    assert "main flow ends" in texts
    assert any("main flow ends" in text and "Jun" in text for text in texts)
