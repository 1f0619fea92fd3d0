"""The core of a load under air that changes, and when its published lethal exposure is over.

Superposition (Duhamel): the answer of the slowest point to each change of the air is the product series of `conduction`, shifted to the
moment of the change. No limit by the freezer's rated capacity is needed: a freezer that cannot keep up shows in its own air.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import chain, repeat
from operator import mul
from typing import NamedTuple

from scheduler.estimates import comb
from scheduler.estimates.conduction import CLOSEST, Body, unaccomplished
from scheduler.estimates.freeze import SOURCES, Freezer, FreezerNumbers, Load, lethal_hold
from scheduler.estimates.freezer_air import DENSE, STEP
from scheduler.local_time import DAY
from scheduler.quantities import Estimate, celsius, elapsed, say

SETTLED = 1e-4  # share of a change that is left when it counts as arrived
LONGEST = 90 * DAY  # s after which a hold that is not over never will be (assumed)
Readings = Sequence[tuple[float, float]]


@lru_cache(maxsize=64)
def response(body: Body) -> tuple[float, ...]:
    """The share of a change of the air that has reached the slowest point after 1, 2, ... steps of `STEP` seconds."""
    shares: list[float] = []
    while not shares or (shares[-1] < 1 - SETTLED and len(shares) * STEP < LONGEST):
        shares.append(1 - unaccomplished(body, STEP * (len(shares) + 1)))
    return tuple(shares)


class Core:
    """The temperature of the slowest point of a body [°C] that starts even, step by step."""

    def __init__(self, body: Body, start: float) -> None:
        self._response = response(body)
        self.restart(start)

    def restart(self, temperature: float) -> None:
        """Count from here on with the whole body at one temperature."""
        self.temperature = self._arrived = self._air = temperature
        self._changes: deque[float] = deque()

    def step(self, air: float) -> float:
        """The temperature after `STEP` more seconds in air at a temperature."""
        self._changes.appendleft(air - self._air)
        self._air = air
        if len(self._changes) > len(self._response):
            self._arrived += self._changes.pop()
        self.temperature = self._arrived + sum(map(mul, self._changes, self._response))
        return self.temperature


class KillReached(NamedTuple):
    """When a published pair was met: the exposure is over at `seconds`; the core came to `target` [°C] at `since` and has to be there `exposure` seconds."""

    seconds: float
    target: float
    exposure: float
    since: float


NEVER = KillReached(math.inf, math.nan, math.nan, math.inf)


def temperatures(body: Body, start: float, air: Iterable[float], readings: Readings = ()) -> Iterator[float]:
    """The slowest point [°C] after each step of `STEP` seconds in the air [°C].

    `readings` (seconds, °C) are of the core itself; one is counted from where the air was never warmer since the start, for then no part
    of the body was warmer than its core.
    """
    core, warmest, ahead = Core(body, start), -math.inf, deque(sorted(readings))
    for number, value in enumerate(air, 1):
        warmest = max(warmest, value)
        core.step(value)
        while ahead and ahead[0][0] < number * STEP:
            read = ahead.popleft()[1]
            if warmest <= read:
                core.restart(read)
        yield core.temperature


def reached(body: Body, start: float, cells: Sequence[float], rest: float, by: FreezerNumbers, readings: Readings = ()) -> KillReached:
    """The first pair that kills which the slowest point meets, in one piece, in the recorded air (`cells`, °C) and then in air at `rest`.

    `NEVER` where the air after the record is not cold enough.
    """
    after_it = LONGEST // STEP if rest <= by.mildest - CLOSEST else 0
    entered: dict[float, float] = {}
    before = start
    for number, after in enumerate(temperatures(body, start, chain(cells, repeat(rest, after_it)), readings)):
        found = [one for pair in by.kills if (one := _met(pair, entered, before, after, number * STEP))]
        if found:
            return min(found, key=lambda one: one.seconds)
        before = after
    return NEVER


def _met(pair: tuple[float, float], entered: dict[float, float], before: float, after: float, elapsed: float) -> KillReached | None:
    """Follow one pair through a step from `before` to `after` [°C]; when its exposure was over, if that was in this step."""
    target, exposure = pair
    crossing = elapsed + STEP * (before - target) / (before - after) if (before > target) != (after > target) else elapsed
    if after <= target:
        since, until = entered.setdefault(target, crossing), elapsed + STEP
    elif target in entered:
        since, until = entered.pop(target), crossing
    else:
        return None
    return KillReached(since + exposure, target, exposure, since) if until - since >= exposure else None


def proved_hold(load: Load, freezer: Freezer, cells: Sequence[float], readings: Readings = (), *, proving: Sequence[float] | None = None) -> Estimate:
    """Seconds since the load went in until every stage of wax moth in its slowest point is dead, by the air that was recorded.

    After the record the freezer counts as at its own temperature, and what the record has not proved is never told to be sooner than
    `freeze.lethal_hold` has it. `proving`, where it differs, is the air with a warm room wherever only readings far apart speak: the kill is proved by
    that alone. Range and safe end as there; refused in words where the exposure was not reached and air at that temperature never gives it.
    """
    found = _reached_by(load, freezer, cells, readings)
    latest = max((one for one, _ in found), key=lambda one: one.seconds)
    typical, soonest = found[1][0].seconds, min(one.seconds for one, _ in found)
    if math.isinf(latest.seconds):
        refusal = say("record never lethal", air=celsius(freezer.temperature))
        return Estimate(typical, soonest, math.inf, "duration", load.stands, SOURCES, refusal=refusal)
    recorded = len(cells) * STEP
    apart = proving is not None and latest.seconds <= recorded
    if proving is not None and apart:
        proved = _reached_by(load, freezer, proving, readings)
        if max(one.seconds for one, _ in proved) <= recorded:
            found, cells, apart = proved, proving, False
            typical, soonest = found[1][0].seconds, min(one.seconds for one, _ in found)
    latest, slowest = max(found, key=lambda one: one[0].seconds)
    basis = [say("core by the record", goal=celsius(latest.target), since=elapsed(latest.since), exposure=elapsed(latest.exposure))]
    ends = (typical, soonest, latest.seconds)
    if latest.seconds > recorded or apart:
        unrecorded = lethal_hold(load, freezer)
        ends = (max(typical, unrecorded.value), max(soonest, unrecorded.low), max(latest.seconds, unrecorded.high))
        unproved = say("not proved yet", recorded=elapsed(recorded), air=celsius(freezer.temperature))
        basis.append(say("readings too far apart", most=elapsed(DENSE)) if apart else unproved)
    else:
        below = sum(STEP for one in temperatures(load.body(slowest), load.start, cells, readings) if one <= latest.target)
        basis.append(say("proved", goal=celsius(latest.target), below=elapsed(max(below, latest.exposure))))
    basis += [say("readings of the core", count=len(readings))] if readings else []
    return Estimate(*ends, "duration", (*basis, *load.stands), SOURCES)


def _reached_by(load: Load, freezer: Freezer, cells: Sequence[float], readings: Readings) -> list[tuple[KillReached, comb.Properties]]:
    """When a pair was met at the slow, the typical and the quick end, and by which of these."""
    rests = (freezer.temperature + end * freezer.error for end in (1, 0, -1))
    ends = zip(comb.spread(freezer.air, freezer.surface), rests, strict=True)
    return [(reached(load.body(of), load.start, cells, rest, freezer.by, readings), of) for of, rest in ends]
