"""The pulls of a problem: those that are planned, and which is the last of its season.

What comes off inside or before a flow goes back on as supers, and the colony's autumn waits.
"""

from __future__ import annotations

from collections.abc import Container, Sequence
from datetime import date, datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduler.facts.apiaries import slug
from scheduler.facts.harvest import Harvest, pulled_at, pulled_in
from scheduler.facts.season import MAIN_FLOW, Season
from scheduler.local_time import DAY, floor_to_minute
from scheduler.planning.anchors import seasons
from scheduler.planning.draft import Draft, Pull
from scheduler.planning.plan import Link, Warning
from scheduler.planning.problem import Problem
from scheduler.quantities import instant, say

BEFORE_A_FLOW = timedelta(days=60)  # a pull so near ahead of the main flow is one of spring honey, and more comes; assumed
NEAR_ITS_END = timedelta(days=14)  # a pull so near the end of the flow may well be the last; assumed
UNTOLD = DAY  # so long a plan still counts on a pull of which nobody said that it was [s]; assumed
REFILLED = 21 * DAY  # pulled again after so long, the same hives had filled supers anew [s]; assumed


def pulls_of(problem: Problem) -> list[Pull]:
    """Every harvest with its moment and its season, in order; a planned one only until a day after it, where nobody says what became of it."""
    harvests = [one for one in problem.harvests if problem.ahead.get(one.harvest, problem.as_of) + UNTOLD > problem.as_of]
    pulled = {harvest.harvest: floor_to_minute(pulled_at(harvest, problem.zone).timestamp()) for harvest in harvests}
    groups = seasons(pulled.items())
    pulls = [_pull(harvest, pulled[harvest.harvest], groups[harvest.harvest], pulled_in(harvest, problem.yard)) for harvest in harvests]
    return sorted(pulls, key=lambda pull: (pull.pulled, pull.harvest.harvest))


def _pull(harvest: Harvest, pulled: int, year: str, apiary: str | None) -> Pull:
    """A pull in the season of its apiary: "2026-karst"."""
    return Pull(harvest, pulled, year if apiary is None else f"{year}-{slug(apiary)}", apiary)


def wait_for_pull(drafts: Sequence[Draft], ahead: Container[str]) -> None:
    """Let what a planned harvest begins with follow its pull, which may come later than it was planned, and at the house the way from there."""
    pulls = {draft.subject.harvest: draft.id for draft in drafts if draft.card.card.pulls and draft.subject.harvest in ahead}
    for draft in drafts if pulls else ():
        pull = pulls.get(draft.subject.harvest)
        if pull is not None and not draft.links and draft.alongside is None and not draft.card.is_before_pull:
            draft.links.append(Link(pull, least=draft.way))


def pulls_to_tell(problem: Problem) -> list[Warning]:
    """The pulls whose planned moment has passed, and of which nobody said that they were."""
    return [Warning("pull not told", None, say("pull not told", harvest=name, at=instant(at))) for name, at in problem.ahead.items() if at <= problem.as_of]


def of_no_apiary(problem: Problem) -> list[Warning]:
    """The harvests, logged before the yard's apiaries were named, of which it is not clear where they were pulled: they go by the yard's own place."""
    unclear = [one.harvest for one in problem.harvests if problem.yard.apiaries and pulled_in(one, problem.yard) is None]
    return [Warning("harvest of no apiary", None, say("harvest of no apiary", harvest=name, known=", ".join(problem.yard.apiaries))) for name in unclear]


class Place(NamedTuple):
    """Whether a pull is the last of its hives this season, and whether that is sure or only taken so."""

    last: bool
    sure: bool


def place_of(pull: Pull, pulls: Sequence[Pull], season: Season, zone: ZoneInfo) -> Place:
    """Where a pull lies in its season: by the keeper's word first, then by later pulls of the same hives, then by the marks of the flow."""
    if pull.harvest.more_to_come is not None:
        return Place(not pull.harvest.more_to_come, True)
    again = {hive for one in pulls if one.season == pull.season and one.pulled > pull.pulled + REFILLED for hive in one.harvest.hives}
    if pull.harvest.hives and again.issuperset(pull.harvest.hives):
        return Place(False, True)
    day = datetime.fromtimestamp(pull.pulled, zone).date()
    begins, ends = (_next(season, mark, day) for mark in MAIN_FLOW)
    if begins is not None and begins - day <= BEFORE_A_FLOW and (ends is None or begins <= ends):
        return Place(False, True)
    if ends is None:
        return Place(True, False)
    if begins is None:
        return Place(ends - day > BEFORE_A_FLOW, ends - day > BEFORE_A_FLOW)
    return Place(True, True) if begins <= ends else Place(True, False) if ends - day <= NEAR_ITS_END else Place(False, True)


def more_comes(pull: Pull, pulls: Sequence[Pull], season: Season, zone: ZoneInfo, as_of: int) -> bool:
    """Whether a flow is on, or still to come, for the hives of a pull, so that its frames go back on as supers: by the keeper's word, or while one lasts."""
    if place_of(pull, pulls, season, zone).last:
        return False
    ends = _next(season, "main flow ends", datetime.fromtimestamp(pull.pulled, zone).date())
    return pull.harvest.more_to_come is True or ends is None or datetime.fromtimestamp(as_of, zone).date() <= ends


def _next(season: Season, mark: str, day: date) -> date | None:
    found = season.mark(mark, day)
    return found[0] if found else None
