"""What would keep a limit that is missed: more room, or one more free day; the smallest of each, found by placing again. All invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest

from scheduler.facts.yard import Yard
from scheduler.local_time import HOUR
from scheduler.outputs.wording.sentence import METRIC, in_words
from scheduler.planning.cures import cures
from scheduler.planning.network import Mode, Network, Precedence, Task
from scheduler.planning.problem import Problem
from scheduler.planning.serial_sgs import construct
from scheduler.planning.windows import Windows
from scheduler.rules.load import load
from tests.planning.test_windows import yard

ZONE = ZoneInfo("Europe/Ljubljana")
FREEZER, RACK = {"freezer": 0.09}, {"drain rack": 24.0}


def at(local: str) -> int:
    """A moment of August 2026 at the yard: "11 10:30"."""
    return int(datetime.fromisoformat(f"2026-08-{local[:2]}T{local[3:]}").replace(tzinfo=ZONE).timestamp())


NOW = at("11 10:30")  # a Tuesday


def load_of(name: str, resource: str, amount: float, hours: int, **more: int) -> Task:
    """So much of a resource, for so many hours; nobody's hands are wanted."""
    return Task(name, 0, 0, (Mode(hours * HOUR, None, ((resource, amount),)),), NOW, **more)


def work(name: str, hours: float, person: str = "", **more: int) -> Task:
    """Hands-on work within the free hours of the keeper, or of Ash."""
    return Task(name, round(hours * HOUR), 0, (Mode(0, None),), NOW, begin_calendar=f"free hours of {person or 'the keeper'}", hands=person, **more)


def cured(*tasks: Task, after: tuple[tuple[str, str], ...] = (), place: Yard | None = None, now: int = NOW, **room: float) -> dict[str, list[str]]:
    """What is offered for each late task, in words; weekdays are free from 17:30 to 21:30, Ash's Saturday from 09:00 to 13:00."""
    place = place or yard()
    windows = Windows(place, place.season, date(2026, 8, 1), date(2026, 9, 30))
    keys = {"free hours of the keeper": windows.calendar((), "free"), "free hours of Ash": windows.calendar((), "free", "Ash")}
    tasks = tuple(replace(task, begin_calendar=keys[task.begin_calendar]) if task.begin_calendar else task for task in tasks)
    relations = tuple(Precedence(*pair) for pair in after)
    network = Network(tasks, relations, {name.replace("_", " "): amount for name, amount in room.items()}, calendars=windows.calendars)
    problem = Problem(place, load(place.rules), (), now, place.season)
    found = cures(problem, windows, network, construct(network))
    return {name: [in_words(one, METRIC) for one in changes] for name, changes in found.items()}


def test_a_plan_that_keeps_its_limits_needs_no_cure() -> None:
    """Two loads side by side."""
    assert cured(load_of("a", "freezer", 0.04, 24, due=at("13 10:30")), load_of("b", "freezer", 0.04, 24, due=at("12 10:30")), freezer=0.09) == {}


def test_of_more_room_the_least_that_will_do_is_offered() -> None:
    """Two loads of 60 L in a freezer of 90 L want 30 L more: of the tenths that are tried, a third is 27 L and too little, a half is 45 L."""
    loads = load_of("a", "freezer", 0.06, 24, due=at("12 10:30")), load_of("b", "freezer", 0.06, 24, due=at("12 10:30"))
    assert cured(*loads, freezer=0.09) == {"b": ["45 L more room in the freezer"]}


@pytest.mark.parametrize("litres", [10, 20, 30, 50, 75, 100, 150, 200, 300])
def test_more_room_is_tried_from_a_tenth_to_four_times_what_there_is(litres: int) -> None:
    """Four loads that all but fill a freezer of 100 L and so many litres more."""
    loads = [load_of(name, "freezer", (100 + litres - 0.1) / 4000, 24, due=at("12 10:30")) for name in "abcd"]
    assert cured(*loads, freezer=0.1)["d"] == [f"{litres} L more room in the freezer"]


