"""What is taken: one pair of hands, and the level of a renewable resource over time. Both answer "from when is it free?"."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator

from scheduler.planning.network import Calendar, Interval

SHORTEST_SITTING = 30 * 60  # work too long for any free span is divided into sittings of at least this [s]; assumed


class Hands:
    """The busy intervals of one pair of hands, disjoint and in order."""

    def __init__(self) -> None:
        self._starts: list[int] = []
        self._ends: list[int] = []
        self._full: dict[tuple[int, int], dict[int, int]] = {}  # (calendar, length) -> interval that can not take it -> the next to try

    def take(self, start: int, end: int) -> None:
        """Mark an interval as busy; touching intervals are joined."""
        i = bisect_left(self._ends, start)
        j = bisect_right(self._starts, end)
        if i < j:
            start, end = min(start, self._starts[i]), max(end, self._ends[j - 1])
        self._starts[i:j] = [start]
        self._ends[i:j] = [end]

    def give_back(self, start: int, end: int) -> None:
        """Free an interval that was taken."""
        i = bisect_right(self._starts, start) - 1
        a, b = self._starts[i], self._ends[i]
        pieces = [(x, y) for x, y in ((a, start), (end, b)) if x < y]
        self._starts[i : i + 1] = [x for x, _ in pieces]
        self._ends[i : i + 1] = [y for _, y in pieces]
        self._full.clear()

    def earliest(self, calendar: Calendar | None, after: int, length: int, horizon: int) -> int | None:
        """The first moment from `after` at which `length` seconds of work fit in the calendar, or None before the horizon."""
        if calendar is None:
            return self._gap(after, length, horizon)
        full = self._full.setdefault((id(calendar), length), {})
        i = _follow(full, calendar.index(after))
        while calendar.has(i) and calendar.starts[i] <= horizon:
            opens = calendar.starts[i]
            start = self._gap(max(after, opens), length, calendar.ends[i] - length)
            if start is not None:
                return start
            if after <= opens:
                full[i] = i + 1
            i = _follow(full, i + 1)
        return None

    def sittings(self, calendar: Calendar | None, after: int, length: int, horizon: int) -> tuple[Interval, ...] | None:
        """The first free pieces from `after` that add up to `length` seconds, none shorter than a sitting but the last."""
        if calendar is None:
            start = self._gap(after, length, horizon)
            return None if start is None else ((start, start + length),)
        pieces: list[Interval] = []
        left, i = length, calendar.index(after)
        while left > 0 and calendar.has(i) and calendar.starts[i] <= horizon:
            for start, end in self._free(max(after, calendar.starts[i]), calendar.ends[i]):
                piece = min(left, end - start)
                if piece >= min(SHORTEST_SITTING, left):
                    pieces.append((start, start + piece))
                    left -= piece
                if left == 0:
                    break
            i += 1
        return None if left else tuple(pieces)

    def _free(self, start: int, end: int) -> Iterator[Interval]:
        """The free intervals within [start, end]."""
        i = bisect_right(self._ends, start)
        while start < end:
            busy = self._starts[i] if i < len(self._starts) else end
            if busy > start:
                yield start, min(busy, end)
            start = self._ends[i] if i < len(self._ends) else end
            i += 1

    def _gap(self, start: int, length: int, latest: int) -> int | None:
        """The first moment in [start, latest] from which `length` seconds are free."""
        if start > latest:
            return None
        starts, ends = self._starts, self._ends
        i = bisect_right(ends, start)
        while i < len(starts) and starts[i] < start + length:
            start = ends[i]
            if start > latest:
                return None
            i += 1
        return start


def _follow(full: dict[int, int], i: int) -> int:
    """The next interval not known to be too full, with the path shortened for the next search."""
    root = i
    while root in full:
        root = full[root]
    while i in full and full[i] != root:
        full[i], i = root, full[i]
    return root


class Level:
    """How much of a renewable resource is taken, as a step function of time."""

    def __init__(self, capacity: float) -> None:
        self.capacity = capacity
        self._times: list[int] = []
        self._levels: list[float] = []  # the level from times[i] on

    def take(self, start: int, end: int, amount: float) -> None:
        """Occupy an amount in [start, end); a negative amount gives it back."""
        if end <= start:
            return
        i, j = self._step(start), self._step(end)
        for k in range(i, j):
            self._levels[k] += amount

    def earliest(self, start: int, length: int, amount: float) -> int:
        """The first moment from `start` from which the amount is free for `length` seconds."""
        free = self.capacity * (1 + 1e-9) + 1e-9 - amount
        times, levels = self._times, self._levels
        i = max(bisect_right(times, start) - 1, 0)
        end = start + length
        while i < len(times) and times[i] < end:
            if levels[i] > free and (i + 1 < len(times)) and times[i + 1] > start:
                start = times[i + 1]
                end = start + length
            i += 1
        return start

    def _step(self, moment: int) -> int:
        i = bisect_left(self._times, moment)
        if i == len(self._times) or self._times[i] != moment:
            self._times.insert(i, moment)
            self._levels.insert(i, self._levels[i - 1] if i else 0.0)
        return i


