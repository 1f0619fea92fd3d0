"""Resource profiles: what is occupied over time of a pair of hands, of a renewable resource, and of the mass loaded within a day.

Each answers "from when is it free?". A profile remembers the starts that it found infeasible, so that a queue of months is not gone
through again for every task that joins it. What is remembered holds while more is added; `commit` makes it lasting, and removing something
forgets what was learned since.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping

from scheduler.local_time import DAY
from scheduler.planning.network import Calendar, Interval, IntervalSet, slack

SHORTEST_SITTING = 30 * 60  # work too long for any free span is divided into sittings of at least this [s]; assumed
FAR = 12  # steps after which a search remembers what it found infeasible; measured: fewer cost more than they save
KEPT = 24  # nogoods kept for a resource
UNBOUNDED = 1 << 60


class HandsProfile(IntervalSet):
    """The busy intervals of one pair of hands."""

    def __init__(self) -> None:
        super().__init__()
        self._full: dict[tuple[int, int], dict[int, int]] = {}  # (calendar, length) -> interval with no such gap -> the next to try
        self._learned: list[tuple[dict[int, int], int, int | None]] = []

    def free(self, start: int, end: int) -> bool:
        """Whether nothing lies in [start, end)."""
        i = bisect_right(self.ends, start)
        return i >= len(self.starts) or self.starts[i] >= end

    def remove(self, start: int, end: int) -> None:
        """Free an interval that was added."""
        i = bisect_right(self.starts, start) - 1
        a, b = self.starts[i], self.ends[i]
        pieces = [(x, y) for x, y in ((a, start), (end, b)) if x < y]
        self.starts[i : i + 1] = [x for x, _ in pieces]
        self.ends[i : i + 1] = [y for _, y in pieces]
        for full, interval, was in reversed(self._learned):
            if was is None:
                full.pop(interval, None)
            else:
                full[interval] = was
        self._learned.clear()

    def commit(self) -> None:
        """What was added so far will not be removed, so what was learned from it lasts."""
        self._learned.clear()

    def earliest(self, calendar: Calendar | None, after: int, length: int, horizon: int) -> int | None:
        """The first moment from `after` at which `length` seconds of work fit in the calendar, or None before the horizon."""
        if calendar is None:
            return self._gap(after, length, horizon)
        full = self._full.setdefault((id(calendar), length), {})
        i = self._follow(full, calendar.long_enough(calendar.index(after), length, horizon))
        while calendar.has(i) and calendar.starts[i] <= horizon:
            opens = calendar.starts[i]
            start = self._gap(max(after, opens), length, calendar.ends[i] - length)
            if start is not None:
                return start
            following = calendar.long_enough(i + 1, length, horizon)
            if after <= opens:
                self._learn(full, i, following)
            i = self._follow(full, following)
        return None

    def sittings(self, calendar: Calendar, after: int, length: int, horizon: int) -> tuple[Interval, ...] | None:
        """The first free pieces from `after` that add up to `length` seconds, none shorter than a sitting but the last."""
        pieces: list[Interval] = []
        left = length
        while left > 0:
            start = self.earliest(calendar, after, min(SHORTEST_SITTING, left), horizon)
            if start is None:
                return None
            end = min(start + left, calendar.ends[calendar.index(start)], self._next_busy(start))
            pieces.append((start, end))
            left -= end - start
            after = end
        return tuple(pieces)

    def _next_busy(self, free: int) -> int:
        i = bisect_right(self.starts, free)
        return self.starts[i] if i < len(self.starts) else 1 << 62

    def _gap(self, start: int, length: int, latest: int) -> int | None:
        """The first moment in [start, latest] from which `length` seconds are free."""
        if start > latest:
            return None
        starts, ends = self.starts, self.ends
        i = bisect_right(ends, start)
        while i < len(starts) and starts[i] < start + length:
            start = ends[i]
            if start > latest:
                return None
            i += 1
        return start

    def _learn(self, full: dict[int, int], interval: int, following: int) -> None:
        self._learned.append((full, interval, full.get(interval)))
        full[interval] = following

    def _follow(self, full: dict[int, int], i: int) -> int:
        """The next interval not known to be too full, with the path compressed for the next search."""
        root = i
        while root in full:
            root = full[root]
        while i in full and full[i] != root:
            following = full[i]
            self._learn(full, i, root)
            i = following
        return root


class Hands:
    """One pair of hands at every place: work at one is busy at another for its way there and back besides, so that who is free is free where asked."""

    def __init__(self, travel: Mapping[str, int]) -> None:
        self._travel = travel
        self._work: dict[str, HandsProfile] = {}  # by place, what is done there
        self._seen: dict[str, HandsProfile] = {}  # by place, what is busy for who is asked there
        self._present: list[tuple[str, int]] = []
        self._all = HandsProfile()

    def at(self, place: str) -> HandsProfile:
        """What is busy for work at a place."""
        if not self._travel:
            return self._all
        if place not in self._seen:
            self._seen[place] = HandsProfile()
            self._see(place, -UNBOUNDED, UNBOUNDED)
        return self._seen[place]

    def present(self, place: str, moment: int) -> None:
        """Somebody is known to be at a place at a moment, which keeps them from no work there."""
        self._present.append((place, moment))
        for asked in self._seen:
            self._see(asked, moment, moment)

    def add(self, place: str, start: int, end: int) -> None:
        """Work at a place."""
        if not self._travel:
            self._all.add(start, end)
            return
        self._work.setdefault(place, HandsProfile()).add(start, end)
        for asked, seen in self._seen.items():
            way = self._way(place, asked)
            seen.add(start - way, end + way)

    def remove(self, place: str, start: int, end: int) -> None:
        """Free work that was added; what else keeps the ways about it busy stays."""
        if not self._travel:
            self._all.remove(start, end)
            return
        self._work[place].remove(start, end)
        for asked, seen in self._seen.items():
            way = self._way(place, asked)
            seen.remove(start - way, end + way)
            self._see(asked, start - way, end + way)

    def commit(self) -> None:
        """What was added so far will not be removed."""
        for profile in (self._all, *self._seen.values()):
            profile.commit()

    def _see(self, asked: str, since: int, until: int) -> None:
        """Keep busy at a place, from one moment to another, what is done at each with the way from there."""
        seen = self._seen[asked]
        for place, work in self._work.items():
            way = self._way(place, asked)
            for i in range(bisect_right(work.ends, since - way), bisect_left(work.starts, until + way)):
                seen.add(work.starts[i] - way, work.ends[i] + way)
        for place, moment in self._present:
            way = self._way(place, asked)
            if way and since - way <= moment <= until + way:
                seen.add(moment - way, moment + way)

    def _way(self, here: str, there: str) -> int:
        return 0 if here == there else self._travel.get(here, 0) + self._travel.get(there, 0)


class Nogoods:
    """Starts known to be infeasible: (amount, length, since, until) rules out [since, until) for so much or more, for so long or longer."""

    def __init__(self) -> None:
        self._lasting: list[tuple[float, int, int, int]] = []
        self._fresh: list[tuple[float, int, int, int]] = []

    def skip(self, start: int, length: int, amount: float) -> int:
        """The first moment from `start` that is not ruled out."""
        moved = True
        while moved:
            moved = False
            for known in (self._lasting, self._fresh):
                for least, shortest, since, until in known:
                    if since <= start < until and least <= amount and shortest <= length:
                        start, moved = until, True
        return start

    def learn(self, since: int, until: int, length: int, amount: float) -> None:
        """Add one; those it covers are dropped, and the oldest where there are too many."""
        for known in (self._lasting, self._fresh):
            known[:] = [old for old in known if not (amount <= old[0] and length <= old[1] and since <= old[2] and until >= old[3])]
        self._fresh.append((amount, length, since, until))
        if len(self._fresh) > KEPT:
            del self._fresh[0]

    def commit(self) -> None:
        """Keep what was learned."""
        if self._fresh:
            self._lasting = (self._lasting + self._fresh)[-KEPT:]
            self._fresh = []

    def roll_back(self) -> None:
        """Drop what was learned since `commit`."""
        self._fresh.clear()


class ResourceProfile:
    """How much of a renewable resource is in use, as a step function of time."""

    def __init__(self, capacity: float) -> None:
        self.capacity = slack(capacity)
        self.nogoods = Nogoods()
        self._times: list[int] = []
        self._levels: list[float] = []  # in use from times[i] on

    def add(self, start: int, end: int, amount: float) -> None:
        """Occupy an amount in [start, end)."""
        if end <= start:
            return
        i, j = self._step(start), self._step(end)
        for k in range(i, j):
            self._levels[k] += amount

    def remove(self, start: int, end: int, amount: float) -> None:
        """Free an amount that was added."""
        self.add(start, end, -amount)
        self.nogoods.roll_back()

    def earliest(self, start: int, length: int, amount: float) -> int:
        """The first moment from `start` from which the amount is free for `length` seconds; the amount is at most the capacity."""
        free = self.capacity - amount
        asked, steps = start, 0
        times, levels = self._times, self._levels
        start = self.nogoods.skip(start, length, amount)
        i = max(bisect_right(times, start) - 1, 0)
        while i < len(times) - 1 and times[i] < start + length:
            if levels[i] > free and times[i + 1] > start:
                start = times[i + 1]
                if steps % FAR == FAR - 1 and (further := self.nogoods.skip(start, length, amount)) > start:
                    start = further
                    i = max(bisect_right(times, start) - 1, 0) - 1
            i += 1
            steps += 1
        if steps > FAR and start > asked:
            self.nogoods.learn(asked, start, length, amount)
        return start

    def _step(self, moment: int) -> int:
        i = bisect_left(self._times, moment)
        if i == len(self._times) or self._times[i] != moment:
            self._times.insert(i, moment)
            self._levels.insert(i, self._levels[i - 1] if i else 0.0)
        return i


class LoadProfile:
    """Warm mass loaded into a freezer: within any 24 h at most its rating, or one load alone."""

    def __init__(self, rating: float) -> None:
        self.rating = slack(rating)
        self.nogoods = Nogoods()
        self._moments: list[int] = []
        self._masses: list[float] = []

    def add(self, moment: int, mass: float) -> None:
        """Load a mass [kg] at a moment."""
        i = bisect_right(self._moments, moment)
        self._moments.insert(i, moment)
        self._masses.insert(i, mass)

    def remove(self, moment: int, mass: float) -> None:
        """Remove a load that was added."""
        i = bisect_left(self._moments, moment)
        while self._masses[i] != mass:
            i += 1
        del self._moments[i], self._masses[i]
        self.nogoods.roll_back()

    def earliest(self, start: int, mass: float) -> int:
        """The first moment from `start` at which the mass may be loaded."""
        asked, steps = start, 0
        start = self.nogoods.skip(start, 0, mass)
        while (conflict := self._conflict(start, mass)) is not None:
            start = self.nogoods.skip(conflict + DAY, 0, mass)
            steps += 1
        if steps > FAR:
            self.nogoods.learn(asked, start, 0, mass)
        return start

    def _conflict(self, moment: int, mass: float) -> int | None:
        """The first load that has to be a day away, where some 24 h around a moment would hold too much."""
        moments, masses = self._moments, self._masses
        first = i = bisect_right(moments, moment - DAY)
        since = [*moments[i : bisect_right(moments, moment)], moment]
        for opens in since:
            i = bisect_left(moments, opens, i)
            j = bisect_left(moments, opens + DAY, i)
            if i < j and mass + sum(masses[i:j]) > self.rating:
                return moments[first]
        return None
