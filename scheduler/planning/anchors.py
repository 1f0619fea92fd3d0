"""Anchors to moments: "pulled + 72 h", "first frost - 14 d"; and which harvests make up one season."""

import math
from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduler.facts.days import DayOfYear, day_named
from scheduler.facts.season import MAIN_FLOW, SPRING_BLOOM, Season
from scheduler.local_time import DAY, ceil_to_minute, floor_to_minute, midnight
from scheduler.planning.plan import Reason
from scheduler.quantities import Estimate, Statement, elapsed, say
from scheduler.rules.amounts import Amount, amount
from scheduler.rules.environment import Environment
from scheduler.rules.short_forms import WANTED, Anchor

SEASON_GAP = 120 * DAY  # pulls further apart belong to two seasons; assumed
OPENING = (MAIN_FLOW[0], SPRING_BLOOM)  # marks that open a season: of a pull, the next one
NO_DAYS = {"pulled": say("the pull"), "as of": say("now"), WANTED: say("wanted by")}  # moments of a day
LOOK_BACK = 30 * DAY  # any other mark up to so long before the pull still belongs to its season; assumed


class Moment(NamedTuple):
    """A moment with what it rests on; `mark` is the season mark used, `firm` whether it was observed."""

    at: int
    says: Statement
    mark: str | None = None
    firm: bool = True
    estimates: tuple[tuple[str, Estimate], ...] = ()


class Unknown(NamedTuple):
    """An anchor that the yard file gives no date for."""

    mark: str


class Moments:
    """Anchors of one season worked out for one yard."""

    def __init__(self, season: Season, zone: ZoneInfo, as_of: int) -> None:
        self.season, self.zone, self.as_of = season, zone, as_of
        self._marks: dict[tuple[str, date], Moment | Unknown] = {}

    def of(self, anchor: Anchor, pulled: int, env: Environment, *, by: bool = False) -> Moment | Unknown | None:
        """The moment an anchor names for a pull at `pulled`, or for what is wanted then; None where it never comes (an infinite lag).

        A mark of the season is a day, and so is one of one's own ("1 October"): it begins at midnight, and what is due `by` it may be done
        until the day is over.
        """
        text = anchor.plus or anchor.minus
        found_lag = amount(text, "duration", env) if text else Amount(0.0)
        if not math.isfinite(found_lag.value):
            return None
        lag = -found_lag.value if anchor.minus else found_lag.value
        if says := NO_DAYS.get(anchor.of):
            found: Moment | Unknown = Moment(self.as_of if anchor.of == "as of" else pulled, says)
        else:
            since = datetime.fromtimestamp(pulled + (SEASON_GAP if anchor.of in OPENING else -LOOK_BACK), self.zone).date()
            own = day_named(anchor.of)
            found = self._day(own, since) if own else self._mark(anchor.of, since)
        if isinstance(found, Unknown):
            return found
        seconds = floor_to_minute(lag) if by else ceil_to_minute(lag)
        at = found.at + seconds
        if by and anchor.of not in NO_DAYS:
            at = int((datetime.fromtimestamp(at, self.zone) + timedelta(1)).timestamp())  # the same time the next day, on the clock on the wall
        return Moment(at, _lagging(found.says, lag), found.mark, found.firm, found_lag.estimates)

    def _day(self, day: DayOfYear, since: date) -> Moment:
        """The first such day from a date on."""
        found = next(found for year in (since.year, since.year + 1) if (found := day.in_year(year)) >= since)
        return Moment(midnight(found, self.zone), say("a day of one's own", day=found))

    def _mark(self, name: str, since: date) -> Moment | Unknown:
        if (name, since) not in self._marks:
            self._marks[name, since] = self._find(name, since)
        return self._marks[name, since]

    def _find(self, name: str, since: date) -> Moment | Unknown:
        found = self.season.mark(name, since)
        if found is None:
            return Unknown(name)
        day, observed = found
        at = midnight(day + timedelta(1) if name.endswith(" ends") else day, self.zone)
        return Moment(at, say("mark as observed", mark=name, day=day) if observed else say("mark as a normal", mark=name, day=day), name, observed)


def _lagging(anchor: Statement, lag: float) -> Statement:
    if not lag:
        return anchor
    gap = elapsed(abs(lag))
    return say("lag after", anchor=anchor, gap=gap) if lag > 0 else say("lag before", anchor=anchor, gap=gap)


def reason(kind: str, moment: Moment, rule: str) -> Reason:
    """Why a date hangs on a moment."""
    if moment.mark:
        return Reason(f"season {moment.mark}", say("hangs on a mark", limit=kind, anchor=moment.says), rule)
    says = say("not before a moment", anchor=moment.says) if kind == "not before" else say("due by a moment", anchor=moment.says)
    return Reason(kind, says, rule)


def seasons(pulled: Iterable[tuple[str, int]]) -> dict[str, str]:
    """Harvest id to the name of its season: pulls with no gap above `SEASON_GAP` share one, named for the year of its first pull."""
    groups: list[list[tuple[int, str]]] = []
    for moment, name in sorted((moment, name) for name, moment in pulled):
        if groups and moment - groups[-1][-1][0] <= SEASON_GAP:
            groups[-1].append((moment, name))
        else:
            groups.append([(moment, name)])
    names = _names([group[0][0] for group in groups])
    return {name: label for group, label in zip(groups, names, strict=True) for _, name in group}


def _names(firsts: Sequence[int]) -> list[str]:
    """Years of the first pulls, told apart with a letter where two seasons share one."""
    years = [str(datetime.fromtimestamp(moment, UTC).year) for moment in firsts]
    return [year if years.count(year) == 1 else f"{year}{'abcdefgh'[years[:i].count(year)]}" for i, year in enumerate(years)]
