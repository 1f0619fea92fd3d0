"""The feed against the icalendar library doing the same work: 20,000 entries with alarms, as ratios within one run.

The library builds one calendar of components and writes it; we draw each entry once, keep its bytes and join them.
"""

from __future__ import annotations

import gc
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from hashlib import sha256

from scheduler.outputs.calendar.entries import entries
from scheduler.outputs.calendar.entry import Entry, EntryCache
from scheduler.outputs.calendar.publication import publish
from scheduler.outputs.calendar.vcalendar import feed
from scheduler.planning.plan import Link, Plan, PlannedTask, Reason, Told
from scheduler.quantities import say

BEGIN, HOUR = 1_786_000_000, 3600
BOUNDS = {"first render": 1.0, "after one change": 1 / 50, "memory": 1 / 3}  # this project's own, assumed
SAID = say("as written", text="41 h (36 h to 48 h) at 21 °C and 17.4 % moisture")
REASON = Reason("estimate drain_time", SAID, "comb_honey.yaml:38 drain", ("assumed film thickness",))


def season(count: int) -> Plan:
    """A plan of `count` tasks with one phase, one alert, three reasons and a predecessor each. Invented."""
    starts = [BEGIN + number % 70 * 24 * HOUR + number // 70 % 120 * 600 for number in range(count)]
    tasks = (
        PlannedTask(
            id=f"h{number // 40}.a.task-{number % 40}",
            rule="comb honey/drain",
            title=f"Drain {number} cut pieces on the rack",
            stream="cut comb",
            harvest=f"h{number // 40}",
            lot="a",
            batch=None,
            status="planned",
            start=start,
            hold_done=start + 41 * HOUR,
            finish=start + 41 * HOUR,
            due=None,
            links=(Link(f"h{number // 40}.a.task-{number % 40 - 1}"),) if number % 40 else (),
            occupies=(("drain rack", 24.0),),
            hands=((start, start + 600),),
            alerts=(Told(start + 41 * HOUR, "Cut edges drained: pack the pieces"),),
            reasons=(REASON, REASON, REASON),
            cautions=("food handling",),
            loss="crop",
        )
        for number, start in enumerate(starts)
    )
    return Plan("Kestrel Bank", "Europe/Ljubljana", "metric", BEGIN, tuple(tasks), ())


def by_library(plan: Plan, made: tuple[Entry, ...]) -> bytes:
    """Entries made beforehand through the library's own calls: build all components, then write."""
    from icalendar import Alarm, Calendar, Event, vText

    calendar = Calendar.new(prodid="-//afterpull//EN", name="Kestrel Bank", uid="feed")
    for entry in made:
        start, end = (datetime.fromtimestamp(moment, _zone(plan)) for moment in (entry.start, entry.end))
        event = Event.new(
            uid=entry.uid,
            summary=entry.summary,
            description=entry.description,
            location=entry.location,
            start=start,
            end=end,
            stamp=datetime.fromtimestamp(BEGIN, UTC),
            last_modified=datetime.fromtimestamp(BEGIN, UTC),
            categories=list(entry.categories),
            priority=entry.priority,
            sequence=0,
            status=entry.status,
        )
        event.add("transp", "OPAQUE")
        for relation in entry.relations:
            event.add("related-to", vText(relation.uid), parameters={"RELTYPE": relation.kind})
        for alarm in entry.alarms:
            event.add_component(Alarm.new_display(trigger=timedelta(seconds=alarm.offset), description=alarm.say, uid=alarm.uid))
        calendar.add_component(event)
    calendar.add_missing_timezones(first_date=datetime(2026, 1, 1).date(), last_date=datetime(2029, 1, 1).date())  # noqa: DTZ001
    written: bytes = calendar.to_ical()
    return written


def by_us(plan: Plan) -> int:
    """The first render as a stream, hashed for the ETag; nothing is kept but what was published. Returns the number of octets."""
    published = publish(entries(plan), {}, BEGIN)
    etag, size = sha256(), 0
    for piece in feed(published, name="Kestrel Bank", yard="Kestrel Bank"):
        etag.update(piece)
        size += len(piece)
    return size


def _zone(plan: Plan) -> object:
    from zoneinfo import ZoneInfo

    return ZoneInfo(plan.timezone)


def timed(work: Callable[[], object], rounds: int) -> float:
    """The least wall time of `rounds` runs [s]."""
    times = []
    for _ in range(rounds):
        gc.collect()
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return min(times)


def after_one_change(plan: Plan, rounds: int) -> float:
    """The time from a plan with one task an hour later to the feed's bytes, with what was drawn and published at hand [s]."""
    cache: EntryCache = {}
    published = publish(entries(plan, cache=cache), {}, BEGIN)
    middle = len(plan.tasks) // 2
    times = []
    for number in range(rounds):
        moved = replace(plan.tasks[middle], hold_done=BEGIN + (10_000 + number) * HOUR)
        changed = plan._replace(tasks=(*plan.tasks[:middle], moved, *plan.tasks[middle + 1 :]))
        begun = time.perf_counter()
        published = publish(entries(changed, cache=cache), published, BEGIN + HOUR)
        b"".join(feed(published, name="Kestrel Bank", yard="Kestrel Bank"))
        times.append(time.perf_counter() - begun)
    return min(times)


def memory(which: str, count: int) -> float:
    """The peak resident memory that writing adds, in a process of its own [MiB]."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.bench_calendar", f"--memory={which}", str(count)], check=True, capture_output=True, text=True
    )
    return float(done.stdout)


def measure_memory(which: str, count: int) -> None:
    """In the child: print by how much the peak rises above the plan and the imports."""
    plan = season(count)
    made = entries(plan) if which == "library" else ()
    by_us(season(50)) if which == "ours" else by_library(plan, made[:50])
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    by_us(plan) if which == "ours" else by_library(plan, made)
    print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024)


def main(arguments: list[str]) -> int:
    """Print the ratios; exit 1 over a bound. `--smoke` takes 200 entries, once, and applies none."""
    if arguments and arguments[0].startswith("--memory="):
        measure_memory(arguments[0].partition("=")[2], int(arguments[1]))
        return 0
    smoke = "--smoke" in arguments
    count, rounds = (200, 1) if smoke else (20_000, 3)
    theirs, ours = memory("library", count), memory("ours", count)  # first: a child inherits the peak of its parent
    plan = season(count)
    made = entries(plan)
    library, first = timed(lambda: by_library(plan, made), rounds), timed(lambda: by_us(plan), rounds)
    change = after_one_change(plan, 1 if smoke else 7)
    ratios = {"first render": (first, library), "after one change": (change, library), "memory": (ours, theirs)}
    over = False
    for name, (here, there) in ratios.items():
        ratio = here / there if there else 0.0
        unit = "MiB" if name == "memory" else "s"
        over |= not smoke and ratio > BOUNDS[name]
        print(f"{name:18} {here:8.3f} {unit:3} library {there:8.3f} {unit:3} ratio {ratio:.4f} (bound {BOUNDS[name]:.4f}, {count} entries)")
    return 1 if over else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
