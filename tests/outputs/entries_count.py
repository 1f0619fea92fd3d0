"""How much a keeper gets in a calendar: `python -m tests.outputs.entries_count [YARDS]` prints a table of the examples and of invented yards.

What one can live with is DESIGN's: an ordinary harvest of two lots is about a dozen entries in its first ten days and half a dozen alarms by day.
"""

# ruff: noqa: T201 - it prints its table

from __future__ import annotations

import sys
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from random import Random
from statistics import median
from typing import NamedTuple

from scheduler.application.plan_files import problem_of
from scheduler.local_time import DAY, local
from scheduler.outputs.calendar.entries import beyond, entries
from scheduler.outputs.calendar.entry import Entry
from scheduler.planning.plan import Plan
from scheduler.planning.planner import plan as planned
from scheduler.planning.sittings import sittings
from tests.planning.whole import harvest, yard
from tests.planning.whole import planned as planned_whole

EXAMPLES = Path(__file__).parents[2] / "examples"
MINUTE = 60
SPRING = 270 * DAY  # s from a summer's pull to the next flow, about
HEADINGS = ("timed", "days", "alarms", "to spring", "title", "notes", "short", "overlaps", "at night", "late alarms")


class Counted(NamedTuple):
    """What stands in a calendar: timed and all-day entries and alarms of the first ten days, entries to spring; median and longest title and notes
    [characters]; busy entries of ten minutes and less in ten days; pairs of one person's busy entries that overlap; alarms in the quiet hours of
    work that starts by day; alarms after the start of their entry or more than twelve hours before it."""

    timed: int
    days: int
    alarms: int
    to_spring: int
    titles: tuple[float, int]
    notes: tuple[float, int]
    short: int
    overlaps: int
    at_night: int
    misplaced: int

    def row(self) -> list[str]:
        """As words of a table."""
        pairs = [f"{middle:.0f}/{most}" for middle, most in (self.titles, self.notes)]
        numbers = [self.short, self.overlaps, self.at_night, self.misplaced]
        return [*map(str, (self.timed, self.days, self.alarms, self.to_spring)), *pairs, *map(str, numbers)]


def shown(plan: Plan) -> tuple[Entry, ...]:
    """The events that a calendar shows of a plan."""
    evenings = sittings(plan.tasks, plan.timezone)
    far = beyond(plan, evenings)
    return tuple(entry for entry in entries(plan, evenings=evenings) if entry.uid not in far)


def counted(plan: Plan) -> Counted:
    """The counts of one plan, from the moment it is made for."""
    found, until = shown(plan), plan.as_of + 10 * DAY
    soon = [entry for entry in found if entry.start < until]
    busy = [entry for entry in found if not entry.transparent]
    rings = [(entry, entry.start + alarm.offset) for entry in found for alarm in entry.alarms]
    lengths = [[len(getattr(entry, name)) for entry in found] or [0] for name in ("summary", "description")]
    return Counted(
        timed=sum(not entry.all_day for entry in soon),
        days=sum(entry.all_day for entry in soon),
        alarms=sum(at < until for _, at in rings),
        to_spring=sum(entry.start < plan.as_of + SPRING for entry in found),
        titles=(median(lengths[0]), max(lengths[0])),
        notes=(median(lengths[1]), max(lengths[1])),
        short=sum(entry.end - entry.start <= 10 * MINUTE for entry in soon if not entry.transparent),
        overlaps=sum(one.end > other.start for one, other in _neighbours(busy)),
        at_night=sum(_night(plan, at) and not _night(plan, entry.start) for entry, at in rings),
        misplaced=sum(not -12 * 3600 <= at - entry.start <= 0 for entry, at in rings),
    )


def _neighbours(busy: list[Entry]) -> Iterator[tuple[Entry, Entry]]:
    """Busy entries of one person, each with the next."""
    of: dict[str, list[Entry]] = {}
    for entry in sorted(busy, key=lambda one: one.start):
        of.setdefault(entry.categories[-1] if entry.summary.endswith(")") else "", []).append(entry)
    for row in of.values():
        yield from pairwise(row)


def _night(plan: Plan, at: int) -> bool:
    return not 7 <= local(at, plan.timezone).hour < 22


def examples() -> Iterator[tuple[str, Plan]]:
    """Each example as at its pull."""
    for path in sorted(EXAMPLES.glob("*/*.yaml")):
        if path.stem != "yard":
            pulled = next(line.split()[1] for line in path.read_text(encoding="utf-8").splitlines() if line.startswith("pulled:"))
            yield path.stem, planned(problem_of((path,), None, (), pulled))


def two_lots(chance: Random) -> Plan:
    """An ordinary harvest of two lots, one cut comb and one extracted, in a yard whose keeper has some hours of every day. Invented."""
    day = date(2026, 7, 25) + timedelta(chance.randrange(50))
    evening = f"{chance.choice((17, 18))}:{chance.choice(('00', '30'))}-{chance.choice((21, 22))}:00"
    place = yard(
        evening=evening,
        room=chance.randrange(19, 25),
        cold=chance.choice((-18, -20, -22)),
        space=chance.choice((60, 90, 120)),
        latitude=round(chance.uniform(44, 49), 2),
    )
    moisture, other = (round(chance.uniform(16.5, 18.2), 1) for _ in range(2))
    lots: list[dict[str, object]] = [
        {"kind": "cut comb", "frames": chance.randrange(4, 11), "moisture": moisture, "imperfect": chance.choice((0, 10))},
        {"kind": "extracted", "frames": chance.randrange(8, 21), "moisture": other},
    ]
    at = f"{day}T{chance.choice(('09:00', '10:30'))}"
    return planned_whole(place, [harvest(place, "ridge-2", at, lots)], at, cures=True).plan


if __name__ == "__main__":
    rows = [*examples(), *((f"two lots {number}", two_lots(Random(number))) for number in range(int(sys.argv[1]) if sys.argv[1:] else 0))]
    print(f"{'':14}" + "".join(f"{heading:>12}" for heading in HEADINGS))
    for name, plan in rows:
        print(f"{name:14}" + "".join(f"{word:>12}" for word in counted(plan).row()))
