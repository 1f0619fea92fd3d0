"""The ids of alerts. They lie in ledgers and come back with a press, so their grammar stays as it is.

ridge-2/a/drain#0@keeper           the first alert of a task, for one person
summary/morning/2026-08-12@keeper  a summary of a day
"""

from __future__ import annotations

import re
from datetime import date
from typing import NamedTuple

_SUMMARY = re.compile(r"summary/(?P<kind>\w+)/(?P<day>\d{4}-\d{2}-\d{2})@(?P<person>.*)", re.DOTALL)


class AlertKey(NamedTuple):
    """Whose alert it is, and which of its task's; number -1 for what is no alert of a task."""

    task: str
    number: int
    person: str


class SummaryKey(NamedTuple):
    """A summary: "morning" or "evening", and the day on which it goes out."""

    kind: str
    day: date
    person: str


def alert_key(task: str, number: int, person: str) -> str:
    """The id of a task's alert for a person."""
    return f"{task}#{number}@{person}"


def summary_key(kind: str, day: date, person: str) -> str:
    """The id of a summary for a person."""
    return f"summary/{kind}/{day.isoformat()}@{person}"


def read_alert_key(key: str) -> AlertKey:
    """What an id says."""
    rest, _, person = key.rpartition("@")
    task, mark, number = rest.rpartition("#")
    return AlertKey(task, int(number), person) if mark and number.isdigit() else AlertKey(rest, -1, person)


def read_summary_key(key: str) -> SummaryKey | None:
    """None for an alert of a task."""
    match = _SUMMARY.fullmatch(key)
    return SummaryKey(match["kind"], date.fromisoformat(match["day"]), match["person"]) if match else None
