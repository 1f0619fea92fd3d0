"""Who else works in the yard: their free hours, and which work is theirs.

    people:
      Mira: {hands: {sat-sun: "09:00-13:00"}, takes: [pack, label, apiary], only: [apiary]}

What somebody takes they may do: the keeper joins them, or does it in their place, where it would come too late. What stands under "only"
nobody else does. What nobody takes is the keeper's, in the hours of the yard. Of several words that fit one task the closest counts: a card of one set
("cut comb/pack"), a card ("pack"), a rule set ("wet frames"), a stream ("extracted"), a place ("apiary").
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from scheduler.diagnostics import Fault
from scheduler.documents import Record
from scheduler.facts.hours import HoursText
from scheduler.facts.values import Loc, Names

KEEPER = "keeper"  # whoever keeps the yard, and does what nobody takes


class Person(Record):
    """Somebody with free hours of their own, and the cards, rule sets, streams and places whose work they take."""

    hands: HoursText
    takes: Names
    only: Names = ()  # of these, what nobody else may do; also what is not named under "takes"


def unclear(people: Mapping[str, Person]) -> Iterator[tuple[Loc, Any, Fault]]:
    """Where it cannot be told who is meant: the keeper by another entry, or the same words under two people."""
    taken: dict[str, str] = {}
    known: set[str] = set()
    for name, person in people.items():
        if name.lower() == KEEPER:
            cure = f'a name of their own; the hours of the {KEEPER} stand under "hands" of the yard'
            yield ("people", name), name, Fault(f'"{name}" is whoever keeps the yard', cure)
        if "@" in name or name.lower() in known:
            yield ("people", name), name, Fault(f'"{name}" is not a name that can be told apart', "another name, without @ and not like one above")
        known.add(name.lower())
        for i, word in enumerate((*person.takes, *(word for word in person.only if word not in person.takes))):
            if word in taken:
                yield ("people", name, "takes", i), word, Fault(f'"{word}" is taken by {taken[word]} already', "each piece of work under one person")
            taken[word] = name


def taker(people: Mapping[str, Person], words: Sequence[str]) -> tuple[str, str] | None:
    """Who takes the work that goes by these words, the closest first, and by which of them; None where it is the keeper's."""
    return next(((name, word) for word in words for name, person in people.items() if word in (*person.takes, *person.only)), None)
