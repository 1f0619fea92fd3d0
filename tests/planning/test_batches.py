"""A load larger than the freezer or the rack in batches; `test_expand.py` shows whole loads."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from scheduler.planning.batches import largest


@given(st.floats(0.0, 100.0), st.integers(0, 500), st.floats(0.01, 5.0), st.floats(0.0, 2.0))
def test_the_largest_batch_is_the_last_that_fits(capacity: float, total: int, each: float, rim: float) -> None:
    """Counted up one by one: packages of one size and the rim of the tray they stand in."""
    fits = [count for count in range(1, total + 1) if count * each + rim <= capacity * (1 + 1e-9)]
    assert largest(capacity, total, lambda count: count * each + rim) == max(fits, default=0)
