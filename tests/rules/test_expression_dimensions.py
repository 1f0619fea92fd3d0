"""What an expression measures, by the names, quantities and estimates in it. The parameters are invented."""

from __future__ import annotations

import pytest

from scheduler.diagnostics import Fault
from scheduler.rules.environment import Parameters
from scheduler.rules.expression_dimensions import measured as measured_tree
from scheduler.rules.lint import lint
from scheduler.rules.load import load

GIVEN = Parameters({"long rest": 7200.0, "weight of a litre": 1.4}, measures={"long rest": "duration", "weight of a litre": "count"})


def measured(text: str) -> str | None:
    """What a text measures."""
    return measured_tree(GIVEN.read(text).tree, text)


@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("lot.mass", "mass"),
        ("param.long_rest * 2.0", "duration"),
        ("-q('-18 °C')", "temperature"),
        ("q('3 h') / 2.0 + drain_time(room.temperature, lot.moisture)", "duration"),
        ("room.temperature - freezer.temperature", "temperature difference"),
        ("room.temperature + q('2 K')", "temperature"),
        ("lot.kind == 'cut comb' ? lot.mass : batch.mass", "mass"),
        ("larger of the lot's mass and the batch's mass", "mass"),
        ("$long rest if there are jars, otherwise 2 h", "duration"),
        ("the room's temperature less 2 K", "temperature"),
        ("lot.kind + ' comb'", "word"),
        ("there are jars and beetle was seen", "yes or no"),
        ("dew_point(room.temperature, room.humidity)", "temperature"),
        ("drain_time(21.0, 0.17)", "duration"),
        ("double(lot.mass)", "mass"),
    ],
)
def test_the_dimension_of_an_expression(text: str, dimension: str) -> None:
    """A quantity times a number stays what it is; a difference of temperatures is one."""
    assert measured(text) == dimension


@pytest.mark.parametrize(
    "text",
    [
        "lot.pieces * 30.0",
        "lot.mass / param.weight_of_a_litre",
        "lot.mass * 3.0 + 2.0",
        "lot.kind == 'x' ? lot.mass : q('2 h')",
        "lot.mass / batch.mass",
        "lot.mass * batch.mass",
    ],
)
def test_what_is_not_known_is_left_alone(text: str) -> None:
    """Minutes each piece takes, a density written without a unit, bare numbers."""
    assert measured(text) is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("lot.mass + q('2 h')", "a mass and a duration"),
        ("lot.beetle ? q('1 h') : room.temperature - q('2 h')", "a temperature and a duration"),
        ("q('2 h') + (lot.moisture + lot.mass)", "a share and a mass"),
        ("lot.beetle && lot.mass + q('2 h') > 3.0", "a mass and a duration"),
        ("lot.beetle || lot.mass + q('2 h') > 3.0", "a mass and a duration"),
        ("!(lot.mass + q('2 h') > 3.0) && lot.beetle", "a mass and a duration"),
        ("lot.mass > q('2 h')", "a mass and a duration"),
        ("lot.beetle ? lot.kind * 2.0 : lot.mass", "a number is needed, and this is a word"),
        ("lot.beetle == 1.0", "a yes or no and a number"),
        ("lot.mass && lot.beetle", "a condition must give true or false, and this gives a mass"),
        ("lot.mass / 0.0", "nothing is divided by 0"),
    ],
)
def test_two_kinds_are_not_added(text: str, said: str) -> None:
    """In no branch, and not inside brackets."""
    with pytest.raises(Fault, match=said):
        measured(text)


def test_every_bundled_expression_is_of_one_kind() -> None:
    """Each amount of each card that comes with the program has the dimension that is needed where it stands."""
    assert [finding for finding in lint(load()) if not finding.advice] == []
