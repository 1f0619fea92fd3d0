"""Changes that a person can make of a yard or a harvest, each with the problem it leads to."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduler.facts.harvest import Harvest
from scheduler.facts.hours import Spans, joined
from scheduler.facts.yard import Yard
from scheduler.planning.holds import room
from scheduler.planning.problem import Problem
from scheduler.quantities import Statement, celsius, elapsed, instant, say
from scheduler.rules.rule_set import LoadedCard

MINUTES = 5 * 60  # free time is asked for in steps of this [s]
AWAKE = (time(7), time(22))  # nobody is asked for time in the night, and a day kept free is this; assumed


class Change(NamedTuple):
    """One change of a problem, in what a person can do."""

    kind: str
    says: Statement
    of: Callable[[Problem], Problem]
    since: int = 0  # it can only cure what is due later [s since 1970]


def moment_of(day: date, clock: time, zone: ZoneInfo) -> int:
    """Seconds since 1970 of a wall-clock time at the yard."""
    return int(datetime.combine(day, clock, tzinfo=zone).timestamp())


def awake(moment: int, zone: ZoneInfo) -> int:
    """A moment, or the last one before it at which nobody sleeps."""
    local = datetime.fromtimestamp(moment, zone)
    if local.time() < AWAKE[0]:
        return moment_of(local.date() - timedelta(1), AWAKE[1], zone)
    return min(moment, moment_of(local.date(), AWAKE[1], zone))


def rounded(volume: float) -> float:
    """More room in whole litres [m³]."""
    return max(1, round(volume * 1000)) / 1000


def counted(pieces: float) -> float:
    """More room for whole pieces."""
    return float(max(1, round(pieces)))


def with_hours(yard: Yard, day: date, spans: Spans, person: str | None) -> Yard:
    """The yard with other free hours of a person on one day."""
    hours = yard.hours_of(person)
    hours = hours._replace(dates=((day, day, spans), *hours.dates))
    if person is None:
        return yard.model_copy(update={"hands": hours})
    return yard.model_copy(update={"people": {**yard.people, person: yard.people[person].model_copy(update={"hands": hours})}})


def free_minutes(problem: Problem, person: str | None, until: int, size: int) -> Change:
    """Free time of a person up to a moment, beside the hours they have; the slack of an evening is added."""
    size += -(-round(problem.yard.slack) // MINUTES) * MINUTES
    opens, closes = (datetime.fromtimestamp(moment, problem.zone).replace(tzinfo=None) for moment in (until - size, until))
    free = say("time kept free", minutes=elapsed(size), until=instant(until))

    def of(problem: Problem) -> Problem:
        spans = problem.yard.hours_of(person).spans(opens.date())
        return problem._replace(yard=with_hours(problem.yard, opens.date(), joined((*spans, (opens.time(), closes.time()))), person))

    return Change(f"minutes {person}", say("kept free by", free=free, person=person) if person else free, of, until - size)


def free_day(person: str | None, day: date, since: int) -> Change:
    """Waking hours of a person on one day."""
    free = say("day kept free", day=day, opens=AWAKE[0], closes=AWAKE[1])
    says = say("kept free by", free=free, person=person) if person else free
    return Change(f"day {person}", says, lambda problem: problem._replace(yard=with_hours(problem.yard, day, (AWAKE,), person)), since)


def more_room(resource: str, measure: str, capacity: float, more: float) -> Change:
    """More room in a piece of equipment."""

    def of(problem: Problem) -> Problem:
        equipment = problem.yard.equipment
        larger = equipment[resource].model_copy(update={measure: capacity + more if measure in ("space", "volume") else round(capacity + more)})
        return problem._replace(yard=problem.yard.model_copy(update={"equipment": {**equipment, resource: larger}}))

    return Change(f"room {resource}", say("more room", more=room(measure, more), resource=resource), of)


def colder(freezer: str, temperature: float) -> Change:
    """A freezer turned down to a temperature [°C], as soon as may be."""

    def of(problem: Problem) -> Problem:
        equipment = problem.yard.equipment
        turned = equipment[freezer].model_copy(update={"temperature": temperature})
        return problem._replace(yard=problem.yard.model_copy(update={"equipment": {**equipment, freezer: turned}}))

    return Change(f"colder {freezer}", say("freezer turned down", resource=freezer, temperature=celsius(temperature)), of)


def taking(person: str, card: LoadedCard) -> Change:
    """A card that somebody may do too."""

    def of(problem: Problem) -> Problem:
        return _with_takes(problem, person, (*problem.yard.people[person].takes, card.key))

    return Change(f"taker {person}", say("takes too", person=person, card=card.name), of)


def doing(person: str, card: LoadedCard) -> Change:
    """A card that is somebody's alone left to the keeper too."""

    def of(problem: Problem) -> Problem:
        people = problem.yard.people
        only = tuple(word for word in people[person].only if word not in (card.key, card.name))
        changed = people[person].model_copy(update={"only": only, "takes": (*people[person].takes, card.key)})
        return problem._replace(yard=problem.yard.model_copy(update={"people": {**people, person: changed}}))

    return Change(f"keeper {person}", say("left to the keeper too", person=person, card=card.name), of)


def _with_takes(problem: Problem, person: str, takes: tuple[str, ...]) -> Problem:
    people = problem.yard.people
    return problem._replace(yard=problem.yard.model_copy(update={"people": {**people, person: people[person].model_copy(update={"takes": takes})}}))


def keeping_whole(harvest: str, lot: str, frames: int) -> Change:
    """Frames of a lot that are not cut now."""

    def of(problem: Problem) -> Problem:
        return problem._replace(harvests=tuple(_fewer(one, lot, frames) if one.harvest == harvest else one for one in problem.harvests))

    return Change(f"whole {lot}", say("frames kept whole", count=frames, lot=f"{harvest}/{lot}"), of)


def _fewer(harvest: Harvest, lot: str, frames: int) -> Harvest:
    lots = []
    for one in harvest.lots:
        if one.id == lot:
            left = one.frames - frames
            pieces = {"pieces": max(1, round(one.pieces * left / one.frames))} if one.pieces is not None else {}
            one = one.model_copy(update={"frames": left, **pieces})
        lots.append(one)
    return harvest.model_copy(update={"lots": tuple(lots)})
