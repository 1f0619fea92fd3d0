"""What is busy over time, and from when it is free."""

from __future__ import annotations

from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.planning.network import Calendar, Interval
from scheduler.planning.resource_profiles import Hands, HandsProfile


def plainly(busy: set[int], calendar: list[Interval], after: int, length: int) -> int | None:
    """The first second from which work of a length meets nothing busy, looked for second by second."""
    starts = (start for opens, closes in calendar for start in range(max(opens, after), closes - length + 1))
    return next((start for start in starts if not busy & set(range(start, start + length))), None)


@settings(max_examples=200, deadline=None)
@given(st.randoms(use_true_random=False))
def test_the_first_free_moment_is_the_one_found_second_by_second(random: Random) -> None:
    """While work is added and taken out again, in a calendar of spans of which many are too short."""
    edges = sorted(random.sample(range(200), 2 * random.randint(1, 15)))
    open_ = list(zip(edges[::2], edges[1::2], strict=True))
    calendar, hands = Calendar(0, 0, lambda _: open_), HandsProfile()
    settled, taken = list[Interval](), list[Interval]()
    for _ in range(25):
        after, length = random.randrange(200), random.randint(1, 12)
        busy = {second for start, end in (*settled, *taken) for second in range(start, end)}
        found = hands.earliest(calendar, after, length, 1000)
        assert found == plainly(busy, open_, after, length)
        if found is not None and random.random() < 0.6:
            hands.add(found, found + length)
            taken.append((found, found + length))
        elif taken and random.random() < 0.5:
            hands.remove(*taken.pop(random.randrange(len(taken))))
        elif random.random() < 0.2:
            hands.commit()
            settled, taken = [*settled, *taken], []


@settings(max_examples=200, deadline=None)
@given(st.randoms(use_true_random=False))
def test_who_works_elsewhere_is_busy_for_the_way_too(random: Random) -> None:
    """Asked at each place second by second, while work is added and taken out again: the ways about what is left stay busy."""
    travel = {"hill": 3, "mill": 5}
    calendar, hands, taken = Calendar(0, 0, lambda _: [(0, 200)]), Hands(travel), list[tuple[str, int, int]]()
    hands.present("hill", 40)
    for _ in range(25):
        place, after, length = random.choice(["", "hill", "mill"]), random.randrange(150), random.randint(1, 12)
        ways = {other: 0 if other == place else travel.get(other, 0) + travel.get(place, 0) for other in ("", "hill", "mill")}
        busy = {second for other, start, end in (*taken, ("hill", 40, 40)) for second in range(start - ways[other], end + ways[other])}
        found = hands.at(place).earliest(calendar, after, length, 1000)
        assert found == plainly(busy, [(0, 200)], after, length)
        if found is not None and random.random() < 0.6:
            hands.add(place, found, found + length)
            taken.append((place, found, found + length))
        elif taken and random.random() < 0.6:
            hands.remove(*taken.pop(random.randrange(len(taken))))
