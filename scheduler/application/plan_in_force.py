"""The plan in force: what was last published or shown is kept beside the publication, and is where the next plan starts from."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Set
from datetime import date, datetime, timedelta, tzinfo
from typing import Any, NamedTuple

from scheduler.facts.fact import AlertAcknowledged, Recorded, TaskFact
from scheduler.planning.draft import InForce, Kept
from scheduler.planning.incumbent import in_force
from scheduler.planning.plan import Plan
from scheduler.planning.task_ids import current

READER = "plan in force"  # the name under which it is kept among the plans that readers saw
MOST_DAYS = 60  # with planned work that are remembered; assumed
PUT_OFF = timedelta(2)  # assumed
FEWEST_DAYS = 20  # of which the share that was missed says something; assumed


def terms(facts: Iterable[Recorded]) -> int:
    """The sequence of the last fact about anything but tasks: harvests, the yard, the season, readings, treatments. 0 where there is none."""
    return max((one.sequence for one in facts if not isinstance(one.fact, TaskFact | AlertAcknowledged)), default=0)


class Worked(NamedTuple):
    """The days that had work planned, and for each task that was planned for one of them and is still open the first such day."""

    days: frozenset[date] = frozenset()
    first: Mapping[str, date] = {}


NONE = Worked()


def written(plan: Plan, of: int, worked: Worked = NONE) -> str:
    """A plan as it is kept, with the terms it was made under, and the days up to it that had work planned."""
    kept = in_force(plan)
    found: dict[str, Any] = {"terms": of, "tasks": kept.tasks, "counts": kept.counts}
    if worked.days:
        found["days"] = sorted(map(str, worked.days))[-MOST_DAYS:]
        found["first"] = {name: str(day) for name, day in worked.first.items() if name in kept.tasks}
    return json.dumps(found, separators=(",", ":"), ensure_ascii=False)


def days_with_work(text: str | None, now: int, zone: tzinfo) -> Worked:
    """
    The days up to `now` for which the plan in force, or one before it, had hands-on work; what cannot be read has none.

    Work that was put off from day to day makes a day one with work no longer than `PUT_OFF`: it may have been done and not recorded.
    """
    try:
        found = json.loads(text) if text is not None else {"tasks": {}}
        days = {date.fromisoformat(day) for day in found.get("days", ())}
        first = {str(name): date.fromisoformat(day) for name, day in found.get("first", {}).items()}
        for name, row in found["tasks"].items():
            for day in sorted(datetime.fromtimestamp(int(start), zone).date() for spans in (row[2], row[3]) for start, _ in spans if start < now):
                if day - first.setdefault(str(name), day) <= PUT_OFF:
                    days.add(day)
    except (ValueError, TypeError, KeyError, AttributeError, IndexError):
        return NONE
    return Worked(frozenset(days), first)


def share_missed(planned: Set[date], worked: Set[date], today: date) -> float | None:
    """
    The share of days over, with work planned or done, on which none was recorded.

    None where they are too few to say, or none was recorded on any: that is a keeper who does not record.
    """
    first = min(planned, default=today)
    over = {day for day in planned | worked if first <= day < today}
    return len(over - worked) / len(over) if len(over) >= FEWEST_DAYS and over & worked else None


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
