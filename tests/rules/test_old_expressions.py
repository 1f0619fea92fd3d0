"""What version 0.1 wrote with signs is read once more; what is not read any more says what to write."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.rules.environment import Environment, Parameters
from scheduler.rules.expression_tree import parts_of
from scheduler.rules.expressions import ExpressionFault
from scheduler.rules.old_expressions import read_old
from scheduler.rules.vocabulary import SAMPLES

ENV = Environment(SAMPLES, Parameters({"drain floor": 43_200.0}))


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1.0 + 2.0 * 3.0 - 4.0 / 2.0", 5.0),
        ("(1 + 2) * 3", 9.0),
        ("10.0 - 3.0 - 2.0", 5.0),
        ("-param.drain_floor + q('13 h')", 3600.0),
        ("!lot.beetle && !!yard.sells", True),
        ("lot.beetle || lot.pieces > 1.0 && lot.beetle", False),
        ("lot.beetle ? 1.0 : lot.heather ? 2.0 : 3.0", 3.0),
        ("lot.kind == \"cut comb\" && lot.kind != 'dry comb'", True),
        ("'it\\'s'", "it's"),
        ("double(int(lot.pieces / 3.0))", 6.0),
        ("string(int(lot.pieces)) + ' of ' + string(2.5)", "20 of 2.5"),
        ("1e3 / 0.0", float("inf")),
        ("lot.pieces / 0.0 - lot.pieces / 0.0 == 0.0", False),
    ],
)
def test_signs_bind_as_they_did(text: str, value: float | bool | str) -> None:
    """Choices weakest, then or, and, comparisons, sums, products; what is divided by nothing is endless."""
    assert ENV.evaluate(text)[0] == value


@pytest.mark.parametrize(
    ("text", "column", "told", "write"),
    [
        ("lot.pieces >", 13, "it ends too early", "it in words"),
        ("lot.pieces 3.0", 12, '"3.0" stands where nothing of the kind can', "it in words"),
        ("(lot.pieces", 12, '")" is missing', "it in words"),
        ("lot.piecs + 1.0", 1, 'nothing is named "lot.piecs"', '"pieces"'),
        ("lot. > 1.0", 6, 'after "lot." a name is missing here', "it in words"),
        ("param.drian > 1.0", 1, 'no parameter is named "drian"', "one of: drain_floor"),
        ("lot.kind == cutcomb", 13, 'nothing is named "cutcomb"', "'cutcomb', in quotes, for a word"),
        ("size(lot.kind) > 1.0", 1, '"size" is not read any more', "it in words"),
        ("lot.kind.startsWith('c')", 9, '"." stands where nothing of the kind can', "it in words"),
        ("drian_time(21.0)", 1, 'no estimate is named "drian_time"', '"drain_time"'),
        ("q(lot.mass) > 1.0", 1, "q is of a quantity in quotes", "q('2 h')"),
        ("known(lot.mass, lot.kind)", 1, '"known" is of one thing', "known(lot.moisture)"),
        ("[1.0, 2.0].exists(one, one > 1.0)", 1, "lists are not read any more", "it in words"),
        ("(" * 21 + "1.0", 21, "more than 20 amounts in each other", "a parameter for part of it"),
        ("1.0" + " + 1.0" * 101, 605, "more than 100 terms side by side", "a parameter for part of it"),
        ("!" * 21 + "lot.beetle", 1, "more than 20 signs before one thing", "one or none"),
    ],
)
def test_what_cannot_be_read_is_told_with_its_place(text: str, column: int, told: str, write: str) -> None:
    """To the character, and in a bounded time."""
    with pytest.raises(ExpressionFault) as refused:  # noqa: PT011 the next lines look at what it says
        ENV.evaluate(text)
    assert refused.value.what.startswith(told)
    assert refused.value.column == column
    assert refused.value.write.startswith(write)


@given(st.text(alphabet="lot.pieces 01+-*/!&|()?:'=<>qknown", max_size=60))
def test_any_signs_give_a_tree_or_a_fault(text: str) -> None:
    """Nothing a person can write brings up anything else."""
    with suppress(ExpressionFault):
        assert isinstance(next(parts_of(read_old(text, {}))), tuple)
