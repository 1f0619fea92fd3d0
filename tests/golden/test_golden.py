"""The plans of the examples are byte for byte what somebody last looked at; `python -m tests.golden --write` renews them."""

from __future__ import annotations

import pytest

from tests.golden.examples import MOMENTS, made, path


@pytest.mark.parametrize("example", list(MOMENTS))
def test_an_example_is_planned_as_before(example: str) -> None:
    """As a table, and one as JSON and as a calendar."""
    for name, content in made(example).items():
        golden = path(example, name).read_bytes()
        assert content.decode() == golden.decode(), f"{name} differs: look, then python -m tests.golden --write"


def test_every_example_has_its_golden() -> None:
    """A new example is added to the list."""
    folder = path("kestrel_bank/ridge-2", "").parents[2] / "examples"
    assert {f"{one.parent.name}/{one.stem}" for one in folder.rglob("*.yaml") if one.name != "yard.yaml"} == set(MOMENTS)
