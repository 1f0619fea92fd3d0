"""What is wanted of lots by when: packages for a market, jars for a neighbour; checked against what there is and what can be ready."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import NamedTuple, cast

from scheduler.application.ledger_view import LedgerView
from scheduler.application.lookup import lot_named, lots_of, moment_of
from scheduler.diagnostics import Fault, instead
from scheduler.facts.fact import Recorded, Wanted, WantedKind, in_force
from scheduler.planning.expand import Expansion
from scheduler.planning.planner import Planning
from scheduler.planning.problem import Problem
from scheduler.planning.task_ids import path_of
from scheduler.quantities import instant, say

SAMPLE = 'afterpull want 12 packages of a by "sat 5 sep 08:00"'
MARKET = "market"
_WORDS = re.compile(r"(?P<count>\d+)\s+(?P<what>packages?|jars?)\s+of\s+(?P<lot>\S+)\s+by\s+(?P<until>.+)", re.IGNORECASE)


class Answer(NamedTuple):
    """A want as it can be recorded, in words; `doubt` says what can be met where this one cannot."""

    fact: Wanted
    words: str
    doubt: str | None = None


def want(view: LedgerView, text: str, who: str, now: int) -> Answer:
    """A want from words such as "12 packages of a by sat 5 sep 08:00". Raises `Fault` for an unknown or stopped lot, or more than there is."""
    match = _WORDS.fullmatch(" ".join(text.split()))
    if match is None:
        raise Fault(f'"{text}" does not say what is wanted', SAMPLE)
    lot, what, count = lot_named(match["lot"], lots_of(view)), cast(WantedKind, match["what"].lower().rstrip("s") + "s"), int(match["count"])
    until = _until(view, match["until"], now)
    if until <= now:
        raise Fault(f"{match['until']} is past", "a time to come")
    _refuse_stopped(view, lot)
    there = stock_of(view.problem, lot).get(what, 0)
    taken = sum(one.units for one in view.happened.wants if (one.lot, one.what) == (lot, what))
    if not 0 < count <= there - taken:
        left = f"{there - taken:g} of {there:g} are left" if taken else f"there are {there:g}"
        raise Fault(f"{count} {what} of {lot} cannot be: {left}", f"up to {max(0, there - taken):g}" if there > taken else "another lot")
    number = 1 + max((one.fact.number for one in view.recorded if isinstance(one.fact, Wanted) and one.fact.lot == lot), default=0)
    fact = Wanted(occurred_at=now, lot=lot, what=what, number=number, count=count, until=until, who=who)
    says = say("wanted", count=count, what=what, lot=lot, at=instant(until))
    return Answer(fact, view.words(says), _doubt(view, fact))


def stock_of(problem: Problem, lot: str) -> dict[str, int]:
    """How many packages and jars a lot ("ridge-2/a") makes; of chunk honey too."""
    planning = Planning(problem)
    contexts = Expansion(planning.problem, planning.pulls, planning.moments).contexts
    names = next((found["lot"] for subject, found in contexts.items() if subject.lot and subject.path() == lot), None)
    return {} if names is None else {"packages": int(names["packages"]), "jars": int(names["jars"] + names["chunk_jars"])}


def listed(view: LedgerView, now: int) -> list[str]:
    """Every want that is still to come, by its time."""
    coming = sorted((fact for _, fact in _standing(view) if fact.until > now), key=lambda one: (one.until, one.lot, one.number))
    said = [say("wanted listed", count=one.count, what=one.what, lot=one.lot, at=instant(one.until), name=f"{one.lot}.{one.number}") for one in coming]
    return [view.words(words) for words in said]


def withdrawn(view: LedgerView, name: str) -> tuple[Recorded, str]:
    """The fact of a want by its name, "ridge-2/a.2", and what to say once it is taken back. Raises `Fault`."""
    wants = {f"{fact.lot}.{fact.number}": one for one, fact in _standing(view)}
    if name not in wants:
        raise Fault(f'no want is called "{name}"', instead(name, wants) if wants else SAMPLE)
    return wants[name], view.words(say("want withdrawn", name=name))


def _standing(view: LedgerView) -> Iterator[tuple[Recorded, Wanted]]:
    yield from ((one, one.fact) for one in in_force(view.recorded) if isinstance(one.fact, Wanted))


def _until(view: LedgerView, text: str, now: int) -> int:
    """A moment as typed, or "market": when the yard's market next opens."""
    if text.lower() != MARKET:
        return moment_of(text, now, view.zone, ahead=True)
    if view.yard.market is None:
        raise Fault("the yard file names no market", 'market: {sat: "08:00-13:00"}')
    today = datetime.fromtimestamp(now, view.zone)
    for day in (today.date() + timedelta(days) for days in range(370)):
        for opens, _ in view.yard.market.spans(day):
            if (at := int(datetime.combine(day, opens, tzinfo=view.zone).timestamp())) > now:
                return at
    raise Fault("the market of the yard file does not open within a year", 'market: {sat: "08:00-13:00"}')


def _refuse_stopped(view: LedgerView, lot: str) -> None:
    for stop in view.plan.stops:
        if lot in stop.lots:
            raise Fault(f"{lot} is stopped: {stop.says}", stop.to_go_on)


def _doubt(view: LedgerView, fact: Wanted) -> str | None:
    """What can be met, where the plan with this want does not end by then."""
    tasks = [task for task in view.supposing(fact).plan.tasks if path_of(task.id) == fact.lot and task.batch == fact.number and task.due is not None]
    late = [task for task in tasks if task.due is not None and task.has_time and task.finish > task.due and task.finish > fact.until]
    without = [task for task in tasks if not task.has_time and task.status != "lapsed"]
    if without:
        return view.words(say("want without time"))
    if not late:
        return None
    return view.words(say("want too early", at=instant(max(task.finish for task in late))))
