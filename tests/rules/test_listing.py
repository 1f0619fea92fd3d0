"""What a reader asks of rules: how old a number is."""

from __future__ import annotations

import pytest

from scheduler.diagnostics import Fault
from scheduler.rules.listing import cutoff


@pytest.mark.parametrize(
    ("age", "as_of", "day"),
    [("3y", "2026-11-25", "2023-11-25"), ("1 y", "2024-02-29", "2023-02-28"), ("18 months", "2026-03-31", "2024-09-30"), ("90 d", "2026-11-25", "2026-08-27")],
)
def test_an_age_counts_back_by_the_calendar(age: str, as_of: str, day: str) -> None:
    """Years and months end on the last day of a shorter month."""
    assert cutoff(age, as_of).isoformat() == day


@pytest.mark.parametrize(
    ("age", "as_of", "said"),
    [
        ("3", "2026-11-25", '"3" is not an age'),
        ("3 moons", "2026-11-25", '"3 moons" is not an age'),
        ("3y", "yesterday", '"yesterday" is not a date'),
        ("9999y", "2026-11-25", '"9999y" reaches back before the calendar'),
    ],
)
def test_nonsense_for_an_age_is_refused(age: str, as_of: str, said: str) -> None:
    """With what to write instead."""
    with pytest.raises(Fault, match=said) as refused:
        cutoff(age, as_of)
    assert refused.value.write
