"""Options that take a quantity with its unit."""

from __future__ import annotations

from typing import Any

import click
import pytest

from scheduler.cli.quantity_options import QuantityType, Size


@pytest.mark.parametrize(("dimension", "typed", "value"), [("temperature", "0 °F", -17.7778), ("duration", "90 min", 5400.0), ("mass", 2.5, 2.5)])
def test_a_quantity_is_si_in_either_system(dimension: str, typed: Any, value: float) -> None:
    """A default is a number already."""
    assert QuantityType(dimension).convert(typed, None, None) == pytest.approx(value, abs=1e-4)


@pytest.mark.parametrize(
    ("typed", "sides", "metres"),
    [
        ("102 x 51 x 32 mm", 3, (0.102, 0.051, 0.032)),
        ("4 x 2 in", 2, (0.1016, 0.0508)),  # 25.4 mm by definition
        ("4 in X 2 in", 2, (0.1016, 0.0508)),
        ("4 in × 2 in × 1 1/4 in", 3, (0.1016, 0.0508, 0.03175)),
        ("10 cm x 0.5 in", 2, (0.1, 0.0127)),
    ],
)
def test_the_last_unit_holds_for_sides_that_have_none(typed: str, sides: int, metres: tuple[float, ...]) -> None:
    """Whichever sign stands between them."""
    assert Size(sides).convert(typed, None, None) == pytest.approx(metres)


@pytest.mark.parametrize(
    ("kind", "typed", "said"),
    [
        (QuantityType("temperature"), "20", "20 has no unit"),
        (QuantityType("temperature"), "2 h", "is a duration; a temperature is needed"),
        (Size(3), "4 x 2 in", '"4 x 2 in" has 2 sides, 3 are needed; write "102 x 51 x 32 mm"'),
        (Size(2), "4 x 2", 'write "4 x 2 in"'),
        (Size(2), "4 x 2 kg", 'write "4 x 2 in"'),
    ],
)
def test_what_is_none_is_refused_with_what_to_write(kind: QuantityType | Size, typed: str, said: str) -> None:
    """No unit, another dimension, a side too few."""
    with pytest.raises(click.BadParameter, match=r"^") as refused:
        kind.convert(typed, None, None)
    assert said in refused.value.message
    assert "write" in refused.value.message
