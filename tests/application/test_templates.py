"""The first yard file, and a harvest given in a few words."""

from __future__ import annotations

import re
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from scheduler.application.plan_files import rules_of
from scheduler.application.templates import SAMPLE, harvest_text, system_zone, yard_text
from scheduler.diagnostics import Fault
from scheduler.facts.days import MONTHS
from scheduler.facts.harvest import read_harvest
from scheduler.facts.season import MARKS, Normals, Season
from scheduler.facts.yard import Yard, read_yard
from tests.keeper import Keeper


def test_a_harvest_is_logged_in_words(ridge: Keeper, tmp_path: Path) -> None:
    """Its file is written, names with odd signs and all."""
    ridge.types("log", "--harvest", "ridge-3", "--hive", "north: old, tall", "--lot", "extracted 14 medium 17.9%", "--pulled", "09:00")
    assert '"north: old, tall"' in (tmp_path / "ridge-3.yaml").read_text(encoding="utf-8")
    assert ridge.has("a/spin")
    assert "exists already" in ridge.types("log", "--harvest", "ridge-3", "--lot", "extracted 14 medium", refused=True)


def test_more_lots_than_letters_are_refused_not_dropped(ridge: Keeper) -> None:
    """27 of them."""
    words = [word for _ in range(27) for word in ("--lot", "extracted 1 medium 17 %")]
    assert "27 lots are more than words on a command line can name" in ridge.types("log", "--harvest", "big", *words, refused=True)


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("latitude", [46.3, -42.9])
def test_every_key_that_is_not_set_stands_in_the_first_yard_file_as_a_comment(units: str, latitude: float) -> None:
    """Each comment alone, and all of them at once, is a sound yard once its # is taken away; the season is that of its half of the earth."""
    text = yard_text("Pear Hill", latitude, 14.2, "Europe/Ljubljana", units)
    lines = text.splitlines()
    keys = [line for line in lines if re.match(r"#( {2})?[a-z]", line)]
    for key in (line for line in keys if line.strip("# ").partition(":")[0] not in ("normals", *MONTHS)):  # twelve months or none
        taken(lines, [key])
    found = taken(lines, keys)
    assert {*Yard.model_fields} - found.model_fields_set == set()
    assert {*Season.model_fields} - found.season.model_fields_set == {"observed"}  # which a keeper with a ledger tells by: afterpull observe
    assert found.normals is not None
    july, january = found.normals.july.day, found.normals.january.day
    assert (july > january) is (latitude > 0)
    assert str(found.season.main_flow_begins) == ("10 May" if latitude > 0 else "10 November")


@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_year_of_the_south_is_that_of_the_north_half_a_year_on(units: str) -> None:
    """Every mark and span of the samples; the months are those of its own latitude, the warmest half a year on."""

    def year(latitude: float) -> tuple[list[str], Normals, Season]:
        lines = yard_text("Pear Hill", latitude, 14.2, "Europe/Ljubljana", units).splitlines()
        found = taken(lines, [line for line in lines if re.match(r"#( {2})?[a-z]", line)])
        assert found.normals is not None
        return list(MONTHS), found.normals, found.season

    months, north, season = year(46.3)
    _, south, other = year(-42.9)
    assert [max(months, key=lambda month, half=half: getattr(half, month).day) for half in (north, south)] == ["july", "january"]
    assert south.july.day > north.january.day + 5  # a southern winter has more sea round it
    for mark in MARKS:
        here, there = season.usual(mark), other.usual(mark)
        assert here is not None
        assert there is not None
        assert (there.month, there.day) == ((here.month + 5) % 12 + 1, here.day)


@pytest.mark.parametrize(
    ("words", "read"),
    [
        ("cut comb 5 shallow 17.4%", ("cut comb", 5, "shallow", 0.174)),
        (" extracted  14 medium 18 % ", ("extracted", 14, "medium", 0.18)),
        ("dry comb 9 deep", ("dry comb", 9, "deep", None)),
    ],
)
def test_a_lot_in_words_is_read_as_its_file_says(words: str, read: tuple[str, int, str, float | None]) -> None:
    """Kind, frames and their size, and the water where it was read."""
    yard = read_yard(yard_text("Pear Hill", 46.3, 14.2, "Europe/Ljubljana", "metric").encode(), "yard.yaml")
    text = harvest_text("ridge-1", 1_786_437_000, ZoneInfo("Europe/Ljubljana"), ["north: tall"], [words])
    harvest = read_harvest(text.encode(), "ridge-1.yaml", yard)
    [lot] = harvest.lots
    assert (lot.kind, lot.frames, lot.frame, lot.moisture) == read
    assert (harvest.hives, f"{harvest.pulled:%Y-%m-%dT%H:%M}") == (("north: tall",), "2026-08-11T10:30")


@pytest.mark.parametrize("words", ["", "honey", "5 shallow", "cut comb five shallow", "cut comb 5 tiny", "cut comb 5 shallow 17.4"])
def test_words_that_tell_no_lot_are_refused_with_a_sample(words: str) -> None:
    """Nothing is guessed."""
    with pytest.raises(Fault, match="is not a lot") as refused:
        harvest_text("ridge-1", 0, ZoneInfo("UTC"), [], [words])
    assert refused.value.write == SAMPLE


def test_a_zone_of_the_machine_is_one_that_there_is(monkeypatch: pytest.MonkeyPatch) -> None:
    """TZ where it names one; another word there is passed over."""
    monkeypatch.setenv("TZ", ":Pacific/Chatham")
    assert system_zone() == "Pacific/Chatham"
    monkeypatch.setenv("TZ", "../../etc/passwd")
    assert ZoneInfo(system_zone())


def taken(lines: list[str], keys: list[str]) -> Yard:
    """The yard where the # of these lines is taken away, checked with its rules."""
    content = "\n".join(line.removeprefix("#") if line in keys else line for line in lines).encode()
    yard = read_yard(content, "yard.yaml")
    rules_of(yard)
    return yard
