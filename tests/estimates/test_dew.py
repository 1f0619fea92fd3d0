"""The dew point."""

from __future__ import annotations

import psychrolib
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scheduler.estimates import dew


@given(st.floats(0, 45), st.floats(0.1, 1.0))
def test_the_dew_point_agrees_with_a_psychrometric_library(temperature: float, humidity: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    expected = psychrolib.GetTDewPointFromRelHum(temperature, humidity)
    assume(expected >= 0)
    assert dew.dew_point(temperature, humidity) == pytest.approx(expected, abs=0.05)
