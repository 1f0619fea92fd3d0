"""Who takes which work, and where it cannot be told who is meant. Names are invented."""

from __future__ import annotations

import pytest

from scheduler.facts.people import Person, taker, unclear

PEOPLE = {
    name: Person.model_validate({"hands": {"sat": "09:00-13:00"}, "takes": takes})
    for name, takes in {"Mira": ["pack", "apiary"], "Lee": ["cut comb/pack", "extracted"], "Ash": ["honey room"]}.items()
}


def person(*takes: str) -> Person:
    """Somebody who takes this work."""
    return Person.model_validate({"hands": {"sat": "09:00-13:00"}, "takes": list(takes)})


@pytest.mark.parametrize(
    ("words", "who"),
    [
        (("cut comb/pack", "pack", "cut comb", "honey room"), ("Lee", "cut comb/pack")),
        (("chunk honey/pack", "pack", "chunk honey", "honey room"), ("Mira", "pack")),
        (("extracted honey/spin", "spin", "extracted honey", "extracted", "honey room"), ("Lee", "extracted")),
        (("dry comb/store", "store", "dry comb", "honey room"), ("Ash", "honey room")),
        (("dry comb/inspect", "inspect", "dry comb", "store"), None),
    ],
)
def test_the_closest_word_counts(words: tuple[str, ...], who: tuple[str, str] | None) -> None:
    """A card of one set before a card, before a stream, before a place; what nobody takes is the keeper's."""
    assert taker(PEOPLE, words) == who


@pytest.mark.parametrize(
    ("people", "places"),
    [
        ({"Mira": person("pack"), "Lee": person("spin")}, []),
        ({"Keeper": person("pack")}, [("people", "Keeper")]),
        ({"Mira": person("pack"), "mira": person("spin")}, [("people", "mira")]),
        ({"mira@home": person("pack")}, [("people", "mira@home")]),
        ({"Mira": person("pack", "spin"), "Lee": person("label", "spin")}, [("people", "Lee", "takes", 1)]),
        ({"Mira": person("pack", "pack")}, [("people", "Mira", "takes", 1)]),
    ],
)
def test_who_is_meant_is_never_in_doubt(people: dict[str, Person], places: list[tuple[str | int, ...]]) -> None:
    """The keeper by another entry, two of one name, a name that an alert's id could not hold, and one piece of work under two people."""
    found = list(unclear(people))
    assert [place for place, _, _ in found] == places
    assert all(fault.write for _, _, fault in found)
