"""More room in the freezer and on the rack."""

from __future__ import annotations

import pytest

from tests.planning.roomier import anomalies


@pytest.mark.slow
def test_more_room_hardly_ever_costs_more() -> None:
    """Of 120 yards with half as much room again, two at most cost more, and by under 2 % (measured: 3 of 400, by 1.9 % at most)."""
    found = list(anomalies(120))
    assert len(found) <= 2
    assert all(one.share < 0.02 for one in found)
