"""Quantities in words, for keepers who measure in other units."""

from __future__ import annotations

from scheduler.quantities import with_article, words_in


def test_sums_of_degree_days_and_differences_have_no_zero_of_their_own() -> None:
    """For a keeper with US units: nine fifths, without the 32 that a temperature has."""
    assert words_in("85 °C d above 10 °C", "us") == "153 °F d above 50 °F"
    assert words_in("it has to be at least 0.5 °C colder", "us") == "it has to be at least 0.9 °F colder"


def test_a_message_names_what_is_needed_as_a_person_would() -> None:
    """Degree days come as a sum; an area has the other article."""
    assert [with_article(one) for one in ("mass", "area", "degree days")] == ["a mass", "an area", "a sum of degree days"]
