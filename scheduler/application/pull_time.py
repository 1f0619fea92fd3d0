"""Whether it is time to pull, from what the ledger knows of the season and the rules ask."""

from __future__ import annotations

from datetime import datetime

from scheduler.application.ledger_view import LedgerView
from scheduler.local_time import DAY
from scheduler.outputs.text.pull_table import time_text
from scheduler.planning.is_it_time import Asked, Sample, is_it_time

CAPPED, TREATMENT_BY = 0.8, 21 * DAY  # where the keeper's own rules no longer say; common practice, assumed


def asked_of(view: LedgerView) -> Asked:
    """What the yard and its rules ask of a pull."""
    row = view.rules.treatments.get(view.yard.treatment or "", {})
    by, capped = view.rules.number("treatment by", TREATMENT_BY), view.rules.number("capped at least", CAPPED)
    return Asked(capped, view.yard.limits.moisture, by, float(row.get("length", 0.0)), view.yard.treatment if row else None)


def is_it_time_text(view: LedgerView, sample: Sample, apiary: str | None, now: int, width: int) -> str:
    """What speaks for pulling now and what against, in words; of an `apiary` where the yard has several."""
    today, seen = datetime.fromtimestamp(now, view.zone).date(), view.seen_at(apiary)
    evidence = {mark: words[-1] for mark, words in seen.evidence.items() if words}
    spoken = is_it_time(seen.season, today, sample, asked_of(view), evidence)
    return time_text(spoken, today, apiary or view.yard.yard, view.words, width)
