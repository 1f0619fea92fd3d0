"""Ticks on a to-do whose hold still runs: they end nothing, and the agenda asks about each until the hold is over, or the task done."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping

from scheduler.ledger.store import Ledger
from scheduler.planning.plan import Plan, Warning
from scheduler.quantities import instant, say

_KEPT = "early ticks"


def note_early_ticks(ledger: Ledger, ticked: Mapping[str, int], now: int) -> None:
    """Keep when each hold was ticked before it was over [epoch s]."""
    if ticked:
        ledger.outgoing.see(_KEPT, now, json.dumps({**_noted(ledger), **ticked}, sort_keys=True))


def _noted(ledger: Ledger) -> dict[str, int]:
    kept = ledger.outgoing.last_seen(_KEPT)
    return {str(task): int(at) for task, at in json.loads(kept[1]).items()} if kept else {}


def early_ticks(ledger: Ledger, plan: Plan, now: int) -> Iterator[Warning]:
    """What to ask about: the holds that were ticked since they began, and still run at `now` [epoch s]."""
    noted = _noted(ledger)
    for task in plan.tasks:
        at = noted.get(task.id)
        if at is not None and task.is_open and task.begun and task.hold_done is not None and task.start < at < task.hold_done and now < task.hold_done:
            yield Warning("ticked early", task.id, say("ticked early", title=task.title, at=instant(at), until=instant(task.hold_done), task=task.id))
