"""What speaks for a pull today and what against. The marks are those of the invented Kestrel Bank: flow to 20 July, robbing from 25 July to 15 October."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.local_time import DAY
from scheduler.planning.is_it_time import Asked, Sample, is_it_time
from tests.planning.whole import yard

ASKED = Asked(capped=0.8, moisture=0.186, treatment_by=21 * DAY, treatment_length=7 * DAY, active="formic acid")
NOTHING = Sample()


def kinds(today: str, sample: Sample = NOTHING, asked: Asked = ASKED) -> tuple[list[str], list[str]]:
    """What speaks for it and against, by kind."""
    found = is_it_time(yard().season, date.fromisoformat(today), sample, asked, {})
    return [one.kind for one in found.for_], [one.kind for one in found.against]


def test_in_the_flow_it_speaks_against_and_after_it_for() -> None:
    """With the number of days; one in spring, weeks before anything, says nothing."""
    assert kinds("2026-07-12")[1] == ["flow goes on"]
    assert "robbing begins" in kinds("2026-07-12")[0]
    assert kinds("2026-07-20")[0][0] == "flow ends today"
    assert kinds("2026-08-01")[0][0] == "flow is over"
    assert kinds("2026-08-01")[1] == ["robbing is on"]
    assert kinds("2026-03-01") == ([], [])


@pytest.mark.parametrize(
    ("sample", "for_", "against"),
    [
        (Sample(0.8, 0.186), ["capped enough", "dry enough"], []),
        (Sample(0.79, 0.187), [], ["capped too little", "too wet to pull"]),
        (Sample(None, 0.17), ["dry enough"], []),
    ],
)
def test_a_sample_speaks_by_the_least_capped_share_and_the_yards_limit(sample: Sample, for_: list[str], against: list[str]) -> None:
    """At the limit it is still ripe, and dry enough."""
    found = kinds("2026-03-01", sample)
    assert found == (for_, against)


def test_a_treatment_that_needs_warm_days_speaks_for_it_and_one_that_nobody_chose_says_nothing() -> None:
    """Formic acid takes 7 d before the last warm day; a pull so late that it could not begin in time is told as late."""
    assert "treatment can begin" in kinds("2026-08-10")[0]
    assert "treatment is late" in kinds("2026-10-09")[0]
    assert not [kind for kind in kinds("2026-10-09", asked=ASKED._replace(active=None))[0] if "treatment" in kind]


@given(st.dates(date(2025, 1, 1), date(2028, 12, 31)), st.floats(0, 1), st.floats(0.13, 0.25))
def test_nothing_speaks_both_ways_on_any_day(today: date, capped: float, moisture: float) -> None:
    """And each thing is said once."""
    for_, against = kinds(today.isoformat(), Sample(capped, moisture))
    assert len({*for_, *against}) == len(for_) + len(against)
    assert sum(kind.startswith(("capped", "dry", "too wet")) for kind in (*for_, *against)) == 2
