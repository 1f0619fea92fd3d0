"""A number says what it rests on. The numbers are invented."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from scheduler.rules.parameter import Parameter, TreatmentRow

NUMBER = {"value": "12 h", "basis": "assumed", "checked": "2026-11-25"}


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"basis": "published"}, 'a parameter with basis "published" needs its source'),
        ({"basis": "known"}, "Input should be"),
        ({"checked": "yesterday"}, "is not a date"),
        ({"checked": "1066-10-14"}, "1066"),
        ({"checked": None}, "is not a date"),
    ],
)
def test_a_number_that_nobody_can_check_is_refused(more: dict[str, Any], said: str) -> None:
    """Published where, resting on what, looked at when."""
    with pytest.raises(ValidationError, match=said):
        Parameter.model_validate({**NUMBER, **more})


def test_one_source_may_stand_without_a_list() -> None:
    """And several with one."""
    assert Parameter.model_validate({**NUMBER, "basis": "published", "source": "W1"}).source == ("W1",)
    assert Parameter.model_validate({**NUMBER, "source": ["W1", "W2"]}).source == ("W1", "W2")


def test_a_row_of_the_table_of_treatments_is_parameters_of_its_set() -> None:
    """Each by the name of the active ingredient and its key; what the row leaves out is none."""
    row = TreatmentRow.model_validate(dict.fromkeys(("days at least", "length", "longest", "wait", "fed", "supers"), NUMBER))
    named = row.named("formic acid")
    assert {name: key for name, (key, _) in named.items()} == {
        f"formic acid {key}": key for key in ("days at least", "length", "longest", "wait", "fed", "supers")
    }
