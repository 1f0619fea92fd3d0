"""Words of cards with places between braces, as a keeper writes them."""

from __future__ import annotations

import re
from typing import Any

import pytest

from scheduler.diagnostics import Fault
from scheduler.rules.environment import Environment, Parameters
from scheduler.rules.expressions import ExpressionFault
from scheduler.rules.templates import conditions_in, placeholders_in, render, template_parts, without_expressions
from scheduler.rules.vocabulary import SAMPLES

ENV = Environment(SAMPLES, Parameters({"comb share": 0.6, "limit": 0.2}))
DECIDES = "{if the lot's moisture is not known: {if the yard has a refractometer: the reading decides; otherwise: the shake test decides}}"


def lot(**changed: Any) -> Environment:
    """The sample lot with some of its facts otherwise."""
    return ENV.child(lot=SAMPLES["lot"] | changed)


def test_words_stand_where_something_is_so() -> None:
    """The first that is so, or the last, or nothing; what stands in them is filled in too, and spaces stay."""
    press = "{if the honey is of heather: Press; otherwise: Uncap, spin} {lot.frames} frames"
    assert [render(press, lot(heather=heather)) for heather in (True, False)] == ["Press 5 frames", "Uncap, spin 5 frames"]
    count = "Count {if there are packages: {so many packages}, }labels"
    assert [render(count, lot(packages=many)) for many in (0.0, 1.0, 18.0)] == ["Count labels", "Count 1 package, labels", "Count 18 packages, labels"]
    first = "{if beetle was seen: At once; otherwise if the honey is quick to set: Today; otherwise: This week}"
    assert [render(first, lot(**so)) for so in ({"beetle": True, "sets_soon": True}, {"sets_soon": True}, {})] == ["At once", "Today", "This week"]


def test_a_choice_may_hold_another() -> None:
    """Each brace with its partner, and each "otherwise" with its "if"."""
    unread = lot(moisture=None)
    without = unread.child(yard=SAMPLES["yard"] | {"refractometer": False})
    assert [render(DECIDES, env) for env in (ENV, unread, without)] == ["", "the reading decides", "the shake test decides"]
    assert [*conditions_in(template_parts(DECIDES))] == ["the lot's moisture is not known", "the yard has a refractometer"]


def test_how_many_with_their_noun() -> None:
    """One box, two boxes: the noun bends as its number asks."""
    harvest = [ENV.child(harvest=SAMPLES["harvest"] | {"boxes": many}) for many in (1.0, 2.0, 0.0)]
    assert [render("Take off {so many boxes}", env) for env in harvest] == ["Take off 1 box", "Take off 2 boxes", "Take off 0 boxes"]


def test_amounts_in_words_are_shown_as_what_they_measure_is_named() -> None:
    """Reckoned as under any key of a card."""
    assert render("{mass: (100 % less $comb share) of the lot's mass}, {share: $comb share}, {jars plus chunk jars} jars", ENV) == "2.4 kg, 60 %, 4 jars"
    assert [place.text for place in placeholders_in(template_parts("{if there are jars: {share: $limit}; otherwise: {lot.id}}"))] == ["$limit", "lot.id"]


@pytest.mark.parametrize(
    ("words", "told", "write"),
    [
        ("{so many jras}", '"jras" is nothing that is counted', '"jars" (known here: '),
        ("{if beetle was seen}", "does not say what stands there if that is so", '"{if beetle was seen: Freeze at once; otherwise: Freeze}"'),
        ("{if beetle was seen: {lot.id}", 'a "{" stands without its "}"', '"{lot.pieces}"'),
        ("{if beetle were seen: Freeze}", '"beetle were seen" is no condition', '"beetle was seen"'),
    ],
)
def test_what_cannot_be_read_says_what_to_write(words: str, told: str, write: str) -> None:
    """The form is told, or the name that is nearest."""
    with pytest.raises(Fault, match=re.escape(told)) as refused:
        render(words, ENV)
    assert refused.value.write.startswith(write)


def test_a_caution_asks_nothing() -> None:
    """It protects every lot alike."""
    without_expressions("Never over {49 °C}, {{as written}}.")
    with pytest.raises(Fault, match='"if beetle was seen" asks something'):
        without_expressions("{if beetle was seen: Freeze}")


def test_a_noun_that_is_not_counted_has_its_place() -> None:
    """A caret stands under it."""
    with pytest.raises(ExpressionFault, match="is nothing that is counted") as refused:
        template_parts("Pour {so many jras}")
    assert (refused.value.line, refused.value.column) == (1, 9)


def test_what_is_not_known_is_said_to_be() -> None:
    """A title stands, also of honey that nobody has read; a yes or no is said as one."""
    unread = Environment({**SAMPLES, "lot": {**SAMPLES["lot"], "moisture": None}})
    assert render("{share: the lot's moisture}; beetle: {beetle was seen}", unread) == "not known; beetle: no"
    assert render("{share: the lot's moisture}; sells: {the yard sells}", Environment(SAMPLES)) == "17.4 %; sells: yes"
