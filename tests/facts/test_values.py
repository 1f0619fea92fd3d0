"""How a person writes words, yes and no, dates and quantities; what is none of these is refused with what to write."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from typing import Annotated, Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from scheduler.diagnostics import Fault
from scheduler.facts.values import (
    LONGEST_TEXT,
    Reads,
    between,
    number_between,
    one_of,
    positive,
    read_date,
    read_id,
    read_many,
    read_name,
    read_text,
    read_yes_no,
    several_faults,
    whole,
)


def read(how: Reads, value: Any) -> Any:
    """A value as a field reads it; the `Fault` itself where it is refused."""
    try:
        return TypeAdapter(Annotated[Any, how]).validate_python(value)
    except ValidationError as error:
        raise error.errors()[0]["ctx"]["error"] from None


@pytest.mark.parametrize(("written", "text"), [("  two\nlines ", "two\nlines"), (7, "7"), ("x" * LONGEST_TEXT, "x" * LONGEST_TEXT)])
def test_text_is_what_stands_there(written: Any, text: str) -> None:
    """A whole number too: a lot may be called 7."""
    assert read_text(written) == text


@pytest.mark.parametrize(
    ("reader", "written", "said"),
    [
        (read_text, True, "text is needed"),
        (read_text, 1.5, "text is needed"),
        (read_text, None, "text is needed"),
        (read_text, "  ", "the text is empty"),
        (read_text, "x" * (LONGEST_TEXT + 1), "the text has 501 characters"),
        (read_text, "a\x07b", "a control character"),
        (read_name, "two\nlines", "a name is one line"),
        (read_name, "x" * 81, "a name is one line"),
        (read_id, "-a", "cannot be a name here"),
        (read_id, "ridge 2", "cannot be a name here"),
        (read_id, "x" * 65, "cannot be a name here"),
        (read_yes_no, "maybe", "is neither yes nor no"),
        (read_yes_no, 1, "is neither yes nor no"),
        (read_date, "11 August", "is not a date"),
        (read_date, "2026-02-29", "is no day of the calendar"),
        (read_date, "1949-12-31", "1950"),
        (read_date, "2150-01-01", "2149"),
    ],
)
def test_what_is_none_of_these_is_refused_with_a_cure(reader: Callable[[Any], Any], written: Any, said: str) -> None:
    """Each for its own reason."""
    with pytest.raises(Fault, match=said) as refused:
        reader(written)
    assert refused.value.write


@given(st.text(min_size=1, max_size=70))
def test_the_cure_of_an_id_is_one(text: str) -> None:
    """Whatever was typed, what is to be written instead is taken."""
    assume(text.strip() and not re.search(r"[\x00-\x1f]", text.strip()))
    if re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}", text.strip()):
        assert read_id(text) == text.strip()
        return
    with pytest.raises(Fault, match="cannot be a name here") as refused:
        read_id(text)
    assert read_id(refused.value.write) == refused.value.write


@given(st.dates(date(1950, 1, 1), date(2149, 12, 31)))
def test_a_day_reads_back(day: date) -> None:
    """As it is written everywhere."""
    assert read_date(day.isoformat()) == day


@pytest.mark.parametrize(("written", "meant"), [("yes", True), (" No ", False), ("TRUE", True), (False, False)])
def test_yes_and_no_are_read_in_any_letters(written: Any, meant: bool) -> None:
    """And as YAML has them."""
    assert read_yes_no(written) is meant


def test_one_entry_is_a_list_of_one() -> None:
    """A list stays as it is."""
    assert read_many("a") == ["a"]
    assert read_many(["a", "b"]) == ["a", "b"]


@pytest.mark.parametrize(
    ("how", "written", "value"),
    [
        (between("temperature", "-40 °C", "60 °C"), "-40 °F", -40.0),  # the two scales meet there
        (between("temperature", "-40 °C", "60 °C"), "60 °C", 60.0),
        (positive("length"), "330 ft", 100.584),  # 0.3048 m by definition
        (number_between(-90, 90, "latitude"), -90, -90.0),
        (whole("frames", 100), "14 frames", 14),
        (whole("frames", 100), 100, 100),
        (one_of("metric", "us"), " us ", "us"),
    ],
)
def test_a_quantity_is_read_within_its_bounds(how: Reads, written: Any, value: Any) -> None:
    """Both ends counted, in the keeper's own units."""
    assert read(how, written) == (pytest.approx(value) if isinstance(value, float) else value)


@pytest.mark.parametrize(
    ("how", "written", "said"),
    [
        (between("temperature", "-40 °C", "60 °C", " indoors"), "60.1 °C", '"60.1 °C" is not possible indoors'),
        (between("temperature", "-40 °C", "60 °C"), 20, "has no unit"),
        (between("temperature", "-40 °C", "60 °C"), "2 h", "is a duration; a temperature is needed"),
        (between("temperature", "-40 °C", "60 °C"), ["20 °C"], "a temperature is needed"),
        (positive("length"), "0 m", "is not above zero"),
        (number_between(-90, 90, "latitude"), 90.01, "is not a latitude"),
        (number_between(-90, 90, "latitude"), "46 N", "is not a latitude"),
        (number_between(-90, 90, "latitude"), True, "is not a latitude"),
        (whole("frames", 100), 101, "is not a number of frames"),
        (whole("frames", 100), "a few", "is not a number of frames"),
        (whole("frames", 100), 1.5, "is not a number of frames"),
        (one_of("metric", "us"), "imperial", '"imperial" is not known here'),
    ],
)
def test_a_quantity_outside_its_bounds_is_refused(how: Reads, written: Any, said: str) -> None:
    """A hair outside, without its unit, of another kind, and no number at all."""
    with pytest.raises(Fault, match=said) as refused:
        read(how, written)
    assert refused.value.write


def test_each_of_several_faults_keeps_its_place() -> None:
    """Below the field they were found in."""
    error = several_faults("hands", [(("mon",), "x", Fault("no")), (("tue", 1), "y", Fault("neither"))])
    assert [(one["loc"], one["input"], one["ctx"]["error"].message) for one in error.errors()] == [(("mon",), "x", "no"), (("tue", 1), "y", "neither")]
