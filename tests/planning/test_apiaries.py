"""Plans of a keeper with several apiaries and one honey room: the sun, the season and the way of each. All invented."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.estimates.sun import sun_event
from scheduler.facts.yard import Yard, read_yard
from scheduler.outputs.wording.sentence import words_of
from scheduler.planning.draft import Happened
from scheduler.planning.network import violations
from scheduler.planning.plan import PlannedTask
from scheduler.planning.planner import WARNED
from scheduler.planning.sittings import has_name, leaves, sittings
from tests.chance import times
from tests.planning.cards import at, planned, starts, tasks
from tests.planning.whole import Case, harvest, yard_text
from tests.planning.whole import planned as planned_by_the_bundled_rules

MINUTE, HOUR = 60, 3600
HANDS = '{mon-fri: "17:30-21:30", sat-sun: "08:00-20:00"}'
ZONE = ZoneInfo("Europe/Ljubljana")
TWO = """
apiaries:
  Garden: {travel: 0 min, hives: [north, south]}
  Over Fell:
    place: {latitude: 46.31, longitude: %s}
    travel: %s min
    hives: [rowan, larch]
    season: {first frost: 20 September, robbing: 20 August to 30 September, last warm day: 5 October, spring bloom: 10 May}
"""
LOTS: list[dict[str, object]] = [{"kind": "extracted", "frames": 12, "moisture": 17.8}]


def yard(apiaries: str = TWO % (14.7, 50), hands: str = "") -> Yard:
    """Free on weekday evenings from 17:30 to 21:30, at weekends from 08:00 to 20:00; the fell lies 40 km to the east, less than an hour off."""
    text = yard_text().replace(HANDS, hands) if hands else yard_text()
    return read_yard((text + apiaries).encode(), "yard.yaml")


def both(place: Yard, as_of: str = "2026-08-11T10:30") -> Case:
    """A harvest of each apiary, both of one Tuesday, by the bundled rules."""
    garden, fell = (harvest(place, name, pulled, LOTS) for name, pulled in (("g", "2026-08-11T08:00"), ("f", "2026-08-11T10:30")))
    fell = fell.model_copy(update={"hives": ("rowan", "larch")})
    return planned_by_the_bundled_rules(place, [garden, fell], as_of)


def work_of(case: Case) -> list[tuple[str, int, int, str, PlannedTask]]:
    """All hands-on work in order of whose it is and when, with the place it is at: the house for every room of it."""
    found = [(task.person or "", *span, task.place if has_name(task.place) else "", task) for task in case.plan.tasks for span in task.hands]
    return sorted(found, key=lambda one: one[:3])


def ways_kept(case: Case, ways: dict[str, int]) -> bool:
    """Told again from the plan alone: between any two works of one person at two places lies the way from the one and to the other."""
    work = work_of(case)
    return all(
        second[1] - first[2] >= ways.get(first[3], 0) + ways.get(second[3], 0)
        for i, first in enumerate(work)
        for second in work[i + 1 :]
        if first[0] == second[0] and first[3] != second[3]
    )


def test_each_apiary_is_planned_by_its_own_season_and_the_house_once() -> None:
    """Mouse guards, winter treatment and comb given back come to each by its own frost and bloom; the store is gone through once for both."""
    case = both(yard())
    found = {task.id: task for task in case.plan.tasks}
    early, late = found["yard-2026-over-fell/mouse-guard"], found["yard-2026-garden/mouse-guard"]
    assert early.start < late.start
    assert (early.place, late.place, found["yard-2026/store-round"].place) == ("Over Fell", "Garden", "store")
    assert found["yard-2026-over-fell/give-comb-back"].start > found["yard-2026-garden/give-comb-back"].start
    assert not [name for name in found if name.startswith("yard-2026/") and found[name].place == "apiary"]
    assert found["f/a/spin"].place == "honey room"
    robbed = [task.id for task in case.plan.tasks if task.rule.endswith("watch entrances") and task.start < at("2026-08-20 00:00")]
    assert robbed
    assert all(name.startswith("yard-2026-garden/") for name in robbed), "bees rob over the fell from the 20th of August on"


def test_nothing_of_a_harvest_is_worked_at_the_house_before_it_came_there() -> None:
    """Pulled at 10:30 fifty minutes off: closed up there at once, and in the honey room from 11:20 on."""
    any_hour = "{before: 10 min, hours: any}"
    cards = f"""
    close: {{title: Close, for: harvest, where pulled: yes, hands: {any_hour}, why: x}}
    read: {{title: Read, for: extracted, hands: {any_hour}, why: x}}
    look: {{title: Look, for: extracted, place: apiary, hands: {any_hour}, why: x}}
    """
    place = yard(TWO.replace("[north, south]", "[east]").replace("[rowan, larch]", "[north, south]") % (14.7, 50))
    found = planned(cards, place=place)
    assert sorted(starts(found).values()) == ["11 10:30", "11 10:40", "11 11:40"]
    assert starts(found)["w/b/read"] == "11 11:40"
    assert {task.id: task.place for task in found.tasks} == {"w/close": "Over Fell", "w/b/look": "Over Fell", "w/b/read": "honey room"}
    at_home = planned(cards)
    assert tasks(at_home)["w/close"].place == "honey room", "in a yard with one place it is where it always was"


def test_free_hours_are_shorter_by_the_way_there_and_back_and_two_works_share_it() -> None:
    """Free from 17:30 to 21:30 and fifty minutes off: two looks of an hour from 18:20, the second right after the first; a third not before the next day."""
    cards = "".join(f"{name}: {{title: {name}, for: extracted, place: apiary, hands: 1 h, why: x}}\n" for name in ("one", "two", "three"))
    place = yard(TWO.replace("[north, south]", "[east]").replace("[rowan, larch]", "[north, south]") % (14.7, 50))
    found = planned(cards, place=place)
    assert sorted(starts(found).values()) == ["11 18:20", "11 19:20", "12 18:20"]
    made = sittings(found.tasks, found.timezone)
    assert [(one.place, len(one.steps)) for one in made] == [("Over Fell", 2), ("Over Fell", 1)]
    assert {datetime.fromtimestamp(one, ZONE).strftime("%d %H:%M") for one in leaves(made, tasks(found)).values()} == {"11 17:30", "12 17:30"}


@pytest.mark.parametrize(("longitude", "minutes"), [("14.7", 50), ("13.66", 45)])
def test_dusk_is_that_of_the_apiary_and_the_way_takes_nothing_of_it(longitude: str, minutes: int) -> None:
    """Wet frames go back from dusk on where their hives stand, at the whole length of the window, though the way takes most of an hour."""
    robbed = (TWO % (longitude, minutes)).replace("20 August to", "5 August to")
    case = both(yard(robbed, '{every day: "08:00-23:30"}'))
    found = {task.id: task for task in case.plan.tasks}
    for name, east in (("g/a/give-back", 14.18), ("f/a/give-back", float(longitude))):
        begins, ends = found[name].hands[0]
        dusk = sun_event(46.31, east, datetime.fromtimestamp(begins, ZONE).date(), "dusk", "Europe/Ljubljana")
        assert dusk is not None
        assert 0 <= begins - dusk.timestamp() <= ends - dusk.timestamp() <= 65 * MINUTE, "from dusk on where they rob, and not long after"
    assert ways_kept(case, {"Garden": 0, "Over Fell": minutes * MINUTE})


def test_who_pulled_just_now_is_on_the_way_still() -> None:
    """At 10:30 the keeper stands over the fell: what there is to do in the garden at any hour waits until he is back."""
    case = both(yard())
    first = min(one[1] for one in work_of(case) if one[3] == "Garden")
    assert first >= at("11 11:20")
    assert min(one[1] for one in work_of(case) if one[3] == "Over Fell") == at("11 10:30")


def test_who_is_at_home_has_the_way_before_them() -> None:
    """A week after the pull, free from 17:30: nothing over the fell before 18:20, though it is late and may be done at any hour."""
    case = both(yard(), "2026-08-18T17:30")
    assert case.network.present == (("", "", at("18 17:30")),)
    assert min(one[1] for one in work_of(case) if one[3] == "Over Fell") >= at("18 18:20")
    assert ways_kept(case, {"Garden": 0, "Over Fell": 50 * MINUTE})


def test_who_has_just_worked_at_an_apiary_is_there_still() -> None:
    """What was done at 18:40 over the fell lets the next begin there at once, and at home after the way; an hour later nobody knows."""
    cards = "".join(f"{name}: {{title: {name}, for: extracted, place: apiary, hands: 10 min, why: x}}\n" for name in ("one", "two"))
    place = yard(TWO.replace("[north, south]", "[east]").replace("[rowan, larch]", "[north, south]") % (14.7, 50))
    done = Happened(done={"w/b/one": (at("12 18:20"), at("12 18:40"))})
    assert starts(planned(cards, place=place, as_of="2026-08-12T18:40", happened=done))["w/b/two"] == "12 18:40"
    assert starts(planned(cards, place=place, as_of="2026-08-12T19:40", happened=done))["w/b/two"] == "12 20:30"


def test_the_call_to_a_visit_comes_when_it_is_time_to_leave_and_only_for_its_first_work() -> None:
    """Two looks from 18:20: the first is told at 17:30, the second as it begins; at home nobody leaves for anything."""
    card = '{title: look, for: extracted, place: apiary, hands: 1 h, alerts: [{say: "Look"}], why: x}'
    cards = f"one: {card}\ntwo: {card}\n"
    place = yard(TWO.replace("[north, south]", "[east]").replace("[rowan, larch]", "[north, south]") % (14.7, 50))
    first, second = sorted(planned(cards, place=place).tasks, key=lambda task: task.start)
    assert [(told.at - first.start, words_of(told.say)) for told in first.alerts] == [(-50 * MINUTE, "Leave for Over Fell, 50 min away. Look")]
    assert [(told.at - second.start, words_of(told.say)) for told in second.alerts] == [(0, "Look")]
    assert all(told.at == task.start for task in planned(cards).tasks for told in task.alerts)


def test_a_yard_without_apiaries_knows_no_ways() -> None:
    """Its ids, places and network are what they were."""
    place = read_yard(yard_text().encode(), "yard.yaml")
    case = planned_by_the_bundled_rules(place, [harvest(place, "g", "2026-08-11T10:30", LOTS)], "2026-08-11T10:30")
    assert (case.network.travel, case.network.present) == ({}, ())
    assert {task.place for task in case.network.tasks} == {""}
    assert {task.place for task in case.plan.tasks} <= {"honey room", "apiary", "store", "anywhere"}
    assert any(task.id.startswith("yard-2026/mite-count") for task in case.plan.tasks)


@settings(max_examples=times(12), deadline=None)
@given(st.integers(0, 100), st.integers(0, 100), st.integers(0, 40), st.sampled_from(["11", "12", "15"]))
def test_no_hands_at_two_places_at_once_and_every_way_kept(one: int, two: int, frames: int, day: str) -> None:
    """Whatever the ways, the size of the harvests and the day: no violation but limits that are told, and the ways between any two works."""
    apiaries = TWO % (14.7, one) + f"  Mill: {{place: {{latitude: 46.1, longitude: 14.0}}, travel: {two} min, hives: [ash]}}\n"
    place = yard(apiaries)
    lots: list[dict[str, object]] = [*LOTS, {"kind": "extracted", "frames": 4 + frames, "moisture": 18}]
    pulled = [("g", "08:00", ("north", "south")), ("f", "10:30", ("rowan", "larch")), ("m", "10:30", ("ash",))]
    harvests = [harvest(place, name, f"2026-08-{day}T{clock}", lots).model_copy(update={"hives": hives}) for name, clock, hives in pulled]
    case = planned_by_the_bundled_rules(place, harvests, f"2026-08-{day}T10:30")
    assert [found for found in violations(case.network, case.placed) if found.kind not in WARNED] == []
    assert ways_kept(case, {"Garden": 0, "Over Fell": one * MINUTE, "Mill": two * MINUTE})
    for task in case.plan.tasks:
        if task.rule.endswith("/give back") and task.hands and task.place != "Over Fell":  # both rob in August, the fell not before the 20th
            east, north = (14.0, 46.1) if task.place == "Mill" else (14.18, 46.31)
            dusk = sun_event(north, east, datetime.fromtimestamp(task.start, ZONE).date(), "dusk", "Europe/Ljubljana")
            assert dusk is not None
            assert dusk.timestamp() <= task.hands[0][0], "dusk of the right place"
            assert task.hands[0][1] <= dusk.timestamp() + 65 * MINUTE
    free = [(a + way, b - way) for a, b, way in _shortened(place, case)]
    for task in case.plan.tasks:
        if has_name(task.place) and task.rule.endswith(("mite count", "watch entrances", "mouse guard")):
            assert all(any(a <= begins and ends <= b for a, b in free) for begins, ends in task.hands)


def _shortened(place: Yard, case: Case) -> list[tuple[int, int, int]]:
    """Free spans of every day of the plan, with the shortest way of the yard: who has to go further has less."""
    days = {datetime.fromtimestamp(one[1], ZONE).date() for one in work_of(case)}
    way = min(place.travel(name) for name in place.apiaries)
    return [(_moment(day, opens), _moment(day, closes), way) for day in days for opens, closes in place.hands.spans(day)]


def _moment(day: date, clock: object) -> int:
    return int(datetime.combine(day, clock, ZONE).timestamp())  # type: ignore[arg-type]


def test_six_apiaries_fifty_hives_and_five_hundred_frames_in_one_weekend() -> None:
    """N1408: a sideline keeper's weekend. Planned without a violation; what is late is told as late."""
    said, harvests = "apiaries:\n", []
    for number in range(6):
        hives = ", ".join(f"h{number}-{hive}" for hive in range(8 + (number < 2)))
        spot = f"place: {{latitude: {46.2 + 0.05 * number:.2f}, longitude: {14.0 + 0.1 * number:.1f}}}"
        said += f"  Apiary {number}: {{{spot}, travel: {10 * number} min, hives: [{hives}]}}\n"
    text = yard_text().replace("volume: 60 L", "volume: 400 L").replace(HANDS, '{mon-fri: "17:30-22:30", sat-sun: "07:00-23:00"}')
    place = read_yard((text + said).encode(), "yard.yaml")
    for number, (name, one) in enumerate(place.apiaries.items()):
        lots: list[dict[str, object]] = [{"kind": "extracted", "frames": 83 + (number < 2), "moisture": 17.6}]
        made = harvest(place, f"w{number}", f"2026-08-{15 + number // 3}T{8 + 3 * (number % 3):02d}:00", lots)
        harvests.append(made.model_copy(update={"hives": one.hives, "at": name}))
    assert sum(lot.frames for one in harvests for lot in one.lots) == 500
    assert sum(len(one.hives) for one in harvests) == 50
    case = planned_by_the_bundled_rules(place, harvests, "2026-08-16T14:00")
    assert [one for one in violations(case.network, case.placed) if one.kind not in WARNED] == []
    assert ways_kept(case, {name: place.travel(name) for name in place.apiaries})
    assert {task.place for task in case.plan.tasks if has_name(task.place)} == set(place.apiaries)
    assert not [task.id for task in case.plan.tasks if task.status == "impossible"]
