"""Amounts, conditions and words of cards, as a keeper writes them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.rules.amounts import amount, condition, kind_of, plain
from scheduler.rules.environment import Environment, Parameters
from scheduler.rules.expressions import dimension_of
from scheduler.rules.templates import render
from scheduler.rules.vocabulary import SAMPLES

PARAMETERS = Parameters({"drain floor": 43_200.0, "coldest": -18.5, "wanted": True, "word": 'say "so"'})
ENV = Environment(SAMPLES, PARAMETERS)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("12 h", "duration", 43_200.0),
        ("0", "duration", 0.0),
        ("-15 °C", "temperature", -15.0),
        ("90 L", "any", 0.09),
        ("24", "any", 24.0),
        ("$drain floor", "duration", 43_200.0),
        ("lot.pieces", "count", 20.0),
        ("param.drain_floor + q('2 h')", "duration", 50_400.0),
        ("param.coldest - 1.5", "temperature", -20.0),
        ("room.temperature - param.coldest", "temperature difference", 39.5),
        ("lot.disease ? q('1 h') : q('2 h')", "duration", 7_200.0),
    ],
)
def test_an_amount_is_a_quantity_a_parameter_or_an_expression(text: str, dimension: str, value: float) -> None:
    """All three give one SI number."""
    assert amount(text, dimension, ENV).value == value


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("12 h", "quantity"),
        ("12 hours", "quantity"),
        ("1 1/4 in", "quantity"),
        ("$a b", "parameter"),
        ("2.0 * lot.frames", "expression"),
        ("lot.frames", "expression"),
    ],
)
def test_the_kind_of_an_amount_is_seen_from_its_text(text: str, kind: str) -> None:
    """A number with a word behind it is a quantity even where the unit is unknown, so that the unit is what is told."""
    assert kind_of(text) == kind


def test_an_unknown_unit_is_told_as_a_unit() -> None:
    """Not as a fault of an expression."""
    with pytest.raises(Fault, match='"bells" is not a unit of duration'):
        amount("12 bells", "duration", ENV)


@pytest.mark.parametrize(
    ("text", "dimension"),
    [("2 K", "temperature difference"), ("-15 °C", "temperature"), ("9 kg/day", "mass rate"), ("24", "count"), ("17.4 %", "share"), ("85 °C d", "degree days")],
)
def test_a_unit_tells_the_dimension(text: str, dimension: str) -> None:
    """Kelvin is a difference, degrees Celsius a temperature."""
    assert dimension_of(text) == dimension


def test_an_estimate_called_in_an_expression_is_recorded_with_its_range() -> None:
    """The plan uses the safe end; the reason needs the whole estimate."""
    found = amount("drain_time(room.temperature, lot.moisture)", "duration", ENV)
    ((name, estimate),) = found.estimates
    assert name == "drain_time"
    assert found.value == estimate.safe
    assert estimate.low < estimate.value < estimate.high


def test_a_freezer_that_never_kills_gives_an_endless_hold_and_the_reason() -> None:
    """A refusal is a value, so that the plan can say it in words."""
    found = amount("freeze_hold(batch, lot, freezer)", "duration", ENV.child(freezer=SAMPLES["freezer"] | {"temperature": -3.0}))
    assert math.isinf(found.value)
    assert found.estimates[0][1].refusal


@pytest.mark.parametrize(
    ("text", "holds"),
    [("lot.pieces > 0.0", True), ("true", True), ("param.wanted && lot.kind == 'extracted'", False), ("lot.frame in ['shallow', 'medium']", True)],
)
def test_a_condition_holds_or_does_not(text: str, holds: bool) -> None:
    """Comparisons of SI numbers, words and yes or no."""
    assert condition(text, ENV) is holds


@pytest.mark.parametrize("text", ["lot.pieces", "lot.kind", "drain_time(20.0, 0.17)"])
def test_a_condition_that_is_neither_true_nor_false_is_refused(text: str) -> None:
    """A number is not taken for yes."""
    with pytest.raises(Fault, match="must give true or false"):
        condition(text, ENV)


def test_words_are_filled_in_the_yards_units() -> None:
    """Plain numbers as they are, quantities as the keeper measures."""
    assert render("{lot.pieces} pieces, {mass: lot.mass}, {duration: $drain floor}", ENV) == "20 pieces, 6 kg, 12 h"
    ounces = ENV.child(yard=SAMPLES["yard"] | {"units": "us"})
    assert render("{temperature: param.coldest} {mass: lot.mass}", ounces) == "-1 °F 13.2 lb"
    assert render("{{as is}} {lot.disease ? 'sick }' : 'sound'}", ENV) == "{as is} sound"


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=200))
def test_words_without_places_come_out_as_they_went_in(words: str) -> None:
    """Any text survives when its braces are doubled."""
    assert render(words.replace("{", "{{").replace("}", "}}"), ENV) == words


@given(st.text(max_size=80))
def test_any_text_gives_a_number_or_a_fault(text: str) -> None:
    """Nothing a person can write brings up anything but a number or a sentence."""
    try:
        found: float | str = amount(text, "duration", ENV).value
    except Fault as fault:
        found = fault.message
    assert isinstance(found, float) or found.strip()


@given(st.floats(min_value=-1e9, max_value=1e9).filter(lambda value: abs(value) > 1e-9))
def test_a_number_is_told_to_three_digits(value: float) -> None:
    """Rounded, never in powers of ten."""
    told = plain(value)
    assert "e" not in told
    assert float(told) == pytest.approx(value, rel=5.1e-3)
