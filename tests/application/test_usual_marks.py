"""What is usual by the keeper's own weather tables, where the yard file says nothing. Tables are invented."""

from __future__ import annotations

import math
import re
from datetime import date, timedelta
from pathlib import Path

import pytest
import yaml

from scheduler.facts.season import Normals
from scheduler.outputs.text.normals_text import normals_text
from tests.keeper import EXAMPLES, Keeper


def coast(folder: Path, *, mean: float, swing: float) -> Keeper:
    """The example's southern yard without cold in its file, on 1 February, with three years of weather: a cosine, warmest in the middle of January [°C]."""
    written = yaml.safe_load((EXAMPLES / "wattle_gully" / "yard.yaml").read_text())
    for key in ("first frost", "last frost", "first warm day", "last warm day", "robbing"):
        written["season"].pop(key, None)
    written["season"] |= {"main flow begins": "15 September", "main flow ends": "20 January"}
    (folder / "yard.yaml").write_text(yaml.safe_dump(written, default_flow_style=False))
    keeper = Keeper(folder / "ledger.sqlite", "wattle_gully", written["place"]["timezone"], "2026-02-01T11:00")
    keeper.types("init", "--from", str(folder / "yard.yaml"))
    day, rows = date(2023, 1, 1), ["date,tmin C,tmax C"]
    while day < date(2026, 1, 31):
        middle = mean + swing * math.cos(2 * math.pi * (day.timetuple().tm_yday - 15) / 365)
        rows.append(f"{day},{middle - 5:.1f},{middle + 5:.1f}")
        day += timedelta(1)
    (folder / "weather.csv").write_text("\n".join(rows) + "\n")
    return keeper


def weather(keeper: Keeper, folder: Path) -> None:
    """The table is told."""
    keeper.types("observe", "series", "weather", "--file", str(folder / "weather.csv"))


def test_where_bees_fly_all_winter_robbing_ends_without_a_frost(tmp_path: Path) -> None:
    """Nothing is known of robbing until the weather is: then that it lasts half a year, for the next flow is later still."""
    keeper = coast(tmp_path, mean=20, swing=5)
    assert not keeper.view.season.knows("robbing")
    weather(keeper, tmp_path)
    assert keeper.view.season.spans("robbing", date(2026, 2, 1), date(2026, 12, 31)) == ((date(2026, 1, 20), date(2026, 7, 22)),)
    said = " ".join(keeper.types("season").split())
    assert "last warm day none bees flew all winter in the year to 2026-01-30 of your own weather table" in said


def test_where_it_grows_cool_the_last_day_of_flight_closes_it(tmp_path: Path) -> None:
    """By the middle of three years, which are alike here: highest at 12 °C (common practice) on the day the cosine says."""
    keeper = coast(tmp_path, mean=10, swing=8)
    weather(keeper, tmp_path)
    flies = max(day for day in range(1, 183) if 15 + 8 * math.cos(2 * math.pi * (day - 15) / 365) >= 12)
    [(begins, ends)] = keeper.view.season.spans("robbing", date(2026, 2, 1), date(2026, 12, 31))
    assert begins == date(2026, 1, 20)
    assert abs((ends - date(2026, 1, 1)).days + 1 - flies) <= 1
    assert "years with it: 3" in " ".join(keeper.types("season").split())


def test_what_the_yard_file_says_stays(tmp_path: Path) -> None:
    """A first frost that is written is not moved by what usually was."""
    keeper = Keeper(tmp_path / "ledger.sqlite", "wattle_gully", "Australia/Hobart", "2026-02-01T11:00")
    before = keeper.view.season.usual("first frost")
    coast(tmp_path, mean=10, swing=8)
    keeper.types("init", "--from", str(EXAMPLES / "wattle_gully" / "yard.yaml"))
    weather(keeper, tmp_path)
    assert keeper.view.season.usual("first frost") == before is not None


def test_normals_are_offered_from_own_years_and_are_a_yard_files(tmp_path: Path) -> None:
    """What is printed is read back as normals; without a table only comments are, so no other climate is in force by accident."""
    keeper = coast(tmp_path, mean=20, swing=5)
    assert keeper.types("season", "--normals") == normals_text({}, -42.93, "metric")
    weather(keeper, tmp_path)
    written = keeper.types("season", "--normals")
    read = Normals.model_validate(yaml.safe_load(written)["normals"])
    assert (read.january.day, read.july.night) == (30, 10)
    assert written.count("of your own years") == 12


@pytest.mark.parametrize("units", ["metric", "us"])
def test_by_latitude_every_line_is_a_comment_with_its_doubt(units: str) -> None:
    """And without the comment signs of its months it is a yard file's `normals`."""
    text = normals_text({}, 50.1, units)
    assert all(line.startswith("#") for line in text.splitlines())
    assert f"may lie {'10 °C' if units == 'metric' else '18 °F'} off" in text.replace("\n# ", " ")
    months = "\n".join(line.removeprefix("#") for line in text.splitlines() if not re.match("# [^ ]", line))
    assert len(Normals.model_validate(yaml.safe_load(months)["normals"]).model_dump()) == 12
