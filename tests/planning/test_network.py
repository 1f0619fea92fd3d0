"""Calendars of free hours, and what the verifier finds out."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from scheduler.local_time import DAY
from scheduler.planning.network import Calendar, Interval, Mode, Network, Placement, Task, violations
from tests.planning.yards import HOUR, NOON, QUARTER, WAYS, frozen, one_freezer

MINUTE = 60


def days(*minutes: int) -> Calendar:
    """A calendar with free time from noon on each day, so many minutes of it."""
    return Calendar(0, len(minutes) - 1, lambda day: [(day * DAY + 12 * HOUR, day * DAY + 12 * HOUR + minutes[day] * MINUTE)])


class Counted(list[int]):
    """A list that counts how often one of its items is read."""

    reads = 0

    def __getitem__(self, i):  # type: ignore[no-untyped-def]
        """The item, counted."""
        self.reads += 1
        return super().__getitem__(i)


def test_short_spans_are_gone_through_once_for_a_length() -> None:
    """A year of quarters of an hour before an hour that takes the work: found again, from any day of it, without going through them again."""
    calendar = days(*[15] * 365, 60)
    assert calendar.long_enough(0, HOUR, 400 * DAY) == 365
    calendar.ends = Counted(calendar.ends)
    assert [calendar.long_enough(i, HOUR, 400 * DAY) for i in (0, 100, 364)] == [365] * 3
    assert calendar.ends.reads < 20


def test_a_calendar_takes_work_only_within_the_days_looked_at() -> None:
    """An hour that begins 30 days after the first free quarter of an hour takes the work up to that moment, not before; and so when asked again."""
    calendar = days(*[15] * 30, 60)
    begins = calendar.starts[0] + 30 * DAY if calendar.has(0) else 0
    assert [calendar.takes(HOUR, 0, last) for last in (begins - 1, begins, begins - 1, begins)] == [False, True, False, True]


def test_free_time_that_goes_on_past_midnight_is_one_span() -> None:
    """Free hours up to midnight and on from it are long enough together, though the days after are not worked out yet."""
    calendar = Calendar(0, 500, lambda day: [(day * DAY, (day + 1) * DAY)] if 100 <= day < 200 else [])
    assert calendar.takes(90 * DAY, calendar.index(0), 400 * DAY)
    assert not calendar.takes(101 * DAY, calendar.index(0), 400 * DAY)


spans = st.lists(st.tuples(st.integers(1, 4), st.integers(1, 5)), min_size=1, max_size=40)  # seconds that are not free, then seconds that are
asked = st.lists(st.tuples(st.integers(0, 40), st.integers(1, 6), st.integers(0, 60)), min_size=1, max_size=12)


@given(spans, asked)
def test_what_is_remembered_never_changes_the_answer(spans: list[tuple[int, int]], asked: list[tuple[int, int, int]]) -> None:
    """Whatever was asked before, the first span long enough is the one that a plain look through all of them finds."""
    intervals: list[Interval] = []
    for gap, length in spans:
        start = (intervals[-1][1] if intervals else 0) + gap
        intervals.append((start, start + length))
    calendar = Calendar(0, 0, lambda _: intervals)
    for i, length, last in asked:
        fit = (k for k, (start, end) in enumerate(intervals) if k >= i and start <= last and end - start >= length)
        found = calendar.long_enough(i, length, last)
        assert (found if calendar.has(found) and calendar.starts[found] <= last else None) == next(fit, None)


def test_the_verifier_sees_two_loads_above_the_rating() -> None:
    """A schedule that loads 8 kg within an hour into a freezer rated for 6 kg a day is found out."""
    network = one_freezer(frozen("a", 10, 4.0), frozen("b", 10, 4.0), rating=6.0)
    placed = {name: Placement(NOON + i * HOUR, NOON + i * HOUR + DAY, NOON + i * HOUR + DAY, (), ()) for i, name in enumerate("ab")}
    assert any(one.kind == "over daily load" for one in violations(network, placed))


def test_the_verifier_sees_who_is_at_two_places_too_soon() -> None:
    """The hill is half an hour off and the mill three quarters: an hour and a quarter between them, half an hour from the house, nothing where one is."""

    def found(here: str, there: str, gap: int) -> list[str]:
        tasks = tuple(Task(name, QUARTER, 0, (Mode(0),), NOON, place=place) for name, place in (("a", here), ("b", there)))
        ends = NOON + QUARTER + gap * 60
        placed = {"a": Placement(NOON, NOON + QUARTER, NOON + QUARTER, ((NOON, NOON + QUARTER),), ())}
        placed["b"] = Placement(ends, ends + QUARTER, ends + QUARTER, ((ends, ends + QUARTER),), ())
        return [one.kind for one in violations(Network(tasks, (), {}, travel=WAYS), placed)]

    assert found("hill", "hill", 0) == found("hill", "mill", 75) == found("", "hill", 30) == found("mill", "", 45) == []
    assert found("hill", "mill", 74) == found("", "hill", 29) == found("mill", "", 44) == ["travel too short"]
