"""The ids of alerts and summaries: what is made is read back, whatever a task, a day or a person is called."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.application.alert_ids import AlertKey, SummaryKey, alert_key, read_alert_key, read_summary_key, summary_key

TASKS = st.from_regex(r"[A-Za-z0-9_-]{1,12}(/[a-z0-9-]{1,12}){1,2}(\.[1-9]){0,2}", fullmatch=True)
PEOPLE = st.text(st.characters(exclude_characters="@\n\t"), min_size=1, max_size=12)  # the yard file refuses a name with @


@given(TASKS, st.integers(0, 20), PEOPLE)
def test_whose_alert_it_is_reads_back(task: str, number: int, person: str) -> None:
    """A press comes back with the id alone."""
    assert read_alert_key(alert_key(task, number, person)) == AlertKey(task, number, person)
    assert read_summary_key(alert_key(task, number, person)) is None


@given(st.sampled_from(["morning", "evening"]), st.dates(date(1950, 1, 1), date(2149, 12, 31)), PEOPLE)
def test_a_summary_reads_back_and_is_no_alert_of_a_task(kind: str, day: date, person: str) -> None:
    """Its number is one that no alert has."""
    key = summary_key(kind, day, person)
    assert read_summary_key(key) == SummaryKey(kind, day, person)
    assert read_alert_key(key) == AlertKey(f"summary/{kind}/{day.isoformat()}", -1, person)


@pytest.mark.parametrize("key", ["ridge-2/a/drain#x@keeper", "ridge-2/a/drain@keeper"])
def test_what_has_no_number_is_no_alert_of_a_task(key: str) -> None:
    """Of a ledger that somebody edited."""
    assert read_alert_key(key).number == -1


def test_the_grammar_stays_as_ledgers_hold_it() -> None:
    """As version 0.1.0 wrote them."""
    assert alert_key("ridge-2/a/drain", 0, "keeper") == "ridge-2/a/drain#0@keeper"
    assert summary_key("morning", date(2026, 8, 12), "keeper") == "summary/morning/2026-08-12@keeper"
