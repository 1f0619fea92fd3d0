"""Whether it is time to pull: what speaks for pulling now and what against, each with its number. It orders nothing; the keeper decides.

Pure: the season as it is known, and what a sample of frames showed where one was taken.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import NamedTuple

from scheduler.facts.season import Season
from scheduler.local_time import DAY
from scheduler.quantities import Quantity, Statement, elapsed, percent, say

ENDED_LATELY = timedelta(60)  # days after which the end of a flow is no news; assumed
NEAR = timedelta(60)  # days ahead within which a mark speaks for or against; assumed


class Sample(NamedTuple):
    """What frames showed, as shares; None where nobody looked."""

    capped: float | None = None
    moisture: float | None = None


class Asked(NamedTuple):
    """What the yard and its rules ask: the least capped share, the most water, by when after the pull mites are treated and how long that takes [s]."""

    capped: float
    moisture: float
    treatment_by: float
    treatment_length: float
    active: str | None = None


class Spoken(NamedTuple):
    """What speaks for pulling now, and what against."""

    for_: tuple[Statement, ...]
    against: tuple[Statement, ...]


def is_it_time(season: Season, today: date, sample: Sample, asked: Asked, evidence: Mapping[str, str]) -> Spoken:
    """What speaks for a pull today and what against. `evidence` is what a mark rests on, in words, where it is more than a usual date."""
    found = [*_flow(season, today, evidence), *_frames(sample, asked), *_robbing(season, today), *_treatment(season, today, asked)]
    return Spoken(tuple(says for speaks_for, says in found if speaks_for), tuple(says for speaks_for, says in found if not speaks_for))


def _flow(season: Season, today: date, evidence: Mapping[str, str]) -> Iterator[tuple[bool, Statement]]:
    """The main flow: over, or how long still."""
    end = season.mark("main flow ends", today - ENDED_LATELY)
    if end is None:
        return
    day, seen = end
    rests = evidence.get("main flow ends") or ("seen" if seen else "usual date")
    if day == today:
        yield True, say("flow ends today", rests=rests)
    elif day < today:
        yield True, say("flow is over", day=day, since=_days(today - day), rests=rests)
    elif day - today <= NEAR:
        yield False, say("flow goes on", day=day, left=_days(day - today), rests=rests)


def _frames(sample: Sample, asked: Asked) -> Iterator[tuple[bool, Statement]]:
    """What the sample of frames showed."""
    if sample.capped is not None:
        shares = {"capped": percent(sample.capped), "least": percent(asked.capped)}
        ripe = sample.capped >= asked.capped
        yield ripe, say("capped enough", **shares) if ripe else say("capped too little", **shares)
    if sample.moisture is not None:
        dry, water = sample.moisture <= asked.moisture, {"moisture": percent(sample.moisture), "limit": percent(asked.moisture)}
        yield dry, say("dry enough", **water) if dry else say("too wet to pull", **water)


def _robbing(season: Season, today: date) -> Iterator[tuple[bool, Statement]]:
    """Robbing season: near, or on."""
    for first, last in season.spans("robbing", today, today + NEAR):
        if first <= today:
            yield False, say("robbing is on", first=first, last=last)
        else:
            yield True, say("robbing begins", day=first, left=_days(first - today))
        return


def _treatment(season: Season, today: date, asked: Asked) -> Iterator[tuple[bool, Statement]]:
    """By when mites are treated after a pull today, and when warm days end for it."""
    if asked.active is None:
        return
    begins = today + timedelta(seconds=asked.treatment_by)
    end = season.mark("last warm day", today)
    if end is None:
        return
    latest = end[0] - timedelta(seconds=asked.treatment_length)
    if begins <= latest:
        if (latest - begins).days * DAY <= NEAR.total_seconds():
            yield True, say("treatment can begin", active=asked.active, latest=latest, left=_days(latest - today), warm=end[0])
    else:
        yield True, say("treatment is late", active=asked.active, begins=begins, latest=latest, warm=end[0])


def _days(time: timedelta) -> Quantity:
    return elapsed(time.days * DAY)
