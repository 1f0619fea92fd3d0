"""Whether a pull is the last of the season: what comes off inside or before a flow goes back on as supers, and the colony's autumn waits."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduler.facts.season import MAIN_FLOW, Season
from scheduler.local_time import DAY
from scheduler.planning.draft import Pull

BEFORE_A_FLOW = timedelta(days=60)  # a pull so near ahead of the main flow is one of spring honey, and more comes; assumed
NEAR_ITS_END = timedelta(days=14)  # a pull so near the end of the flow may well be the last; assumed
REFILLED = 21 * DAY  # pulled again after so long, the same hives had filled supers anew [s]; assumed


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
