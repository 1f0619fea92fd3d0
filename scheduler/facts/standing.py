"""Which facts stand after corrections and retractions, and in what order. Pure: the order they come in does not matter."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.facts.happenings import Fact, Retracted


@dataclass(frozen=True, slots=True)
class Recorded:
    """A fact as the ledger keeps it: its place in the order of writing, its id for life, and when it was written down [epoch s]."""

    sequence: int
    id: str
    recorded_at: int
    fact: Fact


def standing(facts: Iterable[Recorded]) -> tuple[Recorded, ...]:
    """
    The facts that count, by when they occurred and then by when they were written down.

    A fact is out while one that stands replaces it. Of several that replace the same fact the one written last counts. Taking back a
    correction lets the corrected fact stand again; taking back a retraction lets its fact stand again; retractions are never in the result.
    """
    by_id = {one.id: one for one in facts}
    gone: set[str] = set()
    left: list[Recorded] = []
    for one in sorted(by_id.values(), key=lambda one: one.sequence, reverse=True):
        named = one.fact.replaces
        if one.id in gone or (named is not None and named in gone):
            continue
        if named is not None:
            gone.update(_chain(one, by_id))
        if not isinstance(one.fact, Retracted):
            left.append(one)
    return tuple(sorted(left, key=lambda one: (one.fact.occurred_at, one.sequence)))


def _chain(one: Recorded, by_id: dict[str, Recorded]) -> Iterable[str]:
    """What a fact puts out: the one it names, and, where it is a correction of a correction, all that stood before in that place."""
    named = one.fact.replaces
    while named is not None:
        yield named
        before = by_id.get(named)
        if before is None or before.sequence >= one.sequence or isinstance(one.fact, Retracted):
            return
        one, named = before, before.fact.replaces
