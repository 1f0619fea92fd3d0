"""Files of instruments as a keeper lives with them: read out again, corrected, taken back, on the other side of an export. All readings are invented."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from tests.keeper import Keeper


@pytest.fixture
def keeper(tmp_path: Path) -> Keeper:
    """Kestrel Bank in the middle of August."""
    return Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-15T11:00").logs("ridge-2")


def table(folder: Path, name: str, *lines: str, encoding: str = "utf-8") -> str:
    """A file of an instrument."""
    path = folder / name
    path.write_text("\n".join(lines) + "\n", encoding=encoding)
    return str(path)


def scale(folder: Path, name: str, first: date, masses: list[float], unit: str = "kg") -> str:
    """A scale's file, a row a day."""
    return table(folder, name, f"date,mass {unit}", *(f"{first + timedelta(day)},{mass}" for day, mass in enumerate(masses)))


def observed(keeper: Keeper, kind: str, path: str, *more: str, refused: bool = False) -> str:
    """What is said of a file."""
    return keeper.types("observe", "series", kind, "--file", path, *more, refused=refused)


def test_a_newer_file_adds_its_rows_and_its_reading_of_a_day_counts(keeper: Keeper, tmp_path: Path) -> None:
    """Read out on 1 May for April, and in August for what came after: April is not forgotten, and the flow is one."""
    observed(keeper, "scale", scale(tmp_path, "may.csv", date(2026, 4, 1), [40 + 0.05 * day for day in range(45)]))
    assert "main flow begins" not in keeper.view.evidence
    gains = [42 + (1.2 * day if day < 40 else 48) for day in range(60)]
    observed(keeper, "scale", scale(tmp_path, "july.csv", date(2026, 5, 10), gains))
    [mark] = [mark for mark in keeper.view.seen_at(None).measured if mark.name == "main flow begins"]
    assert date(2026, 5, 8) <= mark.day <= date(2026, 5, 14)


def test_a_unit_told_wrongly_is_corrected_in_place_and_undo_brings_it_back(keeper: Keeper, tmp_path: Path) -> None:
    """°F read as °C is refused as weather; of a freezer it is a freezer that never kills, until it is replaced."""
    path = table(tmp_path, "log.csv", "time,probe", *(f"2026-08-14T{hour:02}:00,{-0.4 + hour % 3 / 10}" for hour in range(24)))
    assert "no unit is said" in observed(keeper, "freezer", path, refused=True)
    assert "-0.4 °C" in observed(keeper, "freezer", path, "--unit", "°C")
    assert "write the same command with --replace" in observed(keeper, "freezer", path, "--unit", "°F", refused=True)
    assert "-18 °C" in observed(keeper, "freezer", path, "--unit", "°F", "--replace")
    assert max(value for _, value in keeper.view.air["freezer"].rows) < -17
    keeper.types("undo")
    assert max(value for _, value in keeper.view.air["freezer"].rows) > -1


def test_the_same_file_again_adds_nothing(keeper: Keeper, tmp_path: Path) -> None:
    """Whatever it is called by then."""
    masses = [40.0 + day for day in range(9)]
    observed(keeper, "scale", scale(tmp_path, "scale.csv", date(2026, 8, 1), masses))
    facts = keeper.view.facts
    assert "was recorded Sat 15 Aug 11:00 already" in observed(keeper, "scale", scale(tmp_path, "scale (1).csv", date(2026, 8, 1), masses))
    assert keeper.view.facts == facts


def test_there_is_nothing_to_replace_at_first(keeper: Keeper, tmp_path: Path) -> None:
    """Nothing is kept then."""
    said = observed(keeper, "scale", scale(tmp_path, "scale.csv", date(2026, 8, 1), [40.0, 41.0]), "--replace", refused=True)
    assert "no file of scale is recorded that this could replace" in said


