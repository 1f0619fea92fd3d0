"""The plan in force: what was last published or shown is kept beside the publication, and is where the next plan starts from."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

from scheduler.facts.fact import AlertAcknowledged, Recorded, TaskFact
from scheduler.planning.draft import InForce, Kept
from scheduler.planning.incumbent import in_force
from scheduler.planning.plan import Plan
from scheduler.planning.task_ids import current

READER = "plan in force"  # the name under which it is kept among the plans that readers saw


def terms(facts: Iterable[Recorded]) -> int:
    """The sequence of the last fact about anything but tasks: harvests, the yard, the season, readings, treatments. 0 where there is none."""
    return max((one.sequence for one in facts if not isinstance(one.fact, TaskFact | AlertAcknowledged)), default=0)


def written(plan: Plan, of: int) -> str:
    """A plan as it is kept, with the terms it was made under."""
    kept = in_force(plan)
    return json.dumps({"terms": of, "tasks": kept.tasks, "counts": kept.counts}, separators=(",", ":"), ensure_ascii=False)


def read(text: str | None, renamed: Mapping[str, str], now: int) -> InForce | None:
    """The plan in force, by the present names of its tasks; None where none is kept, or what is kept cannot be read: the next is made anew."""
    try:
        found = json.loads(text) if text is not None else None
        if found is None:
            return None
        tasks = {current(str(name), renamed): _kept(*row) for name, row in found["tasks"].items()}
        counts = {current(str(name), renamed): float(count) for name, count in found["counts"].items()}
        return InForce(tasks, counts, int(found["terms"]) != now)
    except (ValueError, TypeError, KeyError, AttributeError):
        return None


def _kept(start: Any, finish: Any, sittings: Any, end_sittings: Any, resources: Any, release: Any) -> Kept:
    first, last = (tuple((int(a), int(b)) for a, b in some) for some in (sittings, end_sittings))
    return Kept(int(start), int(finish), first, last, tuple(str(name) for name in resources), int(release))
