"""The season of a yard from what was seen, from the keeper's own tables, and from normals, in that order. Days and readings are invented."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from tests.keeper import Keeper


@pytest.fixture
def keeper(tmp_path: Path) -> Keeper:
    """Kestrel Bank in the middle of August."""
    return Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-15T11:00").logs("ridge-2")


def hive_scale(folder: Path, until: date, *, autumn: bool = False) -> str:
    """Gain from 1 May to 4 July, then nothing, and a loss from 20 July on; or, with an autumn flow, until 18 August and from 8 September on."""
    day, mass, rows = date(2026, 4, 1), 40.0, ["date,mass kg"]
    while day <= until:
        flows = autumn and date(2026, 8, 18) <= day <= date(2026, 9, 8)
        mass += 0.9 if flows else 1.2 if date(2026, 5, 1) <= day <= date(2026, 7, 4) else -0.25 if day >= date(2026, 7, 20) else 0.05
        rows.append(f"{day},{mass:.2f}")
        day += timedelta(1)
    path = folder / "scale.csv"
    path.write_text("\n".join(rows) + "\n")
    return str(path)


def weather(folder: Path, first: date, frost: date, until: date) -> str:
    """Mild days, and one night of frost."""
    day, rows = first, ["date,tmin C,tmax C"]
    while day <= until:
        rows.append(f"{day},{-1.5 if day == frost else 6},{15}")
        day += timedelta(1)
    path = folder / "weather.csv"
    path.write_text("\n".join(rows) + "\n")
    return str(path)


def test_the_scale_says_when_the_flow_ended_and_the_dearth_began(keeper: Keeper, tmp_path: Path) -> None:
    """The normals say 20 and 25 July; this year's hives say otherwise, and `season` tells how sure that is."""
    said = keeper.types("observe", "series", "scale", "--file", hive_scale(tmp_path, date(2026, 8, 14)))
    assert said.startswith("scale: 136 days from 2026-04-01 to 2026-08-14, read in kg\n")
    season = keeper.view.season
    ended, began = season.mark("main flow ends", date(2026, 6, 1)), season.mark("robbing begins", date(2026, 6, 1))
    assert ended is not None
    assert began is not None
    assert (abs((ended[0] - date(2026, 7, 4)).days) <= 3, ended[1]) == (True, True)
    assert (abs((began[0] - date(2026, 7, 20)).days) <= 3, began[1]) == (True, True)
    shown = " ".join(keeper.types("season").split())
    assert f"main flow ends {ended[0]}" not in shown  # it is over; the next one is a normal again
    assert f"robbing begins: {began[0]} a dearth by the hive scale, to about 3 days" in shown


def test_an_autumn_flow_takes_the_dusk_off_wet_frames_until_it_is_over(keeper: Keeper, tmp_path: Path) -> None:
    """Read in the flow: no robbing until a week after the last reading. Read after it: robbing again from its end on. Entrances are watched to the season's."""
    keeper.waits_until("2026-08-30T11:00").types("observe", "series", "scale", "--file", hive_scale(tmp_path, date(2026, 8, 29), autumn=True))
    assert "2026-09-05 to 2026-10-15 begin likely, end usual date" in spans(keeper, "robbing")
    assert keeper.task("watch-entrances").start >= keeper.moment("2026-09-05T00:00")
    keeper.waits_until("2026-09-20T11:00").types("observe", "series", "scale", "--file", hive_scale(tmp_path, date(2026, 9, 19), autumn=True))
    assert "2026-09-08 to 2026-10-15 (now) begin seen or measured, end usual date" in spans(keeper, "robbing")
    assert "gain of 0.5 kg a day and more (assumed), 20 kg in all" in spans(keeper, "robbing")
    assert keeper.view.season.mark("robbing ends", date(2026, 9, 20)) == (date(2026, 10, 15), False)