def test_unit_and_order_of_dates_are_remembered_of_an_instrument_and_said(keeper: Keeper, tmp_path: Path) -> None:
    """Told once with the first file; another scale has its own."""
    first = table(tmp_path, "a.csv", "date,weight", "8/9/2025,88.2", "8/10/2025,88.6")
    second = table(tmp_path, "b.csv", "date,weight", "8/11/2025,89.3", "8/12/2025,90.2")
    assert "--dates 'month first'" in observed(keeper, "scale", first, "--unit", "lb", refused=True)
    observed(keeper, "scale", first, "--unit", "lb", "--dates", "month-first")
    said = observed(keeper, "scale", second)
    assert "lb as this instrument had before" in said
    assert "no unit is said" in observed(keeper, "scale", second, "--of", "north", "--dates", "month first", refused=True)


def test_what_was_usual_gives_way_to_what_a_file_says_itself(keeper: Keeper, tmp_path: Path) -> None:
    """Another logger app: its dates are the other way round, its stamps are in UTC by name, its unit is written."""
    first = table(tmp_path, "a.csv", "time,temp", "8/9/2025 6:00,-18", "8/10/2025 6:00,-18.2")
    observed(keeper, "freezer", first, "--unit", "C", "--dates", "month first", "--zone", "+01:00")
    said = observed(keeper, "freezer", table(tmp_path, "b.csv", "time,temp", "8/11/2025 6:00,-18", "8/12/2025 6:00,-18.2"))
    assert "°C as this instrument had before; local time of UTC+01:00 as usual here; dates read month first" in said
    said = observed(keeper, "freezer", table(tmp_path, "c.csv", "time (UTC),temp °F", "13/7/2026 6:00,-0.4", "14/7/2026 6:00,-0.5"))
    assert "°F by the column's name; local time of UTC by the column's name; dates read day first" in said
    rows = keeper.view.air["freezer"].rows
    assert [round((at - rows[0][0]) / 3600) % 24 for at, _ in rows] == [0, 0, 0, 0, 1, 1]  # 06:00 at +01:00 is 05:00 UTC


def test_an_order_that_would_be_still_to_come_is_not_meant(keeper: Keeper, tmp_path: Path) -> None:
    """In August, 8/10/2026 is no day of October."""
    said = observed(keeper, "scale", table(tmp_path, "a.csv", "date,lb", "8/9/2026,88.2", "8/10/2026,88.6"))
    assert "2 days from 2026-08-09 to 2026-08-10" in said
    assert "dates read month first" in said


@pytest.mark.parametrize("encoding", ["utf-16", "latin-1", "utf-8-sig"])
def test_what_was_read_is_read_alike_on_the_other_side_of_an_export(keeper: Keeper, tmp_path: Path, encoding: str) -> None:
    """With its digest, unit and zone; exported, taken into another ledger, the same air."""
    rows = [f"14.8.2026;{hour}:00;{-18 + hour % 4 / 10:.1f}".replace(".", ",").replace("14,8,2026", "14.8.2026") for hour in range(24)]
    observed(keeper, "freezer", table(tmp_path, "log.csv", "Gerät 7", "Datum;Zeit;Temperatur °C", *rows, encoding=encoding), "--zone", "+01:00")
    keeper.types("ledger", "export", str(tmp_path / "export.jsonl"))
    other = Keeper(tmp_path / "other.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-15T11:00")
    other.types("ledger", "import", str(tmp_path / "export.jsonl"))
    assert other.view.air["freezer"] == keeper.view.air["freezer"]
    assert len(other.view.air["freezer"].rows) == 24


def test_a_power_cut_is_not_hidden_by_a_sensor_that_failed_in_it(keeper: Keeper, tmp_path: Path) -> None:
    """Where the sensor says Err for hours the air counts as a warm room, as where the logger was silent."""
    rows = [f"2026-08-14T{hour:02}:{minute:02},{'Err' if 2 <= hour < 9 else -18 - minute / 100}" for hour in range(24) for minute in range(0, 60, 10)]
    said = observed(keeper, "freezer", table(tmp_path, "log.csv", "time,temperature C", *rows))
    assert "rows with an error instead of a number: 42 (line 14, 15, 16, 17, 18, ...)" in said
    assert "silent from Fri 14 Aug 01:50 to Fri 14 Aug 09:00" in said
    first = keeper.moment("2026-08-14T00:00")
    air = keeper.view.air["freezer"].since(first, first + 86400)
    assert air is not None
    assert air.silent == 7 * 3600 + 600


