"""Marks by degree days: usual where nobody wrote a normal, expected from this year's weather, firm once the sum is there. Weather and yard are invented."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from scheduler.application.degree_day_marks import DegreeDayMarks, degree_day_marks
from scheduler.facts.yard import Yard, read_yard
from tests.planning.whole import yard_text

NORMALS = "normals:\n" + "".join(
    f"  {month}: {{day: {day} °C, night: {night} °C}}\n"
    for month, day, night in (
        ("january", 2, -5), ("february", 5, -4), ("march", 10, 0), ("april", 15, 4), ("may", 20, 9), ("june", 24, 13),
        ("july", 26, 14), ("august", 25, 14), ("september", 20, 10), ("october", 14, 6), ("november", 8, 2), ("december", 3, -3),
    )
)  # fmt: skip
COUNTED = "degree days: {method: sine, base: 10 °C, from: 1 January, marks: {spring bloom: 60 °C d}}\n"


def place(more: str = NORMALS + COUNTED, *, written: bool = True) -> Yard:
    """A yard that counts degree days, with or without its own normal of the bloom."""
    text = yard_text() + more
    return read_yard((text if written else text.replace("  spring bloom: 20 April\n", "")).encode(), "yard.yaml")


def warm(until: date, low: float, high: float) -> dict[date, tuple[float, float]]:
    """Every day of 2026 before a day alike."""
    return {date(2026, 1, 1) + timedelta(n): (low, high) for n in range((until - date(2026, 1, 1)).days)}


def test_a_yard_that_counts_none_has_no_such_marks() -> None:
    """And its season is the one it wrote."""
    yard = place("")
    found = degree_day_marks(yard, warm(date(2026, 5, 1), 5.0, 25.0), date(2026, 5, 1))
    assert found == DegreeDayMarks()
    assert found.season(yard.season).usual("spring bloom") == yard.season.usual("spring bloom")


@pytest.mark.parametrize(("written", "names"), [(True, []), (False, ["spring bloom"])])
def test_a_usual_day_is_worked_out_only_where_the_keeper_wrote_none(written: bool, names: list[str]) -> None:
    """His own normal is better than a sum."""
    found = degree_day_marks(place(written=written), {}, date(2026, 2, 1))
    assert [name for name, _, _ in found.usual] == names
    if names:
        usual = found.usual[0][1]
        assert (4, 1) <= (usual.month, usual.day) <= (5, 31)  # 60 °C d above 10 °C of these normals come in spring
        assert found.season(place(written=False).season).usual("spring bloom") == usual


def test_a_sum_that_the_weather_reached_is_firm_and_no_longer_expected() -> None:
    """Nights of 5 °C and days of 25 °C give more than 5 °C d each: 60 in less than twelve days (the mean alone gives 5)."""
    found = degree_day_marks(place(), warm(date(2026, 3, 1), 5.0, 25.0), date(2026, 3, 1))
    assert [mark.name for mark in found.firm] == ["spring bloom"]
    assert date(2026, 1, 5) < found.firm[0].day <= date(2026, 1, 12)
    assert found.expected == ()


def test_a_mark_is_expected_sooner_after_a_warm_spell() -> None:
    """And told with what it rests on, until somebody sees it."""
    cold = degree_day_marks(place(), warm(date(2026, 4, 1), -5.0, 5.0), date(2026, 4, 1))
    mild = degree_day_marks(place(), warm(date(2026, 4, 1), -5.0, 5.0) | {date(2026, 3, 20): (10.0, 26.0), date(2026, 3, 21): (10.0, 26.0)}, date(2026, 4, 1))
    assert [mark.name for mark in cold.expected] == [mark.name for mark in mild.expected] == ["spring bloom"]
    assert mild.expected[0].day < cold.expected[0].day
    season = mild.season(place().season)
    assert [name for name, _ in mild.evidence(season)] == ["spring bloom"]
    seen = season.with_observations({"spring bloom": [date(2026, 4, 3)]})
    assert list(mild.evidence(seen)) == []
