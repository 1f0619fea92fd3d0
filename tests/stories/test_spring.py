"""Spring by degree days, as a story: a usual day, then an expected one, then a firm one; and what the keeper sees comes before all of them.

The yard is Kestrel Bank of the examples with degree days in its file; its normals, the weather and the days are invented.
"""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from scheduler.application.plan_files import usual_season
from scheduler.facts.season import Normals
from scheduler.facts.yard import read_yard
from tests.keeper import EXAMPLES, Keeper

SINE = "degree days: {method: sine, base: 10 °C, upper: 30 °C, from: 1 January, marks: {spring bloom: 60 °C d}}\n"
WARMER = 1.5  # K by which this spring is warmer than the normals


def yard_text(degree_days: str, *, bloom: bool = False) -> str:
    """Kestrel Bank with degree days, and with or without its own normal of the spring bloom."""
    text = (EXAMPLES / "kestrel_bank" / "yard.yaml").read_text(encoding="utf-8")
    return (text if bloom else text.replace("  spring bloom: 20 April\n", "")) + degree_days


def set_yard(keeper: Keeper, folder: Path, text: str) -> None:
    """The yard file is written again, and set."""
    path = folder / "yard.yaml"
    path.write_text(text, encoding="utf-8")
    keeper.types("init", "--from", str(path))


@pytest.fixture
def keeper(tmp_path: Path) -> Keeper:
    """Kestrel Bank after the harvest of 2026, counting degree days."""
    keeper = Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-15T11:00").logs("ridge-2")
    set_yard(keeper, tmp_path, yard_text(SINE))
    return keeper


def thermometer(keeper: Keeper, folder: Path, until: date, first: date = date(2026, 9, 1)) -> str:
    """The thermometer is read out: every day a little warmer than usual."""
    normals: Normals | None = keeper.view.yard.normals
    assert normals is not None
    days = [first + timedelta(step) for step in range((until - first).days + 1)]
    rows = [f"{day},{normals.on(day)[1] + WARMER:.1f},{normals.on(day)[0] + WARMER:.1f}" for day in days]
    path = folder / f"weather-{until}.csv"
    path.write_text("\n".join(["date,tmin C,tmax C", *rows]) + "\n")
    return keeper.types("observe", "series", "weather", "--file", str(path))


def bloom(keeper: Keeper) -> tuple[date, bool]:
    """The next spring bloom, and whether it is firm."""
    found = keeper.view.season.mark("spring bloom", date(2027, 1, 1))
    assert found is not None
    return found


def test_a_date_firms_as_the_series_grows(keeper: Keeper, tmp_path: Path) -> None:
    """Usual in autumn; expected, and drawing earlier, through a warm spring; firm on the day the sum is there; and it stays."""
    days, shown = [bloom(keeper)], [keeper.types("season")]
    for month, day in ((2, 15), (3, 15), (4, 1), (4, 25), (5, 20)):
        keeper.waits_until(f"2027-{month:02}-{day:02}T20:00")
        thermometer(keeper, tmp_path, date(2027, month, day))
        days.append(bloom(keeper))
        shown.append(keeper.types("season"))
    assert [firm for _, firm in days] == [False, False, False, False, True, True]
    usual, *expected, firm, later = (day for day, _ in days)
    assert usual >= expected[0] >= expected[1] >= expected[2] >= firm == later
    assert usual > firm
    assert f"spring bloom     {usual} usual date" in shown[0]
    assert "by degree days over the normals of the yard file; sine method, base 10 °C to 30 °C" in " ".join(shown[0].split())
    assert f"spring bloom     {expected[2]} expected this year" in shown[3]
    assert "of 60 °C d by 2027-04-01, beyond the table by the normals of the yard file and 2 °C either way (assumed)" in " ".join(shown[3].split())
    assert f"spring bloom     {firm} seen or measured" in shown[4]
    assert f"{firm} by degree days: 60 °C d in the weather table" in " ".join(shown[4].split())