@pytest.mark.parametrize(("rack", "expected"), [(24, "12 pieces"), (30, "3 pieces"), (17, "17 pieces"), (5, "1 pieces"), (4, "4 pieces")])
def test_a_rack_grows_by_whole_pieces(rack: int, expected: str) -> None:
    """Two loads of 16 want a rack of 32; on small racks, two loads of 3 and of 4 want 6 and 8."""
    pieces = {24: 16, 30: 16, 17: 16, 5: 3, 4: 4}[rack]
    loads = (load_of(name, "drain rack", pieces, 24, due=at("12 10:30")) for name in "ab")
    assert cured(*loads, drain_rack=rack) == {"b": [f"{expected} more room in the drain rack"]}


def test_more_than_four_times_the_room_is_not_offered() -> None:
    """Five loads that fill a freezer each: nobody is told to buy four more."""
    assert cured(*(load_of(name, "freezer", 0.09, 24, due=at("12 10:30")) for name in "abcde"), freezer=0.09)["e"] == []


def test_in_a_plan_of_thousands_of_tasks_three_changes_are_tried() -> None:
    """Each is a planning: a tenth, a fifth and three tenths more; the half that would do comes fourth."""
    past = [Task(f"done {i}", 0, 0, (Mode(0, None),), NOW - HOUR, fixed=(NOW - HOUR, NOW - HOUR)) for i in range(2700)]
    loads = load_of("a", "freezer", 0.06, 24, due=at("12 10:30")), load_of("b", "freezer", 0.06, 24, due=at("12 10:30"))
    assert cured(*loads, *past[:10], freezer=0.09) == {"b": ["45 L more room in the freezer"]}
    assert cured(*loads, *past, freezer=0.09) == {"b": []}
    loads = load_of("a", "freezer", 0.055, 24, due=at("12 10:30")), load_of("b", "freezer", 0.055, 24, due=at("12 10:30"))
    assert cured(*loads, *past, freezer=0.09) == {"b": ["27 L more room in the freezer"]}


def test_room_is_sought_in_what_the_late_work_waits_for_and_in_nothing_else() -> None:
    """Packing is late because one of its loads froze after the other, two steps before; the rack, on which nothing of it lies, is no cure."""
    tasks = (
        load_of("a", "freezer", 0.06, 24, due=at("12 10:30")),
        replace(load_of("b", "freezer", 0.06, 24), release=NOW + 60),
        load_of("rack", "drain rack", 20, 24),
        load_of("thaw", "table", 1, 1),
        replace(load_of("pack", "table", 1, 1), due=at("12 20:00")),
    )
    offered = cured(*tasks, after=(("b", "thaw"), ("thaw", "pack"), ("a", "pack")), place=with_table(), freezer=0.09, drain_rack=24, table=9)
    assert offered == {"pack": ["45 L more room in the freezer"]}


def with_table() -> Yard:
    """The yard with a table for nine boxes."""
    place = yard()
    return place.model_copy(update={"equipment": {**place.equipment, "table": place.equipment["drain rack"]}})


def test_a_day_kept_free_is_the_last_that_will_do() -> None:
    """Two jobs of three hours do not fit one evening. Due on Thursday at noon: Thursday itself from seven. Due at nine: Wednesday."""
    noon, nine = (at(f"13 {clock}") for clock in ("12:00", "09:00"))
    jobs = [work(name, 3, due=noon) for name in "abc"]
    assert cured(*jobs) == {"c": ["Thu 13 Aug kept free from 07:00 to 22:00"]}
    assert cured(*(replace(job, due=nine) for job in jobs)) == {"c": ["Wed 12 Aug kept free from 07:00 to 22:00"]}


def test_work_done_to_the_minute_it_is_due_is_in_time() -> None:
    """Free from seven, three hours of work are done at ten and not before."""
    jobs = [work(name, 3, due=at("13 10:00")) for name in "abc"]
    assert cured(*jobs) == {"c": ["Thu 13 Aug kept free from 07:00 to 22:00"]}
    assert cured(*(replace(job, due=at("13 09:59")) for job in jobs)) == {"c": ["Wed 12 Aug kept free from 07:00 to 22:00"]}


