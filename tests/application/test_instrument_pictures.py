"""What instruments recorded, as pictures. The rows are invented; the freezer's picture is looked at in tests/stories/test_power_cut.py."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path
from xml.etree import ElementTree

from scheduler.application.instrument_pictures import season_shown
from tests.keeper import EXAMPLES, Keeper


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


def test_degree_days_are_a_picture_and_a_table_of_the_running_year(tmp_path: Path) -> None:
    """Five degrees over the base every day from 1 January: 100 °C·d on the 20th day, counted by hand; then on by the normals, three weeks past today."""
    keeper, out = Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-02-15T12:00"), tmp_path / "season.svg"
    written = (EXAMPLES / "kestrel_bank" / "yard.yaml").read_text()
    counted = "degree days: {method: simple, base: 5 °C, from: 1 January, marks: {spring bloom: 100 °C d}}\n"
    (tmp_path / "yard.yaml").write_text(written + counted)
    keeper.types("init", "--from", str(tmp_path / "yard.yaml"))
    days = [date(2026, 1, 1) + timedelta(number) for number in range(45)]
    (tmp_path / "weather.csv").write_text("\n".join(["date,tmin C,tmax C", *(f"{day},6,14" for day in days)]) + "\n", encoding="utf-8")
    keeper.types("observe", "series", "weather", "--file", str(tmp_path / "weather.csv"))
    keeper.types("season", "--picture", str(out))
    weather, sums = season_shown(keeper.view.seen_at(None), "metric")
    assert sums.chart.title == "Degree days, simple method, base 5 °C, from 1 January"
    assert [(datetime.fromtimestamp(at, sums.zone).date(), value, word) for at, value, word in sums.chart.points] == [
        (date(2026, 1, 20), 100.0, "spring bloom")
    ]
    assert [(row[1], row[2]) for row in sums.rows[:3]] == [("35.0", ""), ("70.0", ""), ("105.0", "spring bloom")]
    assert datetime.fromtimestamp(sums.chart.lines[1][-1][0], sums.zone).date() == date(2026, 3, 8)
    assert weather.rows[0][:3] == ("2026-01-01", "6.0", "14.0")
    assert len(list(ElementTree.parse(out).getroot())) == 2
