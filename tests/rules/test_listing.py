"""What a reader asks of rules: how old a number is, what a card reads, and the JSON Schema for editors."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jsonschema
import pytest

from scheduler.diagnostics import Fault
from scheduler.documents import read
from scheduler.rules.listing import cutoff, json_schema
from scheduler.rules.load import bundled

BROKEN = Path(__file__).resolve().parent / "broken"


def validator() -> Any:
    """A validator of draft 2020-12, after the schema itself was checked."""
    jsonschema.Draft202012Validator.check_schema(json_schema())
    return jsonschema.Draft202012Validator(json_schema())


def test_every_bundled_file_is_valid() -> None:
    """The short ways of writing are in the schema too."""
    for file in bundled().iterdir():
        if file.name.endswith(".yaml"):
            assert list(validator().iter_errors(read(file.read_bytes(), file.name).data)) == []


@pytest.mark.parametrize("case", ["unknown_keys", "unsourced", "empty_expectation"])
def test_a_file_of_the_wrong_shape_is_invalid_or_left_to_the_check(case: str) -> None:
    """Unknown and missing keys are marked while typing; what one field says against another is for `rules check`."""
    errors = list(validator().iter_errors(read((BROKEN / f"{case}.yaml").read_bytes(), case).data))
    assert errors


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