def test_the_work_of_spring_moves_with_the_date(keeper: Keeper, tmp_path: Path) -> None:
    """Comb is given back ahead of the flow; where that comes with degree days, its dates are provisional until the sum is there."""
    set_yard(keeper, tmp_path, yard_text(SINE.replace("spring bloom: 60", "main flow begins: 120")).replace("  main flow begins: 10 May\n", ""))
    [before] = [task for task in keeper.plan.tasks if task.id.endswith("give-comb-back")]
    keeper.waits_until("2027-04-01T20:00")
    thermometer(keeper, tmp_path, date(2027, 4, 1))
    [after] = [task for task in keeper.plan.tasks if task.id.endswith("give-comb-back")]
    assert before.due is not None
    assert after.due is not None
    assert 0 < before.due - after.due < 14 * 86400
    assert (before.status, after.status) == ("provisional", "provisional")


def test_what_the_keeper_sees_comes_first(keeper: Keeper, tmp_path: Path) -> None:
    """The cherries flowered on 28 March; no sum says otherwise, neither an expected one nor one that is reached."""
    keeper.waits_until("2027-04-01T20:00")
    thermometer(keeper, tmp_path, date(2027, 4, 1))
    keeper.types("observe", "spring bloom", "--on", "2027-03-28")
    assert bloom(keeper) == (date(2027, 3, 28), True)
    assert "expected" not in "".join(keeper.view.evidence["spring bloom"])
    keeper.waits_until("2027-05-20T20:00")
    thermometer(keeper, tmp_path, date(2027, 5, 20))
    assert bloom(keeper) == (date(2027, 3, 28), True)
    keeper.types("undo")
    keeper.types("undo")
    assert bloom(keeper)[1] is False


def test_the_keepers_own_normal_stands_until_the_years_weather_is_known(keeper: Keeper, tmp_path: Path) -> None:
    """20 April is written; without a thermometer it is the date, with one it gives way to what is expected."""
    set_yard(keeper, tmp_path, yard_text(SINE, bloom=True))
    assert bloom(keeper) == (date(2027, 4, 20), False)
    keeper.waits_until("2027-04-01T20:00")
    thermometer(keeper, tmp_path, date(2027, 4, 1))
    day, firm = bloom(keeper)
    assert day != date(2027, 4, 20)
    assert not firm


def test_the_method_changes_the_date(keeper: Keeper, tmp_path: Path) -> None:
    """Cold nights hide warm noons from the plain average: its 60 °C d come later than those of the sine."""
    set_yard(keeper, tmp_path, yard_text(SINE.replace("sine", "simple")))
    simple = bloom(keeper)
    set_yard(keeper, tmp_path, yard_text(SINE))
    assert simple[0] > bloom(keeper)[0] + timedelta(7)


def test_a_plan_without_a_ledger_knows_the_usual_day() -> None:
    """From the yard file alone; and a yard that counts no degree days, or has no normals, has the season that it wrote."""
    yard = read_yard(yard_text(SINE).encode(), "yard.yaml")
    found = usual_season(yard, 1_786_437_000).mark("spring bloom", date(2027, 1, 1))
    assert found is not None
    assert date(2027, 4, 1) < found[0] < date(2027, 5, 20)
    assert not found[1]
    assert usual_season(yard.model_copy(update={"normals": None}), 1_786_437_000).mark("spring bloom", date(2027, 1, 1)) is None
    assert usual_season(yard.model_copy(update={"degree_days": None}), 1_786_437_000) is yard.season


def test_south_of_the_equator_the_sum_begins_in_winter_too() -> None:
    """From 1 July over the normals turned by half a year: the same bloom, half a year later."""
    text = yard_text(SINE.replace("1 January", "1 July"))
    north = usual_season(read_yard(yard_text(SINE).encode(), "yard.yaml"), 1_786_437_000)
    months = {"january": "july", "february": "august", "march": "september", "april": "october", "may": "november", "june": "december"}
    for one, other in months.items():
        text = text.replace(f"  {one}: ", "  @: ").replace(f"  {other}: ", f"  {one}: ").replace("  @: ", f"  {other}: ")
    south = usual_season(read_yard(text.encode(), "yard.yaml"), 1_786_437_000)
    there, here = south.mark("spring bloom", date(2027, 7, 1)), north.mark("spring bloom", date(2027, 1, 1))
    assert there is not None
    assert here is not None
    assert abs((there[0] - here[0]).days - 183) <= 4
