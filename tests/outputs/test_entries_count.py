"""What a keeper gets in a calendar is within what one can live with: DESIGN section 7, over the examples and invented yards of two lots."""

from __future__ import annotations

import pytest

from scheduler.planning.plan import Plan
from tests.chance import random_of, times
from tests.outputs.entries_count import counted, examples, two_lots

EXAMPLES = dict(examples())


def readable(plan: Plan) -> None:
    """What holds of every plan: titles and notes fit a phone, nobody is in two places, no alarm at night, after its entry or long before it."""
    found = counted(plan)
    assert found.titles[0] <= 30
    assert found.titles[1] <= 38
    assert found.notes[0] <= 450
    assert found.notes[1] <= 1200
    assert (found.overlaps, found.at_night, found.misplaced) == (0, 0, 0)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_examples_read_well_on_a_phone(name: str) -> None:
    """Two and three lots, in three climates."""
    readable(EXAMPLES[name])


@pytest.mark.parametrize("number", range(times(30)))
def test_two_lots_are_what_one_can_live_with(number: int) -> None:
    """An ordinary harvest, without a day off."""
    plan = two_lots(random_of(f"two lots {number}"))
    readable(plan)
    found = counted(plan)
    assert found.days <= 6
    assert found.to_spring <= 45
