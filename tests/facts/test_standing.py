"""Which facts stand: corrections, retractions, undo, and the order they come in."""

from __future__ import annotations

import random

from hypothesis import given
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, consumes, initialize, invariant, rule

from scheduler.facts.fact import Fact, Reading, Recorded, Retracted, in_force
from tests.facts.recorded import CUT, FREEZING, MOISTURE, PULLED, moments, tasks_done


def recorded(*facts: Fact) -> list[Recorded]:
    """Facts written down one after the other, with ids that name their place."""
    return [Recorded(number, key(number), PULLED, fact) for number, fact in enumerate(facts, 1)]


def key(number: int) -> str:
    return f"{number:032x}"


def replacing(fact: Fact, number: int) -> Fact:
    return fact.model_copy(update={"replaces": key(number)})


def taken_back(number: int) -> Fact:
    return Retracted(occurred_at=PULLED, replaces=key(number))


def left(*facts: Fact) -> list[int]:
    """The numbers of the facts that stand."""
    return [one.sequence for one in in_force(recorded(*facts))]


DRIER = Reading(occurred_at=MOISTURE.occurred_at, of="ridge-2/a", what="moisture", value=0.169)


def test_facts_count_in_the_order_they_happened_not_in_the_order_they_were_told() -> None:
    """The reading of ten o'clock, told in the evening, comes before the cutting of three o'clock."""
    assert left(CUT, MOISTURE) == [2, 1]


def test_of_two_facts_of_the_same_moment_the_one_told_first_comes_first() -> None:
    """Order is by moment, then by writing."""
    assert left(MOISTURE, DRIER) == [1, 2]


def test_a_correction_stands_in_the_place_of_the_fact_it_names() -> None:
    """16.9 % it was, not 17.4."""
    assert left(MOISTURE, replacing(DRIER, 1)) == [2]


def test_a_correction_of_a_correction_puts_both_out() -> None:
    """Only the last of a chain counts."""
    assert left(MOISTURE, replacing(DRIER, 1), replacing(MOISTURE, 2)) == [3]


def test_taking_back_a_correction_lets_the_first_telling_stand_again() -> None:
    """It was 17.4 after all."""
    assert left(MOISTURE, replacing(DRIER, 1), taken_back(2)) == [1]


def test_taking_back_a_retraction_lets_its_fact_stand_again() -> None:
    """Undo of an undo is the fact itself."""
    assert left(CUT, taken_back(1), taken_back(2)) == [1]


def test_taking_back_a_corrected_fact_takes_its_correction_along() -> None:
    """There was no reading at all."""
    assert left(MOISTURE, replacing(DRIER, 1), taken_back(1)) == []


def test_of_two_corrections_of_one_fact_the_later_counts() -> None:
    """Two people put the same slip right; the last word holds."""
    assert left(MOISTURE, replacing(DRIER, 1), replacing(DRIER, 1)) == [3]


def test_a_circle_of_corrections_in_a_damaged_ledger_comes_to_an_end() -> None:
    """Two facts that replace each other can only be damage; the answer is still an answer."""
    assert left(replacing(MOISTURE, 2), replacing(DRIER, 1)) == [2]


@given(st.lists(tasks_done(), max_size=12), st.randoms(use_true_random=False))
def test_the_order_in_which_facts_are_handed_over_does_not_matter(facts: list[Fact], chance: random.Random) -> None:
    """Facts from two machines in any order give one history."""
    history = recorded(*facts)
    shuffled = list(history)
    chance.shuffle(shuffled)
    assert in_force(shuffled) == in_force(history)


class Story(RuleBasedStateMachine):
    """Told, corrected, taken back and undone at random, against a plain list of what each place in the story holds now."""

    def __init__(self) -> None:
        super().__init__()
        self.history: list[Recorded] = []
        self.places: list[list[int]] = []  # for each thing that happened the sequences that told it, the last one counts

    living = Bundle("living")

    @initialize()
    def begin(self) -> None:
        self.told(FREEZING)

    def told(self, fact: Fact) -> int:
        number = len(self.history) + 1
        self.history.append(Recorded(number, key(number), PULLED + number, fact))
        return number

    @rule(target=living, fact=tasks_done())
    def tell(self, fact: Fact) -> int:
        self.places.append([self.told(fact)])
        return len(self.places) - 1

    @rule(place=living, at=moments)
    def correct(self, place: int, at: int) -> None:
        last = self.places[place][-1]
        self.places[place].append(self.told(replacing(self.history[last - 1].fact.model_copy(update={"occurred_at": at}), last)))

    @rule(place=living)
    def take_back_a_correction(self, place: int) -> None:
        if len(self.places[place]) > 1:
            self.told(taken_back(self.places[place].pop()))

    @rule(place=consumes(living))
    def take_back_altogether(self, place: int) -> None:
        while self.places[place]:
            self.told(taken_back(self.places[place].pop()))

    @rule(place=living)
    def undo_and_think_better_of_it(self, place: int) -> None:
        undone = self.told(taken_back(self.places[place][-1]))
        self.told(taken_back(undone))

    @invariant()
    def what_stands_is_the_last_word_on_each(self) -> None:
        expected = {1} | {place[-1] for place in self.places if place} if self.history else set()
        found = in_force(reversed(self.history))
        assert {one.sequence for one in found} == expected
        assert list(found) == sorted(found, key=lambda one: (one.fact.occurred_at, one.sequence))


TestStory = Story.TestCase
