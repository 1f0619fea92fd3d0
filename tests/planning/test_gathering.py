"""Fewer sittings from the same work: what is brought together, what it may cost, and what stays. Minutes and hours are invented."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from random import Random
from typing import Any

from hypothesis import given

from scheduler.local_time import DAY
from scheduler.planning.gathering import WorkAt, gathered
from scheduler.planning.local_search import schedule
from scheduler.planning.network import Calendar, Mode, Network, Placement, Precedence, Schedule, Task, violations
from scheduler.planning.objective import cost_of
from scheduler.planning.priority import priorities_of
from scheduler.planning.sittings import Step, joined
from tests.planning.yards import HOUR, NOON, often, randoms, yards

MINUTE = 60
ROOM, HIVES = WorkAt("honey room", 0, ("food",), sun_tied=False), WorkAt("apiary", 0, (), sun_tied=False)


def job(name: str, length: int = 15, **more: Any) -> Task:
    """Hands-on work at any hour, in minutes."""
    return Task(name, length * MINUTE, 0, (Mode(0),), NOON, **more)


def at(start: int, minutes: int) -> Placement:
    """Work without a hold, from a minute after noon."""
    begins, ends = NOON + start * MINUTE, NOON + (start + minutes) * MINUTE
    return Placement(begins, ends, ends, ((begins, ends),), ())


def minutes(placed: Schedule) -> dict[str, int]:
    """When each task starts, in minutes after noon."""
    return {name: (one.start - NOON) // MINUTE for name, one in placed.items()}


def steps(network: Network, placed: Schedule, whose: str) -> list[Step]:
    """The work of one pair of hands."""
    found = [task.id for task in network.tasks if task.hands == whose and task.id in placed and not task.fixed]
    spans = [(name, phase, span) for name in found for phase, spans in (("begin", placed[name].sittings), ("end", placed[name].end_sittings)) for span in spans]
    return [Step(name, f"{phase} {number}", *span) for number, (name, phase, span) in enumerate(spans)]


def together(network: Network, placed: Schedule, known: Mapping[str, WorkAt]) -> dict[str, int]:
    """How many sittings the work of each pair of hands makes."""
    return {whose: len(joined(known, steps(network, placed, whose))) for whose in {task.hands for task in network.tasks}}


def changed(network: Network, placed: Schedule, known: Mapping[str, WorkAt], **given: Any) -> dict[str, int]:
    """When each task starts once gathered, in minutes after noon."""
    return minutes(gathered(network, priorities_of(network), placed, known, NOON, **given))


def test_comb_is_cut_when_it_can_be_racked_at_once() -> None:
    """Cutting ends at most two hours before draining begins, and racking cannot come sooner: the comb waits in its frames, not on the bench."""
    cut, rack = job("cut", loss="crop"), job("rack", loss="crop")
    network = Network((cut, rack), (Precedence("cut", "rack", greatest=2 * HOUR),), {})
    placed = {"cut": at(0, 15), "rack": at(100, 15)}
    assert changed(network, placed, dict.fromkeys(placed, ROOM)) == {"cut": 85, "rack": 100}


def test_mites_are_counted_while_one_is_at_the_hives() -> None:
    """Entrances, a job in the honey room, mites, spinning: two walks become one."""
    names = ("entrances", "yeast", "mites", "spin")
    network = Network(tuple(job(name) for name in names), (), {})
    placed = {name: at(15 * number, 15) for number, name in enumerate(names)}
    assert changed(network, placed, {"entrances": HIVES, "yeast": ROOM, "mites": HIVES, "spin": ROOM}) == {"entrances": 0, "mites": 15, "yeast": 30, "spin": 45}


def test_what_is_due_is_not_put_off_for_a_sitting() -> None:
    """Entrances are made small within the hour: with a day to its limit it may wait an hour for the other work at the hives, with four hours no ten minutes."""
    for due, start in ((NOON + 4 * HOUR, 0), (NOON + 30 * HOUR, 45)):
        small = job("entrances", due=due, loss="colony")
        network = Network((small, replace(job("mites"), release=NOON + HOUR)), (), {})
        placed = {"entrances": at(0, 15), "mites": at(60, 15)}
        assert changed(network, placed, dict.fromkeys(placed, HIVES))["entrances"] == start


def test_what_begins_by_itself_moves_along() -> None:
    """The limit that is met once the comb is cut has nobody's hands: cutting waits, and is met later, in time."""
    cut, rack = job("cut", loss="crop"), job("rack", loss="crop")
    limit = Task("limit", 0, 0, (Mode(0),), NOON, due=NOON + 7 * DAY, loss="crop")
    network = Network((cut, rack, limit), (Precedence("cut", "rack", greatest=2 * HOUR), Precedence("cut", "limit")), {})
    placed = {"cut": at(0, 15), "rack": at(100, 15), "limit": Placement(NOON + 15 * MINUTE, NOON + 15 * MINUTE, NOON + 15 * MINUTE, (), ())}
    assert changed(network, placed, dict.fromkeys(placed, ROOM)) == {"cut": 85, "rack": 100, "limit": 100}


def test_what_was_published_stays() -> None:
    """The same comb, where the plan in force has the cutting already."""
    network = Network((job("cut"), job("rack")), (), {})
    placed = {"cut": at(0, 15), "rack": at(100, 15)}
    assert changed(network, placed, dict.fromkeys(placed, ROOM), kept=("cut", "rack")) == minutes(placed)


