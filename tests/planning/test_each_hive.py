"""Cards for each hive: one task for each, with the dates of its own pulls. All invented."""

from __future__ import annotations

import pytest

from scheduler.diagnostics import Refused
from scheduler.facts.harvest import read_harvest
from scheduler.planning.draft import Happened
from scheduler.planning.planner import plan
from scheduler.planning.problem import Problem
from tests.planning.cards import at, planned, rules, starts, warnings
from tests.planning.test_apiaries import yard

CARDS = """
requeen: {title: "Requeen {hive.name}", for: hive, earliest: pulled + 1 d, hands: 15 min, why: x}
"""


def test_each_hive_has_a_task_of_its_own_at_the_hives() -> None:
    """Both hives of the pull, one after the other in one visit, no earlier than the card says."""
    found = planned(CARDS)
    assert sorted(starts(found)) == ["yard-2026/north/requeen", "yard-2026/south/requeen"]
    first, second = sorted(found.tasks, key=lambda task: task.start)
    assert {task.place for task in found.tasks} == {"apiary"}
    assert first.start >= at("12 10:30")
    assert second.start == first.finish
    assert {(task.hive, str(task.title)) for task in found.tasks} == {("north", "Requeen north"), ("south", "Requeen south")}


def test_a_card_may_name_the_hives_that_it_is_for() -> None:
    """Of one that nobody else names the keeper hears; it comes for no hive then."""
    found = planned(CARDS.replace("for: hive", "for: hive, hives: [south, nort]"))
    assert list(starts(found)) == ["yard-2026/south/requeen"]
    assert 'the hive "nort", which no harvest names: write "north"' in warnings(found)["unknown hive"]


def test_a_hive_that_gave_nothing_is_looked_after_too() -> None:
    """Larch stands on the fell by the yard file, and only rowan was pulled there."""
    place = yard()
    text = "harvest: f\npulled: 2026-08-11T10:30\nhives: [rowan]\nlots:\n  - {id: a, kind: extracted, frames: 12, frame: medium, moisture: 17 %}\n"
    pulled = read_harvest(text.encode(), "f.yaml", place)
    found = plan(Problem(place, rules(CARDS), (pulled,), at("11 10:30"), place.season))
    assert sorted(starts(found)) == ["yard-2026-over-fell/larch/requeen", "yard-2026-over-fell/rowan/requeen"]
    assert {task.place for task in found.tasks} == {"Over Fell"}


def test_a_hive_follows_the_lots_it_gave_and_the_whole_yard_follows_every_hive() -> None:
    """The record waits for both hives; a hive waits for the spinning of its own pull."""
    cards = """
spin: {title: Spin, for: extracted, hands: 20 min, why: x}
requeen: {title: "Requeen {hive.name}", for: hive, after: {spin: }, hands: 15 min, why: x}
order: {title: Order, for: yard, after: {requeen: }, hands: 5 min, place: anywhere, why: x}
bottle: {title: Bottle, for: extracted, after: {requeen: }, hands: 5 min, why: x}
"""
    found = {task.id: task for task in planned(cards).tasks}
    assert {link.task for link in found["yard-2026/north/requeen"].links} == {"w/b/spin"}
    both = {"yard-2026/north/requeen", "yard-2026/south/requeen"}
    assert {link.task for link in found["yard-2026/order"].links} == both == {link.task for link in found["w/b/bottle"].links}


def test_a_colony_that_died_has_no_more_work_but_what_was_done_stays() -> None:
    """North died after it was looked at, south before."""
    done = {"yard-2026/north/requeen": (at("12 18:00"), at("12 18:15"))}
    found = planned(CARDS, as_of="2026-08-13T10:00", happened=Happened(done=done, dead={"north": at("12 20:00"), "south": at("11 18:00")}))
    assert [(task.id, task.status) for task in found.tasks] == [("yard-2026/north/requeen", "done")]


def test_a_hive_that_was_settled_again_has_its_work_again() -> None:
    """Its colony died in spring, and a super came off it in August: another lives there."""
    found = planned(CARDS, happened=Happened(dead={"north": at("2026-04-02 12:00")}))
    assert sorted(starts(found)) == ["yard-2026/north/requeen", "yard-2026/south/requeen"]


def test_hives_that_look_alike_in_an_id_keep_tasks_of_their_own() -> None:
    """ "Hive 1" and "hive 1" are two; one without a letter of the id has one too."""
    found = planned(CARDS, hives='["Hive 1", "hive 1", "Улей"]')
    assert sorted(starts(found)) == ["yard-2026/hive-1-2/requeen", "yard-2026/hive-1/requeen", "yard-2026/hive/requeen"]
    assert {task.hive for task in found.tasks} == {"Hive 1", "hive 1", "Улей"}


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("for: [hive, harvest]", "a card for each hive is for nothing else"),
        ("for: yard, hives: [north]", "only a card for each hive names hives"),
        ("for: hive, pulls: yes", '"pulls" is of a lot, a harvest or the yard'),
    ],
)
def test_what_a_card_for_each_hive_cannot_be(written: str, said: str) -> None:
    """Refused with what to write."""
    with pytest.raises(Refused, match=said.replace("[", r"\[")):
        rules(f"x: {{title: X, {written}, hands: 5 min, why: x}}")
