"""The yard file as a keeper writes it, in metric and US units."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Diagnostic, Refused
from scheduler.facts.days import MONTHS
from scheduler.facts.season import Normals
from scheduler.facts.yard import Yard, read_yard

START = """
yard: Kestrel Bank
place: {latitude: 46.31, longitude: 14.18, timezone: Europe/Ljubljana}
hands: {mon-fri: "17:30-21:30"}
room: {temperature: 21 °C, humidity: 55 %}
"""


def yard(more: str = "") -> Yard:
    """The least that a yard file holds, and more."""
    return read_yard((START + more).encode(), "yard.yaml")


def test_what_is_left_out_is_the_cautious_usual() -> None:
    """Nothing is fumigated or cleaned in the open unless the keeper says so; the limit is that of US grades A and B (USDA, 1985)."""
    plain = yard()
    assert (plain.units, plain.limits.moisture, plain.sells) == ("metric", 0.186, True)
    assert (plain.fumigant, plain.open_cleaning.lawful, plain.starter_strips) == (False, False, False)
    assert (plain.equipment, plain.store, plain.container_lead) == ({}, None, 0.0)


def test_a_freezer_is_the_same_in_metric_and_us_units() -> None:
    """0 °F is -17.8 °C, 5 cu ft are 141.6 L and 20 lb are 9.07 kg (NIST Handbook 44, Appendix C)."""
    freezer = yard("equipment: {freezer: {temperature: 0 °F, space: 5 cu ft, freezing capacity: 20 lb/day, air: fan}}").equipment["freezer"]
    assert freezer.temperature == pytest.approx(-17.78, abs=0.005)
    assert freezer.capacity == pytest.approx(0.14158, abs=5e-6)
    assert freezer.freezing_capacity == pytest.approx(9.0718 / 86400, rel=1e-4)
    assert freezer.air == "fan"


def test_a_freezer_too_warm_to_kill_is_not_refused_here() -> None:
    """A file may tell the truth about a poor freezer; what it cannot do is said by the plan."""
    assert yard("equipment: {freezer: {temperature: 5 °C, space: 90 L}}").equipment["freezer"].temperature == 5.0


def test_part_of_a_freezer_may_be_taken_for_some_weeks() -> None:
    """Both days counted, in the measure of the freezer."""
    held = "equipment: {freezer: {space: 90 L}}\nreserved: [{equipment: freezer, from: 2026-11-01, to: 2026-11-20, space: 60 L, for: fruit}]"
    (taken,) = yard(held).reserved
    assert (taken.equipment, taken.from_, taken.to, taken.for_) == ("freezer", date(2026, 11, 1), date(2026, 11, 20), "fruit")
    assert taken.amount == pytest.approx(0.06)


def test_overlays_may_be_one_name_or_several() -> None:
    """As a person would write either."""
    assert yard("rules: warm humid").rules == ("warm humid",)
    assert yard("rules: [warm humid, mine.yaml]").rules == ("warm humid", "mine.yaml")


@pytest.mark.parametrize(("word", "meant"), [("yes", True), ("no", False), ("true", True), ("False", False)])
def test_yes_and_no_mean_what_they_say(word: str, meant: bool) -> None:
    """In YAML 1.2 `no` is a word; here it still means no."""
    assert yard(f"fumigant: {word}").fumigant is meant


def test_the_store_may_be_known_in_part() -> None:
    """A thermometer but no hygrometer."""
    store = yard("store: {temperature: 45 °F}").store
    assert store is not None
    assert store.temperature == pytest.approx(7.22, abs=0.005)
    assert store.humidity is None


def normals(days: list[float], nights: list[float]) -> Normals:
    """Twelve months from their days and nights [°C]."""
    return Normals.model_validate({month: {"day": f"{day} °C", "night": f"{night} °C"} for month, day, night in zip(MONTHS, days, nights, strict=True)})


DAYS = [3.0, 5.0, 10.0, 15.0, 20.0, 23.0, 26.0, 25.0, 20.0, 14.0, 8.0, 4.0]
NIGHTS = [day - 10 for day in DAYS]


def test_in_the_middle_of_a_month_the_normal_is_the_months() -> None:
    """16 July at noon is the middle of 31 days."""
    assert normals(DAYS, NIGHTS).on(date(2026, 7, 16)) == pytest.approx((26.0, 16.0))


def test_at_the_turn_of_two_months_the_normal_lies_between_them() -> None:
    """Also over the turn of the year: half way between 4 and 3 °C, within a day's step."""
    day, night = normals(DAYS, NIGHTS).on(date(2027, 1, 1))
    assert (day, night) == pytest.approx((3.5, -6.5), abs=0.05)


def test_a_yard_without_normals_knows_none() -> None:
    """The cards then tell the keeper to look at the thermometer."""
    assert yard().day_normals(date(2026, 7, 16)) is None


MONTHLY = st.lists(st.integers(-20, 40).map(float), min_size=12, max_size=12)


@given(MONTHLY, st.dates(date(2000, 1, 1), date(2100, 12, 31)))
def test_normals_never_leave_what_the_months_span(days: list[float], day: date) -> None:
    """Straight lines between months make no new extremes."""
    found = normals(days, [one - 5 for one in days]).on(day)
    assert min(days) - 1e-9 <= found[0] <= max(days) + 1e-9
    assert found[0] - found[1] == pytest.approx(5.0)


@given(st.text(max_size=40), st.text(max_size=40))
def test_any_text_in_a_file_is_read_or_refused(key: str, value: str) -> None:
    """Never another error, whatever stands in a key or a value; a refusal has a place."""
    content = START + f"{key}: {value}\n"
    assert all(fault.line >= 1 and fault.message for fault in refusal(content.encode("utf-8", "surrogatepass")))


def refusal(content: bytes) -> tuple[Diagnostic, ...]:
    """The faults of a yard file, none where it is sound."""
    try:
        read_yard(content, "yard.yaml")
    except Refused as refused:
        return refused.diagnostics
    return ()
