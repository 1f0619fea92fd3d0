"""`afterpull estimate`: both unit systems, one JSON shape, refusals with what to write."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from scheduler.cli.estimate_commands import estimate
from scheduler.estimates.callable_estimates import CALLABLES
from scheduler.quantities import percent, say
from scheduler.rules.load import load

METRIC_AND_US = [
    (
        ["freeze", "--size", "101.6 x 50.8 x 31.75 mm", "--from", "21 °C", "--freezer", "-18 °C", "--surface", "8 W/m2K", "--until", "-15 °C"],
        ["freeze", "--size", "4 x 2 x 1.25 in", "--from", "69.8 °F", "--freezer", "-0.4 °F", "--surface", "8 W/m2K", "--until", "5 °F"],
    ),
    (
        ["thaw", "--size", "101.6 x 50.8 x 31.75 mm", "--from", "-18 °C", "--room", "21 °C", "--humidity", "50 %"],
        ["thaw", "--size", "4 in x 2 in x 1 1/4 in", "--from", "-0.4 °F", "--room", "69.8 °F", "--humidity", "50 %"],
    ),
    (["temper", "--thickness", "25.4 mm", "--from", "5 °C", "--room", "21 °C"], ["temper", "--thickness", "1 in", "--from", "41 °F", "--room", "69.8 °F"]),
    (
        ["cool", "--mass", "4.5359237 kg", "--from", "65 °C", "--to", "45 °C", "--room", "20 °C"],
        ["cool", "--mass", "10 lb", "--from", "149 °F", "--to", "113 °F", "--room", "68 °F"],
    ),
    (
        ["settle", "--temperature", "25 °C", "--moisture", "17 %", "--depth", "30.48 cm"],
        ["settle", "--temperature", "77 °F", "--moisture", "17 %", "--depth", "1 ft"],
    ),
    (["drain", "--temperature", "20 °C", "--moisture", "17 %"], ["drain", "--temperature", "68 °F", "--moisture", "17 %"]),
    (["inspect", "--temperature", "15 °C"], ["inspect", "--temperature", "59 °F"]),
    (["degree-days", "--low", "5 °C", "--high", "20 °C", "--base", "10 °C"], ["degree-days", "--low", "41 °F", "--high", "68 °F", "--base", "50 °F"]),
]
ONE_OF_EACH = [
    *(pair[0] for pair in METRIC_AND_US),
    ["viscosity", "--temperature", "25 °C", "--moisture", "17.1 %"],
    ["moisture", "--index", "1.4915", "--at", "20 °C"],
    ["moisture", "--brix", "80.2"],
    ["dew", "--temperature", "21 °C", "--humidity", "50 %"],
    ["dry", "--moisture", "19.5 %", "--target", "18 %", "--temperature", "32 °C", "--humidity", "35 %"],
    ["blend", "--first", "19.4 %", "--second", "16.8 %", "--to", "18 %"],
    ["pack", "--frame", "shallow", "--piece", "4 x 2 in", "--thickness", "1.25 in"],
    [
        "freeze",
        "--size",
        "4 x 2 x 1.25 in",
        "--from",
        "70 °F",
        "--freezer",
        "0 °F",
        "--package",
        "clamshell",
        "--pieces",
        "8",
        "--rated",
        "9 kg/day",
        "--beside",
        "1 kg",
    ],
]


def run(*arguments: str) -> Result:
    return CliRunner().invoke(estimate, list(arguments))


def answer(*arguments: str) -> dict[str, Any]:
    result = run(*arguments, "--json")
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


@pytest.mark.parametrize("arguments", ONE_OF_EACH, ids=lambda arguments: " ".join(arguments[:3]))
def test_every_estimate_prints_one_json_object_with_its_range_basis_and_sources(arguments: list[str]) -> None:
    found = answer(*arguments)
    assert found["low"] <= found["value"] <= found["high"]
    assert isinstance(found["unit"], str)
    assert found["basis"]
    assert all(isinstance(source, str) for source in found["sources"])


@pytest.mark.parametrize(("metric", "us"), METRIC_AND_US, ids=lambda arguments: arguments[0])
def test_both_systems_of_units_give_the_same_answer(metric: list[str], us: list[str]) -> None:
    first, second = answer(*metric), answer(*us)
    assert first["value"] == pytest.approx(second["value"], rel=1e-5)
    assert first["unit"] == second["unit"]


def test_the_time_to_a_core_temperature_is_the_nominal_one_in_hours() -> None:
    """4 x 2 x 1.25 in, 21 to -15 °C in -18 °C air at 8 W/m²K: 3.48 h by the exact series."""
    found = answer("freeze", "--size", "4 x 2 x 1.25 in", "--from", "21 °C", "--freezer", "-18 °C", "--until", "-15 °C")
    assert found["unit"] == "h"
    assert found["value"] == pytest.approx(3.4833, abs=0.001)


def test_dusk_is_a_local_time_and_no_dusk_is_an_answer() -> None:
    place = ["--timezone", "Europe/Oslo", "--latitude", "69.65", "--longitude", "18.96"]
    assert answer("dusk", *place, "--date", "2025-12-21")["value"] == "2025-12-21T13:53:13+01:00"
    none = answer("dusk", *place, "--date", "2025-06-21")
    assert none["value"] is None
    assert "no civil dusk" in none["basis"][0]


def test_fermentation_is_answered_in_words() -> None:
    assert answer("ferment", "--moisture", "18.2 %", "--yeast", "8")["value"] == "safe"
    assert answer("ferment", "--moisture", "18.2 %")["value"] == "at risk"


def test_degree_days_of_a_table_print_dated_rows(tmp_path: Path) -> None:
    table = tmp_path / "weather.csv"
    table.write_text("\ufeffdate;tmin;tmax\n2025-05-01;7,0;14,0\n2025-05-03;13,0;14,0\n", "utf-8")
    found = answer("degree-days", str(table), "--base", "12 °C", "--upper", "33 °C", "--sum", "1 °C d", "--from", "May", "--rows")
    assert [row["date"] for row in found["rows"]] == ["2025-05-01", "2025-05-02", "2025-05-03"]
    assert found["rows"][-1]["sum"] == found["value"] == found["part_years"]["2025"]
    assert found["years"] == {}
    assert found["reached"] == {"2025": "2025-05-02"}


def test_a_year_that_the_table_has_in_part_is_never_told_as_whole_and_the_days_only_on_request(tmp_path: Path) -> None:
    """From 1 July, as in the south: one whole year, the rest of one before it and the beginning of one after it. One degree day each day."""
    table = tmp_path / "weather.csv"
    days = [date(2024, 5, 1) + timedelta(day) for day in range(500)]
    table.write_text("date,tmin C,tmax C\n" + "".join(f"{day},11,11\n" for day in days), "utf-8")
    found = answer("degree-days", str(table), "--base", "10 °C", "--from", "July", "--sum", "50 °C d")
    assert found["years"] == {"2024": 365}
    assert found["part_years"] == {"2023": 61, "2025": (days[-1] - date(2025, 6, 30)).days}
    assert found["reached"] == {"2024": "2024-08-19", "2025": "2025-08-19"}
    assert "rows" not in found
    assert "2025 from July, in part: 74 °C d" in found["basis"]


def test_an_estimate_is_told_how_a_table_is_meant_as_observe_is(tmp_path: Path) -> None:
    """A US table with date and time apart, its columns named, by the same words; without them it asks."""
    table = tmp_path / "us.csv"
    table.write_text("Date;Time;Low;High;Brood\n8/9/2026;07:00;50;68;93\n8/10/2026;07:00;50;68;94\n", encoding="utf-8")
    told = ["--column", "Low", "--column", "High", "--unit", "F", "--dates", "month first", "--time", "Date", "--time", "Time"]
    assert answer("degree-days", str(table), "--base", "10 °C", *told)["value"] == pytest.approx(10.0)  # two days of 15 °C on average
    assert "--dates 'day first' or --dates 'month first'" in run("degree-days", str(table), "--base", "10 °C", *told[:6]).output
    (tmp_path / "metric.csv").write_text("date,tmin C,tmax C\n2026-08-09,10,20\n2026-08-10,10,20\n", encoding="utf-8")
    assert answer("inspect", "--series", str(table), *told) == answer("inspect", "--series", str(tmp_path / "metric.csv"))
    scale = tmp_path / "scale.csv"
    scale.write_text("day,hive,feeder\n" + "".join(f"2026-05-{day:02},{40 + day},{9 - day / 10}\n" for day in range(1, 21)), encoding="utf-8")
    assert answer("dearth", str(scale), "--column", "hive", "--unit", "kg")["value"] == pytest.approx(1.0)


def test_dearth_of_a_scale_prints_dated_rows(tmp_path: Path) -> None:
    table = tmp_path / "scale.csv"
    table.write_text("date,mass kg\n" + "".join(f"2025-07-{day:02},{60 - 0.3 * day:.2f}\n" for day in range(1, 29)), "utf-8")
    found = answer("dearth", str(table))
    assert found["value"] == pytest.approx(-0.3)
    assert found["rows"][-1] == {"date": "2025-07-28", "gain": pytest.approx(-0.3), "state": "dearth"}


def test_the_store_s_own_series_sets_the_next_look(tmp_path: Path) -> None:
    table = tmp_path / "store.csv"
    table.write_text("date,tmin,tmax\n" + "".join(f"2025-07-{day:02},25,29\n" for day in range(1, 15)), "utf-8")
    assert answer("inspect", "--series", str(table))["value"] == 5 * 24


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["freeze", "--size", "102 x 51 x 32 mm", "--from", "21 °C", "--freezer", "-5 °C"], "never kills wax moth"),
        (["freeze", "--size", "102 x 51 mm", "--from", "21 °C", "--freezer", "-18 °C"], "3 are needed"),
        (["freeze", "--size", "102 x 51 x 32", "--from", "21 °C", "--freezer", "-18 °C"], "has no unit"),
        (["freeze", "--size", "102 x 51 x 32 mm", "--from", "21", "--freezer", "-18 °C"], '"21 °C"'),
        (["drain", "--temperature", "12 h", "--moisture", "17 %"], "is a duration"),
        (["drain", "--temperature", "95 °C", "--moisture", "17 %"], "outside 0 to 80"),
        (["moisture"], "one reading is needed"),
        (["moisture", "--index", "nan"], "not that of honey"),
        (["dew", "--temperature", "21 °C", "--humidity", "120 %"], "outside 1 to 100"),
        (["degree-days", "missing.csv", "--base", "10 °C"], "no such file"),
        (["degree-days", "--base", "10 °C"], "a table or a day is needed"),
        (["inspect"], "one of the two is needed"),
        (["blend", "--first", "19 %", "--second", "18.5 %", "--to", "17 %"], "cannot be mixed"),
        (["ferment", "--moisture", "60 %"], "between 0 and 40"),
        (["dusk", "--latitude", "95", "--longitude", "0", "--date", "2025-06-21", "--timezone", "UTC"], "is not a place"),
    ],
    ids=lambda value: " ".join(value[:3]) if isinstance(value, list) else "",
)
def test_what_can_not_be_answered_is_refused_with_status_2_and_words(arguments: list[str], said: str) -> None:
    result = run(*arguments)
    assert result.exit_code == 2
    assert said in result.stderr
    assert not result.stdout
    assert "Traceback" not in result.output


def test_a_table_that_is_not_text_is_refused(tmp_path: Path) -> None:
    table = tmp_path / "weather.csv"
    table.write_bytes(b"date,tmin,tmax\n2025-05-01,\xff\xfe,20\n")
    result = run("degree-days", str(table), "--base", "10 °C")
    assert result.exit_code == 2
    assert 'weather.csv:2:12: "ÿþ" is not a number' in result.stderr


@pytest.mark.parametrize("name", sorted(estimate.commands))
def test_every_command_shows_an_example_that_works_or_names_a_file(name: str) -> None:
    result = run(name, "--help")
    assert f"Example: afterpull estimate {name}" in " ".join(result.output.split())


def test_a_person_reads_value_range_basis_and_source() -> None:
    lines = run("settle", "--temperature", "21 °C", "--moisture", "17 %", "--depth", "35 cm").output.splitlines()
    assert lines[0].startswith("37.46 h   (")
    assert any(line.startswith("  source: ") for line in lines)


TRADE = load().trade
LOT = {"kind": "cut comb", "length": 0.1016, "width": 0.0508, "thickness": 0.03175, "package": "clamshell", "comb_temperature": 21.0, "frame": "shallow"}
FREEZER = {"known": True, "temperature": -18.0, "space": 0.09, "air": "still", "rated": 9 / 86400}
ROOM = {"temperature": 21.0, "humidity": 0.55}


def test_rule_files_call_estimates_on_plain_mappings() -> None:
    call: dict[str, Any] = dict(CALLABLES)
    hold = call["freeze_hold"]({"count": 24.0}, LOT, FREEZER, trade=TRADE)
    assert hold.low <= hold.value <= hold.safe == hold.high
    assert call["freeze_hold"]({"count": 24.0}, LOT, {**FREEZER, "known": False}, trade=TRADE).refusal
    assert call["freeze_comb_hold"]({"count": 2.0, "volume": 0.05}, {**LOT, "kind": "dry comb"}, FREEZER, trade=TRADE).value > 4.5 * 3600
    full, light = (call["freeze_comb_hold"]({"volume": 0.05, **mass}, LOT, FREEZER, trade=TRADE).value for mass in ({"mass": 40.0}, {}))
    assert full > light
    assert call["thaw_hold"](LOT, FREEZER, ROOM, trade=TRADE).value > 0
    assert call["temper_time"](LOT, ROOM, 18.0).value == 0.0
    assert call["warm_time"](LOT, {"temperature": 32.0}, 27.0, trade=TRADE).value > 0
    assert call["drain_time"](15.0, None, trade=TRADE).safe == pytest.approx(56.6 * 3600, rel=0.01)
    assert call["settle_time"](21.0, None, 0.35, trade=TRADE).basis[-1] == say("moisture not measured", assumed=percent(0.17))
    assert call["drying_time"](None, 0.18, 30.0, 0.4, 0.5).value == 0.0
    assert call["inspection_interval"](None, trade=TRADE).value == 21 * 86400
    assert call["fermentation"](0.17, None, trade=TRADE) == "safe"
    assert call["dew_point"](21.0, 0.5) == pytest.approx(10.19, abs=0.05)
    assert call["egg_hatch_time"](27.0, trade=TRADE).safe < call["egg_hatch_time"](18.0, trade=TRADE).safe
    assert call["egg_hatch_time"](30.0, trade=TRADE).safe == 3 * 86400
    assert call["beetle_hatch_time"](12.0, trade=TRADE).refusal
    assert call["cool_time"](12.0, 65.6, 43.0, 21.0).value > 3600
