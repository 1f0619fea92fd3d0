"""The short ways of writing, and what one field of a card says against another. The cards are invented."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from scheduler.rules.schema import Batches, Card, Repeat, Scenario, Stop
from scheduler.rules.short_forms import ANCHORS, Anchor, CardRelation, HandsOnWork, Hold, Window

CARD = {"title": "Look", "for": "cut comb", "why": "To see."}


@pytest.mark.parametrize(
    ("written", "of", "plus", "minus"),
    [
        ("pulled", "pulled", None, None),
        ("pulled + 72 h", "pulled", "72 h", None),
        (" first frost-$guard lead ", "first frost", None, "$guard lead"),
        ("main flow begins + 1 h 30 min", "main flow begins", "1 h 30 min", None),
    ],
)
def test_a_moment_is_written_with_its_lag(written: str, of: str, plus: str | None, minus: str | None) -> None:
    """In one line, with or without spaces about the sign; of a moment that rules know."""
    found = Anchor.model_validate(written)
    assert (found.of, found.plus, found.minus) == (of, plus, minus)
    assert of in ANCHORS


@pytest.mark.parametrize("written", ["72 h", "+ 72 h", "Pulled", "pulled +", ""])
def test_what_names_no_moment_is_refused(written: str) -> None:
    """A lag without a moment, a moment without its lag."""
    with pytest.raises(ValidationError, match="names no moment"):
        Anchor.model_validate(written)


def test_the_short_way_of_writing_is_the_long_one() -> None:
    """What stands in one word is the field that a reader would take it for."""
    assert Hold.model_validate("drain_time(room.temperature, 0.17)").estimate == "drain_time(room.temperature, 0.17)"
    assert HandsOnWork.model_validate("10 min") == HandsOnWork.model_validate({"before": "10 min"})
    assert CardRelation.model_validate(None) == CardRelation.model_validate({})
    assert Card.model_validate({**CARD, "due": "pulled + 7 d"}) == Card.model_validate({**CARD, "due": ["pulled + 7 d"]})
    assert Card.model_validate({**CARD, "for": ["cut comb"]}) == Card.model_validate(CARD)
    assert Card.model_validate({**CARD, "when": True}).when == "true"
    assert Card.model_validate({**CARD, "window": {"clock": "05:00-10:00"}}).window == (Window.model_validate({"clock": "05:00-10:00"}),)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"basis": "published"}, "needs its source"),
        ({"hands": 10}, "10 has no unit; a duration is needed"),
        ({"hands": True}, "a|valid"),
        ({"hold": {"look at": "12 h"}, "occupies": {"freezer": 1}}, "a hold in the freezer is a kill"),
        ({"hold": {"look at": "12 h"}, "alerts": [{"at": "hold done", "say": "x"}]}, "no alert comes where a look ends the hold"),
        ({"alongside": "cut", "due": "pulled + 1 d"}, 'a line of the checklist of "cut" has no "due" of its own'),
        ({"batches": {"of": "lot.pieces"}}, "batches are split by a resource or follow another card"),
        ({"batches": {"of": "lot.pieces", "fits": "freezer", "as": "freeze"}}, "batches are split by a resource or follow another card"),
        ({"repeat": {"every": "7 d"}}, "a repetition needs an end"),
        ({"for": 3}, "Input should be"),
    ],
)
def test_a_card_that_contradicts_itself_is_refused(more: dict[str, Any], said: str) -> None:
    """Before anything is planned with it."""
    with pytest.raises(ValidationError, match=said):
        Card.model_validate({**CARD, **more})


def test_what_looks_alike_and_is_sound_is_taken() -> None:
    """A look outside the freezer with its own alert, batches either way, a repetition with either end, nothing as zero minutes."""
    Card.model_validate({**CARD, "hold": {"look at": "12 h"}, "alerts": [{"at": "look", "say": "x"}, {"at": "hold done", "say": "y"}]})
    Batches.model_validate({"of": "lot.pieces", "fits": "freezer"})
    Batches.model_validate({"as": "freeze"})
    for end in ({"times": 3}, {"until": "first frost"}):
        Repeat.model_validate({"every": "7 d", **end})
    assert Card.model_validate({**CARD, "hands": 0}).hands.before == "0"


def test_a_scenario_and_what_it_expects_can_fail() -> None:
    """One without an expectation proves nothing."""
    with pytest.raises(ValidationError, match="a scenario without expectations cannot fail"):
        Scenario.model_validate({"name": "x"})
    with pytest.raises(ValidationError, match="expects nothing, so it cannot fail"):
        Scenario.model_validate({"name": "x", "expect": {"drain": {}}})


def test_a_stop_says_what_it_holds_back_and_what_lets_it_go_on() -> None:
    """It never names a card; of a lot unless it says otherwise."""
    found = Stop.model_validate({"when": "lot.treated", "holds back": "table", "say": "x", "goes on": "y"})
    assert (found.holds_back, "extracted" in found.for_) == (("table",), True)
    with pytest.raises(ValidationError, match="drain"):
        Stop.model_validate({"holds back": "drain", "say": "x", "goes on": "y"})


@pytest.mark.parametrize(
    ("said", "written"),
    [
        ("3 d after the pull", {"of": "pulled", "plus": "3 d"}),
        ("14 d before first frost", {"of": "first frost", "minus": "14 d"}),
        ("$guards before frost after first frost", {"of": "first frost", "plus": "$guards before frost"}),
        ("first frost + $broodless after frost", {"of": "first frost", "plus": "$broodless after frost"}),
        ("pulled", {"of": "pulled"}),
    ],
)
def test_a_moment_is_said_as_people_say_it(said: str, written: dict[str, str]) -> None:
    """The name of a parameter may hold "before" or "after": what stands last binds."""
    assert Anchor.model_validate(said).model_dump(exclude_none=True) == written


@pytest.mark.parametrize(
    ("said", "written"),
    [
        ("dusk", {"sun": {"at": "dusk"}}),
        ("on sat-sun", {"on": (5, 6)}),
        ("outside robbing", {"season": {"outside": "robbing"}}),
        ("days at least 12 °C", {"temperature": {"days_at_least": "12 °C"}}),
        ("08:00-20:00", {"clock": "08:00-20:00"}),
    ],
)
def test_a_window_may_be_said_in_words(said: str, written: dict[str, object]) -> None:
    """The same as written out."""
    assert Window.model_validate(said).model_dump(exclude_unset=True) == written
    with pytest.raises(ValidationError, match="is not a window"):
        Window.model_validate("at noon")


def test_what_comes_before_is_a_name_a_list_or_each_with_its_lag() -> None:
    """And a repetition is a sentence."""
    card = {"title": "X", "for": "harvest", "why": "x"}
    assert set(Card.model_validate({**card, "after": "spin"}).after) == {"spin"}
    assert set(Card.model_validate({**card, "after": ["spin", "cut"]}).after) == {"spin", "cut"}
    lags = Card.model_validate({**card, "after": {"spin": "within 2 h", "cut": "at least 3 d", "pack": None}}).after
    assert (lags["spin"].within, lags["cut"].at_least, lags["pack"].within) == ("2 h", "3 d", None)
    repeat = Card.model_validate({**card, "repeat": "every 7 d, 12 times, until 3 d after first frost"}).repeat
    assert repeat is not None
    assert repeat.until is not None
    assert (repeat.every, repeat.times, repeat.until.of, repeat.until.plus) == ("7 d", "12", "first frost", "3 d")
