"""The JSON Schema of a rule file, for editors."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jsonschema
import pytest

from scheduler.documents import read
from scheduler.rules.listing import json_schema
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