def test_an_autumn_flow_on_one_scale_of_two_ends_no_dearth(keeper: Keeper, tmp_path: Path) -> None:
    """The other hive lost weight all the while: one hive was fed, or robs. Where both show it the dearth is over."""
    keeper.waits_until("2026-09-20T11:00").types("observe", "series", "scale", "--file", hive_scale(tmp_path, date(2026, 9, 19), autumn=True), "--of", "north")
    assert len(keeper.view.season.spans("robbing", date(2026, 7, 1), date(2026, 12, 1))) == 2
    keeper.types("observe", "series", "scale", "--file", hive_scale(tmp_path, date(2026, 9, 19)), "--of", "ridge")
    assert len(keeper.view.season.spans("robbing", date(2026, 7, 1), date(2026, 12, 1))) == 1
    keeper.types("observe", "series", "scale", "--file", hive_scale(tmp_path, date(2026, 9, 18), autumn=True), "--of", "ridge", "--replace")
    assert len(keeper.view.season.spans("robbing", date(2026, 7, 1), date(2026, 12, 1))) == 2


def test_robbing_that_was_seen_takes_the_place_of_the_dearth_before_a_flow_and_not_of_that_after_it(keeper: Keeper, tmp_path: Path) -> None:
    """Robbers on 10 July; the scale's flow and what comes after it count all the same."""
    keeper.types("observe", "robbing", "begins", "--on", "2026-07-10")
    keeper.waits_until("2026-09-20T11:00").types("observe", "series", "scale", "--file", hive_scale(tmp_path, date(2026, 9, 19), autumn=True))
    found = keeper.view.season.spans("robbing", date(2026, 7, 1), date(2026, 12, 1))
    assert (len(found), found[0][0], found[1][1]) == (2, date(2026, 7, 10), date(2026, 10, 15))


def test_what_the_keeper_saw_comes_before_what_the_scale_says(keeper: Keeper, tmp_path: Path) -> None:
    """Robbers at the boxes on 10 July: the scale is not asked any more."""
    keeper.types("observe", "robbing", "begins", "--on", "2026-07-10")
    keeper.types("observe", "series", "scale", "--file", hive_scale(tmp_path, date(2026, 8, 14)))
    assert keeper.view.season.mark("robbing begins", date(2026, 6, 1)) == (date(2026, 7, 10), True)
    assert keeper.view.evidence["robbing begins"] == ["seen on 2026-07-10"]


def test_of_a_span_each_end_is_told_as_what_it_is(keeper: Keeper) -> None:
    """A dearth seen to begin leaves its end a normal; far from any normal its end is assumed; both seen, both are firm."""
    assert "usual dates" in spans(keeper, "robbing")
    keeper.types("observe", "dearth", "began", "--on", "2026-08-05")
    assert "2026-08-05 to 2026-10-15 (now) begin seen or measured, end usual date" in spans(keeper, "robbing")
    keeper.types("observe", "beetle", "begins", "--on", "2026-08-14")
    assert "2026-08-14 to 2026-10-13 (now) begin seen or measured, end not seen yet, assumed 60 days on" in spans(keeper, "beetle")
    keeper.types("observe", "beetle", "ends", "--on", "2026-08-15")
    assert "2026-08-14 to 2026-08-15 (now) seen or measured" in spans(keeper, "beetle")


def spans(keeper: Keeper, name: str) -> str:
    """What `season` says from the line of a span on, on one line."""
    return " ".join(keeper.types("season").partition(f"\n {name} ")[2].split())


def test_the_first_frost_of_the_keepers_own_thermometer_makes_a_date_firm(keeper: Keeper, tmp_path: Path) -> None:
    """The mouse guard waited for the normal, provisionally; the thermometer read -1.5 °C on 6 October."""
    keeper.waits_until("2026-10-08T09:00")
    before = keeper.view.season.mark("first frost", date(2026, 8, 1))
    said = keeper.types("observe", "series", "weather", "--file", weather(tmp_path, date(2026, 4, 1), date(2026, 10, 6), date(2026, 10, 7)))
    assert said.startswith("weather: 190 days from 2026-04-01 to 2026-10-07, read in °C\n")
    assert before == (date(2026, 10, 14), False)
    assert keeper.view.season.mark("first frost", date(2026, 8, 1)) == (date(2026, 10, 6), True)
    assert "lowest -1.5 °C that day" in " ".join(keeper.types("season").split())
    keeper.types("undo")
    assert keeper.view.season.mark("first frost", date(2026, 8, 1)) == before


