"""What a freezer's record says at once: that it never kills, and that a load in it was warm and keeps longer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from scheduler.estimates.callable_estimates import freezers_of
from scheduler.local_time import DAY, HOUR
from scheduler.planning.draft import Draft
from scheduler.planning.network import Placement
from scheduler.planning.plan import Warning
from scheduler.planning.problem import Problem
from scheduler.quantities import Quantity, celsius, elapsed, instant, say

_LOOKED_AT = DAY  # s at the end of a log that show what the freezer does now (assumed)
_SHOWN_BY = 12 * HOUR  # s of these that the rows have to span (assumed): a freezer recovers from a warm load in less
_ROWS = 12  # in them (assumed)
_STALE = 30 * DAY  # s after which an old log says nothing of today (assumed)


def freezer_warnings(problem: Problem, drafts: Sequence[Draft], placed: Mapping[str, Placement]) -> Iterator[Warning]:
    """Freezers whose log was never cold enough to kill; then loads whose hold is longer for warm hours, with until when they keep."""
    yield from _never_cold(problem)
    for draft in drafts:
        if draft.id not in problem.happened.begun or draft.id in problem.happened.done or draft.id not in placed:
            continue
        if warm := warm_for(draft, placed[draft.id]):
            yield Warning("freezer was warm", draft.id, say("freezer was warm", title=draft.title, warm=warm, until=instant(placed[draft.id].hold_done)))


def warm_for(draft: Draft, at: Placement | None) -> Quantity | None:
    """For how long the freezer that a load lies in was warm, where it keeps longer for that."""
    if at is None or not draft.holds:
        return None
    extended = (one.says for one in draft.holds[min(at.mode, len(draft.holds) - 1)] if one.says.kind == "floor extended")
    found = next((says.get("warm") for says in extended), None)
    return found if isinstance(found, Quantity) else None


def _never_cold(problem: Problem) -> Iterator[Warning]:
    by = freezers_of(problem.rules.trade)
    for name, record in problem.happened.air.items():
        if not record.rows or record.rows[-1][0] < problem.as_of - _STALE:
            continue
        newest = [(at, value) for at, value in record.rows if record.rows[-1][0] - _LOOKED_AT <= at <= problem.as_of]
        coldest = min((value for _, value in newest), default=-273.15)
        mildest, exposure = by.kills[0]
        needed = mildest - by.logged
        if len(newest) < _ROWS or newest[-1][0] - newest[0][0] < _SHOWN_BY or coldest <= needed:
            continue
        says = say(
            "freezer never kills", freezer=name, first=instant(newest[0][0]), last=instant(newest[-1][0]), coldest=celsius(coldest),
            needed=celsius(needed), exposure=elapsed(exposure),
        )  # fmt: skip
        yield Warning("freezer never kills", None, says)
