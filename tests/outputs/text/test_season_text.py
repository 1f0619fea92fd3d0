"""The marks of the season as a person reads them: the day, and how sure it is. Days are invented."""

from __future__ import annotations

from datetime import date

import pytest

from scheduler.facts.season import Season
from scheduler.outputs.text.season_text import season_text

NORMALS = {"main flow ends": "20 July", "first frost": "14 October", "robbing": "25 July to 15 October"}
TODAY = date(2026, 8, 1)


def lines(season: Season, evidence: dict[str, list[str]] | None = None, width: int = 100) -> list[str]:
    """What is shown."""
    return season_text(season, TODAY, evidence or {}, width).splitlines()


def line(season: Season, name: str) -> str:
    """The line of a mark or a span, white space closed up."""
    text = "\n".join(lines(season, width=200))
    return " ".join(text[text.index(f"\n {name} ") :].lstrip("\n").splitlines()[0].split())


def season(**observed: list[str]) -> Season:
    """These normals with what was seen."""
    return Season.model_validate({**NORMALS, "observed": {name.replace("_", " "): days for name, days in observed.items()}})


def test_a_mark_is_a_normal_until_it_is_seen_or_expected() -> None:
    """Each is told by what it rests on; one that nobody wrote says where to write it."""
    assert line(season(), "first frost") == "first frost 2026-10-14 usual date"
    assert line(season(first_frost=["2026-10-02"]), "first frost") == "first frost 2026-10-02 seen or measured"
    expected = season().with_expected({"first frost": [date(2026, 10, 9)]})
    assert line(expected, "first frost") == "first frost 2026-10-09 expected this year"
    assert line(season(), "spring bloom") == 'spring bloom not known; write "spring bloom: ..." under season in the yard file'


def test_a_mark_of_the_last_month_is_still_this_years() -> None:
    """The flow ended twelve days ago; its next end is a year away."""
    assert line(season(), "main flow ends").startswith("main flow ends 2026-07-20")


@pytest.mark.parametrize(
    ("observed", "said"),
    [
        ({}, "robbing 2026-07-25 to 2026-10-15 (now) usual dates"),
        ({"robbing_begins": ["2026-07-30"]}, "robbing 2026-07-30 to 2026-10-15 (now) begin seen or measured, end usual date"),
        ({"robbing_begins": ["2026-07-30"], "robbing_ends": ["2026-09-30"]}, "robbing 2026-07-30 to 2026-09-30 (now) seen or measured"),
        ({"robbing_ends": ["2026-09-30"]}, "robbing 2026-07-25 to 2026-09-30 (now) begin usual date, end seen or measured"),
    ],
)
def test_each_end_of_a_span_is_as_sure_as_it_is(observed: dict[str, list[str]], said: str) -> None:
    """Seen, or usual; one that is over gives way to the next."""
    assert line(season(**observed), "robbing") == said


def test_an_end_that_nobody_knows_is_an_assumption() -> None:
    """Robbing was seen to begin in a yard without normals; what is assumed of its end is said in days."""
    seen = Season.model_validate({"observed": {"robbing begins": ["2026-07-30"]}})
    assert "begin seen or measured, end not seen yet, assumed 60 days on" in " ".join(" ".join(lines(seen)).split())
    assert line(Season(), "beetle") == "beetle not known"


def test_of_ten_years_of_evidence_the_newest_two_are_shown_within_the_width() -> None:
    """Indented below their mark; an edge of a span is named."""
    evidence = {"first frost": [f"20{year}-10-09 by the weather table" for year in range(17, 27)], "robbing begins": ["2026-07-28 by the hive scale"]}
    found = lines(season(), evidence, 60)
    assert [one.strip() for one in found if "weather table" in one] == ["2025-10-09 by the weather table", "2026-10-09 by the weather table"]
    told = [number for number, one in enumerate(found) if "robbing begins: 2026-07-28" in one]
    assert found[told[0] : told[0] + 2] == ["                  robbing begins: 2026-07-28 by the hive", "                    scale"]
