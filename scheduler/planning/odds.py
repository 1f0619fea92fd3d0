"""How likely a plan's limits are kept: the share of sampled futures in which they are. Pure; the same plan and seed give the same answer.

In each future hands take longer or less, some evenings are missed, and wet spells close work outside. The plan is followed by right-shift (what
cannot start as planned starts later, in the order of the plan) or made afresh, whichever keeps more limits. A hold lasts as
long as its estimate allows, and never ends before its planned end: nobody sees the core.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta, tzinfo
from hashlib import sha256
from typing import NamedTuple

from scheduler.local_time import DAY, ceil_to_minute
from scheduler.planning.network import Calendar, Interval, Mode, Network, Placement, Schedule, Task
from scheduler.planning.objective import COMFORT, cost_of, lag_late, seconds_late, wait_late
from scheduler.planning.partial_schedule import PartialSchedule
from scheduler.planning.priority import Priorities, priorities_of
from scheduler.planning.serial_sgs import construct
from scheduler.quantities import Statement

FUTURES = 200
REACH = 45 * DAY  # s ahead within which limits are judged and evenings missed; assumed
FASTEST, SLOWEST = 0.7, 1.8  # of the planned time that work takes; assumed
MISSED = 0.1  # of each person's days; assumed where the yard file does not say
WET_BEGINS, WET_GOES_ON = 0.1, 0.5  # chance of a wet spell on a dry day, and that it goes on for another; assumed
RESCUED = 0.5  # of the futures in which a limit is missed, what one cause taken away saves for it to be named; assumed
CAUSES = ("evenings", "hands", "holds", "weather")
Lasting = tuple[float, float, float]  # how long a hold lasts at least, most likely and at most, by its estimate [s]


class Odds(NamedTuple):
    """In how many `of` futures a task's limit is kept, its finish in the middle one and in nine of ten [s since 1970], and what a miss hangs on.

    That is one of `CAUSES`, with the day whose loss costs most where it is "evenings"; empty where no single one of them decides, or none is missed.
    """

    task: str
    kept: int
    of: int
    median: int
    nine_in_ten: int
    hangs_on: str = ""
    day: date | None = None
    help: tuple[Statement, int, int] | None = None  # what would keep it in more futures: a change, in how many it is kept then, and of how many


class Future(NamedTuple):
    """What happens otherwise than planned: how long each task's hands take, the days missed by person, the wet days, and how long holds last.

    A hold is given as the chance that it lasts shorter.
    """

    factors: Mapping[str, float]
    missed: Mapping[str, frozenset[date]]
    wet: frozenset[date]
    holds: Mapping[str, float]


class Model:
    """A plan's network with its placements, as far ahead as it is judged.

    `outside` are the ids of work in the open; `pulls` gives for work that a pull still to come begins that pull, whose time the keeper set: it is not
    judged itself, and where it comes later so do the limits of its work. `missed` is the share of days that a person misses; `lasting` says how long
    the holds of a task last by their estimates, for each of its modes that has one.
    """

    def __init__(
        self,
        network: Network,
        placed: Schedule,
        as_of: int,
        zone: tzinfo,
        outside: Collection[str],
        *,
        pulls: Mapping[str, str] | None = None,
        missed: float = MISSED,
        lasting: Mapping[str, Sequence[Lasting | None]] | None = None,
    ) -> None:
        self.as_of, self.zone, self.outside, self.pulls, self.missed = as_of, zone, outside, pulls or {}, missed
        last = max((_latest(task, placed[task.id]) for task in network.tasks if _is_limited(task) and _starts(task, placed) <= as_of + REACH), default=as_of)
        near = {name for name, at in placed.items() if at.start <= last}  # what is planned for later delays nothing that is judged
        tasks = tuple(task for task in network.tasks if task.id in near)
        relations = tuple(one for one in network.precedences if one.before in near and one.after in near)
        self.network, self.placed = replace(network, tasks=tasks, precedences=relations), {name: placed[name] for name in near}
        said = ((task, (lasting or {}).get(task.id, ())) for task in tasks)
        self.lasting = {task.id: held for task, held in said if any(one and one[2] > mode.hold for one, mode in zip(held, task.modes, strict=False))}
        first = datetime.fromtimestamp(as_of, zone).date()
        self.days = [first + timedelta(number) for number in range((last - as_of) // DAY + 10)]
        self.people = sorted({whose for task in tasks for whose in task.people})
        self.known = known = priorities_of(self.network)
        self.order = sorted(near, key=lambda name: (not known.tasks[name].begun, placed[name].start, known.depth.get(name, 0), name))
        self._followed = tuple(self._no_sooner(task) for task in self.network.tasks)
        self._midnights = {day: int(datetime.combine(day, time(0), zone).timestamp()) for day in (*self.days, self.days[-1] + timedelta(1))}
        self._intervals: dict[tuple[str, int], list[Interval]] = {}  # of a calendar that begin on a day

    def judged(self) -> list[Task]:
        """The tasks with a limit that is still kept, on which food safety, the colony or the crop hangs, and which can come otherwise than planned."""
        found = (task for task in self.network.tasks if _is_limited(task))
        moves = (task for task in found if task.begin or task.end or task.id in self.known.predecessors)  # a mere decision is nobody's hours
        return [task for task in moves if self.pulls.get(task.id) != task.id and not self.late(task, self.placed)]

    def drawn(self, seed: str, number: int) -> Future:
        """One future."""

        def chance(*of: object) -> float:
            return int.from_bytes(sha256("/".join(map(str, (seed, number, *of))).encode()).digest()[:8], "big") / 2**64

        def factor(*of: object) -> float:
            low, high = math.log(FASTEST) / 2, math.log(SLOWEST) / 2
            return math.exp(low + (high - low) * chance(*of))

        common = factor("hands")
        wet, spell = set(), False
        for day in self.days:
            spell = chance("wet", day) < (WET_GOES_ON if spell else WET_BEGINS)
            wet |= {day} if spell else set()
        missed = {who: frozenset(day for day in self.days if chance("missed", who, day) < self.missed) for who in self.people}
        factors = {task.id: common * factor("task", task.id) for task in self.network.tasks}
        return Future(factors, missed, frozenset(wet), {name: chance("hold", name) for name in self.lasting})

    def kept(self, future: Future, judged: Iterable[Task]) -> tuple[dict[str, bool], dict[str, int]]:
        """Which limits are kept in a future, and when each task is over, by the better of the two ways to go on."""
        calendars: dict[str, Calendar] = {}
        best = self._shifted(self._of(future, self._followed, calendars))
        if any(task.id not in best or self.late(task, best) for task in judged):  # else no other way could keep more of what is judged
            network = self.network_in(future, calendars)
            fresh = construct(network)
            best = fresh if cost_of(network, fresh).limits() < cost_of(network, best).limits() else best
        found = {task.id: task.id in best and not self.late(task, best) for task in judged}
        return found, {name: at.finish for name, at in best.items()}

    def network_in(self, future: Future, calendars: dict[str, Calendar] | None = None) -> Network:
        """The network in which a future happens, nothing of the plan followed; its calendars are kept for the next."""
        return self._of(future, self.network.tasks, {} if calendars is None else calendars)

    def _of(self, future: Future, tasks: Iterable[Task], calendars: dict[str, Calendar]) -> Network:
        """The network with these tasks as they happen in a future."""

        def less(key: str | None, task: Task) -> str | None:
            if key is None:
                return None
            wet = future.wet if task.id in self.outside else frozenset()
            name = f"{key}|{task.hands}|{bool(wet)}"  # the key of what two do together says so
            if name not in calendars:
                calendars[name] = self._without(key, wet.union(*(future.missed.get(whose, frozenset()) for whose in task.people)))
            return name

        def otherwise(task: Task) -> Task:
            if task.fixed:
                return task
            begin, end = (ceil_to_minute(length * future.factors[task.id]) if length else 0 for length in (task.begin, task.end))
            modes = task.modes
            if task.id in future.holds:
                held = zip(modes, self.lasting[task.id], strict=True)
                modes = tuple(_longer(mode, lasts(lasting, future.holds[task.id])) if lasting else mode for mode, lasting in held)
            return replace(task, begin=begin, end=end, modes=modes, begin_calendar=less(task.begin_calendar, task), end_calendar=less(task.end_calendar, task))

        return replace(self.network, tasks=tuple(map(otherwise, tasks)), calendars=calendars)

    def _without(self, key: str, days: Collection[date]) -> Calendar:
        """A calendar without some days, but for the hours that run as it is asked: whoever asks is there."""
        gone = sorted((self._midnights[day], self._midnights[day + timedelta(1)]) for day in days)

        def spans(day: int) -> Iterator[Interval]:
            for start, end in self._begun_on(key, day):
                yield from ((start, end),) if start <= self.as_of < end else _outside(start, end, gone)

        first = self.as_of // DAY - 2
        return Calendar(first, (self.as_of + REACH) // DAY + 400, spans)

    def _begun_on(self, key: str, day: int) -> list[Interval]:
        """The intervals of a calendar that begin on a day, counted from 1970-01-01."""
        if (key, day) not in self._intervals:
            calendar, found = self.network.calendars[key], []
            number = calendar.index(day * DAY - 1)
            while calendar.has(number) and calendar.starts[number] < (day + 1) * DAY:
                if calendar.starts[number] >= day * DAY:
                    found.append((calendar.starts[number], calendar.ends[number]))
                number += 1
            self._intervals[key, day] = found
        return self._intervals[key, day]

    def _shifted(self, network: Network) -> dict[str, Placement]:
        """The plan followed: nothing starts, or is ended by hands, before it was planned to, and all in the order of the plan."""
        tasks = {task.id: task for task in network.tasks}
        partial = PartialSchedule(network, Priorities(tasks, self.known.predecessors, self.known.successors, self.known.greatest_lags))
        for name in self.order:
            if name not in partial.placements and all(one.before in partial.placements for one in partial.predecessors.get(name, ())):
                at = partial.earliest(tasks[name])
                if at is not None:
                    partial.add(tasks[name], at)
        return partial.placements

    def _no_sooner(self, task: Task) -> Task:
        at = self.placed[task.id]
        if task.fixed:
            return task
        ends = max(task.end_release, at.end_sittings[0][0]) if at.end_sittings else task.end_release
        return replace(task, end_release=ends) if task.begun else replace(task, release=max(task.release, at.start), end_release=ends)

    def late(self, task: Task, schedule: Schedule) -> bool:
        """Whether a task breaks a limit in a schedule: its due date, how long its hold may wait, or a greatest lag."""
        at, lags = schedule[task.id], self.known.greatest_lags.get(task.id, ())
        pull = self.pulls.get(task.id, task.id)
        later = max(0, schedule[pull].finish - self.placed[pull].finish) if pull != task.id and pull in schedule and pull in self.placed else 0
        if later:
            task = replace(task, due=task.due and task.due + later, deadline=task.deadline and task.deadline + later)
        return bool(seconds_late(task, at) or wait_late(task, at) or any(lag_late(lag, self.known.tasks, schedule) for lag in lags))


def _longer(mode: Mode, hold: int) -> Mode:
    return replace(mode, hold=hold) if hold > mode.hold else mode


def lasts(lasting: Lasting, shorter: float) -> int:
    """How long a hold lasts, on whole minutes [s], by the chance that it lasts shorter: a triangular distribution."""
    low, mode, high = lasting
    if high <= low:
        return ceil_to_minute(math.ceil(high))
    peak = (mode - low) / (high - low)
    share = math.sqrt(shorter * peak) if shorter < peak else 1 - math.sqrt((1 - shorter) * (1 - peak))
    return ceil_to_minute(math.ceil(low + share * (high - low)))


def _is_limited(task: Task) -> bool:
    """Whether food safety, the colony or the crop hangs on a limit of a task."""
    return task.loss != COMFORT and not task.fixed and (task.due is not None or task.deadline is not None)


def _starts(task: Task, placed: Schedule) -> float:
    return placed[task.id].start if task.id in placed else math.inf


def _latest(task: Task, at: Placement) -> int:
    """The latest start [s since 1970] at which a task, as long as it is planned, would still be judged."""
    limit = max(limit for limit in (task.due, task.deadline) if limit is not None)
    return max(at.start, limit - (at.finish - at.start))


def odds(model: Model, *, futures: int = FUTURES, seed: str = "", causes: bool = True) -> tuple[Odds, ...]:
    """
    How likely each limit is kept that the plan keeps, of food safety, the colony and the crop within `REACH`, the least likely first.

    `futures` is how many are sampled. Without `causes` it is not sought what a miss hangs on. With one seed two plans meet the same evenings, weather
    and hands.
    """
    judged = model.judged()
    if not judged or futures < 1:
        return ()
    drawn = [model.drawn(seed, number) for number in range(futures)]
    found = [model.kept(future, judged) for future in drawn]
    failed = {task.id: [number for number, (kept, _) in enumerate(found) if not kept[task.id]] for task in judged}
    rescued = _rescued(model, judged, drawn, failed) if causes else {}
    answers = []
    for task in judged:
        finishes = sorted(over[task.id] for _, over in found if task.id in over) or [model.placed[task.id].finish]
        cause, day = _hangs_on(task, drawn, failed[task.id], rescued, model.zone)
        nine = finishes[min(len(finishes) - 1, math.ceil(0.9 * len(finishes)) - 1)]
        answers.append(Odds(task.id, futures - len(failed[task.id]), futures, finishes[len(finishes) // 2], nine, cause, day))
    return tuple(sorted(answers, key=lambda one: (one.kept, one.task)))


MOST_TRIED = 20  # failed futures that are tried again without each cause; assumed


def _rescued(model: Model, judged: Sequence[Task], drawn: Sequence[Future], failed: Mapping[str, Sequence[int]]) -> dict[tuple[str, int], dict[str, bool]]:
    """Which limits are kept in a failed future without one cause, by the cause and the number of the future."""
    often: dict[int, int] = {}
    for numbers in failed.values():
        for number in numbers:
            often[number] = often.get(number, 0) + 1
    tried = sorted(often, key=lambda number: (-often[number], number))[:MOST_TRIED]
    found = {}
    for number in tried:
        future = drawn[number]
        without = {
            "evenings": future._replace(missed={}),
            "hands": future._replace(factors=dict.fromkeys(future.factors, 1.0)),
            "holds": future._replace(holds={}),
            "weather": future._replace(wet=frozenset()),
        }
        for cause in CAUSES:
            found[cause, number] = model.kept(without[cause], judged)[0]
    return found


def _hangs_on(
    task: Task, drawn: Sequence[Future], failed: Sequence[int], rescued: Mapping[tuple[str, int], Mapping[str, bool]], zone: tzinfo
) -> tuple[str, date | None]:
    """The cause that taken away saves most of the futures in which a limit is missed, and the day that is missed most often in these."""
    tried = [number for number in failed if (CAUSES[0], number) in rescued]
    saved = {cause: [number for number in tried if rescued[cause, number][task.id]] for cause in CAUSES}
    cause = max(CAUSES, key=lambda one: len(saved[one]))
    if not tried or len(saved[cause]) < RESCUED * len(tried):
        return "", None
    if cause != "evenings":
        return cause, None
    last = datetime.fromtimestamp(task.due or task.deadline or 0, zone).date()
    usual = {
        day: sum(day in future.missed.get(task.hands, ()) for future in drawn) / len(drawn)
        for number in saved[cause]
        for day in drawn[number].missed.get(task.hands, ())
        if day <= last
    }
    of_saved = {day: sum(day in drawn[number].missed.get(task.hands, ()) for number in saved[cause]) / len(saved[cause]) for day in usual}
    return cause, max(sorted(usual), key=lambda day: of_saved[day] - usual[day], default=None)


def _outside(start: int, end: int, gone: Sequence[Interval]) -> Iterator[Interval]:
    """What is left of an interval without others."""
    for begins, ends in gone:
        if ends <= start or begins >= end:
            continue
        if start < begins:
            yield start, begins
        start = max(start, ends)
        if start >= end:
            return
    if start < end:
        yield start, end
