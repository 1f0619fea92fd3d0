"""The first yard file, and a harvest given in a few words."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from scheduler.application.plan_files import rules_of
from scheduler.application.templates import yard_text
from scheduler.facts.days import MONTHS
from scheduler.facts.season import Season
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
    assert "27 lots are more than can be told in words" in ridge.types("log", "--harvest", "big", *words, refused=True)


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


def taken(lines: list[str], keys: list[str]) -> Yard:
    """The yard where the # of these lines is taken away, checked with its rules."""
    content = "\n".join(line.removeprefix("#") if line in keys else line for line in lines).encode()
    yard = read_yard(content, "yard.yaml")
    rules_of(yard)
    return yard