def test_wax_is_rendered_on_the_evening_after_where_that_saves_one() -> None:
    """Wax alone on one evening, labels on the next: both on the next, in the order that leaves no wax on heat; what waits for the wax stays where it is."""
    wax, label = job("wax", length=60), job("label", length=50)
    network = Network((wax, label), (), {})
    known = {"wax": WorkAt("honey room", 0, ("hot wax",), sun_tied=False), "label": ROOM}
    assert changed(network, {"wax": at(0, 60), "label": at(24 * 60, 50)}, known) == {"wax": 24 * 60 + 50, "label": 24 * 60}
    assert changed(network, {"wax": at(0, 60), "label": at(40 * 60, 50)}, known) == {"wax": 0, "label": 40 * 60}


def test_what_follows_is_put_off_as_little_as_it_must() -> None:
    """Comb is stored three hours later, with the next work at the house: a look a week after it moves on with it, one that may be early stays."""
    store, look, label = job("store"), job("look"), job("label")
    placed = {"store": at(0, 15), "label": at(180, 15), "look": at(15 + 7 * 24 * 60, 15)}
    for more, later in (({"least": 7 * DAY, "early": 42 * HOUR}, 0), ({"least": 7 * DAY}, 165)):
        network = Network((store, look, label), (Precedence("store", "look", **more),), {})
        found = changed(network, placed, {**dict.fromkeys(("store", "label"), ROOM), "look": HIVES})
        assert found == {"store": 165, "label": 180, "look": minutes(placed)["look"] + later}


def test_what_follows_is_not_put_off_where_that_costs_a_sitting() -> None:
    """As above, and the look is taken with a count at the hives: both stay, or there were one walk more for one less."""
    names = ("store", "look", "label", "mites")
    placed = {"store": at(0, 15), "label": at(180, 15), "look": at(15 + 7 * 24 * 60, 15), "mites": at(30 + 7 * 24 * 60, 15)}
    network = Network(tuple(job(name) for name in names), (Precedence("store", "look", least=7 * DAY),), {})
    known = {name: HIVES if name in ("look", "mites") else ROOM for name in names}
    assert changed(network, placed, known, kept=("mites",)) == minutes(placed)


def test_what_two_do_together_is_not_put_off_for_a_sitting_of_one() -> None:
    """The look a week later is done with Ash, who has the evening kept for it: the comb is stored when it was."""
    placed = {"store": at(0, 15), "label": at(180, 15), "look": at(15 + 7 * 24 * 60, 15)}
    for beside, start in (("Ash", 0), (None, 165)):
        look = job("look", joined_by=beside)
        network = Network((job("store"), job("label"), look), (Precedence("store", "look", least=7 * DAY),), {})
        assert changed(network, placed, {**dict.fromkeys(("store", "label"), ROOM), "look": HIVES})["store"] == start


def test_work_that_a_step_joins_makes_room_for_it_and_so_does_what_stands_behind() -> None:
    """A look at the frames at noon, taking them off on the next, jars behind it: the look begins that day's light, and the rest waits for it."""
    placed = {"look": at(0, 10), "take off": at(24 * 60, 15), "jars": at(24 * 60 + 15, 60)}
    morning = {"light": Calendar(NOON // DAY, NOON // DAY + 2, lambda day: [(day * DAY + NOON % DAY, day * DAY + NOON % DAY + 6 * HOUR)])}
    look, off = (job(name, length, begin_calendar="light") for name, length in (("look", 10), ("take off", 15)))
    network = Network((look, off, job("jars", 60)), (Precedence("look", "take off"),), {}, calendars=morning)
    known = {"look": HIVES, "take off": HIVES, "jars": ROOM}
    assert changed(network, placed, known) == {"look": 24 * 60, "take off": 24 * 60 + 10, "jars": 24 * 60 + 25}


def test_hands_that_had_a_rest_keep_it_after_three_hours() -> None:
    """Three hours of spinning and a jar to label an hour later stay two appointments; with a count at the hives between and no rest they become one."""
    spin, label, mites = job("spin", length=180), job("label"), job("mites")
    rested = {"spin": at(0, 180), "label": at(245, 15)}
    assert changed(Network((spin, label), (), {}), rested, {"spin": ROOM, "label": ROOM}) == minutes(rested)
    placed = {"spin": at(0, 180), "mites": at(180, 15), "label": at(195, 15)}
    found = changed(Network((spin, label, mites), (), {}), placed, {"spin": ROOM, "mites": HIVES, "label": ROOM})
    assert found == {"mites": 0, "spin": 15, "label": 195}


@often
@given(yards, randoms)
def test_nothing_is_broken_and_nothing_is_later_than_a_limit(network: Network, random: Random) -> None:
    """In any yard, with its work spread over the honey room and the hives: never more sittings, never more that is late, and what was kept has not moved."""
    placed = schedule(network)
    known = {task.id: random.choice((ROOM, HIVES)) for task in network.tasks}
    kept = [task.id for task in network.tasks if random.random() < 0.2]
    found = gathered(network, priorities_of(network), placed, known, NOON, kept)
    before, after = (sorted(map(repr, violations(network, one))) for one in (placed, found))
    assert len(after) <= len(before)
    assert cost_of(network, found).lateness <= cost_of(network, placed).lateness
    assert {name: found[name].start for name in kept if name in found} == {name: placed[name].start for name in kept if name in placed}
    fewer, were = together(network, found, known), together(network, placed, known)
    assert all(fewer[whose] <= were[whose] for whose in were)
