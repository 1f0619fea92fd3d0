"""Quantities in words, for keepers who measure in other units."""

from __future__ import annotations

import pytest

from scheduler.diagnostics import Fault
from scheduler.quantities import parse, reworded, show, show_duration, with_article


def test_sums_of_degree_days_and_differences_have_no_zero_of_their_own() -> None:
    """For a keeper with US units: nine fifths, without the 32 that a temperature has."""
    assert [show(85, "degree days", "us"), show(10, "temperature", "us"), show(0.5, "temperature difference", "us")] == ["153 °F d", "50 °F", "0.9 °F"]


@pytest.mark.parametrize(
    ("value", "dimension", "shown"),
    [
        (27.0, "mass", "60 lb"),
        (2.67, "mass", "5.9 lb"),
        (0.228, "mass", "8 oz"),
        (0.0508, "length", "2 in"),
        (200.0, "length", "656 ft"),
        (0.4572, "height", "18 in"),
        (8.0, "surface coefficient", "1.41 Btu/h ft² °F"),
        (1390.0, "density", "86.8 lb/cu ft"),
        (0.0909218, "volume", "24 gal"),
        (0.000350, "volume", "11.8 fl oz"),
        (0.198218, "space", "7 cu ft"),
    ],
)
def test_us_quantities_read_as_the_instrument_shows_them(value: float, dimension: str, shown: str) -> None:
    """Factors by NIST Handbook 44, Appendix C: 27 kg is 59.52 lb, which a scale for hives shows as 60."""
    assert show(value, dimension, "us") == shown


@pytest.mark.parametrize(
    ("written", "us"),
    [
        ("27 to 41 kg", "60 to 90 lb"),
        ("4 to 15 °C", "39 to 59 °F"),
        ("-78.5 °C", "-109 °F"),
        ("5 m³", "180 cu ft"),
        ("2 K", "3.6 °F"),
        ("120 cm", "47.2 in"),
        ("24 h", "24 h"),
        ("60 lb", "60 lb"),
    ],
)
def test_what_an_author_wrote_is_told_in_the_keepers_units_to_as_many_digits(written: str, us: str) -> None:
    """ "27 to 41 kg" is about as much, and "60 to 90 lb" claims no more; metric keepers read what was written."""
    assert reworded(written, "us") == us
    if written != us:
        assert reworded(written, "metric") == written


def test_a_word_that_is_no_quantity_is_refused_where_one_stands_in_braces() -> None:
    """The author hears what to write, as of any other quantity."""
    with pytest.raises(Fault, match="not a quantity known here"):
        reworded("27 stone", "us")


def test_a_message_names_what_is_needed_as_a_person_would() -> None:
    """Degree days come as a sum; an area has the other article."""
    assert [with_article(one) for one in ("mass", "area", "degree days")] == ["a mass", "an area", "a sum of degree days"]


WRITTEN = [("72 hours", 259_200.0), ("1 hour", 3_600.0), ("90 minutes", 5_400.0), ("1 h 30 min", 5_400.0), ("6 d 3 h", 529_200.0)]


@pytest.mark.parametrize(("text", "seconds"), WRITTEN)
def test_a_duration_is_read_as_people_write_it(text: str, seconds: float) -> None:
    """Also as this program shows it."""
    assert parse(text, "duration") == seconds
    assert parse(show_duration(seconds), "duration") == seconds


@pytest.mark.parametrize("text", ["1 h 30 kg", "1 h 30", "1 mass 2 h"])
def test_a_duration_of_other_parts_is_none(text: str) -> None:
    """Each part is a duration."""
    with pytest.raises(Fault, match="duration"):
        parse(text, "duration")