def test_today_may_still_be_kept_free() -> None:
    """From half past ten: five hours are done by four, six are not."""
    assert cured(work("a", 5, due=at("11 16:00"))) == {"a": ["Tue 11 Aug kept free from 07:00 to 22:00"]}
    assert cured(work("a", 6, due=at("11 16:00"))) == {"a": []}


@pytest.mark.parametrize(("days", "due", "expected"), [(7, "24 12:00", ["Mon 17 Aug kept free from 07:00 to 22:00"]), (8, "25 12:00", [])])
def test_a_free_day_more_than_a_week_before_the_limit_is_not_sought(days: int, due: str, expected: list[str]) -> None:
    """A hold of a week or more that is begun by hand on Monday evening ends in the evening; begun on Monday morning it would be in time."""
    held = Task("hold", HOUR, 0, (Mode(days * 24 * HOUR, None),), at("17 06:00"), begin_calendar="free hours of the keeper", due=at(due))
    assert cured(held) == {"hold": expected}


def test_each_of_two_limits_has_days_of_its_own() -> None:
    """Nine hours by Thursday noon, and again by Thursday noon of the week after."""
    later = replace(work("b", 9, due=at("20 12:00")), release=at("18 10:30"))
    wednesdays = {name: [f"Wed {day} Aug kept free from 07:00 to 22:00"] for name, day in (("a", 12), ("b", 19))}
    assert cured(work("a", 9, due=at("13 12:00")), later) == wednesdays


def test_a_person_keeps_a_day_of_their_own_free() -> None:
    """Ash has Saturday mornings only, and packs by Thursday noon: the keeper's day would not help."""
    packing = work("pack", 3, "Ash", due=at("13 12:00"))
    assert cured(packing) == {"pack": ["Thu 13 Aug kept free from 07:00 to 22:00 by Ash"]}


def test_each_late_task_is_offered_one_change_of_each_kind() -> None:
    """The second load waits a day for room; the free day that the labels need is of no use to it, and room is of none to them."""
    loads = load_of("a", "freezer", 0.06, 24, due=at("12 10:30")), load_of("b", "freezer", 0.06, 24, due=at("12 14:00"))
    offered = cured(*loads, work("label", 9, due=at("13 12:00")), freezer=0.09)
    assert offered == {"b": ["45 L more room in the freezer"], "label": ["Wed 12 Aug kept free from 07:00 to 22:00"]}


def test_what_more_room_and_a_free_day_would_each_cure_is_told_both() -> None:
    """A load goes in by hand in the evening: beside the other with more room, or in the afternoon of a free day, when that is out."""
    out = replace(load_of("a", "freezer", 0.06, 6), fixed=(at("12 09:00"), at("12 22:00")), release=at("12 09:00"))
    freeze = replace(load_of("b", "freezer", 0.06, 12), begin=HOUR, begin_calendar="free hours of the keeper", release=at("12 12:00"), due=at("14 06:00"))
    assert cured(out, freeze, freezer=0.09) == {"b": ["45 L more room in the freezer", "Thu 13 Aug kept free from 07:00 to 22:00"]}


def test_the_sooner_of_due_date_and_deadline_is_the_limit() -> None:
    """Whichever of them is passed: nine hours of work are two evenings and an hour of the third."""
    for limits in ({"due": at("13 12:00"), "deadline": at("20 12:00")}, {"deadline": at("13 12:00"), "due": at("20 12:00")}, {"deadline": at("13 12:00")}):
        assert cured(work("a", 9, **limits)) == {"a": ["Wed 12 Aug kept free from 07:00 to 22:00"]}
        assert cured(work("a", 8, **limits)) == {}


def test_what_is_past_or_has_happened_is_not_cured() -> None:
    """A limit that went by this morning, and a task that was done too late."""
    assert cured(work("a", 3, due=NOW)) == {}
    assert list(cured(work("a", 3, due=NOW + 60))) == ["a"]
    done = replace(work("a", 3, due=at("11 09:00")), release=at("11 07:00"), fixed=(at("11 07:00"), at("11 10:00")))
    assert cured(done, now=at("11 08:00")) == {}