def test_the_newest_table_of_an_instrument_counts(keeper: Keeper, tmp_path: Path) -> None:
    """Read out in July, when the flow had ended but no dearth was there yet, and again in August."""
    keeper.waits_until("2026-07-16T09:00").types("observe", "series", "scale", "--file", hive_scale(tmp_path, date(2026, 7, 15)))
    assert "robbing begins" not in keeper.view.evidence
    keeper.waits_until("2026-08-15T09:00").types("observe", "series", "scale", "--file", hive_scale(tmp_path, date(2026, 8, 14)))
    assert "robbing begins" in keeper.view.evidence


def test_bees_fly_from_the_temperature_that_the_rules_name(keeper: Keeper, tmp_path: Path) -> None:
    """12 °C in the bundled rules: a winter at 11 °C is one without flight."""
    day, rows = date(2025, 10, 1), ["date,tmin °C,tmax °C"]
    while day <= date(2026, 4, 1):
        rows.append(f"{day},3,{11 if date(2025, 11, 5) <= day < date(2026, 3, 10) else 14}")
        day += timedelta(1)
    path = tmp_path / "weather.csv"
    path.write_text("\n".join(rows) + "\n")
    assert "°C by the column's name" in keeper.types("observe", "series", "weather", "--file", str(path))
    assert keeper.view.evidence["first warm day"] == ["2026-03-10 by the weather table: highest 14 °C that day, bees fly from 12 °C"]


@pytest.mark.parametrize(
    ("kind", "text", "said"),
    [
        ("scale", "date,tmin,tmax\n2026-08-01,1,2\n", "table.csv:1:1: no column could be the mass"),
        ("weather", "date,tmin C,tmax C\n2026-08-01,12,2\n", "table.csv:2:12: the lowest of the day is above the highest"),
        ("weather", "", "the table is empty"),
        ("scale", "date,kg\n2026-08-02,40\n2026-08-02,41\n", "table.csv:3:1: 2026-08-02 stands in line 2 with another reading"),
    ],
)
def test_a_table_that_can_not_be_is_refused_with_its_line(keeper: Keeper, tmp_path: Path, kind: str, text: str, said: str) -> None:
    """Nothing is written then."""
    path = tmp_path / "table.csv"
    path.write_text(text)
    assert said in keeper.types("observe", "series", kind, "--file", str(path), refused=True)
    assert keeper.view.seen_at(None).measured == []


def test_the_first_bloom_of_a_plant_is_the_mark_that_the_yard_says(keeper: Keeper, tmp_path: Path) -> None:
    """Lime opens the flow here. Seen a week early, it is told as seen, with the plant; of another plant the yard has to say what it means."""
    lines = (keeper.folder / "yard.yaml").read_text(encoding="utf-8").splitlines()
    season = next(number for number, line in enumerate(lines, 1) if line.startswith("season:"))
    (tmp_path / "yard.yaml").write_text("\n".join([*lines[:season], "  blooms: {lime: main flow begins}", *lines[season:]]), encoding="utf-8")
    keeper.types("init", "--from", str(tmp_path / "yard.yaml"))
    keeper.types("observe", "first", "bloom", "of", "lime", "--on", "2026-08-01")
    assert keeper.view.seen_at(None).observed["main flow begins"] == [date(2026, 8, 1)]
    assert keeper.view.evidence["main flow begins"] == ["seen on 2026-08-01, first bloom of lime"]
    told = keeper.types("observe", "first bloom of willow", refused=True)
    assert 'what the bloom of "willow" is a mark of' in told
    assert "blooms: {willow: spring bloom}" in told
