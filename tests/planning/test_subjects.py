"""What cards are about, in a yard with one place and in one with two apiaries. All invented."""

from __future__ import annotations

from scheduler.facts.harvest import read_harvest
from scheduler.planning.draft import Pull, Subject
from scheduler.planning.subjects import Subjects
from tests.planning.cards import PULLED, TWO_LOTS, rules
from tests.planning.whole import yard

CARDS = """
treat: {title: Treat, for: yard, place: apiary, hands: 5 min, why: x}
record: {title: Record, for: yard, alongside: treat, hands: 5 min, why: x}
order: {title: Order queens, for: apiary, hands: 5 min, why: x}
round: {title: Round, for: yard, place: store, hands: 5 min, why: x}
give back: {title: Give back, for: extracted, place: apiary, hands: 5 min, why: x}
"""


def subjects(**seasons: tuple[str, str | None]) -> Subjects:
    """Of harvests with a lot a of comb and a lot b to spin each: their season and apiary."""
    pulls = []
    for at, (name, (season, apiary)) in enumerate(seasons.items()):
        harvest = read_harvest(f"harvest: {name}\npulled: {PULLED}\nlots:\n{TWO_LOTS}".encode(), f"{name}.yaml", yard())
        pulls.append(Pull(harvest, at, season, apiary))
    return Subjects(pulls, rules(CARDS))


def about(found: Subjects, card: str) -> list[str]:
    """The paths of what a card is about."""
    return [subject.path() for subject in found.all if found.stream(found.rules.by_key[f"mine/{card}"], subject)]


def referred(found: Subjects, card: str, subject: Subject, across: str | None = None) -> list[str]:
    """The paths of what a card of a subject waits for."""
    return [one.path() for one in found.referred_to(found.rules.by_key[f"mine/{card}"], subject, across)]


def test_one_yard_has_one_season_for_hives_and_house() -> None:
    """Two harvests of one summer: the season once, each harvest and each lot."""
    found = subjects(ridge=("2026", None), meadow=("2026", None))
    assert about(found, "treat") == about(found, "record") == about(found, "round") == about(found, "order") == ["yard-2026"]
    assert about(found, "give back") == ["ridge/b", "meadow/b"]
    assert referred(found, "treat", Subject("2026", "ridge", "b")) == ["yard-2026"]
    assert len(referred(found, "give back", Subject("2026"), "season")) == 7


def test_work_at_the_hives_is_each_apiarys_and_a_line_of_it_too() -> None:
    """The store is gone through once for both apiaries; each is treated, and writes its own record of it."""
    found = subjects(ridge=("2026-home", "Home"), karst=("2026-karst", "Karst"))
    assert about(found, "treat") == about(found, "record") == about(found, "order") == ["yard-2026-home", "yard-2026-karst"]
    assert [found.at_hives(found.rules.by_key[f"mine/{card}"]) for card in ("treat", "record", "order", "round")] == [True, True, False, False]
    assert about(found, "round") == ["yard-2026"]
    assert [found.apiary(Subject(one)) for one in ("2026-home", "2026-karst", "2026")] == ["Home", "Karst", None]
    assert [pull.harvest.harvest for pull in found.pulls_of(Subject("2026"))] == ["ridge", "karst"]


def test_an_apiary_waits_for_its_own_lots_and_the_house_for_all() -> None:
    """Mites are treated once the wet frames of that apiary are off; what is shared waits for both."""
    found = subjects(ridge=("2026-home", "Home"), karst=("2026-karst", "Karst"))
    karst = Subject("2026-karst")
    assert referred(found, "give back", karst, "season") == ["yard-2026-karst", "karst", "karst/a", "karst/b"]
    assert referred(found, "treat", karst) == referred(found, "treat", Subject("2026-karst", "karst", "b")) == ["yard-2026-karst"]
    assert referred(found, "treat", Subject("2026")) == ["yard-2026-home", "yard-2026-karst"]
    assert referred(found, "round", karst) == ["yard-2026"]
    assert len(referred(found, "give back", Subject("2026"), "season")) == 9