@pytest.mark.parametrize("kind", ["freezer", "scale", "weather"])
def test_a_picture_of_what_was_read_is_written_and_a_file_that_is_refused_leaves_none(keeper: Keeper, tmp_path: Path, kind: str) -> None:
    """With the words of the answer in it."""
    lines = {
        "freezer": ["time,temp C", *(f"2026-08-14T{hour:02}:00,-18.{hour % 3}" for hour in range(24))],
        "scale": ["date,kg", *(f"2026-08-{day:02},4{day % 10}" for day in range(1, 15))],
        "weather": ["date,tmin C,tmax C", *(f"2026-08-{day:02},1{day % 10},2{day % 10}" for day in range(1, 15))],
    }[kind]
    picture = tmp_path / "out.svg"
    assert "no unit is said" in observed(keeper, kind, table(tmp_path, "a.csv", *[line.replace(" C", "").replace("kg", "mass") for line in lines]),
                                         "--picture", str(picture), refused=True)  # fmt: skip
    assert not picture.exists()
    said = observed(keeper, kind, table(tmp_path, "b.csv", *lines), "--picture", str(picture))
    assert f"picture: {picture}" in said
    drawn = picture.read_text(encoding="utf-8")
    assert said.partition("\n")[0].partition(": ")[2][:30] in drawn
    assert ("the mildest that kills" in drawn) == (kind == "freezer")
    assert ("lowest of the day" in drawn) == (kind == "weather")


def test_the_log_of_the_store_says_how_often_stored_comb_is_looked_at(keeper: Keeper, tmp_path: Path) -> None:
    """12 °C by the yard file; the logger shows a warm week at 28 °C in a month, and comb is looked at as often as moth asks at that. Cold again, seldom."""
    assert keeper.view.problem.yard.store is not None
    before = gap(keeper)
    keeper.waits_until("2026-09-20T12:00")
    warm = [f"2026-09-{day:02}T{hour:02}:00,{28.0 if 8 <= day < 15 else 9.0}" for day in range(1, 20) for hour in range(0, 24, 2)]
    said = observed(keeper, "store", table(tmp_path, "store.csv", "time,temperature °C", *warm))
    assert said.startswith("store: 228 readings from Tue 1 Sep 00:00 to Sat 19 Sep 22:00")
    assert keeper.view.problem.yard.store.temperature == pytest.approx(28.0)
    assert gap(keeper) < 10 * 86400 < before
    keeper.waits_until("2026-10-25T12:00")
    cold = [f"2026-10-{day:02}T{hour:02}:00,8.5" for day in range(1, 25) for hour in range(0, 24, 2)]
    observed(keeper, "store", table(tmp_path, "october.csv", "time,temperature °C", *cold))
    assert keeper.view.problem.yard.store.temperature == pytest.approx(8.5)
    assert gap(keeper) >= before
    keeper.types("observe", "store", "temperature", "11 °C")
    assert keeper.view.problem.yard.store.temperature == pytest.approx(11.0)  # what was read later counts
    assert "a yard has one store" in observed(keeper, "store", table(tmp_path, "more.csv", "time,temperature °C", *cold), "--of", "cellar", refused=True)
    keeper.waits_until("2027-03-01T12:00")
    assert keeper.view.problem.yard.store.temperature == pytest.approx(11.0)


def gap(keeper: Keeper) -> int:
    """Between the first look at stored comb and the next [s]."""
    looks = sorted(task.start for task in keeper.plan.tasks if "inspect-comb" in task.id and task.harvest == "ridge-2" and task.lot == "b")
    return looks[1] - looks[0]
