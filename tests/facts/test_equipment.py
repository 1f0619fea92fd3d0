"""What the keeper works with: measured one way, and taken in part for some time. All invented."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from pydantic import ValidationError

from scheduler.facts.equipment import Equipment, Reservation

MORE = {"equipment": "freezer", "from": "2026-11-01", "to": "2026-11-20"}


@pytest.mark.parametrize(
    ("written", "measure", "capacity"),
    [
        ({"space": "90 L"}, "space", 0.09),
        ({"volume": "13 gal"}, "volume", 0.04921),  # a US gallon is 3.785411784 L by definition
        ({"pieces": "24 pieces"}, "pieces", 24.0),
        ({"buckets": 3}, "buckets", 3.0),
        ({"boxes": "2 boxes"}, "boxes", 2.0),
        ({}, None, None),
    ],
)
def test_it_holds_what_its_one_measure_says(written: dict[str, Any], measure: str | None, capacity: float | None) -> None:
    """Room in m³, or a count; nothing where nothing is said, which is no limit."""
    found = Equipment.model_validate(written)
    assert found.measure == measure
    assert found.capacity == (None if capacity is None else pytest.approx(capacity, rel=1e-4))


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ({"space": "90 L", "pieces": 24}, "it is measured twice, by space and by pieces"),
        ({"pieces": 0}, "is not a number of pieces"),
        ({"pieces": 2.5}, "is not a number of pieces"),
        ({"space": "0 L"}, "is not above zero"),
        ({"temperature": "-91 °C"}, "is not possible"),
        ({"temperature error": "6 K"}, "is not possible"),
        ({"air": "gale"}, "is not known here"),
        ({"stowed": "heaped"}, "is not known here"),
    ],
)
def test_what_can_not_be_is_refused(written: dict[str, Any], said: str) -> None:
    """Measured twice, by no number, beyond what a freezer can be."""
    with pytest.raises(ValidationError, match=said):
        Equipment.model_validate(written)


def test_a_reservation_takes_its_amount_from_one_day_to_another() -> None:
    """Both counted; one day is enough."""
    found = Reservation.model_validate({**MORE, "space": "60 L", "for": "sour cherries"})
    assert (found.amount, found.from_, found.to) == (pytest.approx(0.06), date(2026, 11, 1), date(2026, 11, 20))
    assert Reservation.model_validate({**MORE, "to": "2026-11-01", "pieces": 4}).amount == 4.0


@pytest.mark.parametrize(
    ("written", "said"),
    [(MORE, "does not say how much is taken"), ({**MORE, "to": "2026-10-31", "space": "60 L"}, "it ends on 2026-10-31, before it begins")],
)
def test_a_reservation_of_nothing_or_backwards_is_refused(written: dict[str, Any], said: str) -> None:
    """With what to write."""
    with pytest.raises(ValidationError, match=said):
        Reservation.model_validate(written)


def test_what_is_there_at_times_only_is_one_piece_of_itself() -> None:
    """A club's extractor has hours and no measure; with a measure that counts. Hours are written as free hours are."""
    club = Equipment.model_validate({"available": {"2026-08-15": "09:00-13:00"}})
    assert (club.capacity, club.measure) == (1.0, None)
    assert Equipment.model_validate({"frames": 4, "available": {"sat": "09:00-13:00"}}).capacity == 4.0
    with pytest.raises(ValidationError, match='"sunrday" is not a day'):
        Equipment.model_validate({"available": {"sunrday": "09:00-13:00"}})
