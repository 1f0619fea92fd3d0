"""Each text of a card is worked out with sample values, in every branch; what the planner would stumble over is told. The cards are invented."""

from __future__ import annotations

from typing import Any

import pytest

from scheduler.diagnostics import Fault
from scheduler.rules.card_check import CardCheck, marked
from scheduler.rules.schema import Card
from scheduler.rules.short_forms import AmountOf, ConditionText, TemplateText
from tests.planning.cards import rules

NUMBERS = """\
parameters:
  rest: {value: 12 h, basis: assumed, checked: 2026-11-25}
  warm: {value: 25 °C, basis: assumed, checked: 2026-11-25}
  word: {value: shallow, basis: assumed, checked: 2026-11-25}
"""
CARD = {"title": "Look at {lot.pieces}", "for": "cut comb", "why": "To see."}
RULES = rules("look: {title: Look, for: cut comb, why: To see.}", NUMBERS)


def check(**more: Any) -> CardCheck:
    """Every text of a card checked."""
    card = Card.model_validate({**CARD, **{name.replace("_", " "): value for name, value in more.items()}})
    found = CardCheck.of(card, RULES.parameters["mine"], RULES.values["mine"])
    for text in marked(card):
        found.check(text)
    return found


def test_every_text_of_a_card_is_found_with_its_place_and_what_it_must_give() -> None:
    """Inside lists and mappings too; by the keys that a person writes."""
    card = Card.model_validate({**CARD, "when": "lot.beetle", "hold": {"at least": "$rest"}, "occupies": {"freezer": "lot.mass"}, "due": ["pulled + $rest"]})
    found = {one.loc: one.mark for one in marked(card)}
    assert isinstance(found["title",], TemplateText)
    assert isinstance(found["when",], ConditionText)
    assert found["hold", "at least"] == AmountOf("duration")
    assert found["occupies", "freezer"] == AmountOf("any")
    assert found["due", 0, "plus"] == AmountOf("duration")


def test_the_parameters_a_card_reads_are_gathered() -> None:
    """By their sign and inside expressions; for one that no card reads is told."""
    assert check(hold={"at least": "$rest"}, when="room.temperature > param.warm").used == {"rest", "warm"}
    assert check().used == set()


@pytest.mark.parametrize(
    ("more", "said", "write"),
    [
        ({"hold": "$rset"}, 'no parameter is named "rset"', '"rest"'),
        ({"hold": "$warm"}, 'the parameter "warm" is a temperature (25 °C); a duration is needed here', "a duration"),
        ({"hold": "$word"}, 'the parameter "word" is a word (shallow); a duration is needed here', "a duration"),
        ({"occupies": {"freezer": "$word"}}, "a number is needed here", "a number"),
        ({"when": "lot.piecs > 1.0"}, 'nothing is named "lot.piecs"', '"pieces"'),
        ({"when": "batch.count > 1.0"}, 'this card has no "batch"', "lot"),
        ({"when": "bees.happy"}, 'nothing is named "bees"', "lot"),
        ({"when": "drain_tme(room.temperature, 0.17) > 1.0"}, 'no estimate is named "drain_tme"', '"drain_time"'),
        ({"when": "lot.pieces"}, "true or false", ""),
        ({"hold": "lot.kind"}, "number", ""),
        ({"title": "Look {lot.piecs}"}, 'nothing is named "lot.piecs"', '"pieces"'),
        ({"title": "Look {12 parsecs}"}, "parsecs", ""),
        ({"when": "lot.kind == 'cut comb' || lot.piecs > 1.0"}, 'nothing is named "lot.piecs"', '"pieces"'),
        ({"hold": "lot.beetle ? 1.0 : lot.kind"}, "number", ""),
    ],
)
def test_what_the_planner_would_stumble_over_is_refused(more: dict[str, Any], said: str, write: str) -> None:
    """An unknown name in a branch that no sample takes, a word for a number, a temperature for a duration."""
    with pytest.raises(Fault, match=".") as refused:  # noqa: RUF043 any words, which the next lines look at
        check(**more)
    assert said in refused.value.message
    assert write in refused.value.write


@pytest.mark.parametrize(
    "more",
    [
        {"when": "known(lot.moisture) && lot.moisture > 0.18"},
        {"title": "Look at {lot.pieces}, {temperature: param.warm}, {12 h}"},
        {"for": "harvest", "title": "Look", "when": "harvest.last"},
        {"batches": {"of": "lot.pieces", "fits": "freezer"}, "occupies": {"freezer": "batch.volume"}},
        {"hold": "freeze_hold({'count': 1.0}, lot, freezer) + 1.0 * 2.0"},
    ],
)
def test_what_it_can_work_out_is_sound(more: dict[str, Any]) -> None:
    """Each kind of place in words, a batch where there is one, an estimate that the sample may be outside of."""
    check(**more)


def test_a_card_of_the_harvest_knows_no_lot() -> None:
    """It is about several."""
    with pytest.raises(Fault, match='this card has no "lot"'):
        check(**{"for": "harvest", "title": "Look", "when": "lot.beetle"})
